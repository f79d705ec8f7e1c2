"""Choosing clock times: every hard interval holds, every step falls in working hours.

A search over a quarter-hour grid on the tree of visits. Nothing is moved outside a window to make
it fit: where working hours, windows and head count cannot all be had, the least bad times are
returned together with what is violated, and the plan says so.

The first and last female of a run must both keep their hours: if n females are treated at one
pace and inseminated at another, the interval drifts along the run by the difference in duration.
Each female's AI order therefore follows the treatment order.
"""

from __future__ import annotations

import bisect
import itertools
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import at_local
from sunup.planning.request import CLOCK_GRID_MINUTES

if TYPE_CHECKING:
    from collections.abc import Sequence
    from zoneinfo import ZoneInfo

    from sunup.planning.visits import FirstService, Visit

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_DAY = 1440
# Weights order the wishes; the exact size does not matter as long as each outweighs the next.
_NIGHT = 10_000.0  # a minute of work outside working hours
_DRIFT = 1_000.0  # a minute by which the last female misses her window
_OVERLAP = 30.0  # a minute two groups share the chute
_TARGET = 60.0  # a hard step at the edge of its window instead of its target
_BEND = 20.0  # an hour by which a soft step leaves the clock of zero
_LATE = 2.0  # an hour after the start of the working day: mornings are preferred


class Clock:
    """Whole minutes since 1970 in UTC and on the ranch's wall, with a cache across the search."""

    def __init__(self, zone: ZoneInfo) -> None:
        self.zone = zone
        self._local: dict[int, int] = {}
        self._utc: dict[int, int] = {}

    def to_local(self, utc_min: int) -> int:
        """Wall minutes (as if the wall clock were UTC) of an instant."""
        found = self._local.get(utc_min)
        if found is None:
            moment = (_EPOCH + timedelta(minutes=utc_min)).astimezone(self.zone)
            found = self._minutes(moment.replace(tzinfo=UTC))
            self._local[utc_min] = found
        return found

    def to_utc(self, local_min: int) -> int:
        """Instant of a wall time; a skipped wall time is moved forward."""
        found = self._utc.get(local_min)
        if found is None:
            wall = _EPOCH + timedelta(minutes=local_min)
            found = self._minutes(at_local(wall.date(), wall.time(), self.zone).utc)
            self._utc[local_min] = found
        return found

    @staticmethod
    def _minutes(moment: datetime) -> int:
        return int((moment - _EPOCH).total_seconds() // 60)

    @staticmethod
    def instant(utc_min: int) -> datetime:
        """The instant of a minute count."""
        return _EPOCH + timedelta(minutes=utc_min)

    def minutes(self, moment: datetime) -> int:
        """The minute count of an instant."""
        return self._minutes(moment.astimezone(UTC))


@dataclass(frozen=True, slots=True)
class Wish:
    """What the times must satisfy. Exactly one of `service_on` and `zero_on` is set.

    `durations_h` are the hours each visit takes for this group (0 where nobody waits in line).
    `busy` are (start, end) minutes already taken by other groups.
    """

    service: FirstService
    open_at: time
    close_at: time
    durations_h: tuple[float, ...]
    service_on: date | None = None
    service_at: time | None = None
    zero_on: date | None = None
    busy: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Times:
    """The chosen start of each visit (minutes UTC) and what could not be kept."""

    starts: tuple[int, ...]
    cost: float
    night_min: int
    drift_min: int
    overlap_min: int


class _Taken:
    """Minutes of the chute taken by other groups, each group counted for itself."""

    def __init__(self, busy: Sequence[tuple[int, int]]) -> None:
        self.starts = sorted(start for start, _ in busy)
        self.ends = sorted(end for _, end in busy)
        self.sum_starts = [0, *itertools.accumulate(self.starts)]
        self.sum_ends = [0, *itertools.accumulate(self.ends)]

    def before(self, minute: int) -> int:
        """Minutes taken up to a minute: the time run by all begun less that of all ended."""
        begun = bisect.bisect_left(self.starts, minute)
        ended = bisect.bisect_left(self.ends, minute)
        return (minute * begun - self.sum_starts[begun]) - (minute * ended - self.sum_ends[ended])


class _Search:
    def __init__(self, visits: Sequence[Visit], wish: Wish, clock: Clock) -> None:
        self.visits = visits
        self.wish = wish
        self.clock = clock
        self.open = wish.open_at.hour * 60 + wish.open_at.minute
        self.close = wish.close_at.hour * 60 + wish.close_at.minute
        self.durations = [round(hours * 60) for hours in wish.durations_h]
        self.children: dict[int, list[int]] = {}
        for visit in visits:
            if visit.anchor is not None:
                self.children.setdefault(visit.anchor, []).append(visit.index)
        self.taken = _Taken(wish.busy)
        self.is_handled = [visit.is_handled for visit in visits]
        self.in_chute = [visit.in_chute for visit in visits]
        # soft bends and hard offsets meet the same starts again and again: each is judged once
        self.memo: dict[tuple[int, int], tuple[float, dict[int, int]] | None] = {}
        self.costs: dict[tuple[int, int], float] = {}
        self.below: dict[tuple[int, int], tuple[float, dict[int, int]] | None] = {}

    def night(self, index: int, start: int) -> int:
        """Minutes of a visit's work outside working hours."""
        if not self.is_handled[index]:
            return 0
        wall = self.clock.to_local(start) % _DAY
        end = wall + self.durations[index]
        before = max(0, self.open - wall)
        return before + max(0, end - self.close)

    def drift(self, index: int, start: int, anchor_start: int) -> int:
        """Minutes by which the last female of the run misses her window."""
        visit = self.visits[index]
        anchor = visit.anchor
        if anchor is None or not self.in_chute[index] or not self.in_chute[anchor]:
            return 0
        gap = start - anchor_start + self.durations[index] - self.durations[anchor]
        low = round((visit.hours - visit.early_h) * 60)
        high = round((visit.hours + visit.late_h) * 60)
        return max(0, low - gap, gap - high)

    def soft_drift(self, index: int, bend: int) -> int:
        """Minutes by which the last female of a soft visit misses the clock of her own zero.

        Her zero was as far behind the first one's as the run of zero took.
        """
        visit = self.visits[index]
        if index == 0 or visit.anchor is not None or not self.in_chute[index]:
            return 0
        gap = bend + self.durations[index] - self.durations[0]
        return max(0, -round(visit.early_h * 60) - gap, gap - round(visit.late_h * 60))

    def bend(self, index: int, start: int, zero: int) -> int:
        """Minutes by which a soft visit leaves the clock of zero on its day."""
        day = self.visits[index].day or 0
        return self.clock.to_local(start) - self.clock.to_local(zero) - day * _DAY

    def overlap(self, index: int, start: int) -> int:
        """Minutes shared with other groups' work."""
        if not self.in_chute[index]:
            return 0
        end = start + max(self.durations[index], CLOCK_GRID_MINUTES)
        return self.taken.before(end) - self.taken.before(start)

    def misses_day(self, index: int, start: int) -> bool:
        """Whether a visit that fixes the first service falls on another day (or clock)."""
        service = self.wish.service
        if index != service.visit or self.wish.service_on is None:
            return False
        local = self.clock.to_local(start + round(service.offset_h * 60))
        wanted = (self.wish.service_on - date(1970, 1, 1)).days
        if local // _DAY != wanted:
            return True
        at = self.wish.service_at
        if at is None or service.offset_h:
            return False
        return local % _DAY != at.hour * 60 + at.minute

    def own_cost(self, index: int, start: int) -> float:
        key = (index, start)
        found = self.costs.get(key)
        if found is None:
            found = _NIGHT * self.night(index, start) + _OVERLAP * self.overlap(index, start)
            if self.is_handled[index]:
                wall = self.clock.to_local(start) % _DAY
                found += _LATE * max(0, wall - self.open) / 60.0
            self.costs[key] = found
        return found

    def best_children(self, index: int, start: int) -> tuple[float, dict[int, int]] | None:
        key = (index, start)
        if key not in self.below:
            self.below[key] = self._find_children(index, start)
        return self.below[key]

    def _find_children(self, index: int, start: int) -> tuple[float, dict[int, int]] | None:
        total = 0.0
        chosen: dict[int, int] = {}
        for child in self.children.get(index, ()):
            found = self.best_hard(child, start)
            if found is None:
                return None
            total += found[0]
            chosen |= found[1]
        return total, chosen

    def best_hard(self, index: int, anchor_start: int) -> tuple[float, dict[int, int]] | None:
        key = (index, anchor_start)
        if key in self.memo:
            return self.memo[key]
        visit = self.visits[index]
        low = round((visit.hours - visit.early_h) * 60)
        high = round((visit.hours + visit.late_h) * 60)
        target = round(visit.hours * 60)
        offers = {target, low, high}
        offers.update(range(low - (low % 15) + 15 if low % 15 else low, high + 1, 15))
        best: tuple[float, dict[int, int]] | None = None
        for offset in sorted(offers):
            start = anchor_start + offset
            if self.misses_day(index, start):
                continue
            half = (visit.early_h if offset < target else visit.late_h) * 60 or 1
            cost = self.own_cost(index, start)
            cost += _DRIFT * self.drift(index, start, anchor_start)
            cost += _TARGET * (abs(offset - target) / half) ** 2
            if best is not None and cost >= best[0]:
                continue
            below = self.best_children(index, start)
            if below is None:
                continue
            if best is None or cost + below[0] < best[0]:
                best = (cost + below[0], {index: start, **below[1]})
        self.memo[key] = best
        return best

    def best_soft(
        self, index: int, zero_day: int, zero_wall: int
    ) -> tuple[float, dict[int, int]] | None:
        visit = self.visits[index]
        day = zero_day + (visit.day or 0)
        is_zero = (visit.day or 0) == 0 and index == 0
        early = 0 if is_zero else round(visit.early_h * 60)
        late = 0 if is_zero else round(visit.late_h * 60)
        bends = sorted(range(-(early // 15) * 15, late + 1, 15), key=abs)
        # a visit on which nothing hangs needs no bend unless its own hours are bad
        leaf = index not in self.children and index != self.wish.service.visit
        best: tuple[float, dict[int, int]] | None = None
        for bend in bends:
            start = self.clock.to_utc(day * _DAY + zero_wall + bend)
            if self.misses_day(index, start):
                continue
            drift = self.soft_drift(index, bend)
            cost = self.own_cost(index, start) + _DRIFT * drift + _BEND * abs(bend) / 60.0
            if best is not None and cost >= best[0]:
                continue
            below = self.best_children(index, start)
            if below is None:
                continue
            if best is None or cost + below[0] < best[0]:
                best = (cost + below[0], {index: start, **below[1]})
            is_good = self.night(index, start) == 0 == self.overlap(index, start)
            if leaf and bend == 0 == drift and is_good:
                break
        return best

    def best_for_zero(self, zero_on: date) -> tuple[float, dict[int, int]] | None:
        zero_day = (zero_on - date(1970, 1, 1)).days
        soft = [visit.index for visit in self.visits if visit.anchor is None]
        best: tuple[float, dict[int, int]] | None = None
        at = self.wish.service_at
        # a clock time asked for that is off the quarter hour moves the whole grid to meet it
        off_grid = 0 if at is None else (at.minute - self.open) % CLOCK_GRID_MINUTES
        for wall in range(self.open + off_grid, self.close + 1, CLOCK_GRID_MINUTES):
            total = 0.0
            chosen: dict[int, int] = {}
            for index in soft:
                found = self.best_soft(index, zero_day, wall)
                if found is None:
                    break
                total += found[0]
                chosen |= found[1]
                if best is not None and total >= best[0]:
                    break
            else:
                if best is None or total < best[0]:
                    best = (total, chosen)
        return best


def find_times(visits: Sequence[Visit], wish: Wish, *, clock: Clock) -> Times | None:
    """Choose the start of every visit.

    Parameters
    ----------
    visits : sequence of Visit
        In file order; the first is zero.
    wish : Wish
    clock : Clock

    Returns
    -------
    Times or None
        None only when no start at all puts the first service on the wanted day inside the
        windows (the day, or the pinned clock time, cannot be had).
    """
    search = _Search(visits, wish, clock)
    if wish.zero_on is not None:
        candidates = [wish.zero_on]
    else:
        if wish.service_on is None:
            return None
        lead = int(wish.service.nominal_h // 24)
        candidates = [wish.service_on - timedelta(days=lead + extra) for extra in (2, 1, 0, -1)]
    best: tuple[float, dict[int, int]] | None = None
    for zero_on in candidates:
        found = search.best_for_zero(zero_on)
        if found is not None and (best is None or found[0] < best[0]):
            best = found
    if best is None:
        return None
    starts = tuple(best[1][visit.index] for visit in visits)
    return Times(
        starts=starts,
        cost=best[0],
        night_min=sum(search.night(i, s) for i, s in enumerate(starts)),
        drift_min=sum(
            search.soft_drift(i, search.bend(i, s, starts[0]))
            if (anchor := visits[i].anchor) is None
            else search.drift(i, s, starts[anchor])
            for i, s in enumerate(starts)
        ),
        overlap_min=sum(search.overlap(i, s) for i, s in enumerate(starts)),
    )
