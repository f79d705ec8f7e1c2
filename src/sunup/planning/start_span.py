"""From when to when a visit may start, so that every female of the line keeps her window.

A step's window is that of the first female. Where a visit passes fewer females an hour than the
visit its hours count from, each next female stands further behind her own hours, and the last
decides how late the first may start; where it passes more, the last decides how early. A visit
others hang on may start only where they, too, can still be begun in time and by daylight.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import at_local, to_local

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from zoneinfo import ZoneInfo

    from sunup.planning.plan import Plan, ScheduledStep

Span = tuple[datetime, datetime]
_NONE = timedelta(0)
_FAR = timedelta(days=30)  # where no working hours are told: no bound at all
_SLACK = timedelta(minutes=1)  # runs end on whole seconds, starts stand on whole minutes


@dataclass(frozen=True, slots=True)
class StartSpan:
    """When one visit may start.

    `first` is the window of the first female alone. In `whole` every female of the line keeps
    her window, here and at the visits that count from this one, and all work stays in the working
    hours that the plan keeps; None where no start does that.
    """

    first: Span
    whole: Span | None


@dataclass(frozen=True, slots=True)
class _Run:
    """One visit: its start, how long it takes, and what its hours count from."""

    at: datetime
    lasts: timedelta
    first: Span
    anchor: str | None
    offsets: tuple[timedelta, timedelta]  # of the start, from the anchor's, for every female


def find_start_spans(plan: Plan, group: str, zone: ZoneInfo) -> Mapping[str, StartSpan]:
    """Return from when to when each visit of a group may start, by the visit's id.

    Parameters
    ----------
    plan : Plan
    group : str
        As the plan names it.
    zone : ZoneInfo
        The plan's zone.

    Returns
    -------
    mapping of visit id to StartSpan
        Other visits start as planned upstream: what hangs on a visit moves with it, what it hangs
        on does not. Visits that last (a watch) are left out.
    """
    schedule = next((g.schedule for g in plan.groups if g.name == group), ())
    hours = _working_hours(plan)
    runs = _runs(schedule)
    children: dict[str, list[str]] = defaultdict(list)
    for name, run in runs.items():
        if run.anchor is not None:
            children[run.anchor].append(name)
    allowed: dict[str, Span] = {}

    def bound(name: str) -> Span:
        """The starts of a visit by the clock, and by the visits that hang on it."""
        if name not in allowed:
            low, high = _hours_of(runs[name], hours, zone)
            for child in children[name]:
                opens, closes = runs[child].offsets
                after = bound(child)
                low, high = max(low, after[0] - closes), min(high, after[1] - opens)
            allowed[name] = (low, high)
        return allowed[name]

    return {name: _span(name, runs, bound(name)) for name in runs}


def _span(name: str, runs: Mapping[str, _Run], allowed: Span) -> StartSpan:
    run = runs[name]
    low, high = allowed
    if run.anchor is None:
        low, high = max(low, run.first[0]), min(high, run.first[1])
    else:
        anchor_at = runs[run.anchor].at
        low = max(low, anchor_at + run.offsets[0])
        high = min(high, anchor_at + run.offsets[1])
    if not low - _SLACK <= run.at <= high + _SLACK:
        return StartSpan(run.first, None)
    low += timedelta(seconds=-low.second % 60)  # clocks are told to the minute: never outside
    high -= timedelta(seconds=high.second)
    return StartSpan(run.first, (min(low, run.at), max(high, run.at)))


def _runs(schedule: Sequence[ScheduledStep]) -> dict[str, _Run]:
    live = [s for s in schedule if not s.cancelled and s.until_utc is None]
    by_visit: dict[str, list[ScheduledStep]] = defaultdict(list)
    for step in live:
        by_visit[step.visit].append(step)
    visit_of = {step.id: step.visit for step in live}
    zero = min(live, key=lambda s: s.at_utc).visit if live else ""
    found: dict[str, _Run] = {}
    for name, steps in by_visit.items():
        anchor = visit_of.get(steps[0].after_step or "", zero)
        first = (max(s.window_utc[0] for s in steps), min(s.window_utc[1] for s in steps))
        at, lasts = steps[0].at_utc, _lasts(steps)
        origin = by_visit[anchor]
        lag = lasts - _lasts(origin) if lasts else _NONE  # of the last behind her own hours
        found[name] = _Run(
            at=at,
            lasts=lasts,
            first=first,
            anchor=None if anchor == name else anchor,
            offsets=(
                first[0] - origin[0].at_utc + max(_NONE, -lag),
                first[1] - origin[0].at_utc - max(_NONE, lag),
            ),
        )
    return found


def _lasts(steps: Sequence[ScheduledStep]) -> timedelta:
    return max(s.ends_utc - s.at_utc for s in steps)


def _working_hours(plan: Plan) -> tuple[time, time] | None:
    told = [plan.settings.get(key) for key in ("open_at", "close_at")]
    if not all(isinstance(text, str) for text in told):
        return None
    opens, closes = (time.fromisoformat(str(text)) for text in told)
    return opens, closes


def _hours_of(run: _Run, hours: tuple[time, time] | None, zone: ZoneInfo) -> Span:
    """The starts that keep a visit in working hours; the plan's own start is always one."""
    if hours is None:
        return run.at - _FAR, run.at + _FAR
    on = to_local(run.at, zone).date()
    opens, closes = (at_local(on, clock, zone).utc for clock in hours)
    return min(opens, run.at), max(closes - run.lasts, run.at)
