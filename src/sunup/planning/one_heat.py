"""Inseminations of one heat are one service: a second straw twelve hours on is no second chance."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date, datetime

SAME_SERVICE_KEY = "physiology.same_service_h"


def heats_served(
    times: Sequence[tuple[date, datetime | None]], *, same_service_h: float
) -> tuple[tuple[int, ...], ...]:
    """Return which inseminations were of one heat, heats and inseminations in time order.

    Parameters
    ----------
    times : sequence of (date, datetime or None)
        Day of each insemination on the ranch's clock, and its instant (UTC) where known. Where one
        of two has no instant, days are counted as 24 h.
    same_service_h : float
        An insemination this many hours or fewer after the one before is of the same heat.

    Returns
    -------
    tuple of tuple of int
        Places in `times`.

    Examples
    --------
    >>> from datetime import date
    >>> days = [date(2027, 5, 25), date(2027, 5, 26), date(2027, 6, 15)]
    >>> heats_served([(day, None) for day in days], same_service_h=48)
    ((0, 1), (2,))
    """
    order = sorted(
        range(len(times)),
        key=lambda i: (times[i][0], moment.timestamp() if (moment := times[i][1]) else 0.0),
    )
    heats: list[list[int]] = []
    for i in order:
        if heats and _hours(times[heats[-1][-1]], times[i]) <= same_service_h:
            heats[-1].append(i)
        else:
            heats.append([i])
    return tuple(tuple(heat) for heat in heats)


def _hours(first: tuple[date, datetime | None], then: tuple[date, datetime | None]) -> float:
    if first[1] is not None and then[1] is not None:
        return (then[1] - first[1]).total_seconds() / 3600.0
    return (then[0] - first[0]).days * 24.0
