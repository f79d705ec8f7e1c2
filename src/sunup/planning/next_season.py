"""Where each female will stand at next season's first insemination, and who will be late."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from sunup.base.days import days_between
from sunup.planning.calving_book import Outcome

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sunup.planning.calving_book import BookLine, CalvingFigures


@dataclass(frozen=True, slots=True)
class NextSeason:
    """One female at next season's start.

    `days` are since calving at the first insemination: from the calving itself, or from the likely
    due day; `early_days` and `late_days` from the ends of her range. `chance_ready` is the chance
    that she has the days by then.
    """

    female: str
    tag: str
    days: int
    early_days: int
    late_days: int
    chance_ready: float
    has_calved: bool
    is_late: bool
    ready_on: date
    words: str


def next_season(line: BookLine, *, first_ai_on: date, figures: CalvingFigures) -> NextSeason | None:
    """Return where a female will stand at next season's first insemination; None without a date.

    Notes
    -----
    45 days since calving at insemination (common practice, no source). "Late" means that on her
    likely day she will not have them.
    """
    one = line.pregnancy
    need = int(figures.since_calving_at_ai.number)
    last_calving = first_ai_on - timedelta(days=need)
    if line.outcome is Outcome.CALVED and one.ended_on is not None:
        days = days_between(one.ended_on, first_ai_on)
        is_late = days < need
        ready_on = one.ended_on + timedelta(days=need)
        words = f"{_calved(days)} at first AI"
        if is_late:
            words += f": late; ready on {_day(ready_on)}"
        return NextSeason(
            one.female,
            one.tag,
            days,
            days,
            days,
            float(not is_late),
            True,
            is_late,
            ready_on,
            words,
        )
    if line.outcome not in {Outcome.DUE, Outcome.OVERDUE} or one.due is None:
        return None
    due = one.due
    days = days_between(due.likely_on, first_ai_on)
    chance = due.chance_by(last_calving)
    is_late = days < need
    ready_on = due.likely_on + timedelta(days=need)
    words = f"about {_calved(days)} at first AI" if days > 0 else "will not have calved by first AI"
    words += f"; {round(chance * 10)} in 10 that she has {need}"
    return NextSeason(
        female=one.female,
        tag=one.tag,
        days=days,
        early_days=days_between(due.early_on, first_ai_on),
        late_days=days_between(due.late_on, first_ai_on),
        chance_ready=chance,
        has_calved=False,
        is_late=is_late,
        ready_on=ready_on,
        words=words,
    )


def late_next_season(
    lines: Iterable[BookLine], *, first_ai_on: date, figures: CalvingFigures
) -> tuple[NextSeason, ...]:
    """Return the females that will be late for next season's first insemination, latest first."""
    found = [next_season(line, first_ai_on=first_ai_on, figures=figures) for line in lines]
    late = [one for one in found if one is not None and one.is_late]
    return tuple(sorted(late, key=lambda one: (one.days, one.tag)))


def _calved(days: int) -> str:
    return "1 day calved" if days == 1 else f"{days} days calved"


def _day(day: date) -> str:
    return f"{day.day} {day:%b}"
