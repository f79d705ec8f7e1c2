"""Use-case: review a season out of the ledger."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from typing import TYPE_CHECKING, Any

from sunup.app.no_plan import NoSeasonError, say_adopted_later
from sunup.app.open import FileError, open_library
from sunup.app.plan_season import write_whole
from sunup.app.writing import find_now
from sunup.base.hours import at_local, find_zone, hours_between
from sunup.base.json_text import render_json
from sunup.base.problems import UsageError
from sunup.exchange.plan_file import plan_from_json
from sunup.planning.review import make_review
from sunup.planning.review_gather import SeasonRecord, gather
from sunup.planning.review_notes import read_notes
from sunup.planning.review_performance import Start
from sunup.planning.season_from_events import as_they_stand
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from sunup.library import Library
    from sunup.planning.plan import Plan
    from sunup.planning.review import Review
    from sunup.planning.review_notes import Adopted, LedgerNotes
    from sunup.records.event import Event


@dataclass(frozen=True, slots=True, kw_only=True)
class Reviewed:
    """A review with the season it rests on: what the simulator asks for."""

    review: Review
    record: SeasonRecord
    library: Library


def review_season(
    events: Iterable[Event],
    *,
    season: str | None = None,
    group: str | None = None,
    at: datetime | None = None,
    start: Start = Start.THIRD_MATURE_COW,
    overlay: Path | None = None,
) -> Reviewed:
    """Review a season.

    Parameters
    ----------
    events : iterable of Event
        Of one ranch, in any order.
    season : str, optional
        Its name; the last one that has results if absent.
    group : str, optional
        One group only.
    at : datetime, optional
        As if it were this instant; now if absent.
    start : Start
        From which day the windows of calving are counted.
    overlay : Path, optional
        A ranch's own figures.

    Returns
    -------
    Reviewed

    Raises
    ------
    UsageError
        If there is no such season or group, or a plan in the ledger cannot be read.
    """
    at = at or find_now().replace(microsecond=0)
    events = tuple(events)
    library, problems = open_library(overlay)
    notes = read_notes(events, at=at)
    plans = [(one, plan_from_json(one.plan, f"plan of {one.season}")) for one in notes.adopted]
    plans = [(one, plan) for one, plan in plans if _first(plan) is not None]
    if not plans and (later := say_adopted_later(as_they_stand(events), at)):
        raise NoSeasonError(later)
    place = _find(plans, notes, library, season=season, at=at)
    adopted, plan = plans[place]
    names = [g.name for g in plan.groups if g.schedule]
    if group is not None and group not in names:
        message = f"Season {adopted.season} has no group '{group}'. Groups: {', '.join(names)}."
        raise UsageError(message)
    starts = [first for _, other in plans if (first := _first(other)) is not None]
    began = starts[place]
    apart = library.number("review.next_season_days")
    record = SeasonRecord(
        ranch=plan.ranch,
        season=adopted.season,
        plan=plan,
        at=at,
        zone=find_zone(plan.zone),
        females=notes.females,
        groups=notes.groups,
        kept=adopted.forecasts,
        next_from=min((s for s in starts if (s - began).days > apart), default=None),
    )
    gathered = gather(record, library, start=start)
    review = make_review(gathered, library, group=group, others=tuple(problems))
    return Reviewed(review=review, record=record, library=library)


def _first(plan: Plan) -> datetime | None:
    return min(
        (s.window_utc[0] for g in plan.groups for s in g.schedule if not s.cancelled),
        default=None,
    )


def _find(
    plans: Sequence[tuple[Adopted, Plan]],
    notes: LedgerNotes,
    library: Library,
    *,
    season: str | None,
    at: datetime,
) -> int:
    """Place of the season asked for; of the last with results, else of the last that began.

    Its results are pregnancy checks until its calves can come, and their calvings: what calves
    while the next season begins is of the season before.
    """
    if not plans:
        message = (
            "No plan has been adopted in this ledger, so there is no season to review. Adopt one "
            "first; what was done before it is kept."
        )
        raise NoSeasonError(message)
    if season is not None:
        named = [i for i, (one, _) in enumerate(plans) if one.season == season]
        if not named:
            known = ", ".join(dict.fromkeys(one.season for one, _ in plans))
            message = f"There is no season '{season}'. Seasons: {known}."
            raise NoSeasonError(message)
        return named[-1]
    begun = [i for i, (_, plan) in enumerate(plans) if (_first(plan) or at) <= at]
    if not begun:
        message = f"Season {plans[-1][0].season} has not begun; there is nothing to review yet."
        raise NoSeasonError(message)
    first, last = library.figure("review.calving_of_season_days").span
    days = {Kind.PREGNANCY_CHECKED: (0.0, first), Kind.CALVED: (first, last)}
    when = [(n.at, days[n.kind]) for told in notes.females.values() for n in told if n.kind in days]
    for i in reversed(begun):
        began = _first(plans[i][1]) or at
        if any(low < hours_between(began, at) / 24 < high for at, (low, high) in when):
            return i
    return begun[-1]


def read_rule(text: str) -> Start:
    """Read from which day the windows of calving are counted.

    Raises
    ------
    UsageError
        If there is no such rule.
    """
    try:
        return Start(text.strip())
    except ValueError:
        known = " or ".join(rule.value for rule in Start)
        message = f"--windows-from '{text}' is not a rule we know. Write {known}."
        raise UsageError(message) from None


def end_of_day(text: str | None, events: Sequence[Event]) -> datetime | None:
    """Return the last minute of a day typed, on the ranch's clock; None where nothing was typed.

    Raises
    ------
    UsageError
        If it is not a date.
    """
    if text is None:
        return None
    try:
        day = date.fromisoformat(text.strip())
    except ValueError:
        message = f"--as-of '{text}' is not a date. Write it as 2028-10-15."
        raise UsageError(message) from None
    zone = find_zone(events[-1].zone if events else "UTC")
    return at_local(day, time(23, 59), zone).utc


def write_review(
    review: Review, plain: dict[str, Any], folder: Path, *, paper: str = "letter"
) -> tuple[Path, ...]:
    """Write the review as PDF, as JSON and its pictures.

    Parameters
    ----------
    review : Review
    plain : dict
        Its plain values.
    folder : Path
        Made if it is not there.
    paper : str
        "letter" or "a4".

    Returns
    -------
    tuple of Path

    Raises
    ------
    UsageError
        If the folder or a file cannot be written, or the paper is not known.
    """
    from sunup.reports.charts.draw import draw_svg
    from sunup.reports.charts.look import DESK
    from sunup.reports.charts.of_review import charts_of_review
    from sunup.reports.review_pdf import render_review

    files = [
        ("review.pdf", render_review(review, paper=paper)),
        ("review.json", (render_json(plain) + "\n").encode()),
    ]
    for charts in charts_of_review(review, DESK).values():
        files += [(f"{chart.key}.svg", draw_svg(chart).encode()) for chart in charts]
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        message = f"The folder '{folder}' cannot be made: {error.strerror or error}."
        raise FileError(message) from None
    return tuple(write_whole(folder / name, made) for name, made in files)
