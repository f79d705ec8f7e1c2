"""Does the group get through the chute inside its windows, and if not, what to do."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.planning.clock_times import Clock, Times, Wish, find_times
from sunup.planning.plan import Capacity
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.library.library import Library
    from sunup.planning.visits import Visit

_MOST_STARTS = 14  # a day apart each: two weeks of starts are the most we think of
_MORE_CHUTES = 3  # beyond those there are, for a group that is also split


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
    while high - low > max(1, low // 100):
        middle = (low + high) // 2
        hours = durations(visits, head=middle, library=library, chutes=chutes)
        times, _, _ = find_paced_times(visits, replace(wish, durations_h=hours), clock=clock)
        if is_clean(times):
            low = middle
        else:
            high = middle
    return low


def _fits_one_start(
    visits: Sequence[Visit], wish: Wish, *, head: int, library: Library, chutes: int, clock: Clock
) -> bool:
    hours = durations(visits, head=head, library=library, chutes=chutes)
    times, _, _ = find_paced_times(visits, replace(wish, durations_h=hours), clock=clock)
    return is_clean(times)


def starts_hold(
    visits: Sequence[Visit],
    wish: Wish,
    *,
    durations_h: tuple[float, ...],
    starts: int,
    clock: Clock,
) -> bool:
    """Whether so many starts a day apart keep all hours without meeting each other in the chute.

    The third start's first treatment may fall on the day of the first one's insemination: only
    laying them out one after the other tells.
    """
    busy: list[tuple[int, int]] = []
    for number in range(starts):
        later = timedelta(days=number)
        own = replace(
            wish,
            durations_h=durations_h,
            service_on=None if wish.service_on is None else wish.service_on + later,
            zero_on=None if wish.zero_on is None else wish.zero_on + later,
            busy=tuple(busy),
        )
        times, used_h, _ = find_paced_times(visits, own, clock=clock)
        if times is None or not is_clean(times) or times.overlap_min:
            return False
        busy += [
            (start, start + round(used_h[visit.index] * 60))
            for visit, start in zip(visits, times.starts, strict=True)
            if visit.in_chute
        ]
    return True


def _fewest_starts(
    visits: Sequence[Visit],
    wish: Wish,
    *,
    least: int,
    head: int,
    library: Library,
    chutes: int,
    clock: Clock,
) -> int:
    """The fewest starts, at least `least`, that hold; 0 where none of those we think of do."""
    for starts in range(least, _MOST_STARTS + 1):
        hours = durations(visits, head=math.ceil(head / starts), library=library, chutes=chutes)
        if starts_hold(visits, wish, durations_h=hours, starts=starts, clock=clock):
            return starts
    return 0


def find_way_out(
    visits: Sequence[Visit],
    wish: Wish,
    *,
    group: str,
    head: int,
    library: Library,
    chutes: int,
    clock: Clock,
) -> str:
    """Say what gets a group through that does not fit one start: starts, chutes, or both.

    Parameters
    ----------
    visits, wish
    group : str
        As the herd file names it.
    head : int
        Of the whole group, all its starts together.
    library, chutes, clock

    Returns
    -------
    str
        Only ways that were laid out and hold.
    """
    most = largest_head(visits, wish, head=head, library=library, chutes=chutes, clock=clock)
    if not most:
        return (
            "No number of head fits these hours on this day: widen --hours, or choose another day "
            "or protocol."
        )
    ways: list[str] = []
    for count in range(chutes, chutes + _MORE_CHUTES + 1):
        if count > chutes and _fits_one_start(
            visits, wish, head=head, library=library, chutes=count, clock=clock
        ):
            break
        fit = (
            most
            if count == chutes
            else largest_head(visits, wish, head=head, library=library, chutes=count, clock=clock)
        )
        starts = _fewest_starts(
            visits,
            wish,
            least=math.ceil(head / fit),
            head=head,
            library=library,
            chutes=count,
            clock=clock,
        )
        if starts:
            more = "" if count == chutes else f" and {count} chutes"
            flag = "" if count == chutes else f" --chutes {count}"
            ways.append(f"{starts} starts a day apart{more} (--split {group}={starts}{flag})")
            break
    enough = max(chutes + 1, chutes * head // most - 1)  # a run is as short as chutes are many
    for count in range(enough, 2 * enough + 2):
        if _fits_one_start(visits, wish, head=head, library=library, chutes=count, clock=clock):
            ways.append(f"{count} chutes side by side in one start (--chutes {count})")
            break
    said = f"Up to {most} head fit one start at this pace."
    if not ways:
        return f"{said} Widen --hours, or choose another protocol."
    return f"{said} What gets all {head:,} through: {'; or '.join(ways)}."


def describe_capacity(
    visits: Sequence[Visit],
    wish: Wish,
    *,
    group: str,
    head: int,
    starts: int,
    library: Library,
    chutes: int,
    times: Times | None,
    is_slowed: bool,
    clock: Clock,
) -> tuple[Capacity, ...]:
    """Say visit by visit how long the run takes, how long there is, and what to do if too long.

    Hours available are the working day for a soft visit; for an insemination the width of its
    window plus the time the starting run itself took, since each female keeps her own clock. What
    to do is said once, at the first run that is too long.
    """
    day_h = (
        (wish.close_at.hour * 60 + wish.close_at.minute)
        - (wish.open_at.hour * 60 + wish.open_at.minute)
    ) / 60
    clean = is_clean(times)
    offer = ""
    if not clean and head:
        offer = find_way_out(
            visits,
            wish,
            group=group,
            head=head * starts,
            library=library,
            chutes=chutes,
            clock=clock,
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
        fits = clean or (needed <= available and Do.AI not in visit.does)
        note = ""
        if not fits:
            note, offer = offer, ""
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
                fits=fits,
                offer=note,
            )
        )
    return tuple(lines)
