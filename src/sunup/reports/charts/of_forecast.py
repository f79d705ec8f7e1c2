"""All charts of one forecast, in the order they are read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.base.hours import add_hours
from sunup.reports.charts.calving import calving_chart
from sunup.reports.charts.heats import heats_chart
from sunup.reports.charts.pregnancy import HALF, pregnancy_chart
from sunup.reports.charts.season_dots import SeasonDots, dots_of
from sunup.reports.charts.waterfall import waterfall_chart

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.forecast.forecast import Forecast
    from sunup.planning.plan import GroupPlan
    from sunup.reports.charts.chart import Chart
    from sunup.reports.charts.look import Format

_NEAR_H = 3.0  # a step this near the forecast's clock step is it, moved by tolerance or clocks
_BULLS_ALONE = "bulls_alone"  # as `Forecast.protocol` has it
MOST_OTHERS = 3  # protocols beside the chosen one: people compare four at most


def charts_of(
    forecast: Forecast,
    fmt: Format,
    *,
    compared: Sequence[Forecast] = (),
    are_named: bool = False,
    mark: float = HALF,
    clock_utc: datetime | None = None,
    zone: ZoneInfo | None = None,
) -> list[Chart]:
    """Return the charts of a forecast: pregnancy, heats, waterfall, calving.

    Parameters
    ----------
    forecast : Forecast
        Of the chosen protocol, or of bulls alone.
    fmt : Format
    compared : sequence of Forecast
        Others of the same group; `MOST_OTHERS` of them with most pregnancies are drawn, the best of
        those that lead up to bulls, and bulls alone; the caption tells how many are not.
    are_named : bool
        Whether each of them was asked for by name: all are drawn then.
    mark : float
        Threshold of the pregnancy chart, of 100 females.
    clock_utc, zone : datetime, ZoneInfo, optional
        As for `heats_chart`.

    Returns
    -------
    list of Chart
        Those the forecast has numbers for.
    """
    rows = rows_of(forecast, compared, are_named=are_named)
    charts = []
    if rows:
        also = _also(rows, compared)
        charts.append(pregnancy_chart(rows, fmt, group=forecast.group, mark=mark, also=also))
    if any(half.true_high80 or half.seen_high80 for half in forecast.heats):
        charts.append(heats_chart(forecast, fmt, clock_utc=clock_utc, zone=zone))
    if forecast.waterfall:
        charts.append(waterfall_chart(forecast, fmt))
    if forecast.calving:
        charts.append(calving_chart(forecast, fmt))
    return charts


def clock_instant(group: GroupPlan, forecast: Forecast) -> datetime | None:
    """Return the instant heats are counted from: the scheduled step at that hour.

    Parameters
    ----------
    group : GroupPlan
    forecast : Forecast
        Of the protocol the group's schedule follows.

    Returns
    -------
    datetime or None
        UTC; None where nothing is scheduled.
    """
    steps = [step for step in group.schedule if not step.cancelled]
    if not steps:
        return None
    zero = min(step.at_utc for step in steps)
    wanted = add_hours(zero, forecast.clock_h)
    nearest = min((step.at_utc for step in steps), key=lambda at: abs(at - wanted))
    is_near = abs((nearest - wanted).total_seconds()) <= _NEAR_H * 3600
    return nearest if is_near else wanted


def rows_of(
    forecast: Forecast, compared: Sequence[Forecast], *, are_named: bool = False
) -> list[SeasonDots]:
    """Return the rows of the pregnancy chart: the chosen, the best others, bulls alone last.

    Of programs that lead up to bulls only the best stands beside them, by the first 21 days; all
    where each was asked for by name.
    """
    with_ai = sorted(
        (other for other in compared if other.waterfall), key=lambda o: -o.pregnant_to_ai.mean
    )
    bulls = [other for other in compared if other.protocol == _BULLS_ALONE]
    synchronised = sorted(
        (o for o in compared if not o.waterfall and o.protocol != _BULLS_ALONE),
        key=lambda o: -(o.season[0].by_end.mean if o.season else 0.0),
    )
    if not are_named:
        with_ai, synchronised = with_ai[:MOST_OTHERS], synchronised[:1]
    beside = [*with_ai, *synchronised, *bulls]
    return [
        row
        for row in (
            dots_of(forecast, note="chosen" if forecast.waterfall else ""),
            *(dots_of(other) for other in beside),
        )
        if row is not None
    ]


def _also(rows: Sequence[SeasonDots], compared: Sequence[Forecast]) -> str:
    """Say what the picture leaves out, and where it counts another thing than the tables do."""
    said = []
    if any(row.is_without_ai for row in rows):
        said.append("Rows without AI count the first days only; the table has the season.")
    left = len([other for other in compared if dots_of(other) is not None]) - (len(rows) - 1)
    if left > 0:
        said.append(f"Not drawn: {left} more, with fewer; the table has them.")
    return " ".join(said)
