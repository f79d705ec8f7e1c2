"""Follicle waves: emergence, growth, deviation, dominance and its loss; exposure to estradiol.

Nothing here is scripted by day of cycle. The dominant follicle grows toward a plateau set by LH,
and LH is set by progesterone. A clock of dominance runs while LH pulses are few and runs back
while they are many; when it is spent the follicle loses its function and, a follicle-stimulating
hormone surge later, the next wave emerges. Two or three waves, turnover under a luteum and
persistence under a weak progestin follow from that.
"""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.chance import WAVE, WIDEST, spread
from sunup.physiology.compiled import compiled
from sunup.physiology.philox import draws
from sunup.physiology.progesterone import progesterone

MEMORIES_ALIKE = 1e-6


@compiled
def held_back(p4: float, half_ng_ml: float) -> float:
    """Share left of what progesterone holds back, half at `half_ng_ml`, falling with its cube."""
    cube = half_ng_ml * half_ng_ml * half_ng_ml
    return cube / (cube + p4 * p4 * p4)


@compiled
def lh_freedom(s: Any, t: float, p: Any) -> float:
    """LH pulses she could have without progesterone: all if she cycles, few if she does not."""
    scale = 1.0
    if s.is_cycling == 0:
        scale = p.anestrus_lh
        if s.insert_is_in == 1 or s.mga_is_fed == 1:
            scale = p.anestrus_progestin_lh
        if s.calf_is_off == 1:
            scale = max(scale, p.anestrus_calf_off_lh)
        if t < s.ecg_until_h:
            scale = max(scale, p.anestrus_ecg_lh)
    return scale


@compiled
def plateau_mm(p4: float, freedom: float, f: Any, p: Any) -> float:
    """Diameter the dominant follicle tends to under progesterone [mm].

    Size follows progesterone over its whole range, where the fate of a dominant follicle turns
    about one level of it.
    """
    drive = freedom * p.growth_half_ng_ml / (p.growth_half_ng_ml + p4)
    high = p.plateau_high_p4_cow_mm
    if f.is_heifer == 1:
        high = p.plateau_high_p4_heifer_mm
    return (high + p.plateau_gain_mm * drive) * (1.0 - f.indicus * p.indicus_smaller)


@compiled
def estradiol_output(diameter: float, f: Any, p: Any) -> float:
    """Estradiol a follicle gives when nothing holds its LH pulses back, scaled."""
    scale = p.estradiol_scale_cow_mm
    if f.is_heifer == 1:
        scale = p.estradiol_scale_heifer_mm
    size = 1.0 - f.indicus * p.indicus_smaller
    over = diameter - p.estradiol_from_mm * size
    if over <= 0.0:
        return 0.0
    return over / (scale * size + p.estradiol_levels_off * over)


@compiled
def step(s: Any, t: float, h: float, f: Any, p: Any) -> tuple[float, float, float, float, float]:
    """Diameter, clock, lift, exposure and mean progesterone after `h` hours, from hour `t`.

    Each equation is solved in closed form over the step with progesterone held at its value in the
    middle of the step, which is known exactly: the error falls with the square of the step.
    """
    return step_keeping(s, t, h, kept_after(h, p), f, p)


@compiled
def kept_after(h: float, p: Any) -> tuple[float, float, float]:
    """Shares of lift and of exposure that are left of themselves after `h` hours.

    The third is the share of her lift at the start that exposure holds at the end.
    """
    kept_lift, keep = math.exp(-h / p.lift_memory_h), math.exp(-h / p.exposure_memory_h)
    faster = 1.0 - p.exposure_memory_h / p.lift_memory_h
    between = keep * h / p.exposure_memory_h  # the limit where both memories are as long
    if abs(faster) > MEMORIES_ALIKE:
        between = (kept_lift - keep) / faster
    return kept_lift, keep, between


@compiled
def share_left(grown: float, room: float) -> float:
    """Share of its way to the plateau a follicle has left, exp(-grown / room).

    By Pade's second fraction: within 1e-4 up to 0.6 of `room`, more than a step takes, and between
    0 and 1 beyond.
    """
    even, odd = 12.0 * room * room + grown * grown, 6.0 * room * grown
    return (even - odd) / (even + odd)


@compiled
def step_keeping(
    s: Any, t: float, h: float, kept: tuple[float, float, float], f: Any, p: Any
) -> tuple[float, float, float, float, float]:
    """Do a `step` whose `kept_after` is known, as it is where one step is as long as the last."""
    p4 = progesterone(s, t + 0.5 * h, p)
    diameter = s.diameter
    clock = s.clock_h
    drive_e = 0.0
    if s.has_follicle == 1:
        growth = s.growth_mm_h
        if t < s.ecg_until_h:
            growth *= p.ecg_growth
        dominant_h = h
        start = diameter
        if diameter < p.deviation_mm:
            common_h = (p.deviation_mm - diameter) / growth
            if common_h >= h:
                diameter += growth * h
                dominant_h = 0.0
            else:
                diameter = p.deviation_mm
                dominant_h = h - common_h
        if dominant_h > 0.0:
            freedom = lh_freedom(s, t, p)
            drive = freedom * held_back(p4, p.lh_half_ng_ml)
            top = plateau_mm(p4, freedom, f, p)
            room = max(0.5, top - p.deviation_mm)
            diameter = top + (diameter - top) * share_left(growth * dominant_h, room)
            clock += dominant_h * (1.0 - drive - p.clock_recovery * drive)
            clock = max(0.0, clock)
        drive_e = estradiol_output(0.5 * (start + diameter), f, p)
    kept_lift, keep, between = kept
    # progesterone holds estradiol back, and for a while after it has gone
    free = held_back(p4, p.estradiol_block_ng_ml)
    lag = s.lifted - free
    lifted = free + lag * kept_lift
    exposure = s.exposure * keep + drive_e * (free * (1.0 - keep) + lag * between)
    return diameter, clock, lifted, exposure, p4


@compiled
def wave_growth_mm_h(s: Any, off: float) -> float:
    """Growth of a wave's dominant follicle, as a share off her own."""
    return float(max(0.5, s.growth_trait * (1.0 + off)) / 24.0)


@compiled
def emerge(s: Any, t: float, p: Any, luck: Any) -> None:
    """A wave emerges: its future dominant follicle is 4 mm wide."""
    s.n_waves += 1
    u, v, _, _ = draws(luck, WAVE, int(s.n_waves))
    s.growth_mm_h = wave_growth_mm_h(s, spread(u, 0.0, p.growth_wave_cv, WIDEST))
    s.clock_limit_h = max(24.0, s.clock_trait + spread(v, 0.0, p.clock_wave_sd_h, WIDEST))
    s.has_follicle = 1
    s.emergence_h = t
    s.deviation_h = t + (p.deviation_mm - p.emergence_mm) / s.growth_mm_h
    s.diameter = p.emergence_mm
    s.clock_h = 0.0
    s.p4_sum = 0.0


@compiled
def lose_dominance(s: Any, t: float, gap_h: float) -> None:
    """The dominant follicle loses its function; the next wave emerges `gap_h` hours later."""
    s.has_follicle = 0
    s.expired_h = t
    s.emergence_h = t + gap_h
