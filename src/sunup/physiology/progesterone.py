"""Progesterone in blood: lutea, insert, and the progestin in feed counted as progesterone."""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.compiled import compiled
from sunup.physiology.luteum import LN2, luteal_output


@compiled
def from_lutea(s: Any, t: float, p: Any) -> float:
    """Progesterone from all lutea [ng/mL]."""
    total = 0.0
    for k in range(s.n_cl):
        total += luteal_output(s, k, t, p)
    return total


@compiled
def from_standing_lutea(s: Any, t: float, p: Any) -> float:
    """Progesterone from lutea that no fall has been set for [ng/mL]."""
    total = 0.0
    for k in range(s.n_cl):
        if s.cl_fall[k] == math.inf:
            total += luteal_output(s, k, t, p)
    return total


@compiled
def from_insert(s: Any, t: float, p: Any) -> float:
    """Progesterone from an insert in place, or what is left after it came out [ng/mL]."""
    if s.insert_is_in == 1:
        age = (t - s.insert_in_h) / 24.0
        if age < 0.0:
            return 0.0
        rise = 1.0 - math.exp(-LN2 * age * 24.0 / p.insert_rise_h)
        curve = p.insert_floor_ng_ml + p.insert_burst_ng_ml * math.exp(-age / p.insert_burst_days)
        return s.insert_amount * s.insert_trait * rise * curve
    if s.insert_end_p4 > 0.0:
        return s.insert_end_p4 * math.exp(-LN2 * (t - s.insert_out_h) / p.insert_half_life_h)
    return 0.0


@compiled
def from_feed(s: Any, t: float, p: Any) -> float:
    """Melengestrol as the progesterone that would hold back the surge as well [ng/mL]."""
    if s.mga_is_fed == 1:
        return p.mga_ng_ml
    if t - s.mga_end_h < 240.0:
        left = t - s.mga_end_h - p.mga_lag_h
        return p.mga_ng_ml * math.exp(-LN2 * max(0.0, left) / p.mga_half_life_h)
    return 0.0


@compiled
def progesterone(s: Any, t: float, p: Any) -> float:
    """Progesterone and its like at hour `t`, as brain and follicle meet it [ng/mL]."""
    return from_lutea(s, t, p) + from_insert(s, t, p) + from_feed(s, t, p)
