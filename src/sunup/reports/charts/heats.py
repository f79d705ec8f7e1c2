"""Heats by half-day since the clock step: what a crew will see, and what truly happens.

Where a watch lasts so long that half-days would crowd, the forecast has summed them to days or
weeks.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sunup.base.hours import add_hours, to_local
from sunup.reports import words
from sunup.reports.charts import look
from sunup.reports.charts.chart import Chart
from sunup.reports.charts.counts import LIKELY, mean, mean_and_span

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.forecast.forecast import Forecast, HeatSpan

_DAY_H = 24.0
_LEAST = 0.5  # females: half-days at either end that hold fewer are not drawn
# where in its half-day each strip stands, as shares of it
_SEEN = (0.08, 0.48)
_TRUE = (0.52, 0.92)


def heats_chart(
    forecast: Forecast,
    fmt: look.Format,
    *,
    clock_utc: datetime | None = None,
    zone: ZoneInfo | None = None,
) -> Chart:
    """Return heats by half-day, seen and true side by side, 80 in 100 seasons as soft strips.

    Parameters
    ----------
    forecast : Forecast
    fmt : Format
    clock_utc, zone : datetime, ZoneInfo, optional
        The instant of the clock step and the ranch's zone: half-days then carry local day and
        clock. Without them they carry hours since the clock step.

    Returns
    -------
    Chart
        The table holds every half-day, also those too empty to draw.
    """
    local = (clock_utc, zone) if clock_utc is not None and zone is not None else None
    halves = forecast.heats_to_show
    busiest = max(halves, key=lambda half: half.seen_mean, default=None)
    title = f"Heats by {_span(halves)} in possible seasons: {forecast.group}"
    rows = tuple(
        (
            _when(half, local), half.start_h,
            half.seen_mean, half.seen_low80, half.seen_high80,
            half.true_mean, half.true_low80, half.true_high80,
        )
        for half in halves
    )  # fmt: skip
    return Chart(
        key="heats",
        title=title,
        alt=_alt(forecast, busiest, local),
        spec=look.one_view(
            fmt,
            title=title,
            below=_below(forecast, busiest, local),
            height=round(fmt.text * 16),
            layer=_layers(forecast, fmt, local),
        ),
        head=(
            _span(halves), f"hours since {forecast.clock_words}",
            "seen, mean", "seen, low of 80 in 100", "seen, high",
            "true, mean", "true, low of 80 in 100", "true, high",
        ),
        rows=rows,
    )  # fmt: skip


def _time_title(forecast: Forecast, local: tuple[datetime, ZoneInfo] | None) -> str:
    if local is None:
        return f"hours since {forecast.clock_words}"
    return "day" if _is_by_day(forecast.heats_to_show) else "local clock"


def _shown(forecast: Forecast) -> list[HeatSpan]:
    halves = list(forecast.heats_to_show)
    while halves and max(halves[0].true_high80, halves[0].seen_high80) < _LEAST:
        halves.pop(0)
    while halves and max(halves[-1].true_high80, halves[-1].seen_high80) < _LEAST:
        halves.pop()
    return halves


def _layers(
    forecast: Forecast, fmt: look.Format, local: tuple[datetime, ZoneInfo] | None
) -> list[look.Spec]:
    halves = _shown(forecast)
    first = halves[0].start_h if halves else 0.0
    last = halves[-1].start_h + halves[-1].hours if halves else 12.0
    top = max((max(h.seen_high80, h.true_high80) for h in halves), default=1.0)
    x = {
        "field": "from",
        "type": "quantitative",
        "scale": {"domain": [first, last], "nice": False, "zero": False},
        "axis": {
            "title": _time_title(forecast, local),
            **_time_axis(
                [*(h.start_h for h in halves), last], fmt, local, is_by_day=_is_by_day(halves)
            ),
        },
    }
    y = {
        "field": "low",
        "type": "quantitative",
        "scale": {"domain": [0, max(min(4.0, forecast.n), top * 1.18)], "nice": False},
        "axis": {"title": None, "tickMinStep": 1, "tickCount": 5, "domain": False, "ticks": False},
    }
    seen = [
        _strip(h, _SEEN, h.seen_mean, h.seen_low80, h.seen_high80)
        for h in halves
    ]  # fmt: skip
    true = [
        _strip(h, _TRUE, h.true_mean, h.true_low80, h.true_high80)
        for h in halves
    ]  # fmt: skip
    at_mean = {"field": "mean", "type": "quantitative"}
    middle = {"field": "middle", "type": "quantitative"}
    out = []
    for name, strips, colour, shape, filled in (
        ("seen", seen, look.BLUE, "circle", True),
        ("true", true, look.OCHRE, "diamond", False),
    ):
        size = fmt.text * 3.2
        out += [
            look.layer_of(
                f"soft_{name}", strips, {"type": "rect", "fill": look.soft(colour)},
                x=x, x2={"field": "to"}, y=y, y2={"field": "high"},
            ),
            look.layer_of(
                f"mean_{name}", strips,
                {"type": "rule", "color": colour, "strokeWidth": 2}
                | ({} if filled else {"strokeDash": [3, 2]}),
                x=x, x2={"field": "to"}, y=at_mean,
            ),
            look.layer_of(
                f"point_{name}", strips,
                {
                    "type": "point", "shape": shape, "size": size, "opacity": 1,
                    "stroke": colour, "strokeWidth": 1.6,
                    "fill": colour if filled else fmt.ground,
                },
                x=middle, y=at_mean,
            ),
        ]  # fmt: skip
    return out + _names(halves, fmt, middle)


def _strip(
    half: HeatSpan, place: tuple[float, float], mean: float, low: float, high: float
) -> look.Spec:
    return {
        "from": half.start_h + half.hours * place[0],
        "to": half.start_h + half.hours * place[1],
        "middle": half.start_h + half.hours * sum(place) / 2,
        "mean": mean,
        "low": low,
        "high": high,
    }


def _names(halves: list[HeatSpan], fmt: look.Format, middle: look.Spec) -> list[look.Spec]:
    """Write "seen" and "true" over the strips of the fullest half-day."""
    if not halves:
        return []
    fullest = max(halves, key=lambda h: max(h.seen_high80, h.true_high80))
    y = {"field": "high", "type": "quantitative"}
    high = max(fullest.seen_high80, fullest.true_high80)
    centre = fullest.start_h + fullest.hours / 2
    return [
        look.layer_of(
            f"name_{name}", [{"middle": centre, "high": high, "name": name}],
            {
                "type": "text", "align": align, "dx": dx, "dy": -fmt.text * 0.8,
                "fontWeight": "bold", "fontSize": fmt.text, "color": colour,
            },
            x=middle, y=y, text={"field": "name"},
        )
        for name, align, dx, colour in (
            ("seen", "right", -4, look.BLUE),
            ("true", "left", 4, look.OCHRE),
        )
    ]  # fmt: skip


def _time_axis(
    values: list[float],
    fmt: look.Format,
    local: tuple[datetime, ZoneInfo] | None,
    *,
    is_by_day: bool,
) -> look.Spec:
    """Return ticks at the beginning of each half-day and the end of the last."""
    room = fmt.width / max(1, len(values) - 1)
    if local is not None and is_by_day:
        labels = _day_labels(values, local, fmt, room)
    elif local is None:
        labels = [f"{value:g}" for value in values]
        if room < fmt.wide("132 "):
            labels = [label if i % 2 == 0 else "" for i, label in enumerate(labels)]
    else:
        labels = _clock_labels(values, local, fmt, room)
    return {
        **look.ticks_at(values),
        "grid": True,
        "labelExpr": _looked_up(values, labels),
        "labelFlush": False,
        "labelAlign": "center",
        "labelLineHeight": fmt.text * 1.15,
    }


def _day_labels(
    values: list[float], local: tuple[datetime, ZoneInfo], fmt: look.Format, room: float
) -> list[str]:
    """Return the day each span begins on, of as many spans as there is room for."""
    utc, zone = local
    every = max(1, math.ceil(fmt.wide("Tue 25 ") / room))
    days = [to_local(add_hours(utc, value), zone).date() for value in values]
    named = [words.short_day(day).rsplit(" ", 1) for day in days]
    labels = []
    for i, (day, month) in enumerate(named):
        is_new = i == 0 or days[i - every].month != days[i].month
        labels.append("" if i % every else f"{day}|{month}" if is_new else day)
    return labels


def _clock_labels(
    values: list[float], local: tuple[datetime, ZoneInfo], fmt: look.Format, room: float
) -> list[str]:
    """Return the clock of each half-day's beginning, the day under the first of each day.

    Where there is little room the clock is short, and a day that has but one label is not named.
    """
    utc, zone = local
    times = [to_local(add_hours(utc, value), zone) for value in values]
    is_wide = room >= fmt.wide("Tue 25 ")
    labels = []
    for i, when in enumerate(times):
        text = f"{when:%Hh}" if when.minute == 0 and not is_wide else f"{when:%H:%M}"
        if not is_wide and when.minute != 0 and i % 2:
            text = ""
        is_first = i == 0 or times[i - 1].date() != when.date()
        is_lone = i + 1 == len(times) or times[i + 1].date() != when.date()
        if is_first and (is_wide or not is_lone):
            text += f"|{words.short_day(when.date()).rsplit(' ', 1)[0]}"
        labels.append(text)
    return labels


def _looked_up(values: list[float], labels: list[str]) -> str:
    """Return an expression that gives each tick its label; the labels are our own words."""
    pairs = ", ".join(
        f"'{value:g}': '{label}'" for value, label in zip(values, labels, strict=True)
    )
    return f"split({{{pairs}}}[datum.value], '|')"


def _span(halves: Sequence[HeatSpan]) -> str:
    return halves[0].span if halves else "half-day"


def _is_by_day(halves: Sequence[HeatSpan]) -> bool:
    return bool(halves) and halves[0].hours >= _DAY_H


def _when(half: HeatSpan, local: tuple[datetime, ZoneInfo] | None) -> str:
    if local is None:
        return f"{half.start_h:g} to {half.start_h + half.hours:g} h"
    utc, zone = local
    when = to_local(add_hours(utc, half.start_h), zone)
    if half.hours > _DAY_H:
        return f"in the week from {words.short_day(when.date())}"
    return f"{words.short_day(when.date())} from {when:%H:%M}"


def _below(
    forecast: Forecast, busiest: HeatSpan | None, local: tuple[datetime, ZoneInfo] | None
) -> str:
    if busiest is None:
        return "No half-days to show."
    return (
        f"Of {words.count(forecast.n, 'female')}: whose heat is first seen in each {busiest.span}, "
        f"and whose truly begins. Dots: the mean; strips: the range {LIKELY}. "
        f"Seen: {forecast.seen_words}. Most are seen {_when(busiest, local)}: "
        f"{_seen(busiest, forecast)}."
    )


def _seen(half: HeatSpan, forecast: Forecast, likely: str = "") -> str:
    return mean_and_span(half.seen_mean, half.seen_low80, half.seen_high80, forecast.n, likely)


def _alt(
    forecast: Forecast, busiest: HeatSpan | None, local: tuple[datetime, ZoneInfo] | None
) -> str:
    if busiest is None:
        return f"No half-days of heats are forecast for {forecast.group}."
    n = forecast.n
    seen = sum(half.seen_mean for half in forecast.heats)
    fullest = max(forecast.heats_to_show, key=lambda half: half.true_mean)
    true = sum(half.true_mean for half in forecast.heats)
    return (
        f"Heats by {busiest.span} of {words.count(n, 'female')} ({forecast.group}) after "
        f"{forecast.clock_words}, on average of possible seasons: {mean(true, n)} begin, "
        f"{mean(seen, n)} are seen. Seen: {forecast.seen_words}. "
        f"Most are first seen {_when(busiest, local)}: "
        f"{_seen(busiest, forecast, LIKELY)}. "
        f"Most begin {_when(fullest, local)}: {mean(fullest.true_mean, n)}."
    )
