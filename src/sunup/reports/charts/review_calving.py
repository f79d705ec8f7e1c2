"""Calvings as they came: how many by each day, with the windows of 21 days."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.reports.charts import look
from sunup.reports.charts.chart import Chart

if TYPE_CHECKING:
    from sunup.planning.review import HerdMeasures

_WINDOWS = (21, 42, 63)


def calved_chart(told: HerdMeasures, fmt: look.Format) -> Chart | None:
    """Return calvings by day as a rising line; None where no window opened.

    Parameters
    ----------
    told : HerdMeasures
    fmt : Format

    Returns
    -------
    Chart or None
    """
    spread = told.calvings
    if spread is None:
        return None
    title = f"Calved by day: {told.group}"
    steps = _steps(spread.days)
    last = max(*spread.days, _WINDOWS[0])
    shown = [day for i, day in enumerate(_WINDOWS) if i == 0 or day <= last + 7]
    by = [(day, sum(d < day for d in spread.days)) for day in shown]
    said = "; ".join(f"by day {day} {count} of {spread.calved}" for day, count in by)
    return Chart(
        key="review_calving",
        title=title,
        alt=f"{title}, counted from {spread.words}: {said}.",
        spec=look.one_view(
            fmt,
            title=title,
            below=f"Day 0 is {spread.words}.",
            height=fmt.text * 16,
            layer=_layers(steps, by, fmt, first=min(0, *spread.days), last=last + 3),
        ),
        head=("day", "calved"),
        rows=tuple((day, count) for day, count in steps),
    )


def _steps(days: tuple[int, ...]) -> list[tuple[int, int]]:
    """Return (day, calved up to the end of it) for each day on which one calved."""
    return [(day, sum(d <= day for d in days)) for day in sorted(set(days))]


def _layers(
    steps: list[tuple[int, int]],
    by: list[tuple[int, int]],
    fmt: look.Format,
    *,
    first: int,
    last: int,
) -> list[look.Spec]:
    x = {
        "field": "day",
        "type": "quantitative",
        "scale": {"domain": [first, last], "nice": False, "zero": False},
        "axis": {"title": "day", "grid": False, **look.ticks_at([0, *(d for d, _ in by)])},
    }
    top = steps[-1][1] * 1.12
    y = {
        "field": "calved",
        "type": "quantitative",
        "scale": {"domain": [0, top], "nice": False},
        "axis": look.upright(fmt, grid=True),
    }
    line = [{"day": first, "calved": 0}, *({"day": d, "calved": n} for d, n in steps)]
    line.append({"day": last, "calved": steps[-1][1]})
    windows = [{"day": day, "calved": 0, "top": top, "text": f"{n} by day {day}"} for day, n in by]
    return [
        look.layer_of(
            "window", windows,
            {"type": "rule", "color": look.LINE, "strokeWidth": 1.2,
             "strokeDash": list(look.DASHED)},
            x=x, y=y, y2={"field": "top"},
        ),
        look.layer_of(
            "calved", line,
            {"type": "line", "interpolate": "step-after", "color": look.GREEN, "strokeWidth": 2.2},
            x=x, y=y,
        ),
        look.layer_of(
            "point", [row for row in line if row["calved"]][:-1],
            {"type": "point", "shape": "circle", "size": fmt.text * 2.4, "opacity": 1,
             "fill": look.GREEN, "stroke": look.GREEN},
            x=x, y=y,
        ),
        look.layer_of(
            "words", windows,
            {"type": "text", "align": "right", "baseline": "bottom", "dx": -5, "dy": -4,
             "fontSize": fmt.text, "fontWeight": "bold"},
            x=x, y=y, text={"field": "text"},
        ),
    ]  # fmt: skip
