"""Sperm, ovum and embryo: the chance that a service leads to a pregnancy, and where it fails.

The chance is a product of parts, each held or fitted by itself, and one draw is laid against them
in their order in time: so every female that is not pregnant has exactly one cause.
"""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.chance import SERVICE, logistic
from sunup.physiology.compiled import compiled
from sunup.physiology.luteum import share_of_dose
from sunup.physiology.philox import draws

# causes of failure, in the order of the waterfall
PREGNANT, NOT_SERVED, NO_OVULATION, TOO_EARLY, TOO_LATE = 0, 1, 2, 3, 4
NOT_FERTILISED, LOST_DAY_7, LOST_DAY_16, LOST_DAY_32 = 5, 6, 7, 8


@compiled
def early_part(before_h: float, is_sexed: int, p: Any) -> float:
    """Share of sperm life left for an insemination `before_h` hours before ovulation."""
    middle = p.early_half_h
    if is_sexed == 1:
        middle -= p.sexed_shorter_h
    return 1.0 - logistic((before_h - middle) / p.early_width_h)


@compiled
def late_part(before_h: float, p: Any) -> float:
    """Share of ovum life left; `before_h` is negative after ovulation."""
    return logistic((before_h - p.late_half_h) / p.late_width_h)


@compiled
def dominance_part(days: float, p: Any) -> float:
    """Worth of an ovum by the days its follicle was dominant."""
    return p.old_follicle_floor + (1.0 - p.old_follicle_floor) * logistic(
        (p.old_follicle_days - days) / p.old_follicle_width_days
    )


@compiled
def prior_p4_part(mean_ng_ml: float, p: Any) -> float:
    """Worth of an ovum by the progesterone its follicle grew under."""
    return 1.0 - p.prior_p4_loss * math.exp(-mean_ng_ml / p.prior_p4_scale_ng_ml)


@compiled
def standing_p4_part(p4_ng_ml: float, p: Any) -> float:
    """Worth of a service by the progesterone left at ovulation, where luteolysis was not whole."""
    ratio = p4_ng_ml / p.ovulation_p4_half_ng_ml
    return 1.0 / (1.0 + ratio * ratio)


@compiled
def exposure_part(relative: float, p: Any) -> float:
    """Worth of an ovulation called by a drug, by her exposure to estradiol before it.

    A proestrus cut short leaves little, one of two days nearly all: the worth turns about one
    exposure (falling with its fourth power below it) and is whole at her own threshold.
    """
    risen = share_of_dose(relative * relative, p.exposure_half * p.exposure_half)
    return p.no_exposure_worth + (1.0 - p.no_exposure_worth) * risen


@compiled
def breeding_part(indicus: float, p: Any) -> float:
    """What her share of Bos indicus adds to fertility: straight between none, half and all."""
    if indicus <= 0.5:
        return 2.0 * indicus * p.cross_fertile
    return p.cross_fertile + (2.0 * indicus - 1.0) * (p.indicus_fertile - p.cross_fertile)


@compiled
def unripe_part(days: float, p: Any) -> float:
    """Worth of a heifer a drug has made to ovulate `days` before her puberty: her tract lags."""
    return math.exp(-max(0.0, days) / p.unripe_days)


@compiled
def female_part(f: Any, s: Any, t: float, p: Any) -> float:
    """Her own worth: days since calving, parity, condition, cycling or not at the start."""
    part = 1.0
    if f.is_heifer == 0:
        days = f.days_postpartum + t / 24.0
        part *= logistic((days - p.postpartum_half_days) / p.postpartum_width_days)
        if f.is_first_calf == 1:
            part *= p.first_calf_worth
    condition = 1.0 + p.condition_gain * (f.condition - p.condition_middle)
    part *= min(p.condition_most_worth, max(p.condition_least_worth, condition))
    if s.began_anestrous == 1:
        part *= p.began_anestrous_worth
        if t - s.ecg_until_h < 24.0 * p.ecg_days:  # the follicle that ovulates grew under it
            part *= 1.0 + (p.ecg_anestrous_gain - 1.0) * s.ecg_share
        if f.is_heifer == 1:
            part *= unripe_part((s.unripe_until_h - t) / 24.0, p)
    return part


@compiled
def embryo_life(s: Any, f: Any, ovulation_h: float, before_h: float, p: Any, luck: Any) -> Any:
    """Chance of pregnancy at day 30, and where this service fails.

    Parameters
    ----------
    before_h : float
        Hours from insemination to ovulation.

    Returns
    -------
    chance : float
    cause : int
        PREGNANT, or the step at which it fails.
    lost_days : float
        Days after ovulation at which the embryo dies; infinite if it lives to term.
    """
    ceiling = p.fertile_heifer if f.is_heifer == 1 else p.fertile_cow
    ceiling = min(p.fertilised, ceiling * (1.0 + breeding_part(f.indicus, p)))
    own = female_part(f, s, ovulation_h, p)
    early, late = 1.0, 1.0
    if s.ai_is_natural == 0:
        early = early_part(before_h, int(s.ai_is_sexed), p)
        late = late_part(before_h, p)
    ovum = dominance_part(s.dominance_days, p)
    prior = prior_p4_part(s.prior_p4, p)
    called = 1.0
    if s.is_forced == 1:
        called = exposure_part(s.forced_exposure, p)
    # half of what a poor ovum or a poor cow costs falls before day 7, half after
    weak = min(1.0, ovum * prior * called * own)
    half = math.sqrt(weak)
    # what even the best female loses is shared out over the same stretches of days
    loss = math.log(p.fertilised / ceiling)
    to_16 = math.exp(-p.loss_share_7_to_16 * loss)
    to_32 = math.exp(-p.loss_share_16_to_32 * loss)
    to_7 = math.exp(-(1.0 - p.loss_share_7_to_16 - p.loss_share_16_to_32) * loss)
    fertilised = p.fertilised * standing_p4_part(s.ovulation_p4, p)
    if s.ai_is_sexed == 1:
        fertilised *= p.sexed_worth
    if s.is_barren == 1:
        fertilised = 0.0
    parts = (early, late, fertilised, to_7 * half, to_16 * half, to_32)
    u, v, w, _ = draws(luck, SERVICE, int(s.n_services))
    reached = 1.0
    cause = PREGNANT
    for i in range(6):
        reached *= parts[i]
        if cause == PREGNANT and u >= reached:
            cause = TOO_EARLY + i
    chance = reached
    lost_days = math.inf
    if cause == LOST_DAY_7:
        lost_days = 1.0 + 6.0 * v
    elif cause == LOST_DAY_16:
        lost_days = 7.0 + 9.0 * v
    elif cause == LOST_DAY_32:
        lost_days = 16.0 + 14.0 * v
    elif cause == PREGNANT:
        late_loss = p.lost_32_to_100
        if w < late_loss:
            lost_days = 32.0 + (p.lost_late_until_days - 32.0) * v
        elif w < late_loss + (1.0 - late_loss) * p.lost_to_term:
            lost_days = 100.0 + (p.lost_last_days - 100.0) * v
    return chance, cause, lost_days
