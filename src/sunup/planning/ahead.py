"""What comes after insemination, in one line a kind: returns to watch, the scan, the calvings."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from sunup.planning.calving_book import Outcome
from sunup.planning.pregnancies import exposed_of, pregnancy_of, return_of
from sunup.planning.scan_sheet import advise_check

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import date

    from sunup.planning.after_ai import BredFemale
    from sunup.planning.calving_book import Pregnancy
    from sunup.planning.due_dates import Due
    from sunup.planning.parentage import ParentageFigures
    from sunup.planning.returns import ReturnDue, ReturnFigures
    from sunup.planning.scan_sheet import Exposed, ScanFigures


class Coming(StrEnum):
    """What is to come of inseminated females."""

    RETURNS = "returns"
    SCAN = "scan"
    CALVING = "calving"
    OVERDUE = "overdue"


@dataclass(frozen=True, slots=True)
class Ahead:
    """One thing to come, or to do now: for how many females, from which day until which.

    `until_on` is None where no day ends it. `group` is empty where it is told of the whole herd.
    `not_checked` are those of `n` nobody has checked: for them it holds if they are pregnant.
    """

    kind: Coming
    n: int
    from_on: date
    until_on: date | None
    is_now: bool
    group: str = ""
    not_checked: int = 0


def look_ahead(
    females: Sequence[BredFemale],
    *,
    on: date,
    returns: ReturnFigures,
    scan: ScanFigures,
    parents: ParentageFigures,
) -> tuple[Ahead, ...]:
    """Say what comes next for the females inseminated or with bulls, in time order of the year.

    Parameters
    ----------
    females : sequence of BredFemale
        Those that left the herd may be among them; nothing is told of them.
    on : date
    returns : ReturnFigures
    scan : ScanFigures
    parents : ParentageFigures

    Returns
    -------
    tuple of Ahead
        Empty where nobody was served. The scan is told of those whose calf is not due yet.
    """
    book = _due(females, on, parents)
    calving = {one.female for one, due in book if due.early_on <= on}
    return (
        *_returns([one for f in females if (one := _return(f, returns)) is not None], on),
        *_scans([f for f in females if f.female not in calving], on, scan),
        *_calvings(book, on),
    )


def _return(female: BredFemale, figures: ReturnFigures) -> ReturnDue | None:
    return return_of(female.now, female=female.female, tag=female.tag, figures=figures)


def _returns(lines: Sequence[ReturnDue], on: date) -> list[Ahead]:
    """Those to look for today; else the days of the next that come."""
    now = [one for one in lines if one.is_on(on)]
    if now:
        ends = [o.until_on if on <= o.until_on else o.second_until_on for o in now]
        return [Ahead(Coming.RETURNS, len(now), on, max(ends), is_now=True)]
    spans = [
        (one.from_on, one.until_on)
        if on < one.from_on
        else (one.second_from_on, one.second_until_on)
        for one in lines
    ]
    coming = [span for span in spans if on < span[0]]
    if not coming:
        return []
    first, last = min(low for low, _ in coming), max(high for _, high in coming)
    return [Ahead(Coming.RETURNS, len(coming), first, last, is_now=False)]


def _scans(females: Iterable[BredFemale], on: date, figures: ScanFigures) -> list[Ahead]:
    """From which day a scan tells, group by group, where some are still to be checked."""
    groups: dict[str, list[Exposed]] = {}
    for female in females:
        if female.now.found:
            continue
        one = exposed_of(female.now, female=female.female, tag=female.tag, group=female.group)
        if one is not None and one.ai_on:
            groups.setdefault(female.group, []).append(one)
    told = []
    for group, own in groups.items():
        days = [day for one in own for day in one.ai_on]
        bulls = [o.bulls_in_on for o in own if o.bulls_in_on and o.bulls_in_on >= min(days)]
        outs = [o.bulls_out_on for o in own if o.bulls_out_on and o.bulls_out_on >= min(days)]
        advice = advise_check(
            first_ai_on=min(days),
            last_ai_on=max(days),
            bulls_in_on=min(bulls, default=None),
            bulls_out_on=max(outs, default=None),
            figures=figures,
        )
        is_now = advice.from_on <= on
        ends = advice.until_on if on <= advice.until_on else None
        told.append(Ahead(Coming.SCAN, len(own), advice.from_on, ends, is_now=is_now, group=group))
    return sorted(told, key=lambda line: (line.from_on, line.group))


def _due(
    females: Iterable[BredFemale], on: date, parents: ParentageFigures
) -> list[tuple[Pregnancy, Due]]:
    found = []
    for female in females:
        now = female.now
        if now.outcome is not Outcome.DUE or now.has_left:
            continue
        one = pregnancy_of(
            now,
            female=female.female,
            tag=female.tag,
            group=female.group,
            breeds=female.breeds,
            today=on,
            figures=parents,
        )
        if one is not None and one.due is not None:
            found.append((one, one.due))
    return found


def _calvings(book: Sequence[tuple[Pregnancy, Due]], on: date) -> list[Ahead]:
    over = [(one, due) for one, due in book if on > due.late_on]
    still = [(one, due) for one, due in book if on <= due.late_on]
    told = []
    for kind, lines in ((Coming.OVERDUE, over), (Coming.CALVING, still)):
        if lines:
            first = min(due.early_on for _, due in lines)
            last = max(due.late_on for _, due in lines)
            told.append(
                Ahead(
                    kind,
                    len(lines),
                    first,
                    last,
                    is_now=first <= on,
                    not_checked=sum(not one.is_confirmed for one, _ in lines),
                )
            )
    return told
