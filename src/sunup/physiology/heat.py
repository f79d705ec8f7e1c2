"""From exposure to estradiol to the LH surge, standing heat and ovulation."""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.chance import SURGE, WIDEST, spread
from sunup.physiology.compiled import compiled
from sunup.physiology.follicle import wave_growth_mm_h
from sunup.physiology.philox import draws


@compiled
def call_surge(s: Any, t: float, f: Any, p: Any, luck: Any) -> None:
    """Exposure has passed her threshold: heat and ovulation are set, unless a drug intervenes."""
    s.n_surges += 1
    u, v, _, w = draws(luck, SURGE, int(s.n_surges))
    s.heat_due_h = t + max(0.0, spread(u, p.surge_delay_h, p.surge_delay_sd_h, WIDEST))
    lag = spread(v, p.heat_to_ovulation_h, p.heat_to_ovulation_sd_h, WIDEST)
    s.ovulation_due_h = s.heat_due_h + lag - f.indicus * p.indicus_ovulation_sooner_h
    s.is_forced = 0
    shown = p.heat_shown_cow
    if f.is_heifer == 1:
        shown = p.heat_shown_heifer
    shown *= 1.0 - f.indicus * p.indicus_heat_hidden
    if s.is_primed == 0:
        shown = 1.0 - p.first_heat_silent
    s.is_silent = 0 if w < shown else 1


@compiled
def heat_length(s: Any, index: int, f: Any, p: Any, luck: Any) -> float:
    """True hours of standing heat, of her heat number `index`."""
    _, _, u, _ = draws(luck, SURGE, index)
    length = p.heat_length_h + p.heat_length_sd_h * (
        p.heat_length_own * s.heat_trait
        + math.sqrt(1.0 - p.heat_length_own * p.heat_length_own) * spread(u, 0.0, 1.0, 2.5)
    )
    length *= 1.0 - f.indicus * p.indicus_heat_shorter
    return max(p.heat_length_least_h, length)


@compiled
def stands_per_hour(s: Any, p: Any) -> float:
    """Her mean rate of stands while in heat."""
    return p.stands_per_h * math.exp(p.stands_log_sd * s.strength_trait)


@compiled
def earliest_ovulation(s: Any, t: float, f: Any, p: Any) -> float:
    """Hour before which she cannot ovulate unless a drug makes her.

    A follicle has first to give estradiol, and then a surge takes its least time.
    """
    if s.ovulation_due_h < math.inf:
        return float(s.ovulation_due_h)
    least_h = p.heat_to_ovulation_h - WIDEST * p.heat_to_ovulation_sd_h
    least_h -= f.indicus * p.indicus_ovulation_sooner_h
    if s.is_cycling == 0 or s.exposure >= s.threshold:
        return float(t + least_h)
    from_h, size, growth = t, s.diameter, s.growth_mm_h
    if s.has_follicle == 0:
        from_h, size = max(t, s.emergence_h), p.emergence_mm
        growth = wave_growth_mm_h(s, WIDEST * p.growth_wave_cv)
    if t < s.ecg_until_h:
        growth *= p.ecg_growth
    silent_mm = p.estradiol_from_mm * (1.0 - f.indicus * p.indicus_smaller)
    return float(from_h + max(0.0, silent_mm - size) / growth + least_h)
