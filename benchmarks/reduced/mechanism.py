"""The reduced mechanism in words and figures; both writings take theirs from here.

One cow that cycles, one follicle at a time, at most one luteum that counts, and three orders at
hours from zero: GnRH at 0, PGF at 168, GnRH with insemination at `ai_h`.

- She starts at an ovulation of even age within a cycle, and lives from there.
- Ovulation: the follicle is gone; where no luteum stands one is born; the next wave emerges
  a while later. Sperm on the spot settle the service.
- A follicle grows evenly and is ready at `ready_mm`. Its dominance runs from deviation on; where
  progesterone is high as it is spent the follicle is lost, and the next emerges `turnover_h`
  later; where it is low the follicle persists.
- A luteum's progesterone rises by a logistic in its age. It falls by halves when it is ripe, or
  after a PGF that it answers; progesterone is low from the hour it has fallen to `low_ng_ml`.
- Low progesterone and a ready follicle call heat, and ovulation after it.
- GnRH makes a large enough follicle ovulate; a heat not begun by then does not come.
- Insemination: the chance of pregnancy is `fertile` times the shares of sperm and ovum life left.

Every hour is found in closed form, so both writings go from event to event. Figures are those of
the whole simulator where it has them; `ready_mm` and `low_ng_ml` stand for its exposure to
estradiol, and the reduced form claims nothing about cattle.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from sunup.physiology.params import Params

GNRH_H, PGF_H = 0.0, 168.0


class Figures(NamedTuple):
    """What both writings read; units end the names."""

    cycle_h: float
    growth_mm_h: float
    growth_cv: float
    emergence_mm: float
    deviation_mm: float
    ready_mm: float
    wave_after_h: float
    wave_after_sd_h: float
    dominance_h: float
    dominance_sd_h: float
    turnover_h: float
    peak_ng_ml: float
    peak_cv: float
    mid_h: float
    slope_h: float
    ripe_h: float
    ripe_sd_h: float
    half_life_h: float
    low_ng_ml: float
    pgf_ceiling: float
    pgf_mid_h: float
    pgf_slope_h: float
    pgf_lag_h: float
    gnrh_ceiling: float
    gnrh_half_mm: float
    gnrh_width_mm: float
    gnrh_lag_h: float
    gnrh_lag_sd_h: float
    surge_delay_h: float
    surge_delay_sd_h: float
    heat_to_ovulation_h: float
    heat_to_ovulation_sd_h: float
    early_half_h: float
    early_width_h: float
    late_half_h: float
    late_width_h: float
    fertile: float
    ai_h: float = 234.0
    end_h: float = 336.0


class Counts(NamedTuple):
    """What became of the cows.

    `answered_gnrh`: ovulated to the GnRH at zero; `luteum_fell`: answered the PGF; `in_heat`: from
    the PGF to the insemination.
    """

    cows: int
    answered_gnrh: int
    luteum_fell: int
    in_heat: int
    pregnant: int


def figures_from(p: Params) -> Figures:
    """Take the figures of the reduced form out of those of a mature cow."""
    return Figures(
        cycle_h=24.0 * p.cycle_days,
        growth_mm_h=p.growth_cow_mm_d / 24.0,
        growth_cv=p.growth_cv,
        emergence_mm=p.emergence_mm,
        deviation_mm=p.deviation_mm,
        ready_mm=p.plateau_high_p4_cow_mm,
        wave_after_h=p.wave_after_ovulation_h,
        wave_after_sd_h=p.wave_after_ovulation_sd_h,
        dominance_h=p.dominance_clock_cow_h,
        dominance_sd_h=p.clock_sd_h,
        turnover_h=p.turnover_h,
        peak_ng_ml=p.luteum_peak_cow_ng_ml,
        peak_cv=p.luteum_peak_cv,
        mid_h=24.0 * p.luteum_mid_days,
        slope_h=24.0 * p.luteum_slope_days,
        ripe_h=24.0 * p.luteolysis_ripe_days,
        ripe_sd_h=24.0 * p.luteolysis_ripe_sd_days,
        half_life_h=p.pgf_half_life_h,
        low_ng_ml=p.heat_block_ng_ml,
        pgf_ceiling=p.pgf_ceiling,
        pgf_mid_h=24.0 * p.pgf_mid_days,
        pgf_slope_h=24.0 * p.pgf_slope_days,
        pgf_lag_h=p.pgf_lag_h,
        gnrh_ceiling=p.gnrh_ceiling,
        gnrh_half_mm=p.gnrh_half_cow_mm,
        gnrh_width_mm=p.gnrh_width_mm,
        gnrh_lag_h=p.gnrh_to_ovulation_h,
        gnrh_lag_sd_h=p.gnrh_to_ovulation_sd_h,
        surge_delay_h=p.surge_delay_h,
        surge_delay_sd_h=p.surge_delay_sd_h,
        heat_to_ovulation_h=p.heat_to_ovulation_h,
        heat_to_ovulation_sd_h=p.heat_to_ovulation_sd_h,
        early_half_h=p.early_half_h,
        early_width_h=p.early_width_h,
        late_half_h=p.late_half_h,
        late_width_h=p.late_width_h,
        fertile=p.fertile_cow,
    )
