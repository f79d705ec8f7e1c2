"""May she be pregnant? The one question that must be asked before a luteolytic.

A PGF that reaches a pregnant female ends her pregnancy. A female first exposed (to a bull or by
AI) `exposure_before_pgf_days` or more before a PGF is refused it, unless she was found not
pregnant at least the method's earliest day after her last exposure.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from sunup.records.female import (
    CheckMethod,
    Exposure,
    ExposureKind,
    Female,
    PregnancyFinding,
)

if TYPE_CHECKING:
    from sunup.base.figures import Figure
    from sunup.library.library import Library


@dataclass(frozen=True, slots=True)
class ExposureFigures:
    """The days the rule rests on."""

    days_before_pgf: Figure
    ultrasound: Figure
    palpation: Figure
    blood: Figure

    @staticmethod
    def of(library: Library) -> ExposureFigures:
        """Take the figures from the library."""
        return ExposureFigures(
            days_before_pgf=library.figure("practice.exposure_before_pgf_days"),
            ultrasound=library.figure("readiness.ultrasound_earliest_days"),
            palpation=library.figure("readiness.palpation_earliest_days"),
            blood=library.figure("readiness.blood_earliest_days"),
        )

    def earliest(self, method: CheckMethod | None) -> Figure:
        """Earliest reliable day of a method; a method not named is taken as the slowest."""
        if method is CheckMethod.ULTRASOUND:
            return self.ultrasound
        if method is CheckMethod.BLOOD:
            return self.blood
        return max((self.palpation, self.ultrasound, self.blood), key=lambda f: f.number)


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why she may be pregnant, with when a check would settle it, and the figure behind it."""

    text: str
    figure: Figure


def as_calved(female: Female, on: date) -> Female:
    """Take a female that is due as calved on her due date, for a day after it.

    A plan is made half a year ahead, when last year's pregnancies still run. From her due date on
    the pregnancy and the exposure on file are over; before it she is left as she is.
    """
    due = female.due_on
    if due is None or due > on or (female.calved_on is not None and female.calved_on >= due):
        return female
    return replace(
        female,
        calved_on=due,
        exposure=None,
        pregnancy=None,
        pregnancy_checked_on=None,
        pregnancy_method=None,
    )


def is_found_pregnant(female: Female) -> bool:
    """Whether her last finding on file is a pregnancy that no calving ended."""
    if female.pregnancy is not PregnancyFinding.PREGNANT:
        return False
    checked = female.pregnancy_checked_on
    return female.calved_on is None or checked is None or checked >= female.calved_on


def find_doubt(female: Female, *, pgf_on: date, figures: ExposureFigures) -> Doubt | None:
    """Return why a PGF on a date may end a pregnancy, or None when nothing on file says so.

    An exposure or finding older than her last calving on file ended in that calving. An
    insemination and a bull are held to the rule each by its own days.

    Parameters
    ----------
    female : Female
    pgf_on : date
        Day of the luteolytic.
    figures : ExposureFigures

    Returns
    -------
    Doubt or None
    """
    female = as_calved(female, pgf_on)
    calved_on = female.calved_on
    checked_on = female.pregnancy_checked_on
    ended = calved_on is not None and checked_on is not None and checked_on < calved_on
    if female.pregnancy is PregnancyFinding.PREGNANT and not ended:
        text = "found pregnant"
        if calved_on is not None and checked_on is None:
            text += " on a day not on file; give the day if that was before she calved"
        return Doubt(text, figures.days_before_pgf)
    parts = () if female.exposure is None else female.exposure.parts
    if calved_on is not None:  # what was over by then ended in the calving on file
        parts = tuple(part for part in parts if not _was_over(part, calved_on))
    if not parts:
        if female.pregnancy is PregnancyFinding.UNSURE and not ended:
            return Doubt("pregnancy finding unsure; check again", figures.days_before_pgf)
        return None
    counted = [
        part for part in parts if (pgf_on - part.from_on).days >= figures.days_before_pgf.number
    ]
    if not counted:
        return None
    since = " and ".join(f"{_what(part)} from {_day(part.from_on)}" for part in counted)
    if any(part.until_on is None and part.kind is ExposureKind.BULL for part in counted):
        return Doubt(
            f"{since} and no day bulls were taken out on file; she may be pregnant",
            figures.days_before_pgf,
        )
    last = max(part.until_on or part.from_on for part in counted)
    earliest = figures.earliest(female.pregnancy_method)
    settles_on = last + timedelta(days=int(earliest.number))
    if female.pregnancy is PregnancyFinding.NOT_PREGNANT:
        checked = female.pregnancy_checked_on
        if checked is not None and checked >= settles_on:
            return None
        when = f"on {_day(checked)}" if checked else "on a day not on file"
        method = female.pregnancy_method.value if female.pregnancy_method else "a method not named"
        return Doubt(
            f"{since}; found not pregnant {when} by {method}, too early to be sure: "
            f"check again on or after {_day(settles_on)}",
            earliest,
        )
    return Doubt(f"{since} and not found open; check on or after {_day(settles_on)}", earliest)


def _was_over(exposure: Exposure, calved_on: date) -> bool:
    """Whether an exposure was over before a calving."""
    if exposure.until_on is None and exposure.kind is ExposureKind.BULL:
        return False
    return (exposure.until_on or exposure.from_on) < calved_on


def _what(exposure: Exposure) -> str:
    return "with a bull" if exposure.kind is ExposureKind.BULL else "inseminated"


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
