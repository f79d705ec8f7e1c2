"""The scan sheet: when to check, how, and what to expect in each female.

With clean-up bulls one scan 55 to 90 days after AI tells AI from bull by the size of the calf: one
that is not of the AI must be younger by the gap. The sheet says both ages for each female.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from sunup.base.days import days_between
from sunup.base.problems import some

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sunup.base.figures import Figure
    from sunup.library.library import Library

_TAGS_SHOWN = 5
METHODS = ("ultrasound", "palpation", "blood")


@dataclass(frozen=True, slots=True)
class ScanFigures:
    """Earliest days by method and the days of the one scan."""

    sure_from: Mapping[str, Figure]
    seen_from: Mapping[str, Figure]
    blood_since_calving: Figure
    one_scan: Figure
    age_good: Figure
    age_error: Figure

    @staticmethod
    def of(library: Library) -> ScanFigures:
        """Take them from the library."""
        figure = library.figure
        return ScanFigures(
            sure_from={way: figure(f"readiness.{way}_earliest_days") for way in METHODS},
            seen_from={way: figure(f"breeding.{way}_possible_days") for way in METHODS},
            blood_since_calving=figure("readiness.blood_days_since_calving"),
            one_scan=figure("practice.scan_days_after_ai"),
            age_good=figure("breeding.fetal_age_good_days"),
            age_error=figure("breeding.fetal_age_error_d"),
        )


@dataclass(frozen=True, slots=True)
class Exposed:
    """A female to be checked: days of her services since her last calving.

    `bulls_in_on` and `bulls_out_on` are of the last bulls with her; None where there were none.
    """

    female: str
    tag: str
    group: str = ""
    ai_on: tuple[date, ...] = ()
    bulls_in_on: date | None = None
    bulls_out_on: date | None = None
    calved_on: date | None = None
    last_found: str = ""  # what the last check said, where there was one
    note: str = ""


@dataclass(frozen=True, slots=True)
class Expected:
    """One line of the scan sheet.

    `ages` are the ages to expect, days, oldest first: each AI one age, the bulls a span from the
    age at which they went out (or the youngest that can be seen) to that at which they went in.
    """

    exposed: Exposed
    since_ai: int | None
    since_bulls_in: int | None
    ages: tuple[tuple[int, int], ...]
    text: str
    is_too_soon: bool
    remarks: tuple[str, ...]


def expect_in(
    exposed: Exposed, *, on: date, method: str = "ultrasound", figures: ScanFigures
) -> Expected:
    """Return what a check on a day should find in one female.

    Parameters
    ----------
    exposed : Exposed
    on : date
        Day of the check.
    method : str
        ultrasound | palpation | blood.
    figures : ScanFigures

    Notes
    -----
    Earliest reliable day: ultrasound 28, palpation 45 (35 to 45 skilled), blood 28 after service,
    and blood only 60 days or more after calving. A pregnancy younger than the method sees is
    reported open: so bulls still in, or out too lately, are said.
    """
    seen, sure = figures.seen_from[method], figures.sure_from[method]
    inseminated = [day for day in sorted(exposed.ai_on) if day <= on]
    ai_ages = [days_between(day, on) for day in reversed(inseminated)]
    since_ai = ai_ages[0] if ai_ages else None
    in_on = exposed.bulls_in_on
    since_in = days_between(in_on, on) if in_on is not None and in_on <= on else None
    remarks: list[str] = []
    ages = [(age, age) for age in sorted(ai_ages, reverse=True)]
    if since_in is not None:
        out_on = exposed.bulls_out_on
        youngest = days_between(out_on, on) if out_on is not None and out_on <= on else 0
        ages.append((max(youngest, 0), since_in))
        if youngest < sure.number:
            remarks.append(
                f"bull pregnancies under {sure.number:g} days are not seen: 'open' may be a young "
                "one; check again"
                + (
                    f" from {_day(out_on + timedelta(days=int(sure.number)))}"
                    if out_on is not None
                    else " after the bulls are out"
                )
            )
    if method == "blood" and exposed.calved_on is not None:
        calved = days_between(exposed.calved_on, on)
        if calved < figures.blood_since_calving.number:
            clear_on = exposed.calved_on + timedelta(days=int(figures.blood_since_calving.number))
            remarks.append(
                f"{calved} days since calving: blood still holds the last pregnancy; not before "
                f"{_day(clear_on)}"
            )
    oldest = max((high for _, high in ages), default=None)
    is_too_soon = oldest is None or oldest < sure.number
    if oldest is not None and is_too_soon:
        remarks.append(f"{oldest} days at most: too soon for {method} (from {sure.number:g} days)")
    if oldest is not None and oldest > figures.age_good.span[1]:
        remarks.append("past the age at which a calf's age is judged well; AI and bull blur")
    if exposed.last_found:
        remarks.append(f"last check: {exposed.last_found}")
    return Expected(
        exposed=exposed,
        since_ai=since_ai,
        since_bulls_in=since_in,
        ages=tuple(ages),
        text=_words(ai_ages, since_in, ages[-1] if since_in is not None else None, seen),
        is_too_soon=is_too_soon,
        remarks=tuple(remarks),
    )


def _words(
    ai_ages: list[int], since_in: int | None, bull: tuple[int, int] | None, seen: Figure
) -> str:
    """What to expect, in words: '64 days, or at most 50'."""
    if not ai_ages and since_in is None:
        return "no service on file"
    said = ""
    if ai_ages:
        said = f"{ai_ages[0]} days"
        if len(ai_ages) > 1:
            said += f" (or {', '.join(str(age) for age in ai_ages[1:])} of an earlier AI)"
    if bull is None or since_in is None:
        return said
    low, high = max(bull[0], 0), bull[1]
    if high < seen.number:
        return said or f"at most {high} days: nothing to see yet"
    span = f"at most {high}" if low < seen.number else f"{low} to {high}"
    if not said:
        return f"{span} days"
    return f"{said}, or {span}"


@dataclass(frozen=True, slots=True)
class Advice:
    """When to check a group, and why."""

    from_on: date
    until_on: date
    text: str
    figures: tuple[Figure, ...]


def advise_check(
    *,
    first_ai_on: date,
    last_ai_on: date,
    bulls_in_on: date | None = None,
    bulls_out_on: date | None = None,
    inseminated_with_bulls: Sequence[str] = (),
    method: str = "ultrasound",
    figures: ScanFigures,
) -> Advice:
    """Return the days on which to check a group.

    Parameters
    ----------
    first_ai_on, last_ai_on : date
        First and last insemination; with bulls, the last one before they went in.
    bulls_in_on, bulls_out_on : date, optional
        Of the clean-up bulls.
    inseminated_with_bulls : sequence of str
        Tags of females inseminated after the bulls had gone in.
    method : str
    figures : ScanFigures

    Notes
    -----
    With clean-up bulls: one scan 55 to 90 days after AI (trade press account: AI at about day 64
    against bull pregnancies of 34 to 54 days is relatively easy). Without: from the earliest day
    of the method after the last AI. Early checks before day 40 to 50 carry more losses.
    """
    low, high = (int(day) for day in figures.one_scan.span)
    sure = int(figures.sure_from[method].number)
    if bulls_in_on is None:
        from_on = last_ai_on + timedelta(days=sure)
        return Advice(
            from_on,
            first_ai_on + timedelta(days=high),
            f"From {_day(from_on)} ({sure} days after the last insemination by {method}). Losses "
            "after an early check are more frequent: check again before winter.",
            (figures.sure_from[method], figures.one_scan),
        )
    from_on = max(last_ai_on + timedelta(days=low), bulls_in_on + timedelta(days=sure))
    until_on = first_ai_on + timedelta(days=high)
    gap = days_between(last_ai_on, bulls_in_on)
    text = (
        f"One scan from {_day(from_on)} to {_day(until_on)} ({low} to {high} days after AI) tells "
        f"AI from bull: the bulls' calves are at least {gap} days younger."
    )
    if gap < figures.age_error.number / 2:
        text = (
            f"One scan from {_day(from_on)} to {_day(until_on)}, but bulls went in {gap} "
            f"{'day' if gap == 1 else 'days'} after the last AI: early bull calves cannot be told "
            f"from AI by age (judged to within {figures.age_error.number:g} days). DNA tells."
        )
    if bulls_out_on is not None:
        again = bulls_out_on + timedelta(days=sure)
        if again > from_on:
            text += f" Late bull calves can be seen from {_day(again)}."
    if inseminated_with_bulls:
        text += (
            f" {some(inseminated_with_bulls, _TAGS_SHOWN)}: inseminated with the bulls in; her "
            "calf cannot be told from theirs by age. DNA tells."
        )
    return Advice(
        from_on,
        max(from_on, until_on),
        text,
        (figures.one_scan, figures.sure_from[method], figures.age_error),
    )


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"
