"""What follows from a watch for heat: when to look, and when those seen are inseminated.

A session is no step of the schedule: before the day nobody knows who comes to it, and it is not
late where nobody was seen. The group's plan lists it so that it stands on paper and in calendars,
and two groups do not find themselves at one chute.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import datetime, time, timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import add_hours, at_local, hours_between, to_local
from sunup.physiology.checks import SOON_H, check_hours
from sunup.planning.insemination_times import (
    EVENING,
    MORNING,
    ONCE,
    Rule,
    half_day_of,
    session_after,
)
from sunup.planning.plan import Capacity, ScheduledStep
from sunup.planning.progress import ON_HEAT
from sunup.planning.schedule import WHO_WORDS, inseminate_rule
from sunup.protocols.protocol import CHUTE, Do, Inseminate, Who

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from zoneinfo import ZoneInfo

    from sunup.forecast.watches import Watches
    from sunup.planning.request import Request
    from sunup.protocols.protocol import Protocol

WORDS = "inseminate those seen in heat"


def with_looks(protocol: Protocol, *, told: Watches | None, usual: int) -> Protocol:
    """Write into each watch how often a day is looked: as told, as the protocol says, as usual."""
    steps = tuple(
        replace(s, times_per_day=told.times_per_day if told else s.times_per_day or usual)
        if s.do is Do.WATCH
        else s
        for s in protocol.steps
    )
    return replace(protocol, steps=steps)


def look_times(
    watch: ScheduledStep, schedule: Sequence[ScheduledStep], zone: ZoneInfo
) -> tuple[datetime, ...]:
    """Return when to look for heats during a watch, UTC: spread evenly from 06:00 to 18:00.

    Not as the group stands at the chute where the watch begins; at the very end of the watch only
    where no timed AI follows within 12 h, at which those then in heat are inseminated.

    Parameters
    ----------
    watch : ScheduledStep
    schedule : sequence of ScheduledStep
        Of its group.
    zone : ZoneInfo
    """
    clocks = [_clock(round(60 * hour)) for hour in check_hours(watch.looks or 2)]
    ends = watch.until_utc or watch.ends_utc
    day, last = (to_local(at, zone).date() for at in (watch.at_utc, ends))
    found: list[datetime] = []
    while day <= last:
        found += [at_local(day, clock, zone).utc for clock in clocks]
        day += timedelta(days=1)
    live = [s for s in schedule if not s.cancelled]
    at_chute = any(s.at_utc == watch.at_utc and s.do in CHUTE for s in live)
    is_followed = any(s.do == Do.AI and 0.0 <= hours_between(ends, s.at_utc) < SOON_H for s in live)
    return tuple(
        at
        for at in found
        if (watch.at_utc < at or (at == watch.at_utc and not at_chute))
        and (at < ends or (at == ends and not is_followed))
    )


def _clock(minutes: int) -> time:
    return time(*divmod(minutes, 60))


def find_sessions(
    schedule: Sequence[ScheduledStep],
    *,
    zone: ZoneInfo,
    request: Request,
    head_per_hour: float,
    first_heat_h: float,
    new_uid: Callable[[], str],
) -> tuple[ScheduledStep, ...]:
    """Return the inseminations on heat that follow from a group's watches, in time order.

    Parameters
    ----------
    schedule : sequence of ScheduledStep
    zone : ZoneInfo
    request : Request
        Its working hours bound the sessions.
    head_per_hour : float
        Inseminated by all chutes together.
    first_heat_h : float
        `practice.first_heat_after_pgf_h`: where the insert comes out as the watch begins, nobody
        is in heat so long. [h]
    new_uid : callable

    Returns
    -------
    tuple of ScheduledStep
        `head` is all who may come; `ends_utc` is when a session would end if they came to all
        sessions of the watch in equal numbers. None for a rule without sessions (12 h after each
        is first seen).
    """
    found: list[ScheduledStep] = []
    for watch in schedule:
        if watch.cancelled:
            continue
        seen, _ = _looks_of(watch, schedule, zone, request, first_heat_h)
        share = math.ceil(watch.head / len(seen)) if seen else 0
        lasts = timedelta(seconds=round(share / head_per_hour * 3600))
        found += [
            _session(watch, n, (at, at + lasts), seen=_seen_words(looks, zone), uid=new_uid())
            for n, (at, looks) in enumerate(seen.items(), start=1)
        ]
    return tuple(sorted(found, key=lambda s: s.at_utc))


def with_early_word(
    schedule: Sequence[ScheduledStep], *, zone: ZoneInfo, request: Request, first_heat_h: float
) -> tuple[ScheduledStep, ...]:
    """Say at each watch what becomes of a female seen so early that no session is laid out for her.

    The parameters are those of `find_sessions`.
    """
    told: list[ScheduledStep] = []
    for step in schedule:
        seen, early = _looks_of(step, schedule, zone, request, first_heat_h)
        if seen and early:
            at = to_local(min(look for looks in seen.values() for look in looks), zone)
            note = (
                f"A female seen before {at:%a} {at.day} {at:%b %H:%M}, rare so soon after the "
                "insert is out, has no session here: by the same rule she is due before the "
                "first one, so tell who inseminates."
            )
            told.append(replace(step, note=f"{step.note} {note}"))
        else:
            told.append(step)
    return tuple(told)


def _looks_of(
    watch: ScheduledStep,
    schedule: Sequence[ScheduledStep],
    zone: ZoneInfo,
    request: Request,
    first_heat_h: float,
) -> tuple[dict[datetime, list[datetime]], list[datetime]]:
    """The looks of a watch by the session they lead to, and those too early for any."""
    how = inseminate_rule(watch)
    seen: dict[datetime, list[datetime]] = {}
    early: list[datetime] = []
    if how not in {Inseminate.AM_PM, Inseminate.ONCE_DAILY}:
        return seen, early
    rule = Rule(
        how=how,
        zone=zone,
        morning=max(MORNING, request.open_at),
        evening=min(EVENING, request.close_at),
        once=min(max(ONCE, request.open_at), request.close_at),
    )
    is_out = any(s.do == Do.INSERT_OUT and s.at_utc == watch.at_utc for s in schedule)
    opens = add_hours(watch.at_utc, first_heat_h) if is_out else watch.at_utc
    for look in look_times(watch, schedule, zone):
        at = session_after(look, rule)
        if at is not None and at >= opens:
            seen.setdefault(at, []).append(look)
        else:
            early.append(look)
    return seen, early


def _session(
    watch: ScheduledStep, number: int, span: tuple[datetime, datetime], *, seen: str, uid: str
) -> ScheduledStep:
    name = f"{watch.id}_ai_{number}"
    return ScheduledStep(
        uid=uid,
        sequence=0,
        group=watch.group,
        id=name,
        visit=name,
        do=ON_HEAT,
        words=WORDS,
        at_utc=span[0],
        window_utc=(span[0], span[0]),
        ends_utc=span[1],
        hard=False,
        head=watch.head,
        who=WHO_WORDS[Who.IN_HEAT],
        doses=0,
        dose=None,
        note=f"Those seen in heat {seen}: as many as there are.",
    )


def _seen_words(looks: Sequence[datetime], zone: ZoneInfo) -> str:
    halves = dict.fromkeys(half_day_of(look, zone) for look in looks)
    return " and ".join(f"{on:%a} {on.day} {on:%b}, {half.value}" for on, half in halves)


def find_tightest(
    sessions: Sequence[ScheduledStep], *, request: Request, head_per_hour: float, zone: ZoneInfo
) -> tuple[Capacity, ...]:
    """Return whether the session that leaves least working time takes its equal share of the head.

    Nothing where there is no session.
    """
    lines: list[Capacity] = []
    for session in sessions:
        needed = hours_between(session.at_utc, session.ends_utc)
        at = to_local(session.at_utc, zone)
        left = (datetime.combine(at.date(), request.close_at, at.tzinfo) - at) / timedelta(hours=1)
        lines.append(
            Capacity(
                visit=session.visit,
                head=round(needed * head_per_hour),
                head_per_hour=head_per_hour,
                hours_needed=needed,
                hours_available=max(0.0, left),
                fits=needed <= left,
                offer="" if needed <= left else "A second technician, or a longer day (--hours).",
            )
        )
    return tuple(sorted(lines, key=lambda c: c.hours_available - c.hours_needed)[:1])
