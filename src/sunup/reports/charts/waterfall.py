"""From all females to the pregnant: how many are lost at each step."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from sunup.reports.charts import look
from sunup.reports.charts.chart import Chart
from sunup.reports.charts.counts import LIKELY, span, whole

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
    """
    steps = forecast.waterfall
    title = f"From all females to the pregnant: {forecast.group}"
    return Chart(
        key="waterfall",
        title=title,
        alt=_alt(forecast),
        spec=look.one_view(
            fmt,
            title=title,
            below=(
                "Means over possible seasons; in brackets, the range "
                f"{LIKELY}. Hollow: lost at this step. Filled: still counted."
            ),
            **_drawn(forecast, fmt),
        ),
        head=("step", "females, mean", "low of 80 in 100", "high"),
        rows=(
            ("all females", float(forecast.n), float(forecast.n), float(forecast.n)),
            *((step.words, step.count, step.low80, step.high80) for step in steps),
        ),
    )


def _alt(forecast: Forecast) -> str:
    if not forecast.waterfall:
        return f"No steps are forecast for {forecast.group}."
    *lost, left = forecast.waterfall
    listed = "; ".join(f"{step.words} {whole(step.count)}" for step in lost)
    return (
        f"Of {forecast.n:,} females ({forecast.group}), {whole(left.count)} pregnant on average of "
        f"possible seasons ({span(left.low80, left.high80)} {LIKELY}). Lost on the way: {listed}."
    )


def _label(step: WaterfallStep) -> str:
    return f"{step.words}: {whole(step.count)} ({span(step.low80, step.high80)})"


def _drawn(forecast: Forecast, fmt: look.Format) -> look.Spec:
    pitch, bar, line = fmt.text * 2.75, fmt.text * 0.95, fmt.text * 1.3
    at = float(forecast.n)
    bars = [{"from": 0.0, "to": at, "text": f"all females: {forecast.n:,}", "kind": "counted"}]
    for i, step in enumerate(forecast.waterfall):
        if i == len(forecast.waterfall) - 1:
            bars.append({"from": 0.0, "to": step.count, "text": _label(step), "kind": "counted"})
        else:
            bars.append({"from": at - step.count, "to": at, "text": _label(step), "kind": "lost"})
            at -= step.count
    for i, row in enumerate(bars):
        row |= {"label_y": i * pitch + line * 0.55, "y": i * pitch + line * 1.1,
                "y2": i * pitch + line * 1.1 + bar}  # fmt: skip
    joints = [
        {
            "at": here["to" if here["kind"] == "counted" else "from"],
            "y": here["y2"],
            "y2": there["y"],
        }
        for here, there in pairwise(bars)
    ]
    per_female = (fmt.width - 16) / max(1, forecast.n)
    joints = [  # none through a label
        joint
        for joint, below in zip(joints, bars[1:], strict=True)
        if joint["at"] * per_female > fmt.wide(below["text"])
    ]  # fmt: skip
    height = round(len(bars) * pitch)
    x = {
        "field": "from",
        "type": "quantitative",
        "scale": {"domain": [0, max(1, forecast.n)], "nice": False},
        "axis": {"title": f"of {forecast.n:,} females", "tickCount": 5, "tickMinStep": 1,
                 "grid": True, "gridOpacity": 0.6},
    }  # fmt: skip
    y = {
        "field": "y",
        "type": "quantitative",
        "scale": {"domain": [height, 0], "nice": False, "zero": False},
        "axis": None,
    }
    layers = [
        look.layer_of(
            "joint", joints, {"type": "rule", "color": look.LINE, "strokeWidth": 1},
            x=x | {"field": "at"}, y=y, y2={"field": "y2"},
        )
    ]  # fmt: skip
    for kind in ("counted", "lost"):
        layers.append(
            look.layer_of(
                kind, [row for row in bars if row["kind"] == kind],
                {"type": "rect", "fill": look.BLUE if kind == "counted" else fmt.ground,
                 "stroke": look.BLUE if kind == "counted" else look.INK, "strokeWidth": 1.3},
                x=x, x2={"field": "to"}, y=y, y2={"field": "y2"},
            )
        )  # fmt: skip
    layers.append(
        look.layer_of(
            "words", bars,
            {"type": "text", "align": "left", "baseline": "middle", "fontSize": fmt.text,
             "limit": fmt.width - 16},
            x={"value": 0}, y=y | {"field": "label_y"}, text={"field": "text"},
        )
    )  # fmt: skip
    return {"height": height, "layer": layers}
