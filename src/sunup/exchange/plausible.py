"""Limits between a slip of the pen and a rare animal, from the library's figures.

All are wide. They decide only whether a cell is believed or asked about, never whether a female is
ready.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.base.quantities import KG_PER_LB
from sunup.records.female import FemaleClass

if TYPE_CHECKING:
    from sunup.library.library import Library

    Span = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What files are held against.

    Parameters
    ----------
    weight_kg, heifer_kg, cow_kg, born_kg : (float, float)
        Weight of any female, of a heifer, of a cow (and any mature weight), of a calf at birth.
    pelvic_area_cm2 : (float, float)
    follicle_mm, dose_ml, withdrawal_days : float
        At most.
    pregnancy_days : (float, float)
        Two calvings nearer than the first are one told twice; nobody carries longer than the
        second.
    youngest_calving_days : float
        Age at the first calving, at least.
    first_calf_days, later_calf_days : float
        Younger than the first at a calving it was her first, from the second on it was not.
    never_calved_days : float
        Younger, and without a calving date, she has not calved.
    oldest_years, calvings : int
        At most.
    expiry_years : int
        Ahead, at most, of what stands on a bottle.
    same_act_h : float
        The same act again within this is asked about.
    fetal_ages_days : float
        Ages of a fetus judged on one day that differ by more are not of one.
    worked_h : (float, float)
        Hours of the clock between which cattle go through a chute.
    """

    weight_kg: Span
    heifer_kg: Span
    cow_kg: Span
    born_kg: Span
    pelvic_area_cm2: Span
    follicle_mm: float
    dose_ml: float
    withdrawal_days: float
    pregnancy_days: Span
    youngest_calving_days: float
    first_calf_days: float
    later_calf_days: float
    never_calved_days: float
    oldest_years: int
    calvings: int
    expiry_years: int
    same_act_h: float
    fetal_ages_days: float
    worked_h: Span

    @staticmethod
    def of(library: Library) -> Limits:
        """Take them from the library."""
        figure = library.figure
        return Limits(
            weight_kg=figure("practice.weight_believed_kg").span,
            heifer_kg=figure("practice.heifer_weight_believed_kg").span,
            cow_kg=figure("practice.cow_weight_believed_kg").span,
            born_kg=figure("practice.birth_weight_believed_kg").span,
            pelvic_area_cm2=figure("practice.pelvic_area_believed_cm2").span,
            follicle_mm=figure("practice.follicle_most_mm").number,
            dose_ml=figure("practice.any_dose_most_ml").number,
            withdrawal_days=figure("practice.withdrawal_most_days").number,
            pregnancy_days=figure("practice.calving_after_service_days").span,
            youngest_calving_days=figure("practice.youngest_calving_days").number,
            first_calf_days=figure("practice.first_calf_under_days").number,
            later_calf_days=figure("practice.later_calf_from_days").number,
            never_calved_days=figure("practice.never_calved_under_days").number,
            oldest_years=int(figure("practice.oldest_female_years").number),
            calvings=int(figure("practice.calvings_most").number),
            expiry_years=int(figure("practice.expiry_most_years").number),
            same_act_h=figure("practice.act_in_file_hours").number,
            fetal_ages_days=figure("breeding.fetal_age_error_d").number,
            worked_h=figure("practice.chute_clock_hours").span,
        )

    def weight_of(self, class_: FemaleClass) -> Span:
        """Weight of a female of a class."""
        return self.heifer_kg if class_ is FemaleClass.HEIFER else self.cow_kg


def weight_fault(kg: float, limits: Span) -> str | None:
    """Say what is odd about a live weight, with the unit that would mend it; None if nothing.

    Examples
    --------
    >>> weight_fault(1200.0, (250.0, 950.0))
    '1200 kg (2646 lb) is not a weight of such a female; 1200 lb would be.'
    """
    low, high = limits
    if low <= kg <= high:
        return None
    text = f"{kg:.0f} kg ({kg / KG_PER_LB:.0f} lb) is not a weight of such a female"
    if low <= kg * KG_PER_LB <= high:
        return f"{text}; {kg:.0f} lb would be."
    if low <= kg / KG_PER_LB <= high:
        return f"{text}; {kg / KG_PER_LB:.0f} kg would be."
    return f"{text}."
