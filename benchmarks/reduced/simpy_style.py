"""The reduced mechanism as SimPy processes: wave, luteum, heat and orders wait for each other."""

from __future__ import annotations

import math
import random
from typing import TYPE_CHECKING, Any

import simpy

from reduced.mechanism import GNRH_H, PGF_H, Counts

if TYPE_CHECKING:
    from collections.abc import Generator

    from reduced.mechanism import Figures

WIDEST = 2.5
SPERM_LIFE_H, OVUM_LIFE_H = 72.0, 30.0


def logistic(z: float) -> float:
    """Return 1 / (1 + exp(-z))."""
    return 1.0 / (1.0 + math.exp(-z))


class Cow:
    """One cow and what she counts to; her processes run in an environment of her own."""

    def __init__(self, figures: Figures, luck: random.Random, counts: dict[str, int]) -> None:
        self.f, self.luck, self.counts = figures, luck, counts
        self.env = simpy.Environment(initial_time=-figures.cycle_h * luck.random())
        self.growth_mm_h = 0.0
        self.emergence_h = math.nan
        self.has_follicle = False
        self.is_ready = False
        self.luteum: Any = None
        self.is_falling = False
        self.birth_h = math.nan
        self.peak_ng_ml = math.nan
        self.surge: Any = None  # heat and ovulation, or an ovulation called by GnRH
        self.heat_is_to_come = False
        self.last_ovulation_h = -math.inf
        self.ai_h = -math.inf
        self.was_in_heat = False
        self.wave: Any = self.env.process(self.waves())
        self.env.process(self.ovulation(0.0))
        self.env.process(self.orders())

    def spread(self, mean: float, sd: float) -> float:
        """Return a normal draw held within 2.5 standard deviations."""
        return mean + sd * max(-WIDEST, min(WIDEST, self.luck.gauss(0.0, 1.0)))

    def waves(self) -> Generator[Any, Any, Any]:
        """One follicle after another; an ovulation interrupts."""
        f, env = self.f, self.env
        gap = math.inf
        while True:
            try:
                if gap == math.inf:
                    yield env.event()
                yield env.timeout(gap)
                self.growth_mm_h = self.spread(f.growth_mm_h, f.growth_mm_h * f.growth_cv)
                self.emergence_h = env.now
                self.has_follicle, self.is_ready = True, False
                ready = (f.ready_mm - f.emergence_mm) / self.growth_mm_h
                spent = (f.deviation_mm - f.emergence_mm) / self.growth_mm_h
                spent += self.spread(f.dominance_h, f.dominance_sd_h)
                yield env.timeout(min(ready, spent))
                gap = self.end_of_wave(is_ready=ready < spent)
                if gap < math.inf:
                    continue
                yield env.timeout(abs(ready - spent))
                gap = self.end_of_wave(is_ready=ready >= spent)
            except simpy.Interrupt:
                self.has_follicle = False
                gap = max(0.0, self.spread(f.wave_after_h, f.wave_after_sd_h))

    def end_of_wave(self, *, is_ready: bool) -> float:
        """Be ready, or be spent; return the gap to the next wave, infinite while she keeps it."""
        if is_ready:
            self.is_ready = True
            self.call_heat()
            return math.inf
        if self.luteum is None or self.surge is not None:
            return math.inf
        self.has_follicle = False
        return self.f.turnover_h

    def luteal_life(self) -> Generator[Any, Any, Any]:
        """A luteum until its progesterone is low; an answered PGF interrupts."""
        f, env = self.f, self.env
        try:
            yield env.timeout(self.spread(f.ripe_h, f.ripe_sd_h))
            self.is_falling = True
        except simpy.Interrupt:
            self.is_falling = True
            yield env.timeout(f.pgf_lag_h)
        top = self.peak_ng_ml * logistic((env.now - self.birth_h - f.mid_h) / f.slope_h)
        if top > f.low_ng_ml:
            yield env.timeout(f.half_life_h * math.log2(top / f.low_ng_ml))
        self.luteum = None
        self.call_heat()

    def call_heat(self) -> None:
        """Start heat and ovulation where nothing stands in their way."""
        if self.luteum is None and self.has_follicle and self.is_ready and self.surge is None:
            self.surge = self.env.process(self.heat())

    def heat(self) -> Generator[Any, Any, Any]:
        """Heat, then ovulation; GnRH before heat interrupts and hastens ovulation."""
        f, env = self.f, self.env
        delay = max(0.0, self.spread(f.surge_delay_h, f.surge_delay_sd_h))
        lag = self.spread(f.heat_to_ovulation_h, f.heat_to_ovulation_sd_h)
        due = env.now + delay + lag
        self.heat_is_to_come = True
        try:
            yield env.timeout(delay)
            self.heat_is_to_come = False
            if PGF_H <= env.now < f.ai_h and not self.was_in_heat:
                self.was_in_heat = True
                self.counts["in_heat"] += 1
            yield env.timeout(lag)
        except simpy.Interrupt as gnrh:
            self.heat_is_to_come = False
            after: Any = gnrh.cause
            yield env.timeout(min(due - env.now, after))
        self.ovulate()

    def ovulation(self, lag: float) -> Generator[Any, Any, Any]:
        """Ovulate after a lag."""
        yield self.env.timeout(lag)
        self.ovulate()

    def ovulate(self) -> None:
        """The follicle is gone; a luteum is born where none stands; the next wave is called."""
        f, now = self.f, self.env.now
        self.surge = None
        self.last_ovulation_h = now
        self.wave.interrupt()
        if self.luteum is None:
            self.birth_h = now
            self.peak_ng_ml = f.peak_ng_ml * math.exp(f.peak_cv * self.spread(0.0, 1.0))
            self.is_falling = False
            self.luteum = self.env.process(self.luteal_life())
        if now - self.ai_h < SPERM_LIFE_H:
            self.settle(now - self.ai_h)
            self.ai_h = -math.inf

    def settle(self, before_h: float) -> None:
        """Settle a service `before_h` hours before ovulation."""
        f = self.f
        early = 1.0 - logistic((before_h - f.early_half_h) / f.early_width_h)
        late = logistic((before_h - f.late_half_h) / f.late_width_h)
        if self.luck.random() < f.fertile * early * late:
            self.counts["pregnant"] += 1

    def give_gnrh(self) -> bool:
        """Give GnRH; whether an ovulation follows that would not have followed now."""
        f, now = self.f, self.env.now
        lag = self.spread(f.gnrh_lag_h, f.gnrh_lag_sd_h)
        if self.surge is not None:
            if not self.heat_is_to_come:
                return False
            self.surge.interrupt(lag)
            return True
        if not self.has_follicle:
            return False
        diameter = f.emergence_mm + self.growth_mm_h * (now - self.emergence_h)
        chance = f.gnrh_ceiling * logistic((diameter - f.gnrh_half_mm) / f.gnrh_width_mm)
        if self.luck.random() >= chance:
            return False
        self.surge = self.env.process(self.ovulation(lag))
        return True

    def give_pgf(self) -> bool:
        """Give PGF; whether a standing luteum answers."""
        f = self.f
        if self.luteum is None or self.is_falling:
            return False
        age = self.env.now - self.birth_h
        chance = f.pgf_ceiling * logistic((age - f.pgf_mid_h) / f.pgf_slope_h)
        if self.luck.random() >= chance:
            return False
        self.is_falling = True
        self.luteum.interrupt()
        return True

    def orders(self) -> Generator[Any, Any, Any]:
        """GnRH, PGF, then GnRH with insemination."""
        env = self.env
        yield env.timeout(GNRH_H - env.now)
        self.counts["answered_gnrh"] += self.give_gnrh()
        yield env.timeout(PGF_H - env.now)
        self.counts["luteum_fell"] += self.give_pgf()
        yield env.timeout(self.f.ai_h - env.now)
        self.give_gnrh()
        if env.now - self.last_ovulation_h < OVUM_LIFE_H:
            self.settle(self.last_ovulation_h - env.now)
        else:
            self.ai_h = env.now


def run(figures: Figures, *, cows: int, seed: int) -> Counts:
    """Run `cows` cows one after another."""
    luck = random.Random(seed)  # noqa: S311  a simulation, not a secret
    counts = dict.fromkeys(Counts._fields, 0)
    for _ in range(cows):
        cow = Cow(figures, luck, counts)
        cow.env.run(until=figures.end_h)
        counts["cows"] += 1
    return Counts(**counts)
