"""Technicians or sires side by side: as counted, and the best guess with its range."""

from __future__ import annotations

from math import ceil, floor
from typing import TYPE_CHECKING

from sunup.reports.charts import look
from sunup.reports.charts.chart import Chart
from sunup.reports.charts.counts import whole

if TYPE_CHECKING:
    from sunup.planning.review_pooled import Comparison, PooledLine

_LEAST_SPAN = 40  # of 100: a narrower axis makes small differences look large
_MOST = 24  # lines a picture holds; more stand in the table
_BELOW = (
    "Filled: best guess, the soft band holds it 8 of 10 times. Hollow: as counted; few "
    "inseminations are mostly luck."
)


def pooled_chart(comparison: Comparison, fmt: look.Format) -> Chart:
    """Return one line a technician or sire, the best first, on one axis "of 100".

    Parameters
    ----------
    comparison : Comparison
    fmt : Format

    Returns
    -------
    Chart
    """
    lines = comparison.lines[:_MOST]
    title = f"{comparison.title}: conceived, of 100 inseminations"
    low = min(min(line.pooled.low80, _raw(line)) for line in lines)
    high = max(max(line.pooled.high80, _raw(line)) for line in lines)
    domain = _domain(low, high)
    step = fmt.text * 3.1
    return Chart(
        key=f"review_{comparison.key}",
        title=title,
        alt=f"{title}. " + " ".join(f"{_said(line)}." for line in comparison.lines),
        spec=look.one_view(
            fmt,
            title=title,
            below=_BELOW,
            height=round(step * len(lines) + fmt.text),
            layer=_layers(lines, fmt, domain, step),
        ),
        head=(
            comparison.key, "pregnant", "inseminations", "as counted, of 100",
            "best guess, of 100", "low", "high",
        ),
        rows=tuple(
            (
                line.pooled.level, line.raw.count, line.raw.of, 100.0 * _raw(line),
                100.0 * line.pooled.share, 100.0 * line.pooled.low80, 100.0 * line.pooled.high80,
            )
            for line in comparison.lines
        ),
    )  # fmt: skip


def _domain(low: float, high: float) -> tuple[float, float]:
    first, last = max(0, 10 * floor(10 * low - 0.2)), min(100, 10 * ceil(10 * high + 0.2))
    while last - first < _LEAST_SPAN:
        first, last = max(0, first - 10), min(100, last + 10)
    return first, last


def _raw(line: PooledLine) -> float:
    return line.pooled.share if line.raw.share is None else line.raw.share


def _said(line: PooledLine) -> str:
    pooled = line.pooled
    return (
        f"{pooled.level}: {line.raw.count} of {line.raw.of}; best guess "
        f"{whole(100.0 * pooled.share)} of 100, {whole(100.0 * pooled.low80)} to "
        f"{whole(100.0 * pooled.high80)}"
    )


def _layers(
    lines: tuple[PooledLine, ...], fmt: look.Format, domain: tuple[float, float], step: float
) -> list[look.Spec]:
    rows = [
        {
            "y": step * (i + 0.75),
            "text_y": step * i + fmt.text * 0.8,
            "low": 100.0 * line.pooled.low80,
            "high": 100.0 * line.pooled.high80,
            "pooled": 100.0 * line.pooled.share,
            "raw": 100.0 * _raw(line),
            "name": f"{line.pooled.level}: {line.raw.count} of {line.raw.of}",
        }
        for i, line in enumerate(lines)
    ]
    x = {
        "type": "quantitative",
        "scale": {"domain": list(domain), "nice": False, "zero": False},
        "axis": {"title": "of 100 inseminations", "tickCount": 5, "grid": True},
    }
    y = {
        "field": "y",
        "type": "quantitative",
        "scale": {"domain": [round(step * len(lines) + fmt.text), 0], "nice": False, "zero": False},
        "axis": None,
    }
    size = fmt.text * 8
    return [
        look.layer_of(
            "soft_range", rows,
            {"type": "rule", "strokeWidth": fmt.text * 0.7, "color": look.faded(look.BLUE, 0.3),
             "strokeCap": "round"},
            x=x | {"field": "low"}, x2={"field": "high"}, y=y,
        ),
        look.layer_of(
            "point_raw", rows,
            {"type": "point", "shape": "circle", "size": size, "opacity": 1, "fill": fmt.ground,
             "stroke": look.INK, "strokeWidth": 1.5},
            x=x | {"field": "raw"}, y=y,
        ),
        look.layer_of(
            "point_pooled", rows,
            {"type": "point", "shape": "diamond", "size": size, "opacity": 1, "fill": look.BLUE,
             "stroke": look.BLUE},
            x=x | {"field": "pooled"}, y=y,
        ),
        look.layer_of(
            "names", rows,
            {"type": "text", "align": "left", "baseline": "middle", "fontWeight": "bold",
             "fontSize": fmt.text, "limit": fmt.width - 16},
            x={"value": 0}, y=y | {"field": "text_y"}, text={"field": "name"},
        ),
    ]  # fmt: skip
