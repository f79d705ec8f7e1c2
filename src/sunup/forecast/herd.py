"""From the facts on file to females of a run; what is not on file is drawn, and said.

An unknown fact is one draw per female in each block of replicates (``luck.BLOCK``), from a
distribution named in the library. A forecast of 1,000 replicates so meets 40 draws of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from sunup.forecast.gestation import GestationFigures, expect_gestation
from sunup.forecast.luck import FACT_CALVED, FACT_CONDITION, even_draws, normal_pair
from sunup.library.cattle import breed_names, indicus_share
from sunup.physiology.females import FemaleTable
from sunup.records.female import Cycling, FemaleClass

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.typing import NDArray

    from sunup.forecast.figures import ForecastFigures
    from sunup.library.library import Library
    from sunup.records.female import Female

DAYS_A_MONTH = 365.25 / 12.0
WIDEST = 2.5  # standard deviations a drawn fact is held within
LEAST_CONDITION, MOST_CONDITION = 1.0, 9.0
LEAST_SHARE, MOST_SHARE = 0.2, 1.5  # of mature weight, as the kernel takes it
MOST_DAYS_CALVED = 2000.0  # days since calving, as the kernel takes them: 5 years and more
TAKEN_SHARE = 0.6  # read by nothing: her chance to cycle is stated


@dataclass(frozen=True, slots=True, kw_only=True)
class HerdFacts:
    """Facts at zero, shape (n,) each; NaN where not on file.

    Parameters
    ----------
    tags : tuple of str
    is_heifer, is_first_calf : ndarray of bool
    indicus : ndarray of float
    days_postpartum, days_postpartum_sd : ndarray of float
        [d]; the spread is 0 where the calving day is on file.
    condition : ndarray of float
    mature_share, share_cycling : ndarray of float
        As `FemaleTable` has them.
    is_found_not_cycling : ndarray of bool
        By a scan or by watching.
    cycle_day : ndarray of float
        Days since her last heat; NaN where it is not on file or too long ago to tell her stage.
    gestation, gestation_sd : ndarray of float
        [d], by the dam's breed.
    assumed : tuple of str
        Sentences: what had to be assumed.
    """

    tags: tuple[str, ...]
    is_heifer: NDArray[np.bool_]
    is_first_calf: NDArray[np.bool_]
    indicus: NDArray[np.float64]
    days_postpartum: NDArray[np.float64]
    days_postpartum_sd: NDArray[np.float64]
    condition: NDArray[np.float64]
    mature_share: NDArray[np.float64]
    share_cycling: NDArray[np.float64]
    is_found_not_cycling: NDArray[np.bool_]
    cycle_day: NDArray[np.float64]
    gestation: NDArray[np.float64]
    gestation_sd: NDArray[np.float64]
    assumed: tuple[str, ...]

    def __len__(self) -> int:
        return len(self.tags)


def find_facts(
    females: Sequence[Female], *, zero_on: date, library: Library, figures: ForecastFigures
) -> HerdFacts:
    """Read what is on file of the females of a group.

    Parameters
    ----------
    females : sequence of Female
        Those that will be treated, in any order: a female's place is her luck.
    zero_on : date
        Day of the first treatment.
    library : Library
    figures : ForecastFigures

    Returns
    -------
    HerdFacts
    """
    kinds = breed_names(library)
    shares = [indicus_share(f, kinds) for f in females]
    days = [_days_since_calving(f, zero_on) for f in females]
    born = GestationFigures.of(library)
    gestations = [  # the calf's sire is not known here: her own breeds stand for both
        expect_gestation(dam=f.breed_shares, is_heifer=f.class_ is FemaleClass.HEIFER, figures=born)
        for f in females
    ]
    heats = [_days_since_heat(f, zero_on, figures) for f in females]
    cycling = [
        1.0 if day is not None else _chance_to_cycle(f, zero_on, share or 0.0, figures)
        for f, day, share in zip(females, heats, shares, strict=True)
    ]
    is_heifer = np.array([f.class_ is FemaleClass.HEIFER for f in females])
    return HerdFacts(
        tags=tuple(f.tag for f in females),
        is_heifer=is_heifer,
        is_first_calf=np.array([f.class_ is FemaleClass.FIRST_CALF_COW for f in females]),
        indicus=np.array([share or 0.0 for share in shares]),
        days_postpartum=np.array(
            [np.nan if d is None else min(max(0.0, float(d)), MOST_DAYS_CALVED) for d in days]
        ),
        days_postpartum_sd=np.array(
            [
                figures.days_since_calving_sd
                if d is None
                else (figures.calving_day_unsure_d if f.calved_on is None else 0.0)
                for f, d in zip(females, days, strict=True)
            ]
        ),
        condition=np.array([np.nan if f.condition is None else f.condition for f in females]),
        mature_share=np.array([_mature_share(f) for f in females]),
        share_cycling=np.array(cycling),
        is_found_not_cycling=np.array([f.cycling is Cycling.NOT_CYCLING for f in females]),
        cycle_day=np.array(
            [
                np.nan if day is None or day > figures.heat_known_days else float(day)
                for day in heats
            ]
        ),
        gestation=np.array([g.mean_d for g in gestations]),
        gestation_sd=np.array([g.sd_d for g in gestations]),
        assumed=_say_assumed(females, shares, days, heats, figures=figures),
    )


def draw_females(facts: HerdFacts, *, seed: int, figures: ForecastFigures) -> FemaleTable:
    """Return the females of one block of replicates, unknown facts drawn.

    Parameters
    ----------
    facts : HerdFacts
    seed : int
        Of the block.
    figures : ForecastFigures

    Returns
    -------
    FemaleTable
        In the order of the facts.
    """
    n = len(facts)
    condition = np.where(
        np.isnan(facts.condition),
        figures.condition_mean + figures.condition_sd * _cut_normals(seed, FACT_CONDITION, n),
        facts.condition,
    )
    middle = np.where(
        np.isnan(facts.days_postpartum), figures.days_since_calving_mean, facts.days_postpartum
    )
    days = middle + facts.days_postpartum_sd * _cut_normals(seed, FACT_CALVED, n)
    return FemaleTable(
        is_heifer=facts.is_heifer,
        is_first_calf=facts.is_first_calf,
        indicus=facts.indicus,
        days_postpartum=np.where(facts.is_heifer, 0.0, np.clip(days, 0.0, MOST_DAYS_CALVED)),
        condition=np.clip(condition, LEAST_CONDITION, MOST_CONDITION),
        mature_share=np.where(
            np.isnan(facts.mature_share),
            TAKEN_SHARE,
            np.clip(facts.mature_share, LEAST_SHARE, MOST_SHARE),
        ),
        share_cycling=facts.share_cycling,
        cycle_day=facts.cycle_day,
    )


def _cut_normals(seed: int, purpose: int, n: int) -> NDArray[np.float64]:
    u, v, _, _ = even_draws(seed, purpose, replicates=1, females=n)
    return np.clip(normal_pair(u[0], v[0])[0], -WIDEST, WIDEST)


def _days_since_calving(female: Female, zero_on: date) -> int | None:
    day = female.calved_on or female.due_on
    return None if day is None or female.class_ is FemaleClass.HEIFER else (zero_on - day).days


def _days_since_heat(female: Female, zero_on: date, figures: ForecastFigures) -> int | None:
    """None where no heat says anything of her cycle now: before a calving, or found not cycling.

    A cow without a calving day is taken to have calved as long ago as others are.
    """
    heat = female.last_heat_on
    if heat is None or heat > zero_on or female.cycling is Cycling.NOT_CYCLING:
        return None
    calved_on = female.calved_on or female.due_on
    if calved_on is not None and heat <= calved_on:
        return None
    days = (zero_on - heat).days
    if calved_on is None and female.class_.has_calved and days > figures.days_since_calving_mean:
        return None
    return days


def _mature_share(female: Female) -> float:
    if not female.weight_kg or not female.mature_weight_kg:
        return float("nan")
    return female.weight_kg / female.mature_weight_kg


def _chance_to_cycle(
    female: Female, zero_on: date, indicus: float, figures: ForecastFigures
) -> float:
    """NaN: the kernel reckons it from her other facts."""
    if female.cycling is Cycling.CYCLING:
        return 1.0
    if female.class_ is FemaleClass.HEIFER:
        if female.tract_score is not None:
            return figures.cycling_by_tract_score[female.tract_score - 1]
        if np.isnan(_mature_share(female)):
            if female.born_on is None:
                return figures.heifers_cycling
            return _chance_by_age((zero_on - female.born_on).days, indicus, figures)
    return float("nan")


def _chance_by_age(days: int, indicus: float, figures: ForecastFigures) -> float:
    """Share of heifers of an age that cycle: puberty is normal about an age of the breed.

    Between Bos taurus, half Bos indicus and Bos indicus the mean age lies on straight lines.
    """
    age = np.interp(
        indicus,
        (0.0, 0.5, 1.0),
        (
            figures.puberty_age_months,
            figures.puberty_age_cross_months,
            figures.puberty_age_indicus_months,
        ),
    )
    return NormalDist(float(age), figures.puberty_age_sd_months).cdf(days / DAYS_A_MONTH)


def _say_assumed(
    females: Sequence[Female],
    shares: Sequence[float | None],
    days: Sequence[int | None],
    heats: Sequence[int | None],
    *,
    figures: ForecastFigures,
) -> tuple[str, ...]:
    n = len(females)
    heifers = [f for f in females if f.class_ is FemaleClass.HEIFER]
    calved = [(f, d) for f, d in zip(females, days, strict=True) if f.class_.has_calved]
    bare = [
        f
        for f in heifers
        if f.tract_score is None and f.cycling is None and np.isnan(_mature_share(f))
    ]
    of_age = [f for f in bare if f.born_on is not None]
    by_tract = [f for f in heifers if f.tract_score is not None and f.cycling is None]
    asked = (
        (
            sum(f.condition is None for f in females),
            n,
            (
                "body condition not on file for {} of {}: drawn around "
                f"{figures.condition_mean:g} (spread {figures.condition_sd:g})"
            ),
        ),
        (
            sum(d is None for _, d in calved),
            len(calved),
            (
                "calving day not on file for {} of {} cows: drawn around "
                f"{figures.days_since_calving_mean:g} days before the first treatment "
                f"(spread {figures.days_since_calving_sd:g} days)"
            ),
        ),
        (
            sum(d is not None and f.calved_on is None for f, d in calved),
            len(calved),
            (
                "only the day due is on file for {} of {} cows: calving drawn around it "
                f"(spread {figures.calving_day_unsure_d:g} days)"
            ),
        ),
        (
            sum(d is not None and d > MOST_DAYS_CALVED for d in days),
            len(calved),
            (
                f"{{}} of {{}} cows calved more than {MOST_DAYS_CALVED:.0f} days ago: taken as "
                f"calved {MOST_DAYS_CALVED:.0f} days ago; see whether the day is right"
            ),
        ),
        (sum(s is None for s in shares), n, "breed not known for {} of {}: taken as Bos taurus"),
        (
            len(bare) - len(of_age),
            len(heifers),
            (
                "weight with mature weight, tract score, scan or birth not on file for {} of {} "
                f"heifers: {figures.heifers_cycling * 100:.0f} of 100 like them taken to cycle"
            ),
        ),
        (
            len(of_age),
            len(heifers),
            (
                "whether they cycle reckoned from age and breed alone for {} of {} heifers: "
                f"puberty at {figures.puberty_age_months:g} months (spread "
                f"{figures.puberty_age_sd_months:g}), {figures.puberty_age_cross_months:g} in half "
                f"and {figures.puberty_age_indicus_months:g} in pure Bos indicus; weigh or score "
                "them"
            ),
        ),
        (
            len(by_tract),
            len(heifers),
            (
                "whether they cycle reckoned from the tract score for {} of {} heifers, and the "
                "score taken to hold at the first treatment"
            ),
        ),
        (
            sum(f.cycling is Cycling.NOT_CYCLING for f in females),
            n,
            "{} of {} found not cycling: taken as still not cycling at the first treatment",
        ),
    )
    said = [words.format(count, of) for count, of, words in asked if count]
    return (*said, _say_heats(heats, figures))


def _say_heats(heats: Sequence[int | None], figures: ForecastFigures) -> str:
    told = [day for day in heats if day is not None]
    if not told:
        return "last heats are not on file: every cycling female may be at any stage"
    known = sum(day <= figures.heat_known_days for day in told)
    words = (
        f"last heats are on file for {len(told)} of {len(heats)}: they cycle, and {known} of them "
        "start at the stage it tells, without a heat since it for as long as a cycle may last"
    )
    if known < len(told):
        words += f", the others, seen more than {figures.heat_known_days:.0f} days before, from any"
    if len(told) < len(heats):
        words += "; every other cycling female may be at any stage"
    return words
