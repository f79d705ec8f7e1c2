"""Does the group get through the chute inside its windows, and if not, what to do."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.planning.clock_times import Clock, Times, Wish, find_times
from sunup.planning.plan import Capacity
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.library.library import Library
    from sunup.planning.visits import Visit


def work_rate(visit: Visit, *, library: Library, chutes: int) -> float:
    """Head per hour through a visit, all chutes together; 0 where nobody waits in line."""
    if not visit.in_chute:
        return 0.0
    if Do.AI in visit.does:
        rate = library.number("practice.work_rate_ai")
    elif Do.PREG_CHECK in visit.does:
        rate = library.number("practice.work_rate_check")
    else:
        rate = library.number("practice.work_rate_treat")
    return rate * chutes


def durations(
    visits: Sequence[Visit], *, head: int, library: Library, chutes: int
) -> tuple[float, ...]:
    """Hours each visit takes for a group."""
    return tuple(
        head / rate if (rate := work_rate(v, library=library, chutes=chutes)) else 0.0
        for v in visits
    )


def paced(visits: Sequence[Visit], hours: tuple[float, ...]) -> tuple[float, ...]:
    """Slow each run whose time starts an insemination to the pace of the insemination.

    Then the interval of the last female equals that of the first.
    """
    slowed = list(hours)
    for visit in visits:
        if Do.AI in visit.does and visit.anchor is not None:
            slowed[visit.anchor] = max(slowed[visit.anchor], hours[visit.index])
    return tuple(slowed)


def is_clean(times: Times | None) -> bool:
    """Whether every window, every interval of the last female and the working hours hold."""
    return times is not None and times.night_min == 0 and times.drift_min == 0


def find_paced_times(
    visits: Sequence[Visit], wish: Wish, *, clock: Clock
) -> tuple[Times | None, tuple[float, ...], bool]:
    """Choose times at full pace, or with the starting run slowed to the pace of the AI.

    Returns
    -------
    times, durations_h, is_slowed
    """
    full = find_times(visits, wish, clock=clock)
    if is_clean(full):
        return full, wish.durations_h, False
    slow = paced(visits, wish.durations_h)
    if slow == wish.durations_h:
        return full, wish.durations_h, False
    slowed = find_times(visits, replace(wish, durations_h=slow), clock=clock)
    if slowed is not None and (full is None or slowed.cost < full.cost):
        return slowed, slow, True
    return full, wish.durations_h, False


def largest_head(
    visits: Sequence[Visit], wish: Wish, *, head: int, library: Library, chutes: int, clock: Clock
) -> int:
    """The most females that fit one start, by bisection on the same search."""
    low, high = 0, head
    while high - low > max(1, head // 100):
        middle = (low + high) // 2
        hours = durations(visits, head=middle, library=library, chutes=chutes)
        times, _, _ = find_paced_times(visits, replace(wish, durations_h=hours), clock=clock)
        if is_clean(times):
            low = middle
        else:
            high = middle
    return low


def describe_capacity(
    visits: Sequence[Visit],
    wish: Wish,
    *,
    head: int,
    library: Library,
    chutes: int,
    times: Times | None,
    is_slowed: bool,
    clock: Clock,
) -> tuple[Capacity, ...]:
    """Say visit by visit how long the run takes, how long there is, and what to do if too long.

    Hours available are the working day for a soft visit; for an insemination the width of its
    window plus the time the starting run itself took, since each female keeps her own clock.
    """
    day_h = (
        (wish.close_at.hour * 60 + wish.close_at.minute)
        - (wish.open_at.hour * 60 + wish.open_at.minute)
    ) / 60
    clean = is_clean(times)
    offer = ""
    if not clean and head:
        most = largest_head(visits, wish, head=head, library=library, chutes=chutes, clock=clock)
        if most:
            starts = math.ceil(head / most)
            offer = (
                f"Up to {most} head fit one start at this pace. Split into {starts} starts a day "
                f"apart (--split GROUP={starts}) or work a second chute (--chutes {chutes + 1})."
            )
        else:
            offer = (
                "No number of head fits these hours on this day: widen --hours, or choose "
                "another day or protocol."
            )
    lines: list[Capacity] = []
    for visit in visits:
        rate = work_rate(visit, library=library, chutes=chutes)
        if not rate:
            continue
        needed = head / rate
        available = day_h
        if visit.anchor is not None and visits[visit.anchor].in_chute:
            start_rate = work_rate(visits[visit.anchor], library=library, chutes=chutes)
            start_run = max(needed, head / start_rate) if is_slowed else head / start_rate
            available = min(day_h, start_run + visit.early_h + visit.late_h)
        note = offer if not clean and (needed > available or Do.AI in visit.does) else ""
        if is_slowed and any(v.anchor == visit.index and Do.AI in v.does for v in visits):
            pace = min(
                work_rate(v, library=library, chutes=chutes)
                for v in visits
                if v.anchor == visit.index and Do.AI in v.does
            )
            note = (
                f"Work at {pace:g} head an hour here, the pace of the insemination, so that the "
                f"last female keeps her hours. {note}"
            ).strip()
        lines.append(
            Capacity(
                visit=visit.id,
                head=head,
                head_per_hour=rate,
                hours_needed=needed,
                hours_available=available,
                fits=clean or (needed <= available and Do.AI not in visit.does),
                offer=note,
            )
        )
    return tuple(lines)
