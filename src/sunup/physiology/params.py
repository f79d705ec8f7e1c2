"""The figures of the animal as one frozen record; in the library they are ``physiology.*``."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from operator import attrgetter
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.problems import SunupError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

STEM = "physiology."
MOST_SHARE = 0.995


class ParamsError(SunupError):
    """A figure the simulator needs is missing or is no number."""

    def __init__(self, key: str, what: str) -> None:
        super().__init__(f"the figure {key} {what}; the simulator cannot run without it.")


def highest(name: str, unit: str) -> float:
    """Bound of a figure that is fitted or drawn: what is a share or a worth stays below 1."""
    return MOST_SHARE if unit == "share" or name.endswith("_worth") else math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Params:
    """Every figure of the simulator; units end the names where they are not shares or ratios."""

    # Corpora lutea
    luteum_mid_days: float
    luteum_slope_days: float
    luteum_peak_cow_ng_ml: float
    luteum_peak_heifer_ng_ml: float
    luteum_peak_cv: float
    luteum_cycle_cv: float
    luteolysis_ripe_days: float
    luteolysis_ripe_sd_days: float
    luteolysis_cycle_sd_days: float
    luteolysis_follicle_mm: float
    luteolysis_half_life_h: float
    luteum_after_loss_h: float
    short_luteum_days: float
    short_luteum_sd_days: float
    short_luteum_share: float
    # PGF
    pgf_ceiling: float
    pgf_mid_days: float
    pgf_slope_days: float
    pgf_second_gain_days: float
    pgf_second_within_h: float
    pgf_dose_gain_days: float
    pgf_dose_half: float
    pgf_lag_h: float
    pgf_half_life_h: float
    pgf_half_life_cv: float
    pgf_partial_share: float
    pgf_partial_drop: float
    pgf_indicus_delay_days: float
    pgf_indicus_loss: float
    # Follicle waves
    emergence_mm: float
    deviation_mm: float
    growth_cow_mm_d: float
    growth_heifer_mm_d: float
    growth_cv: float
    growth_wave_cv: float
    plateau_high_p4_cow_mm: float
    plateau_high_p4_heifer_mm: float
    plateau_gain_mm: float
    growth_half_ng_ml: float
    lh_half_ng_ml: float
    dominance_clock_cow_h: float
    dominance_clock_heifer_h: float
    clock_sd_h: float
    clock_wave_sd_h: float
    clock_recovery: float
    turnover_h: float
    wave_after_ovulation_h: float
    wave_after_ovulation_sd_h: float
    # Estradiol, surge and heat
    estradiol_from_mm: float
    estradiol_scale_cow_mm: float
    estradiol_scale_heifer_mm: float
    estradiol_levels_off: float
    estradiol_block_ng_ml: float
    lift_memory_h: float
    exposure_memory_h: float
    surge_threshold: float
    surge_threshold_sd: float
    surge_delay_h: float
    surge_delay_sd_h: float
    heat_to_ovulation_h: float
    heat_to_ovulation_sd_h: float
    heat_shown_cow: float
    heat_shown_heifer: float
    first_heat_silent: float
    heat_length_h: float
    heat_length_sd_h: float
    heat_length_own: float
    heat_length_least_h: float
    stands_per_h: float
    stands_log_sd: float
    stands_early: float
    heat_block_ng_ml: float
    # What people see
    seen_electronic: float
    seen_patch: float
    stands_to_rub: float
    riding_seen: float
    signs_seen: float
    seen_late: float
    false_patch_per_d: float
    false_chalk_per_d: float
    false_eye_per_d: float
    # GnRH and other drugs
    gnrh_ceiling: float
    gnrh_half_cow_mm: float
    gnrh_half_heifer_mm: float
    gnrh_width_mm: float
    gnrh_dose_gain_mm: float
    gnrh_dose_half: float
    gnrh_p4_loss: float
    gnrh_p4_half_ng_ml: float
    gnrh_spent_from: float
    gnrh_spent_loss: float
    gnrh_heifer: float
    gnrh_indicus_loss: float
    gnrh_regressing: float
    gnrh_to_ovulation_h: float
    gnrh_to_ovulation_sd_h: float
    gnrh_stops_heat_h: float
    insert_floor_ng_ml: float
    insert_burst_ng_ml: float
    insert_burst_days: float
    insert_rise_h: float
    insert_half_life_h: float
    insert_cow: float
    insert_heifer: float
    insert_cv: float
    insert_lost_per_7_days: float
    mga_ng_ml: float
    mga_half_life_h: float
    mga_lag_h: float
    ester_acts_share: float
    ester_block_ng_ml: float
    ester_dose_half: float
    ester_new_wave_h: float
    ester_new_wave_sd_h: float
    benzoate_surge_h: float
    cypionate_surge_h: float
    ester_surge_sd_h: float
    ester_heat_before_h: float
    ester_half_mm: float
    ester_surge_to_ovulation_h: float
    ecg_dose_half: float
    ecg_days: float
    ecg_growth: float
    ecg_anestrous_gain: float
    # Not cycling yet
    anestrus_lh: float
    anestrus_progestin_lh: float
    anestrus_calf_off_lh: float
    anestrus_ecg_lh: float
    anestrous_wave_days: float
    cycle_days: float
    no_heat_since_days: float
    first_ovulation_days: float
    first_ovulation_per_condition_days: float
    condition_best: float
    first_calf_later_days: float
    first_calf_per_condition_days: float
    thin_anestrus_condition: float
    thin_anestrus_sd: float
    first_ovulation_log_sd: float
    puberty_share: float
    puberty_share_sd: float
    weight_share_per_day: float
    progestin_reach_cow_days: float
    progestin_reach_sd_cow_days: float
    progestin_reach_heifer_days: float
    progestin_reach_sd_heifer_days: float
    progestin_least_days: float
    calf_off_reach_days: float
    gnrh_reach_more_days: float
    # Sperm, ovum, embryo
    early_half_h: float
    early_width_h: float
    late_half_h: float
    late_width_h: float
    same_service_h: float
    sperm_life_h: float
    ovum_life_h: float
    sexed_shorter_h: float
    sexed_worth: float
    fertile_cow: float
    fertile_heifer: float
    fertilised: float
    barren_share_cow: float
    barren_share_heifer: float
    loss_share_7_to_16: float
    loss_share_16_to_32: float
    lost_32_to_100: float
    lost_late_until_days: float
    lost_to_term: float
    lost_last_days: float
    no_exposure_worth: float
    exposure_half: float
    old_follicle_days: float
    old_follicle_width_days: float
    old_follicle_floor: float
    prior_p4_loss: float
    prior_p4_scale_ng_ml: float
    ovulation_p4_half_ng_ml: float
    began_anestrous_worth: float
    unripe_days: float
    postpartum_half_days: float
    postpartum_width_days: float
    first_calf_worth: float
    condition_gain: float
    condition_middle: float
    condition_least_worth: float
    condition_most_worth: float
    indicus_fertile: float
    cross_fertile: float
    indicus_smaller: float
    indicus_progesterone: float
    indicus_ovulation_sooner_h: float
    indicus_heat_shorter: float
    indicus_heat_hidden: float
    bull_anestrus_left: float
    bull_serves: float
    pregnant_heat_share: float
    pregnant_heat_from_days: float
    pregnant_heat_until_days: float
    check_from_days: float

    def __post_init__(self) -> None:
        if self.luteolysis_follicle_mm > self.deviation_mm:
            # the uterus foretells the hour of that size, which is exact only in the common phase
            raise ParamsError(STEM + "luteolysis_follicle_mm", "is larger than deviation_mm")

    @classmethod
    def from_figures(cls, figures: Mapping[str, float]) -> Params:
        """Take the record out of figures by their dotted keys.

        Parameters
        ----------
        figures : mapping of str to float
            ``physiology.NAME`` to its value; other keys are not read.

        Raises
        ------
        ParamsError
            If one is missing or is no finite number.
        """
        values = {}
        for field in fields(cls):
            key = STEM + field.name
            if key not in figures:
                raise ParamsError(key, "is missing")
            value = figures[key]
            if not np.isfinite(value):
                raise ParamsError(key, f"is {value}")
            values[field.name] = float(value)
        return cls(**values)

    def changed(self, values: Mapping[str, float]) -> Params:
        """Return the record with some figures changed, as a fit or a question does."""
        names = {field.name for field in fields(self)}
        for name in values:
            if name not in names:
                raise ParamsError(STEM + name, "is not known")
        return replace(self, **values)


_NAMES = tuple(field.name for field in fields(Params))
_VALUES = attrgetter(*_NAMES)  # `astuple` copies deeply: 0.6 ms a set
PARAMS = np.dtype([(name, "f8") for name in _NAMES])


def pack_params(sets: Sequence[Params]) -> NDArray[np.void]:
    """Lay parameter sets out for the kernel, shape (k,)."""
    return np.array([_VALUES(params) for params in sets], PARAMS)
