"""From all females to the pregnant: how many are lost at each step."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.reports import words
from sunup.reports.charts import look
from sunup.reports.charts.chart import Chart
from sunup.reports.charts.counts import LIKELY, mean, mean_and_span, span

if TYPE_CHECKING:
    from sunup.forecast.forecast import Forecast, WaterfallStep


def waterfall_chart(forecast: Forecast, fmt: look.Format) -> Chart:
    """Return the steps as bars that hang from one to the next, each with its count in words.

    Parameters
    ----------
    forecast : Forecast
        Its last waterfall step counts the pregnant.
    fmt : Format

    Returns
    -------
    Chart
        Its table holds every step, also those too small to draw.
    """
    title = f"From all females to pregnant: {forecast.group}"
    return Chart(
        key="waterfall",
        title=title,
        alt=_alt(forecast),
        spec=look.one_view(
            fmt,
            title=title,
            below=_below(forecast),
            **_drawn(forecast, fmt),
        ),
        head=("step", "females, mean", "low of 80 in 100", "high"),
        rows=(
            ("all females", float(forecast.n), float(forecast.n), float(forecast.n)),
            *((step.words, step.count, step.low80, step.high80) for step in forecast.waterfall),
        ),
    )


def _below(forecast: Forecast) -> str:
    if not forecast.waterfall:
        return "No insemination, so no steps to one."
    ranges = "" if forecast.n == 1 else f"; in brackets the range {LIKELY}"
    return f"Means over possible seasons{ranges}. Filled: counted. Hollow: lost at this step."


def _alt(forecast: Forecast) -> str:
    if not forecast.waterfall:
        return f"No steps are forecast for {forecast.group}."
    *lost, left = forecast.waterfall_to_show
    n = forecast.n
    limits = "" if n == 1 else f" ({span(left.low80, left.high80)} {LIKELY})"
    listed = "; ".join(f"{step.words}, {mean(step.count, n)}" for step in lost)
    return (
        f"Of {words.count(n, 'female')} ({forecast.group}), {mean(left.count, n)} pregnant on "
        f"average of possible seasons{limits}. Lost on the way: {listed}."
    )


def _label(step: WaterfallStep, females: int) -> str:
    return f"{step.words}: {mean_and_span(step.count, step.low80, step.high80, females)}"


def _bars(forecast: Forecast, fmt: look.Format) -> tuple[list[look.Spec], float]:
    """Return a bar a step with its label's lines over it, in px from the top, and the height."""
    at, top = float(forecast.n), 0.0
    bars: list[look.Spec] = []
    shown = forecast.waterfall_to_show
    for i, step in enumerate([None, *shown]):
        if step is None:
            place, text, kind = (0.0, at), f"all females: {forecast.n:,}", "counted"
        elif i == len(shown):
            place, text, kind = (0.0, step.count), _label(step, forecast.n), "counted"
        else:
            place, text, kind = (at - step.count, at), _label(step, forecast.n), "lost"
            at -= step.count
        lines = fmt.wrapped(text, size=fmt.text)
        bar_top = top + fmt.text * (1.2 * len(lines) + 0.15)
        bars.append(
            {
                "from": place[0], "to": place[1], "kind": kind, "lines": lines, "label_y": top,
                "y": bar_top, "y2": bar_top + fmt.text * 0.95,
            }
        )  # fmt: skip
        top = bar_top + fmt.text * 1.4
    return bars, top


def _joints(bars: list[look.Spec], fmt: look.Format, females: int) -> list[look.Spec]:
    """Return thin lines from a bar to the next, but none through a label."""
    per_female = (fmt.width - 16) / max(1, females)
    out = []
    for i in range(len(bars) - 1):
        here, there = bars[i], bars[i + 1]
        at = here["to"] if here["kind"] == "counted" else here["from"]
        if at * per_female > max(fmt.wide(line) for line in there["lines"]):
            out.append({"at": at, "y": here["y2"], "y2": there["y"]})
    return out


def _drawn(forecast: Forecast, fmt: look.Format) -> look.Spec:
    bars, high = _bars(forecast, fmt)
    x = {
        "field": "from",
        "type": "quantitative",
        "scale": {"domain": [0, max(1, forecast.n)], "nice": False},
        "axis": {
            "title": f"of {words.count(forecast.n, 'female')}",
            "tickCount": 5,
            "tickMinStep": 1,
            "grid": True,
            "gridOpacity": 0.6,
        },
    }
    y = {
        "field": "y",
        "type": "quantitative",
        "scale": {"domain": [round(high), 0], "nice": False, "zero": False},
        "axis": None,
    }
    layers = [
        look.layer_of(
            "joint", _joints(bars, fmt, forecast.n),
            {"type": "rule", "color": look.LINE, "strokeWidth": 1},
            x=x | {"field": "at"}, y=y, y2={"field": "y2"},
        )
    ]  # fmt: skip
    for kind, fill, stroke in (
        ("counted", look.BLUE, look.BLUE),
        ("lost", fmt.ground, look.INK),
    ):
        layers.append(
            look.layer_of(
                kind, [row for row in bars if row["kind"] == kind],
                {"type": "rect", "fill": fill, "stroke": stroke, "strokeWidth": 1.3},
                x=x, x2={"field": "to"}, y=y, y2={"field": "y2"},
            )
        )  # fmt: skip
    layers.append(
        look.layer_of(
            "words", bars,
            {"type": "text", "align": "left", "baseline": "top", "fontSize": fmt.text,
             "lineHeight": fmt.text * 1.2},
            x={"value": 0}, y=y | {"field": "label_y"}, text={"field": "lines"},
        )
    )  # fmt: skip
    return {"height": round(high), "layer": layers}
