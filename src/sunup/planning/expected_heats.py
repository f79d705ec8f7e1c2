"""Heats expected so far against heats seen, from the forecast kept before the season.

The kept forecast counts heats by half-day from its clock step (the PGF heats are counted from).
Each female's half-days run from the time she herself got it. A low response is called once, at
the hour the trade calls it, and only where fewer were seen than in 9 of 10 forecast seasons.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sunup.base.hours import hours_between

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from sunup.base.figures import Figure

HALF_DAY_H = 12.0
CALL_KEY = "practice.low_response_call_h"


@dataclass(frozen=True, slots=True)
class KeptHeats:
    """What a kept forecast says of heats first seen, in females of `n`.

    `clock_h` is the hour of the clock step from the first treatment. Each half-day is
    (start in hours from the clock step, mean, low, high): 8 of 10 seasons between low and high.
    """

    n: int
    clock_h: float
    clock_words: str
    half_days: tuple[tuple[float, float, float, float], ...]


@dataclass(frozen=True, slots=True)
class HeatsSoFar:
    """Heats expected up to an instant beside heats seen.

    `low` and `high` add the half-days' limits as if all were low, or all high, together: wider
    than 8 of 10 seasons, so that a low response is not called too soon. `to_come` is expected in
    the next half-day. `clock_hours` are the hours since the clock step of the first female.
    """

    group: str
    n: int
    expected: float
    low: float
    high: float
    seen: int
    to_come: float
    clock_words: str
    clock_hours: float
    call: str = ""  # what to do now; empty where nothing is to be called
    source: tuple[str, ...] = ()


def read_kept_heats(forecast: Mapping[str, Any]) -> KeptHeats | None:
    """Take the heats out of a kept forecast; None where it holds none.

    Parameters
    ----------
    forecast : mapping
        The forecast as its JSON form (`ForecastKept`).
    """
    half_days = tuple(
        (
            float(h["start_h"]),
            float(h["seen_mean"]),
            float(h["seen_low80"]),
            float(h["seen_high80"]),
        )
        for h in forecast.get("heats", ())
    )
    if not half_days or not any(mean for _, mean, _, _ in half_days):
        return None
    return KeptHeats(
        n=int(forecast["n"]),
        clock_h=float(forecast["clock_h"]),
        clock_words=str(forecast["clock_words"]),
        half_days=half_days,
    )


def expected_by(kept: KeptHeats, hours: float) -> tuple[float, float, float]:
    """Heats first seen up to some hours after the clock step: (mean, low, high), in `kept.n`.

    Inside a half-day heats are spread evenly.
    """
    mean = low = high = 0.0
    for start, m, lo, hi in kept.half_days:
        share = min(max((hours - start) / HALF_DAY_H, 0.0), 1.0)
        mean, low, high = mean + m * share, low + lo * share, high + hi * share
    return mean, low, high


def heats_so_far(
    group: str,
    kept: KeptHeats,
    clocks: Sequence[datetime],
    seen: int,
    *,
    at: datetime,
    call_after: Figure,
) -> HeatsSoFar | None:
    """Compare heats expected up to an instant with those seen.

    Parameters
    ----------
    group : str
    kept : KeptHeats
    clocks : sequence of datetime
        When each female got the clock step, as recorded; females without one are not counted on.
    seen : int
        Females seen in heat from the first of the clocks on.
    at : datetime
    call_after : Figure
        Hours after the clock step at which a low response is called.

    Returns
    -------
    HeatsSoFar or None
        None before anybody got the clock step, and when the watch is over by two days.
    """
    begun = [clock for clock in clocks if clock <= at]
    if not begun or kept.n == 0:
        return None
    first = min(begun)
    hours = hours_between(first, at)
    if hours > kept.half_days[-1][0] + HALF_DAY_H + 48:
        return None
    mean = low = high = later = 0.0
    for clock in begun:
        since = hours_between(clock, at)
        m, lo, hi = expected_by(kept, since)
        mean, low, high = mean + m, low + lo, high + hi
        later += expected_by(kept, since + HALF_DAY_H)[0]
    share = 1.0 / kept.n
    call = ""
    least = round(low * share)  # females are whole
    if hours >= call_after.number and seen < least:
        call = (
            f"Low response: {seen} seen, {least} or more expected by now. Check that all "
            "got the PGF and the full dose, that no insert was left in, and how often they were "
            "watched. Females not seen in heat may still be inseminated at the fixed time where "
            "the protocol has one; ask the veterinarian before giving anything more."
        )
    return HeatsSoFar(
        group=group,
        n=len(begun),
        expected=mean * share,
        low=low * share,
        high=high * share,
        seen=seen,
        to_come=(later - mean) * share,
        clock_words=kept.clock_words,
        clock_hours=hours,
        call=call,
        source=call_after.source,
    )
