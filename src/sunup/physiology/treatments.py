"""What the drugs do: GnRH, insert, progestin in feed, estradiol esters, eCG, calves away."""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.anestrus import progestin_ends
from sunup.physiology.chance import ESTER, GNRH, INSERT, logistic, spread
from sunup.physiology.compiled import compiled
from sunup.physiology.follicle import held_back, lose_dominance
from sunup.physiology.luteum import LN2, share_of_dose
from sunup.physiology.philox import draws, half_hour
from sunup.physiology.progesterone import from_insert, from_standing_lutea, progesterone

WEEK_H = 168.0
SURGE_INDEX = 1000000  # of the luck of the surge an ester calls: apart from that of its dose


@compiled
def answer_to_gnrh(diameter: float, p4: float, dose: float, f: Any, p: Any) -> float:
    """Chance that a working dominant follicle ovulates to a dose of GnRH, above 0."""
    middle = p.gnrh_half_heifer_mm if f.is_heifer == 1 else p.gnrh_half_cow_mm
    middle *= 1.0 - f.indicus * p.indicus_smaller
    middle -= p.gnrh_dose_gain_mm * math.log(dose) / LN2
    chance = p.gnrh_ceiling * logistic((diameter - middle) / p.gnrh_width_mm)
    chance *= 1.0 - p.gnrh_p4_loss * (1.0 - held_back(p4, p.gnrh_p4_half_ng_ml))
    if f.is_heifer == 1:
        chance *= p.gnrh_heifer
    chance *= share_of_dose(dose, p.gnrh_dose_half)
    return chance * (1.0 - min(1.0, 2.0 * f.indicus) * p.gnrh_indicus_loss)


@compiled
def give_gnrh(s: Any, t: float, dose: float, f: Any, p: Any, luck: Any) -> int:
    """Give GnRH; return 1 if an ovulation will follow that would not have followed now."""
    if dose <= 0.0:
        return 0
    u, v, _, _ = draws(luck, GNRH, half_hour(t))
    lag = spread(v, p.gnrh_to_ovulation_h, p.gnrh_to_ovulation_sd_h, 2.0)
    if s.ovulation_due_h < math.inf:
        if s.heat_due_h <= t or s.heat_due_h == math.inf:
            return 0  # the surge has begun: nothing is left to release
        s.is_forced = 1
        s.forced_exposure = 1.0
        s.ovulation_due_h = min(s.ovulation_due_h, t + lag)
        if s.heat_due_h - t > p.gnrh_stops_heat_h:
            s.heat_due_h = math.inf
        return 1
    p4 = progesterone(s, t, p)
    chance = 0.0
    if s.has_follicle == 1:
        chance = answer_to_gnrh(s.diameter, p4, dose, f, p)
        spent = (s.clock_h / s.clock_limit_h - p.gnrh_spent_from) / (1.0 - p.gnrh_spent_from)
        chance *= 1.0 - p.gnrh_spent_loss * min(1.0, max(0.0, spent))
    elif s.expired_h > -math.inf:
        chance = p.gnrh_regressing * min(1.0, dose)
    if u >= chance:
        return 0
    s.is_forced = 1
    s.forced_exposure = s.exposure / s.threshold
    s.ovulation_due_h = t + lag
    return 1


@compiled
def insert_in(s: Any, t: float, amount: float, p: Any, luck: Any) -> None:
    """Place an insert; draw whether and when it falls out."""
    if amount <= 0.0:
        return
    s.insert_is_in = 1
    s.insert_in_h = t
    s.insert_amount = amount
    u, _, _, _ = draws(luck, INSERT, half_hour(t))
    s.insert_lost_h = math.inf
    if p.insert_lost_per_7_days > 0.0:
        s.insert_lost_h = t + WEEK_H * math.log(u) / math.log(1.0 - p.insert_lost_per_7_days)


@compiled
def insert_out(s: Any, t: float, f: Any, p: Any) -> None:
    """Take the insert out, or lose it."""
    if s.insert_is_in == 0:
        return
    left = from_insert(s, t, p)
    s.insert_is_in = 0
    s.insert_end_p4 = left
    s.insert_out_h = t
    s.insert_lost_h = math.inf
    progestin_ends(s, t, (t - s.insert_in_h) / 24.0, f, p)


@compiled
def give_ester(s: Any, t: float, amount: float, is_cypionate: bool, p: Any, luck: Any) -> None:
    """Give an estradiol ester; what it does hangs on the progesterone it meets some hours later.

    So it makes no difference whether an insert comes out, or PGF is given, just before or after it.
    Less than a full dose acts in fewer females.
    """
    _, _, w, _ = draws(luck, ESTER, half_hour(t))
    if w >= share_of_dose(amount, p.ester_dose_half):
        return
    if s.ester_acts_h < math.inf:
        ester_acts(s, t, p, luck)  # an earlier dose acts first
    s.ester_h = t
    s.ester_surge_wait_h = p.cypionate_surge_h if is_cypionate else p.benzoate_surge_h
    s.ester_acts_h = t + p.ester_acts_share * s.ester_surge_wait_h


@compiled
def ester_acts(s: Any, t: float, p: Any, luck: Any) -> None:
    """Under progesterone an ester ends the wave, without it calls a surge.

    Hours of the new wave and of the surge count from the dose.
    """
    s.ester_acts_h = math.inf
    u, v, _, _ = draws(luck, ESTER, half_hour(s.ester_h))
    has_surged = s.heat_due_h <= t or s.heat_due_h == math.inf  # in heat by now, or by GnRH
    if s.ovulation_due_h < math.inf and has_surged:
        return
    if s.insert_is_in == 1 or from_standing_lutea(s, t, p) > p.ester_block_ng_ml:
        s.ovulation_due_h = math.inf
        s.heat_due_h = math.inf
        gap = spread(u, p.ester_new_wave_h, p.ester_new_wave_sd_h, 2.0)
        lose_dominance(s, t, max(0.0, s.ester_h + gap - t))
        s.expired_h = -math.inf
        s.exposure = 0.0
        return
    wait = spread(v, s.ester_surge_wait_h, p.ester_surge_sd_h, 2.0) - p.ester_heat_before_h
    s.ester_surge_h = max(t, s.ester_h + wait)


@compiled
def ester_surge(s: Any, t: float, f: Any, p: Any, luck: Any) -> None:
    """Heat under an ester, and the surge and ovulation that follow if a follicle is fit."""
    s.ester_surge_h = math.inf
    if s.ovulation_due_h < math.inf:
        return  # her own surge came first
    if progesterone(s, t, p) > 2.0 * p.ester_block_ng_ml:
        return
    u, v, w, _ = draws(luck, ESTER, SURGE_INDEX + half_hour(t))
    s.n_surges += 1
    s.heat_due_h = t
    shown = p.heat_shown_heifer if f.is_heifer == 1 else p.heat_shown_cow
    s.is_silent = 0 if w < shown * (1.0 - f.indicus * p.indicus_heat_hidden) else 1
    if s.has_follicle == 1:
        chance = p.gnrh_ceiling
        middle = p.ester_half_mm * (1.0 - f.indicus * p.indicus_smaller)
        chance *= logistic((s.diameter - middle) / p.gnrh_width_mm)
        if u < chance:
            s.is_forced = 1
            s.forced_exposure = 1.0
            lag = spread(v, p.ester_surge_to_ovulation_h, p.gnrh_to_ovulation_sd_h, 2.0)
            lag += p.ester_heat_before_h
            s.ovulation_due_h = t + lag
