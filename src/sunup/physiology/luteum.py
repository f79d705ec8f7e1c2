"""Corpora lutea: rise of their progesterone, answer to PGF by age and dose, fall, own end.

A luteum is a row of numbers in the state: hour of birth (ovulation), ceiling of its progesterone,
hour its fall starts (infinite while it stands), half-life of that fall and what it falls from.
A partial luteolysis leaves the luteum standing at a share of its ceiling.
"""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.chance import OVULATION, PGF, logistic, spread
from sunup.physiology.compiled import compiled
from sunup.physiology.philox import draws, half_hour
from sunup.physiology.state import MOST_LUTEA

NORMAL, SHORT = 0, 1
LN2 = 0.6931471805599453
WAIT_LEAST_H = 0.01  # nearer than this is there


@compiled
def luteal_rise(age_h: float, p: Any) -> float:
    """Share of its ceiling that a luteum gives at an age in hours since ovulation."""
    per_h = 1.0 / (24.0 * p.luteum_slope_days)  # known early: nothing waits for this division
    return logistic((age_h - 24.0 * p.luteum_mid_days) * per_h)


@compiled
def luteal_output(s: Any, k: int, t: float, p: Any) -> float:
    """Progesterone in blood from luteum `k` at hour `t` [ng/mL]."""
    fall = s.cl_fall[k]
    if t <= fall:
        return s.cl_peak[k] * luteal_rise(t - s.cl_birth[k], p)
    return s.cl_top[k] * math.exp((-LN2 / s.cl_half[k]) * (t - fall))


@compiled
def start_fall(s: Any, k: int, fall_h: float, half_life_h: float, p: Any) -> None:
    """Set the hour at which luteum `k` begins to fall, from what it gives then."""
    s.cl_fall[k] = fall_h
    s.cl_half[k] = half_life_h
    s.cl_top[k] = s.cl_peak[k] * luteal_rise(fall_h - s.cl_birth[k], p)


@compiled
def share_of_dose(dose: float, half: float) -> float:
    """What is left of the effect of a full dose at a share of it, falling with its square.

    At `half` of a full dose about half is left; more than a full dose adds nothing here.
    """
    if dose >= 1.0:
        return 1.0
    return (1.0 + half * half) * dose * dose / (dose * dose + half * half)


@compiled
def answer_to_pgf(age_days: float, dose: float, is_second: bool, indicus: float, p: Any) -> float:
    """Chance that one dose ends a luteum.

    A logistic in age; a second dose within a day finds it `pgf_second_gain_days` older, a doubled
    dose `pgf_dose_gain_days` older, Bos indicus younger by `pgf_indicus_delay_days`. Crosses lose
    as much of the ceiling as Bos indicus: a half share already counts in full. A small part of a
    dose does little at any age.
    """
    if dose <= 0.0:
        return 0.0
    age = age_days + p.pgf_dose_gain_days * math.log(dose) / LN2
    age -= indicus * p.pgf_indicus_delay_days
    if is_second:
        age += p.pgf_second_gain_days
    ceiling = p.pgf_ceiling * (1.0 - min(1.0, 2.0 * indicus) * p.pgf_indicus_loss)
    ceiling *= share_of_dose(dose, p.pgf_dose_half)
    return ceiling * logistic((age - p.pgf_mid_days) / p.pgf_slope_days)


@compiled
def give_pgf(s: Any, t: float, dose: float, f: Any, p: Any, luck: Any) -> int:
    """Give one dose; return how many lutea began to fall."""
    n_fallen = 0
    if dose <= 0.0:
        return 0
    is_second = t - s.pgf_h < p.pgf_second_within_h and t > s.pgf_h
    given = share_of_dose(dose, p.pgf_dose_half)
    u, part, v, _ = draws(luck, PGF, half_hour(t))
    for k in range(s.n_cl):
        if s.cl_fall[k] <= t:
            continue
        age = (t - s.cl_birth[k]) / 24.0
        chance = answer_to_pgf(age, dose, is_second, f.indicus, p)
        if u < chance:
            half_life_h = p.pgf_half_life_h * math.exp(
                p.pgf_half_life_cv * spread(v, 0.0, 1.0, 2.5)
            )
            start_fall(s, k, t + p.pgf_lag_h, half_life_h, p)
            n_fallen += 1
        elif age > p.pgf_mid_days - 1.0 and part < p.pgf_partial_share * given:
            s.cl_peak[k] *= 1.0 - p.pgf_partial_drop
            s.cl_top[k] *= 1.0 - p.pgf_partial_drop
    if t - s.pgf_h >= p.pgf_second_within_h:
        s.pgf_h = t
    return n_fallen


@compiled
def add_luteum(s: Any, t: float, kind: int, p: Any, luck: Any) -> None:
    """A luteum is born at an ovulation; the oldest place is used again when all are taken."""
    k = 0
    if s.n_cl < MOST_LUTEA:
        k = s.n_cl
        s.n_cl += 1
    else:
        for i in range(1, MOST_LUTEA):
            if s.cl_birth[i] < s.cl_birth[k]:
                k = i
    u, v, _, _ = draws(luck, OVULATION, int(s.n_ovulations))
    s.cl_birth[k] = t
    s.cl_peak[k] = s.luteum_peak * math.exp(p.luteum_cycle_cv * spread(u, 0.0, 1.0, 2.5))
    s.cl_fall[k] = math.inf
    s.cl_half[k] = p.luteolysis_half_life_h
    s.cl_kind[k] = kind
    if kind == SHORT:
        s.cl_ripe[k] = t + 24.0 * spread(v, p.short_luteum_days, p.short_luteum_sd_days, 2.0)
    else:
        ripe = s.ripe_days + spread(v, 0.0, p.luteolysis_cycle_sd_days, 2.5)
        s.cl_ripe[k] = t + 24.0 * ripe


@compiled
def drop_dead_lutea(s: Any, t: float) -> None:
    """Take away lutea that have not given anything for ten half-lives."""
    kept = 0
    for k in range(s.n_cl):
        if t - s.cl_fall[k] < 10.0 * s.cl_half[k]:
            if kept != k:
                s.cl_birth[kept] = s.cl_birth[k]
                s.cl_peak[kept] = s.cl_peak[k]
                s.cl_fall[kept] = s.cl_fall[k]
                s.cl_half[kept] = s.cl_half[k]
                s.cl_top[kept] = s.cl_top[k]
                s.cl_ripe[kept] = s.cl_ripe[k]
                s.cl_kind[kept] = s.cl_kind[k]
            kept += 1
    s.n_cl = kept


@compiled
def luteum_stands(s: Any) -> bool:
    """Whether she has a luteum that no fall has been set for."""
    stands = False
    for k in range(s.n_cl):
        if s.cl_fall[k] == math.inf:
            stands = True
    return stands


@compiled
def next_ripe(s: Any, t: float) -> float:
    """Hour at which the uterus next asks whether to end a luteum."""
    soonest = math.inf
    for k in range(s.n_cl):
        if s.cl_fall[k] > t and s.cl_ripe[k] < soonest:
            soonest = s.cl_ripe[k]
    return soonest


@compiled
def ripen(s: Any, t: float, p: Any) -> bool:
    """The uterus asks: end the ripe lutea if a follicle is there to call for it.

    The caller asks only where no embryo speaks. With a working dominant follicle the ripe lutea
    fall, and every other luteum old enough to answer with them; without the follicle they wait for
    the next one to grow, which is why a female of three waves has the longer luteal phase.
    """
    has_ended = False
    for k in range(s.n_cl):
        if s.cl_fall[k] <= t or s.cl_ripe[k] > t + 1e-9:
            continue
        wait = 0.0
        if s.cl_kind[k] == NORMAL:
            wait = hours_to_working_follicle(s, t, p)
        if wait > WAIT_LEAST_H:
            s.cl_ripe[k] = t + wait
        else:
            start_fall(s, k, t, p.luteolysis_half_life_h, p)
            has_ended = True
    if has_ended:
        for k in range(s.n_cl):
            if s.cl_fall[k] > t and t - s.cl_birth[k] > 24.0 * p.pgf_mid_days:
                start_fall(s, k, t, p.luteolysis_half_life_h, p)
    return has_ended


@compiled
def hours_to_working_follicle(s: Any, t: float, p: Any) -> float:
    """Hours until a working follicle can call for luteolysis; 0 if one can."""
    if s.has_follicle == 1:
        return max(0.0, (p.luteolysis_follicle_mm - s.diameter) / s.growth_mm_h)
    start = max(0.0, s.emergence_h - t)
    return start + (p.luteolysis_follicle_mm - p.emergence_mm) / s.growth_mm_h
