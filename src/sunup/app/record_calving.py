"""Use-case of recording calvings, with what does not fit of each said at once."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from sunup.app.record_facts import record_fact
from sunup.app.scan import bred_females
from sunup.planning.after_ai import herd_book
from sunup.planning.calving_book import CalvingFigures, Outcome, Timing
from sunup.planning.insemination_list import local_day
from sunup.planning.parentage import ParentageFigures
from sunup.planning.warnings import Flag, Weight
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from sunup.app.desk import Desk
    from sunup.app.record import Entry

WORDS = "calved"
_NOW = (
    "Look at cow and calf. If the tag or the day is wrong, put it right (sunup record correct); if "
    "a service is missing, record it with its own --at."
)


def record_calvings(
    desk: Desk, tags: Sequence[str], body: Mapping[str, Any], *, at: datetime
) -> Entry:
    """Record a calving of each of several females; what does not fit is said, nothing refused.

    Parameters
    ----------
    desk : Desk
    tags : sequence of str
    body : mapping
        As the event keeps it: ease, retained_membranes, calves, note.
    at : datetime
    """
    entry = record_fact(desk, tags, Kind.CALVED, body, at=at, words=WORDS)
    told = _against_the_book(desk, entry, at=at)
    lines = tuple(
        replace(line, flags=(*line.flags, (WORDS, told[line.female])))
        if line.female in told and not line.flags
        else line
        for line in entry.lines
    )
    return replace(entry, lines=lines)


def _against_the_book(desk: Desk, entry: Entry, *, at: datetime) -> dict[str, Flag]:
    """Calvings too early or too late for what was predicted, by the female's id."""
    after = desk.with_more(entry.events).looking_at(max(at, desk.season.at))
    hers = {line.female for line in entry.lines}
    day = local_day(at, after.season)
    lines = herd_book(
        [female for female in bred_females(after) if female.female in hers],
        today=local_day(after.season.at, after.season),
        parents=ParentageFigures.of(desk.library),
        figures=CalvingFigures.of(desk.library),
    )
    found = {}
    for line in lines:
        one = line.pregnancy
        here = line.outcome is Outcome.CALVED and one.ended_on == day
        if here and line.timing in {Timing.TOO_EARLY, Timing.TOO_LATE} and line.remarks:
            found[one.female] = Flag("calving_against_the_book", Weight.WARN, line.remarks[0], _NOW)
    return found
