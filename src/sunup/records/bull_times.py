"""When bulls ran with a group, from when they were turned in and taken out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.records import observations as o

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime


@dataclass(frozen=True, slots=True)
class WithBulls:
    """Time a female ran with bulls; `until_at` is None while she does."""

    bulls: tuple[str, ...]
    from_at: datetime
    until_at: datetime | None
    group: str
    event: str


def find_bull_times(log: Iterable[o.Observation], *, group: str) -> list[WithBulls]:
    """Return the times bulls were with a group; each turning-in is a span of its own.

    A span ends when the last of its bulls is taken out.
    """
    spans: list[WithBulls] = []
    open_: list[tuple[o.BullsIn, set[str]]] = []
    for x in log:
        if type(x) is o.BullsIn:
            open_.append((x, set(x.bulls)))
        elif type(x) is o.BullsOut:
            still = []
            for turned_in, there in open_:
                left = there - set(x.bulls) if x.bulls else set()
                if left:
                    still.append((turned_in, left))
                else:
                    spans.append(
                        WithBulls(turned_in.bulls, turned_in.at, x.at, group, turned_in.event)
                    )
            open_ = still
    spans += [WithBulls(i.bulls, i.at, None, group, i.event) for i, _ in open_]
    return spans
