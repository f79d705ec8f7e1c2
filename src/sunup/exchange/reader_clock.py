"""Whether a reader's clock can be believed: off by hours, a day, or the wrong zone.

Readers keep a clock of their own, set once and lost with the battery. What is found is asked
about, never put right in silence.
"""

from __future__ import annotations

import statistics
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import at_local, to_local

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from zoneinfo import ZoneInfo

    from sunup.exchange.plausible import Limits
    from sunup.exchange.reader_file import Read

# Assumed: a walk from chute to desk and a slow hand explain less than this.
_SLOW_HAND = timedelta(minutes=30)
_AHEAD = timedelta(minutes=5)
_NEAR = timedelta(hours=36)  # events by hand this near a read are held to be of the same session
_AGREE = timedelta(minutes=20)  # half of the differences lie this near their median
_FEWEST = 3


@dataclass(frozen=True, slots=True)
class ClockDoubt:
    """Why a reader's clock is doubted.

    `offset_s` is reader less true time where the evidence gives one: what to take off. `is_sure`
    means the times cannot be right as they stand.
    """

    why: str
    offset_s: float | None = None
    is_sure: bool = False


def doubt_clock(
    reads: Sequence[Read],
    *,
    zone: ZoneInfo,
    now: datetime,
    limits: Limits,
    saved_at: datetime | None = None,
    by_hand: Mapping[str, Sequence[datetime]] | None = None,
) -> tuple[ClockDoubt, ...]:
    """Hold a reader's times against everything else that tells the time.

    Parameters
    ----------
    reads : sequence of Read
    zone : ZoneInfo
        The ranch's; a reader's clock is taken for a wall clock of it.
    now : datetime
        UTC; no read lies after it.
    limits : Limits
        Between which hours cattle go through a chute: the others are asked about.
    saved_at : datetime, optional
        UTC; when the file was last written.
    by_hand : mapping, optional
        RFID to the instants (UTC) of what was recorded of her otherwise.

    Returns
    -------
    tuple of ClockDoubt
        The strongest first; empty where nothing speaks against the clock.
    """
    times = [(one, at_local(one.at.date(), one.at.time(), zone).utc) for one in reads if one.at]
    if not times:
        return ()
    doubts = []
    last = max(at for _, at in times)
    if last > now + _AHEAD:
        ahead = last - now
        doubts.append(
            ClockDoubt(
                f"the last read ({to_local(last, zone):%Y-%m-%d %H:%M}) is still to come: the"
                f" reader is at least {_spell(ahead)} ahead",
                _whole_hours(ahead, up=True),
                is_sure=True,
            )
        )
    offs = []
    for one, at in times:
        near = [
            at - other for other in (by_hand or {}).get(one.rfid, ()) if abs(at - other) < _NEAR
        ]
        if near:
            offs.append(min(near, key=abs))
    if len(offs) >= _FEWEST:
        seconds = [one.total_seconds() for one in offs]
        middle = statistics.median(seconds)
        spread = statistics.median(abs(one - middle) for one in seconds)
        if abs(middle) >= _SLOW_HAND.total_seconds() and spread <= _AGREE.total_seconds():
            off = timedelta(seconds=middle)
            side = "ahead of" if middle > 0 else "behind"
            doubts.append(
                ClockDoubt(
                    f"the reads are {_spell(abs(off))} {side} what was recorded of the same"
                    f" {len(offs)} females by hand",
                    round(middle / 900) * 900.0,
                )
            )
    if saved_at is not None and not doubts and saved_at > last:
        late = saved_at - last
        hours = round(late.total_seconds() / 3600)
        rest = abs(late - timedelta(hours=hours))
        if 1 <= hours <= 14 and rest <= timedelta(minutes=3):
            doubts.append(
                ClockDoubt(
                    f"the file was written {hours} h after the last read almost to the minute: the"
                    " reader may stand in another time zone",
                    -3600.0 * hours,
                )
            )
    locals_ = [to_local(at, zone).hour for _, at in times]
    first, end = limits.worked_h
    at_night = sum(not first <= hour < end for hour in locals_)
    if at_night * 2 > len(locals_) and not doubts:
        doubts.append(ClockDoubt(f"{at_night} of {len(locals_)} reads are from the night"))
    return tuple(doubts)


def _whole_hours(span: timedelta, *, up: bool) -> float:
    seconds = span.total_seconds()
    return 3600.0 * (-(-seconds // 3600) if up else seconds // 3600)


def _spell(span: timedelta) -> str:
    minutes = round(span.total_seconds() / 60)
    if minutes >= 48 * 60:
        return f"{minutes / 1440:.1f} days"
    return f"{minutes // 60} h {minutes % 60:02d} min"
