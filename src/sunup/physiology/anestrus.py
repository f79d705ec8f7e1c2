"""Females that do not cycle yet: after calving, before puberty; how and when they begin."""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.chance import (
    START,
    TRAIT_HEAT,
    TRAIT_OVARY,
    TRAIT_START,
    normal,
    share_below,
    spread,
)
from sunup.physiology.compiled import compiled
from sunup.physiology.heat import heat_length
from sunup.physiology.philox import draws
from sunup.physiology.state import MOST_LUTEA

MOST_CYCLING = 1.0 - 1e-9  # of those like her: beyond, there is no telling when she begins


@compiled
def median_first_ovulation_days(f: Any, p: Any) -> float:
    """Median days from calving to first ovulation by condition (1 to 9) and parity.

    Condition counts for more in first-calf cows, who are never sooner than others.
    """
    over = min(f.condition, p.condition_best) - 5.0
    days = p.first_ovulation_days - p.first_ovulation_per_condition_days * over
    if f.is_first_calf == 1:
        later = p.first_ovulation_days + p.first_calf_later_days
        days = max(days, later - p.first_calf_per_condition_days * over)
    return max(20.0, days)


@compiled
def too_thin(f: Any, p: Any) -> float:
    """Share of cows of her condition that do not cycle, however long ago they calved."""
    if f.is_heifer == 1:
        return 0.0
    return share_below((p.thin_anestrus_condition - f.condition) / p.thin_anestrus_sd)


@compiled
def share_cycling(f: Any, p: Any) -> float:
    """Share of females like her that have begun to cycle."""
    if f.is_heifer == 1:
        return share_below((f.mature_share - p.puberty_share) / p.puberty_share_sd)
    if f.days_postpartum <= 1.0:
        return 0.0
    median = median_first_ovulation_days(f, p)
    here = share_below(math.log(f.days_postpartum / median) / p.first_ovulation_log_sd)
    return (1.0 - too_thin(f, p)) * here


@compiled
def days_to_first_ovulation(u: float, f: Any, p: Any) -> float:
    """Days until she begins by herself. `u` is her place among her like, of whom those cycle below.

    Where the share that cycles is stated, the herd is read as one whose calving date or weight
    gives that share, so that those not cycling stand at a fitting distance from beginning. Stated
    that none does, or nothing, she stands at her own date or weight. Infinite if she is too thin.
    """
    is_stated = f.share_cycling > 0.0
    own = min(MOST_CYCLING, share_cycling(f, p))
    if f.share_cycling <= 0.0:  # none cycles: she is one of those of her like that do not yet
        u = own + (1.0 - own) * u
    thin = too_thin(f, p)
    if thin > 0.0:
        # of those that do not cycle these are the last, whatever share is stated to cycle
        cycling = f.share_cycling if is_stated else own
        thin *= (1.0 - cycling) / (1.0 - own)
        if u >= 1.0 - thin:
            return math.inf
        if is_stated:
            u = cycling + (u - cycling) * (1.0 - cycling) / (1.0 - thin - cycling)
        else:
            u /= 1.0 - thin
    quantile = normal(min(MOST_CYCLING, u))
    if f.is_heifer == 1:
        here = (f.mature_share - p.puberty_share) / p.puberty_share_sd
        if is_stated:
            here = normal(min(MOST_CYCLING, f.share_cycling))
        return max(0.0, (quantile - here) * p.puberty_share_sd / p.weight_share_per_day)
    median = median_first_ovulation_days(f, p)
    calved = f.days_postpartum
    if is_stated:
        stated = normal(min(MOST_CYCLING, f.share_cycling))
        calved = median * math.exp(p.first_ovulation_log_sd * stated)
    return max(0.0, median * math.exp(p.first_ovulation_log_sd * quantile) - calved)


@compiled
def begin(s: Any, f: Any, p: Any, luck: Any) -> None:
    """Give a female her traits and a state some hours before zero, from which she lives to zero."""
    clear(s)
    u0, u1, u2, u3 = draws(luck, TRAIT_START, 0)
    v0, v1, v2, v3 = draws(luck, TRAIT_OVARY, 0)
    w0, w1, w2, w3 = draws(luck, TRAIT_HEAT, 0)
    peak = p.luteum_peak_heifer_ng_ml if f.is_heifer == 1 else p.luteum_peak_cow_ng_ml
    peak *= 1.0 + f.indicus * p.indicus_progesterone
    s.luteum_peak = peak * math.exp(p.luteum_peak_cv * spread(u2, 0.0, 1.0, 2.5))
    growth = p.growth_heifer_mm_d if f.is_heifer == 1 else p.growth_cow_mm_d
    growth *= 1.0 - f.indicus * p.indicus_smaller
    s.growth_trait = growth * (1.0 + p.growth_cv * spread(u3, 0.0, 1.0, 2.5))
    limit = p.dominance_clock_heifer_h if f.is_heifer == 1 else p.dominance_clock_cow_h
    s.clock_trait = limit + spread(v0, 0.0, p.clock_sd_h, 2.5)
    s.ripe_days = spread(v1, p.luteolysis_ripe_days, p.luteolysis_ripe_sd_days, 2.5)
    s.threshold = max(0.15, spread(v2, p.surge_threshold, p.surge_threshold_sd, 2.5))
    s.induction_trait = normal(v3)
    s.heat_trait = spread(w0, 0.0, 1.0, 2.5)
    s.strength_trait = spread(w1, 0.0, 1.0, 2.5)
    scale = p.insert_heifer if f.is_heifer == 1 else p.insert_cow
    scale *= 1.0 + f.indicus * p.indicus_progesterone
    s.insert_trait = scale * math.exp(p.insert_cv * spread(w2, 0.0, 1.0, 2.5))
    barren = p.barren_share_heifer if f.is_heifer == 1 else p.barren_share_cow
    s.is_barren = 1 if w3 < barren else 0

    share = f.share_cycling
    if math.isnan(share):
        share = share_cycling(f, p)
    is_known = not math.isnan(f.cycle_day)
    if is_known or u0 < share:
        s.is_cycling = 1
        s.is_primed = 1
        age_h = 24.0 * u1 * (p.cycle_days + s.ripe_days - p.luteolysis_ripe_days)
        if is_known:
            age_h = 24.0 * f.cycle_day - p.heat_to_ovulation_h
        begin_at_ovulation(s, age_h, int(f.is_heifer), p)
        if age_h < 0.0:  # she was in heat this day
            s.heat_h = -24.0 * f.cycle_day
            s.heat_end_h = s.heat_h + heat_length(s, 0, f, p, luck)
        return
    s.began_anestrous = 1
    s.first_ovulation_h = 24.0 * days_to_first_ovulation(u0, f, p)
    s.unripe_until_h = s.first_ovulation_h
    x0, _, _, _ = draws(luck, START, 0)
    s.now_h = -24.0 * p.anestrous_wave_days * (1.0 + x0)
    s.emergence_h = s.now_h
    s.last_ovulation_h = -math.inf


@compiled
def begin_at_ovulation(s: Any, age_h: float, is_heifer: int, p: Any) -> None:
    """Place her at an ovulation `age_h` hours before zero (after zero if negative)."""
    s.ovulation_due_h = -age_h
    s.now_h = min(0.0, -age_h)
    if age_h < 0.0:
        s.has_follicle = 1
        s.diameter = p.plateau_high_p4_cow_mm
        if is_heifer == 1:
            s.diameter = p.plateau_high_p4_heifer_mm
        s.growth_mm_h = s.growth_trait / 24.0
        s.clock_limit_h = s.clock_trait
        s.emergence_h = -24.0 * 8.0
        s.deviation_h = -24.0 * 5.0
        s.heat_due_h = math.inf
        s.p4_sum = s.luteum_peak * -s.deviation_h  # it grew under a luteum


@compiled
def clear(s: Any) -> None:
    """Empty a state."""
    s.now_h = 0.0
    s.first_ovulation_h = math.inf
    s.unripe_until_h = -math.inf
    s.emergence_h = math.inf
    s.deviation_h = math.inf
    s.expired_h = -math.inf
    s.ovulation_due_h = math.inf
    s.heat_due_h = math.inf
    s.last_ovulation_h = -math.inf
    s.pgf_h = -math.inf
    s.insert_in_h = -math.inf
    s.insert_out_h = -math.inf
    s.insert_lost_h = math.inf
    s.mga_start_h = -math.inf
    s.mga_end_h = -math.inf
    s.ecg_until_h = -math.inf
    s.ester_h = -math.inf
    s.ester_acts_h = math.inf
    s.ester_surge_h = math.inf
    s.ai_due_h = math.inf
    s.last_ai_h = -math.inf
    s.earlier_ai_h = -math.inf
    s.service_h = -math.inf
    s.conceived_h = -math.inf
    s.embryo_lost_h = math.inf
    s.false_heat_h = math.inf
    s.pregnant_heat_h = math.inf
    s.heat_h = -math.inf
    s.heat_end_h = -math.inf
    s.diameter = 0.0
    s.growth_mm_h = 0.06
    s.clock_h = 0.0
    s.clock_limit_h = 100.0
    s.lifted = 0.0
    s.exposure = 0.0
    s.p4_sum = 0.0
    s.p4 = 0.0
    s.ester_surge_wait_h = 0.0
    s.insert_amount = 0.0
    s.insert_end_p4 = 0.0
    s.forced_exposure = 0.0
    s.dominance_days = 0.0
    s.ecg_share = 0.0
    s.bull_share = 1.0
    s.prior_p4 = 0.0
    s.ovulation_p4 = 0.0
    s.is_cycling = 0
    s.began_anestrous = 0
    s.is_primed = 0
    s.has_follicle = 0
    s.is_forced = 0
    s.is_silent = 0
    s.is_barren = 0
    s.has_ovum = 0
    s.insert_is_in = 0
    s.mga_is_fed = 0
    s.calf_is_off = 0
    s.bulls_are_in = 0
    s.is_pregnant = 0
    s.found_pregnant = 0
    s.ai_is_sexed = 0
    s.ai_is_natural = 0
    s.n_ovulations = 0
    s.n_waves = 0
    s.n_surges = 0
    s.n_false_heats = 0
    s.n_services = 0
    s.n_cl = 0
    for k in range(MOST_LUTEA):
        s.cl_birth[k] = -math.inf
        s.cl_peak[k] = 0.0
        s.cl_fall[k] = -math.inf
        s.cl_half[k] = 1.0
        s.cl_top[k] = 0.0
        s.cl_ripe[k] = math.inf
        s.cl_kind[k] = 0


@compiled
def reach_days(s: Any, f: Any, p: Any) -> float:
    """Days from her own first ovulation within which a progestin starts her."""
    reach = p.progestin_reach_cow_days + p.progestin_reach_sd_cow_days * s.induction_trait
    if f.is_heifer == 1:
        reach = p.progestin_reach_heifer_days + p.progestin_reach_sd_heifer_days * s.induction_trait
    if s.calf_is_off == 1:
        reach += p.calf_off_reach_days
    return reach


@compiled
def starts_after_luteum(s: Any, t: float, f: Any, p: Any) -> bool:
    """Whether a luteum that a drug has made starts her, if at `t` she is near enough to starting.

    Its progesterone, and the ovulation itself, reach further than a progestin does.
    """
    return (s.first_ovulation_h - t) / 24.0 < reach_days(s, f, p) + p.gnrh_reach_more_days


@compiled
def progestin_ends(s: Any, t: float, days: float, f: Any, p: Any) -> None:
    """A progestin is taken away: it may start a female who is near enough to starting herself."""
    if s.is_cycling == 1 or days < p.progestin_least_days:
        return
    if (s.first_ovulation_h - t) / 24.0 < reach_days(s, f, p):
        s.is_cycling = 1
        s.is_primed = 1
        s.first_ovulation_h = math.inf


@compiled
def calf_goes(s: Any, t: float, f: Any, p: Any) -> None:
    """The calf is taken away: a cow near enough to beginning by herself begins.

    After a progestin that came out in the same hour, or a luteum that a drug has made, the two
    reaches add; alone the calf's absence has its own reach, and the first ovulation is then an
    unprimed one.
    """
    if f.is_heifer == 1:  # she has none
        return
    s.calf_is_off = 1
    if s.is_cycling == 1:
        return
    if s.insert_out_h == t:
        progestin_ends(s, t, (t - s.insert_in_h) / 24.0, f, p)
    alone = (s.first_ovulation_h - t) / 24.0 < p.calf_off_reach_days
    if alone or (s.n_ovulations > 0 and starts_after_luteum(s, t, f, p)):
        s.is_cycling = 1
        s.first_ovulation_h = math.inf
