"""The reduced mechanism as the kernel is written: compiled, Philox, one loop to the next event."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from reduced.mechanism import GNRH_H, PGF_H, Counts, Figures
from sunup.physiology.chance import logistic, spread
from sunup.physiology.compiled import compiled
from sunup.physiology.philox import draws

STATE = np.dtype(
    [
        (name, "f8")
        for name in (
            "emergence_h",
            "emerged_h",
            "growth_mm_h",
            "ready_h",
            "spent_h",
            "birth_h",
            "peak_ng_ml",
            "luteum_h",  # of its next event: ripe, or low once it is falling
            "heat_h",
            "ovulation_h",
            "last_ovulation_h",
            "ai_h",
        )
    ]
    + [
        (name, "i8")
        for name in (
            "has_follicle",
            "is_ready",
            "has_luteum",
            "is_falling",
            "n_waves",
            "n_ovulations",
            "n_surges",
        )
    ]
)
FIGURES = np.dtype([(name, "f8") for name in Figures._fields])
START, WAVE, OVULATION, SURGE, GNRH, PGF, SERVICE = 1, 2, 3, 4, 5, 6, 7
WIDEST = 2.5
SPERM_LIFE_H, OVUM_LIFE_H = 72.0, 30.0


@compiled
def begin(s: Any, f: Any, luck: Any) -> None:
    """Place her at an ovulation of even age."""
    u, _, _, _ = draws(luck, START, 0)
    s.ovulation_h = -f.cycle_h * u
    s.emergence_h = math.inf
    s.ready_h = math.inf
    s.spent_h = math.inf
    s.luteum_h = math.inf
    s.heat_h = math.inf
    s.last_ovulation_h = -math.inf
    s.ai_h = -math.inf
    s.has_follicle = 0
    s.is_ready = 0
    s.has_luteum = 0
    s.is_falling = 0
    s.n_waves = 0
    s.n_ovulations = 0
    s.n_surges = 0


@compiled
def emerge(s: Any, t: float, f: Any, luck: Any) -> None:
    """A follicle emerges; its readiness and the end of its dominance are known at once."""
    s.n_waves += 1
    u, v, _, _ = draws(luck, WAVE, int(s.n_waves))
    s.growth_mm_h = spread(u, f.growth_mm_h, f.growth_mm_h * f.growth_cv, WIDEST)
    s.emergence_h = math.inf
    s.emerged_h = t
    s.ready_h = t + (f.ready_mm - f.emergence_mm) / s.growth_mm_h
    s.spent_h = t + (f.deviation_mm - f.emergence_mm) / s.growth_mm_h
    s.spent_h += spread(v, f.dominance_h, f.dominance_sd_h, WIDEST)
    s.has_follicle = 1
    s.is_ready = 0


@compiled
def set_fall(s: Any, fall_h: float, f: Any) -> None:
    """The luteum falls from an hour on; find the hour at which progesterone is low."""
    top = s.peak_ng_ml * logistic((fall_h - s.birth_h - f.mid_h) / f.slope_h)
    s.is_falling = 1
    s.luteum_h = fall_h
    if top > f.low_ng_ml:
        s.luteum_h += f.half_life_h * math.log2(top / f.low_ng_ml)


@compiled
def call_heat(s: Any, t: float, f: Any, luck: Any) -> None:
    """Set heat and ovulation where nothing stands in their way."""
    if s.ready_h <= t:
        s.ready_h = math.inf
        s.is_ready = 1
    if s.has_luteum == 1 or s.has_follicle == 0 or s.is_ready == 0 or s.ovulation_h < math.inf:
        return
    s.n_surges += 1
    u, v, _, _ = draws(luck, SURGE, int(s.n_surges))
    s.heat_h = t + max(0.0, spread(u, f.surge_delay_h, f.surge_delay_sd_h, WIDEST))
    s.ovulation_h = s.heat_h + spread(v, f.heat_to_ovulation_h, f.heat_to_ovulation_sd_h, WIDEST)


@compiled
def settle(before_h: float, f: Any, luck: Any) -> int:
    """Whether a service `before_h` hours before ovulation makes her pregnant."""
    u, _, _, _ = draws(luck, SERVICE, 0)
    early = 1.0 - logistic((before_h - f.early_half_h) / f.early_width_h)
    late = logistic((before_h - f.late_half_h) / f.late_width_h)
    return 1 if u < f.fertile * early * late else 0


@compiled
def ovulate(s: Any, t: float, f: Any, luck: Any) -> None:
    """The follicle is gone; a luteum is born where none stands; the next wave is called."""
    s.ovulation_h = math.inf
    s.last_ovulation_h = t
    s.has_follicle = 0
    s.ready_h = math.inf
    s.spent_h = math.inf
    s.n_ovulations += 1
    u, v, w, _ = draws(luck, OVULATION, int(s.n_ovulations))
    s.emergence_h = t + max(0.0, spread(u, f.wave_after_h, f.wave_after_sd_h, WIDEST))
    if s.has_luteum == 0:
        s.has_luteum = 1
        s.birth_h = t
        s.peak_ng_ml = f.peak_ng_ml * math.exp(f.peak_cv * spread(v, 0.0, 1.0, WIDEST))
        s.luteum_h = t + spread(w, f.ripe_h, f.ripe_sd_h, WIDEST)
        s.is_falling = 0


@compiled
def give_gnrh(s: Any, t: float, f: Any, luck: Any) -> int:
    """Give GnRH; return 1 if an ovulation follows that would not have followed now."""
    u, v, _, _ = draws(luck, GNRH, int(t))
    lag = spread(v, f.gnrh_lag_h, f.gnrh_lag_sd_h, WIDEST)
    if s.ovulation_h < math.inf:
        if s.heat_h == math.inf:
            return 0
        s.heat_h = math.inf
        s.ovulation_h = min(s.ovulation_h, t + lag)
        return 1
    if s.has_follicle == 0:
        return 0
    diameter = f.emergence_mm + s.growth_mm_h * (t - s.emerged_h)
    if u >= f.gnrh_ceiling * logistic((diameter - f.gnrh_half_mm) / f.gnrh_width_mm):
        return 0
    s.ovulation_h = t + lag
    return 1


@compiled
def give_pgf(s: Any, t: float, f: Any, luck: Any) -> int:
    """Give PGF; return 1 if a standing luteum answers."""
    if s.has_luteum == 0 or s.is_falling == 1:
        return 0
    u, _, _, _ = draws(luck, PGF, int(t))
    if u >= f.pgf_ceiling * logistic((t - s.birth_h - f.pgf_mid_h) / f.pgf_slope_h):
        return 0
    set_fall(s, t + f.pgf_lag_h, f)
    return 1


@compiled
def live(s: Any, f: Any, luck: Any, counts: Any) -> None:
    """Live from an ovulation before zero to the end, event by event."""
    row = 0
    was_in_heat = 0
    order = GNRH_H
    while True:
        t = min(order, s.heat_h, s.ovulation_h)
        t = min(t, s.emergence_h, s.luteum_h)
        # of a follicle that is ready nothing comes under a luteum, of one that is spent without
        t = min(t, s.spent_h if s.has_luteum == 1 else s.ready_h)
        if t >= f.end_h:
            return
        if s.emergence_h <= t:
            emerge(s, t, f, luck)
        elif s.has_luteum == 0 and s.ready_h <= t:
            call_heat(s, t, f, luck)
        elif s.has_luteum == 1 and s.spent_h <= t:
            s.spent_h = math.inf
            if s.ovulation_h == math.inf:
                s.has_follicle = 0
                s.ready_h = math.inf
                s.emergence_h = t + f.turnover_h
        elif s.luteum_h <= t:
            if s.is_falling == 0:
                set_fall(s, t, f)
            else:
                s.luteum_h = math.inf
                s.has_luteum = 0
                call_heat(s, t, f, luck)
        elif s.heat_h <= t:
            s.heat_h = math.inf
            if PGF_H <= t < f.ai_h and was_in_heat == 0:
                was_in_heat = 1
                counts[3] += 1
        elif s.ovulation_h <= t:
            ovulate(s, t, f, luck)
            if t - s.ai_h < SPERM_LIFE_H:
                counts[4] += settle(t - s.ai_h, f, luck)
                s.ai_h = -math.inf
        else:
            if row == 0:
                counts[1] += give_gnrh(s, t, f, luck)
                order = PGF_H
            elif row == 1:
                counts[2] += give_pgf(s, t, f, luck)
                order = f.ai_h
            else:
                give_gnrh(s, t, f, luck)
                order = f.end_h
                if t - s.last_ovulation_h < OVUM_LIFE_H:
                    counts[4] += settle(s.last_ovulation_h - t, f, luck)
                else:
                    s.ai_h = t
            row += 1


@compiled
def run_cows(figures: Any, luck: Any, states: Any, cows: int, counts: Any) -> None:
    """Run cows, counting."""
    f = figures[0]
    s = states[0]
    for i in range(cows):
        luck[3] = i
        begin(s, f, luck)
        live(s, f, luck, counts)
        counts[0] += 1


def run(figures: Figures, *, cows: int, seed: int) -> Counts:
    """Run `cows` cows under a seed of 0 to 2**32 - 1."""
    counts = np.zeros(len(Counts._fields), np.int64)
    luck = np.array([seed, 0, 0, 0], np.uint64)
    run_cows(np.array([figures], FIGURES), luck, np.zeros(1, STATE), cows, counts)
    return Counts(*(int(count) for count in counts))
