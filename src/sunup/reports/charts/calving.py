"""The calving season: calves born by week, and all born up to then."""

from __future__ import annotations

from itertools import accumulate
from typing import TYPE_CHECKING

from sunup.reports import words
from sunup.reports.charts import look
from sunup.reports.charts.chart import Chart
from sunup.reports.charts.counts import LIKELY, span, whole

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.forecast.forecast import CalvingWeek, Forecast, Interval

_WEEK = 7
_LEAST = 0.5  # calves: weeks at either end with fewer, at the high limit, are not drawn
_HANDFUL = 5
_LEAST_SHARE = 0.02  # of all calves: unless so many are born in them, as with one female


def calving_chart(forecast: Forecast, fmt: look.Format) -> Chart:
    """Return the calving curve over the calves of each week.

    Parameters
    ----------
    forecast : Forecast
        Where its weeks hold no count up to their end, the curve is the mean alone and says so
        (ranges of single weeks do not add up to one); the weeks below carry their own ranges.
    fmt : Format

    Returns
    -------
    Chart
    """
    weeks = forecast.calving
    born = list(accumulate(week.calves.mean for week in weeks))
    title = f"Calves born in possible seasons: {forecast.group}"
    return Chart(
        key="calving",
        title=title,
        alt=_alt(forecast, born),
        spec=look.panels(
            fmt,
            title=title,
            below=_below(forecast, born),
            views=[
                _curve(forecast, fmt, born),
                _weekly(forecast, fmt),
            ],
        ),
        head=("week from", "calves, mean", "low of 80 in 100", "high", "of them by AI, mean",
              "born by its end, mean"),
        rows=tuple(
            (_week_words(week), week.calves.mean, week.calves.low80, week.calves.high80,
             week.of_ai_mean, total)
            for week, total in zip(weeks, born, strict=True)
        ),
    )  # fmt: skip


def _week_words(week: CalvingWeek) -> str:
    if week.starts_on is None:
        return f"day {week.from_day}"
    return words.short_day(week.starts_on)


def _half_born(forecast: Forecast, born: list[float]) -> CalvingWeek | None:
    if not born or born[-1] <= 0:
        return None
    return next(
        week for week, total in zip(forecast.calving, born, strict=True) if total >= born[-1] / 2
    )


def _below(forecast: Forecast, born: list[float]) -> str:
    half = _half_born(forecast, born)
    if half is None:
        return "No calves in these seasons."
    return (
        f"Of {words.count(forecast.n, 'female')} {_mean(born[-1])} calve on average; half of the "
        f"calves are born by the end of the week from {_week_words(half)}."
    )


def _alt(forecast: Forecast, born: list[float]) -> str:
    half = _half_born(forecast, born)
    if half is None:
        return f"No calves are forecast for {forecast.group}."
    by_ai = sum(week.of_ai_mean for week in forecast.calving)
    most = max(forecast.calving, key=lambda week: week.calves.mean)
    return (
        f"Of {words.count(forecast.n, 'female')} ({forecast.group}) {_mean(born[-1])} calve on "
        f"average of possible seasons, {_mean(by_ai)} of them by AI. Half are born by the end of "
        f"the week from {_week_words(half)}. Fullest week: from {_week_words(most)}, "
        f"{_mean(most.calves.mean)} calves "
        f"({span(most.calves.low80, most.calves.high80)} {LIKELY})."
    )


def _time(weeks: Sequence[CalvingWeek], fmt: look.Format, *, labelled: bool) -> look.Spec:
    first = weeks[0].from_day if weeks else 0
    edges = [float(week.from_day) for week in weeks] + [
        float(weeks[-1].from_day + _WEEK if weeks else _WEEK)
    ]
    dated = [week.starts_on for week in weeks]
    texts = [
        str(week.from_day) if on is None else words.short_day(on).split(" ", 1)[1]
        for week, on in zip(weeks, dated, strict=True)
    ]
    every = 1
    while (
        texts and look.panel_width(fmt) / len(texts) * every < fmt.wide(max(texts, key=len)) * 1.3
    ):
        every += 1
    kept = {str(w.from_day): text for w, text in list(zip(weeks, texts, strict=True))[::every]}
    pairs = ", ".join(f"'{day}': '{text}'" for day, text in kept.items())
    return {
        "field": "day",
        "type": "quantitative",
        "scale": {"domain": [first, edges[-1]], "nice": False, "zero": False},
        "axis": {
            **look.ticks_at(edges),
            "labels": labelled,
            "labelExpr": f"{{{pairs}}}[datum.value] || ''",
            "labelFlush": False,
            "ticks": labelled,
            "title": _axis_title(weeks) if labelled else None,
            "gridOpacity": 0.6,
        },
    }


def _axis_title(weeks: Sequence[CalvingWeek]) -> str:
    if weeks and weeks[0].starts_on is not None:
        return "week from"
    return "days since the first insemination"


def _curve(forecast: Forecast, fmt: look.Format, born: list[float]) -> look.Spec:
    weeks = forecast.calving
    limits = [week.by_end for week in weeks if week.by_end is not None]
    ends = [week.from_day + _WEEK for week in weeks]
    start = [{"day": weeks[0].from_day, "count": 0.0}] if weeks else []
    shown = _shown(forecast)
    x = _time(shown, fmt, labelled=False)
    last = [week.from_day + _WEEK for week in shown[-1:]]  # a word past it would widen the picture
    top = max([*born, *(limit.high95 for limit in limits), _least_top(forecast)])
    y = {
        "field": "count",
        "type": "quantitative",
        "scale": {"domain": [0, top * 1.22], "nice": False},
        "axis": look.upright(fmt),
    }
    curve = {"type": "line", "clip": True, "interpolate": "monotone"}
    layers: list[look.Spec] = []
    if limits:
        layers += _bands(limits, ends, start, x, y)
    by_ai = list(accumulate(week.of_ai_mean for week in weeks))
    over = limits[-1].high95 if limits else 0.0  # the word stands over the band
    for name, totals, colour, dash, said, dy in (
        ("born", born, look.BLUE, (), "all calves", -0.8),
        ("born_ai", by_ai, look.CRIMSON, look.DASHED, "by AI", 0.9),
    ):
        if name == "born_ai" and not any(totals):
            continue
        points = start + [{"day": d, "count": c} for d, c in zip(ends, totals, strict=True)]
        layers += [
            look.layer_of(
                name, points,
                curve | {"color": colour, "strokeWidth": 2.2, "strokeDash": list(dash) or [1, 0]},
                x=x, y=y,
            ),
            look.layer_of(
                f"words_{name}",
                [{
                    "day": day,
                    "count": max(totals[-1], over if name == "born" else 0.0),
                    "text": f"{said}: {_mean(totals[-1])}",
                } for day in last],
                {"type": "text", "align": "right", "dx": -2, "dy": fmt.text * dy,
                 "fontWeight": "bold", "fontSize": fmt.text, "color": colour},
                x=x, y=y, text={"field": "text"},
            ),
        ]  # fmt: skip
    said = (
        "born so far: the mean; shaded, the ranges in 50, 80 and 95 of 100 possible seasons"
        if limits
        else "born so far (mean only: its range is not held)"
    )
    return {"height": fmt.text * 11, "title": look.panel_title(fmt, said), "layer": layers}


def _bands(
    limits: list[Interval], ends: list[int], start: list[look.Spec], x: look.Spec, y: look.Spec
) -> list[look.Spec]:
    """Return ranges laid over each other, so that the outermost fades."""
    out = []
    for name, low, high, strength in (
        ("soft_95", [i.low95 for i in limits], [i.high95 for i in limits], 0.13),
        ("soft_80", [i.low80 for i in limits], [i.high80 for i in limits], 0.18),
        ("soft_50", [i.low50 for i in limits], [i.high50 for i in limits], 0.25),
    ):
        rows = [row | {"high": 0.0} for row in start] + [
            {"day": day, "count": count, "high": up}
            for day, count, up in zip(ends, low, high, strict=True)
        ]
        out.append(
            look.layer_of(
                name, rows,
                {"type": "area", "color": look.BLUE, "opacity": strength, "clip": True,
                 "interpolate": "monotone"},
                x=x, y=y, y2={"field": "high"},
            )
        )  # fmt: skip
    return out


def _weekly(forecast: Forecast, fmt: look.Format) -> look.Spec:
    weeks = _shown(forecast)
    top = max([week.calves.high80 for week in weeks] + [_least_top(forecast)])
    rows = [
        {
            "day": week.from_day + 1.2, "to": week.from_day + _WEEK - 1.2,
            "middle": week.from_day + _WEEK / 2, "mean": week.calves.mean,
            "low": week.calves.low80, "high": week.calves.high80,
        }
        for week in weeks
    ]  # fmt: skip
    x = _time(weeks, fmt, labelled=True)
    y = {
        "field": "low",
        "type": "quantitative",
        "scale": {"domain": [0, top * 1.1], "nice": False},
        "axis": look.upright(fmt),
    }
    return {
        "height": fmt.text * 8,
        "title": look.panel_title(fmt, f"in each week: the mean, and the range {LIKELY}"),
        "layer": [
            look.layer_of(
                "soft_week", rows, {"type": "rect", "fill": look.soft(look.BLUE)},
                x=x, x2={"field": "to"}, y=y, y2={"field": "high"},
            ),
            look.layer_of(
                "week", rows, {"type": "rule", "color": look.BLUE, "strokeWidth": 2.2},
                x=x, x2={"field": "to"}, y=y | {"field": "mean"},
            ),
        ],
    }  # fmt: skip


def _shown(forecast: Forecast) -> list[CalvingWeek]:
    weeks = list(forecast.calving)
    few = _LEAST_SHARE * sum(week.calves.mean for week in weeks)
    while len(weeks) > 1 and _is_empty(weeks[0], few):
        weeks.pop(0)
    while len(weeks) > 1 and _is_empty(weeks[-1], few):
        weeks.pop()
    return weeks


def _least_top(forecast: Forecast) -> float:
    """Calves an upright axis shows at least: four, or the few females there are."""
    return float(max(1, min(4, forecast.n)))


def _mean(count: float) -> str:
    """A mean number of calves: whole, but for a handful to the tenth."""
    return whole(count) if count >= _HANDFUL else f"{count:.1f}"


def _is_empty(week: CalvingWeek, few: float) -> bool:
    return week.calves.high80 < _LEAST and week.calves.mean < few
