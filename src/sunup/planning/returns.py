"""After an insemination: return watch, and whether the bulls turned in are enough.

Days are calendar days on the ranch's clock: service is day 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from sunup.base.days import days_between

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.base.figures import Figure
    from sunup.library.library import Library


@dataclass(frozen=True, slots=True)
class ReturnFigures:
    """Days after insemination, bulls a female, exams."""

    watch: Figure
    two_cycles: Figure
    exam_before: Figure
    exam_old: Figure
    per_month: Figure
    ratio_12_15: Figure
    ratio_15_18: Figure
    ratio_18_24: Figure
    ratio_24_up: Figure
    ratio_after_sync: Figure
    ratio_cleanup: Figure

    @staticmethod
    def of(library: Library) -> ReturnFigures:
        """Take them from the library."""
        figure = library.figure
        return ReturnFigures(
            watch=figure("practice.return_watch_days"),
            two_cycles=figure("breeding.two_cycles_d"),
            exam_before=figure("breeding.bull_exam_before_days"),
            exam_old=figure("breeding.bull_exam_old_days"),
            per_month=figure("breeding.yearling_cows_per_month"),
            ratio_12_15=figure("bulls.ratio_12_15_months"),
            ratio_15_18=figure("bulls.ratio_15_18_months"),
            ratio_18_24=figure("bulls.ratio_18_24_months"),
            ratio_24_up=figure("bulls.ratio_24_months_up"),
            ratio_after_sync=figure("bulls.after_synchronised_ratio"),
            ratio_cleanup=figure("bulls.cleanup_ratio"),
        )


@dataclass(frozen=True, slots=True)
class ReturnDue:
    """When a female inseminated would come back in heat if she did not hold."""

    female: str
    tag: str
    inseminated_on: date
    from_on: date
    until_on: date
    second_from_on: date  # if that heat is missed too
    second_until_on: date

    def is_on(self, day: date) -> bool:
        """Whether a return is to be looked for on a day."""
        return (
            self.from_on <= day <= self.until_on
            or self.second_from_on <= day <= self.second_until_on
        )

    def words(self, day: date) -> str:
        """Where she stands on a day, in words."""
        n = days_between(self.inseminated_on, day)
        if day < self.from_on:
            return f"{n} days since insemination; a return would come from {_day(self.from_on)}"
        if day <= self.until_on:
            return f"{n} days since insemination: watch her until {_day(self.until_on)}"
        if self.second_from_on <= day <= self.second_until_on:
            return f"{n} days since insemination: second return, until {_day(self.second_until_on)}"
        if day < self.second_from_on:
            return f"{n} days since insemination, no return seen: likely but not surely pregnant"
        return f"{n} days since insemination, no return seen: have her checked"


def return_due(female: str, tag: str, *, inseminated_on: date, figures: ReturnFigures) -> ReturnDue:
    """Return the days on which one female would come back in heat.

    Notes
    -----
    18 to 24 days (common practice, no source), and again at 36 to 48 days.
    """
    low, high = (int(day) for day in figures.watch.span)
    second, second_end = (int(day) for day in figures.two_cycles.span)
    return ReturnDue(
        female=female,
        tag=tag,
        inseminated_on=inseminated_on,
        from_on=inseminated_on + timedelta(days=low),
        until_on=inseminated_on + timedelta(days=high),
        second_from_on=inseminated_on + timedelta(days=second),
        second_until_on=inseminated_on + timedelta(days=second_end),
    )


def watch_list(lines: Sequence[ReturnDue], day: date) -> tuple[ReturnDue, ...]:
    """Females whose return is to be looked for on a day, those due longest first."""
    due = [line for line in lines if line.is_on(day)]
    return tuple(sorted(due, key=lambda line: (line.from_on, line.tag)))


@dataclass(frozen=True, slots=True)
class Bull:
    """A bull that runs with the group. Age in whole months; None: not known, taken as mature."""

    name: str
    age_months: int | None = None
    examined_on: date | None = None
    exam: str | None = None  # satisfactory | deferred | unsatisfactory


@dataclass(frozen=True, slots=True)
class BullPower:
    """How many females the bulls of a group can serve, against how many there are."""

    females: int
    least: int
    most: int
    lines: tuple[tuple[str, int, int, Figure], ...]
    remarks: tuple[str, ...]
    figures: tuple[Figure, ...]


def bull_power(
    bulls: Sequence[Bull],
    *,
    n_females: int,
    bulls_in_on: date,
    is_synchronised: bool = False,
    figures: ReturnFigures,
) -> BullPower:
    """Return whether the bulls are enough, by age, and which exams are due.

    Parameters
    ----------
    bulls : sequence of Bull
    n_females : int
        Females the bulls run with.
    bulls_in_on : date
    is_synchronised : bool
        Natural service of a synchronised group: heats come together and need more bulls. After a
        synchronised AI, where only returns are served, this is false.
    figures : ReturnFigures

    Notes
    -----
    By age: 12-15 months 10-12 females, 15-18: 12-18, 18-24: 18-25, older 25-35 (Cornell; part
    read); a yearling serves about one female for each month of his age (memory). Synchronised
    natural service 15-25 a bull (trade press; Day 1999). After synchronised AI, 20-30, 31-49 and
    50-60 females a bull gave 87.8, 82.6 and 89.2 % pregnant (Nebraska 2016): fewer bulls may do.
    """
    lines: list[tuple[str, int, int, Figure]] = []
    remarks: list[str] = []
    for bull in bulls:
        figure = _ratio(bull.age_months, figures)
        low, high = figure.span
        if bull.age_months is None:
            remarks.append(f"{bull.name}: age not on file, taken as two years or more")
        if is_synchronised:
            high = min(high, figures.ratio_after_sync.span[1])
            low = min(low, figures.ratio_after_sync.span[0])
        if bull.exam == "unsatisfactory":
            remarks.append(f"{bull.name}: failed his breeding soundness exam; leave him out")
            continue
        remarks += _exam_remark(bull, bulls_in_on, figures)
        lines.append((bull.name, int(low), int(high), figure))
    least, most = sum(line[1] for line in lines), sum(line[2] for line in lines)
    used = [line[3] for line in lines] + [figures.exam_before]
    if is_synchronised:
        used.append(figures.ratio_after_sync)
    if n_females > most:
        remarks.append(
            f"{n_females} females for bulls that serve {least} to {most}: add a bull, or split the "
            "group"
        )
        if not is_synchronised:
            used.append(figures.ratio_cleanup)
    return BullPower(
        n_females, least, most, tuple(lines), tuple(remarks), tuple(dict.fromkeys(used))
    )


def _ratio(age_months: int | None, figures: ReturnFigures) -> Figure:
    if age_months is None or age_months >= 24:
        return figures.ratio_24_up
    if age_months >= 18:
        return figures.ratio_18_24
    return figures.ratio_15_18 if age_months >= 15 else figures.ratio_12_15


def _exam_remark(bull: Bull, bulls_in_on: date, figures: ReturnFigures) -> list[str]:
    if bull.exam == "deferred":
        return [f"{bull.name}: exam deferred; have him examined again before he goes in"]
    if bull.examined_on is None:
        return [f"{bull.name}: no breeding soundness exam on file; have him examined"]
    age = days_between(bull.examined_on, bulls_in_on)
    if age > 365 or age < 0:
        return [f"{bull.name}: last exam {_day(bull.examined_on)}, not of this season; examine him"]
    if age > figures.exam_old.number:
        usual = figures.exam_before.span[1]
        return [f"{bull.name}: last exam {age} days before he goes in; {usual:g} at most is usual"]
    return []


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"
