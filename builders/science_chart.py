"""Draw a page's panels: simulated lines and dots, published diamonds, with the charts' own look."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from science_published import Line, Published, agreed, simulated_for, value_at
from sunup.reports.charts import look
from sunup.reports.charts.chart import Chart

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from science_panels import Panel

FMT = look.DESK
PERCENT_SPAN = (0.0, 100.0)
# a series is told by dash and by the shape of its published marks, never by colour alone
STYLES = (
    (look.BLUE, (1, 0), "diamond"),
    (look.CRIMSON, look.DASHED, "square"),
    (look.GREEN, look.DOTTED, "triangle-up"),
)
LEGEND = (
    "Lines and round dots: simulated. Diamonds, squares, triangles: published; filled where the "
    "text was read at least in part, hollow where from memory. Thin bars: 95 in 100 or the "
    "published range; level bars in a plot: the class a figure was published for."
)


@dataclass(frozen=True, slots=True)
class Scale:
    """Where a panel's values lie."""

    low: float
    high: float

    def axis(self, field: str, **more: Any) -> look.Spec:
        """Return an encoding of a field on this scale."""
        return {
            "field": field,
            "type": "quantitative",
            "scale": {"domain": [self.low, self.high], "nice": False, "zero": False},
        } | more


def page_chart(
    page: str,
    title: str,
    panels: Sequence[Panel],
    measured: Mapping[str, Line],
    published: Sequence[Published],
) -> Chart:
    """Return the picture of one page.

    Parameters
    ----------
    page, title : str
    panels : sequence of Panel
    measured : mapping of str to list
        Simulated points by series.
    published : sequence of Published
        All that is held; each panel takes its own.

    Returns
    -------
    Chart
    """
    keys = {key for panel in panels for key, _ in panel.series}
    own = [p for p in published if p.series in keys]
    pairs = [(p, simulated_for(p, measured[p.series])) for p in own]
    inside, judged = agreed(pairs)
    views = [
        _lines(panel, measured, own) if panel.axis else _rows(panel, measured, own)
        for panel in panels
    ]
    alt = (
        f"{title}: {'; '.join(panel.title for panel in panels)}. Of {judged} published figures "
        f"with an interval or a range, {inside} hold what is simulated. All numbers stand in the "
        "table below the picture."
    )
    return Chart(
        key=f"science_{page}",
        title=title,
        alt=alt,
        spec=look.configured(FMT)
        | {
            "title": look.heading(FMT, title, LEGEND),
            "vconcat": told_apart([{"width": look.panel_width(FMT)} | view for view in views]),
            "spacing": FMT.text * 1.6,
            "resolve": {"scale": {"x": "independent", "y": "independent"}},
        },
        head=("series", "published", "simulated"),
        rows=tuple((p.series, p.value or 0.0, s or 0.0) for p, s in pairs),
    )


def told_apart(views: list[look.Spec]) -> list[look.Spec]:
    """Number the layers of a picture: the renderer wants every name once."""
    for i, view in enumerate(views):
        for j, layer in enumerate(view["layer"]):
            layer["name"] = f"{layer['name'].replace('.', '_')}_{i}_{j}"
    return views


def _marks(name: str, points: list[look.Spec], style: tuple[Any, ...], **place: Any) -> look.Spec:
    _, _, shape = style
    return look.layer_of(
        name, points,
        {"type": "point", "shape": shape, "size": FMT.text * 6, "opacity": 1, "stroke": look.INK,
         "strokeWidth": 1.6, "fill": look.INK if "read" in name else FMT.ground},
        **place,
    )  # fmt: skip


def _lines(panel: Panel, measured: Mapping[str, Line], published: Sequence[Published]) -> look.Spec:
    low, high = panel.span or (0.0, 100.0)
    held = [point for key, _ in panel.series for point in measured[key]]
    across = Scale(min(p["at"] for p in held), max(p["at"] for p in held))
    room = (across.high - across.low) * 0.02
    across = Scale(across.low - room, across.high + room)
    up = Scale(low, high)
    axis = {"title": panel.axis, "grid": False, "tickCount": 10}
    x, y = across.axis("at", axis=axis), up.axis("value", axis=look.upright(FMT))
    layers: list[look.Spec] = []
    for (key, _), style in zip(panel.series, STYLES, strict=False):
        colour, dash, _ = style
        rows: list[look.Spec] = [dict(point) for point in measured[key]]
        if panel.band:
            layers.append(
                look.layer_of(
                    "band", rows, {"type": "area", "color": look.faded(colour, 0.18)},
                    x=x, y=up.axis("low", axis=look.upright(FMT)), y2={"field": "high"},
                )
            )  # fmt: skip
        layers += [
            look.layer_of(
                f"line_{key}", rows,
                {"type": "line", "color": colour, "strokeWidth": 2, "strokeDash": list(dash)},
                x=x, y=y,
            ),
            look.layer_of(
                f"dots_{key}", rows,
                {"type": "point", "shape": "circle", "size": FMT.text * 2, "opacity": 1,
                 "fill": colour, "stroke": colour},
                x=x, y=y,
            ),
        ]  # fmt: skip
        mine = [p for p in published if p.series == key]
        layers += _published_on_line(mine, style, up=up, across=across, x=x, y=y)
    layers += _names(panel, measured, x, y)
    return {
        "title": look.panel_title(FMT, panel.title),
        "height": FMT.text * 14,
        "layer": layers,
    }


def _published_on_line(
    mine: Sequence[Published], style: tuple[Any, ...], *, up: Scale, across: Scale, **place: Any
) -> list[look.Spec]:
    classes = [
        {"at": max(p.first, across.low), "to": min(p.last, across.high),
         "value": p.value if p.value is not None else p.high}
        for p in mine if p.first is not None and p.last is not None and p.first < p.last
    ]  # fmt: skip
    bars = [
        {"at": p.at, "low": max(up.low, p.low), "high": min(up.high, p.high)}
        for p in mine if p.low is not None and p.high is not None
    ]  # fmt: skip
    layers = [
        look.layer_of(
            "class", classes, {"type": "rule", "color": look.INK, "strokeWidth": 1.6},
            x2={"field": "to"}, **place,
        ),
        look.layer_of(
            "range", bars, {"type": "rule", "color": look.INK, "strokeWidth": 1.2},
            **(place | {"y": up.axis("low", axis=look.upright(FMT)), "y2": {"field": "high"}}),
        ),
    ]  # fmt: skip
    for is_read in (True, False):
        points = [
            {"at": p.at, "value": p.value}
            for p in mine if p.is_read is is_read and p.value is not None
        ]  # fmt: skip
        layers.append(_marks("read" if is_read else "memory", points, style, **place))
    return layers


SIDES = {
    "left": {"align": "right", "baseline": "bottom", "dx": -8},
    "right": {"align": "left", "baseline": "top", "dx": 9, "dy": 2},
    "above": {"align": "center", "baseline": "bottom", "dy": -9},
}


def _names(panel: Panel, measured: Mapping[str, Line], x: look.Spec, y: look.Spec) -> list[Any]:
    """Name each line beside the place its panel tells."""
    layers = []
    for key, at, side in panel.names:
        value = value_at(measured[key], at)
        layers.append(
            look.layer_of(
                f"name_{key}", [{"at": at, "value": value, "name": dict(panel.series)[key]}],
                {"type": "text", "fontSize": FMT.text, "fontWeight": "bold"} | SIDES[side],
                x=x, y=y, text={"field": "name"},
            )
        )  # fmt: skip
    return layers


def _rows(panel: Panel, measured: Mapping[str, Line], published: Sequence[Published]) -> look.Spec:
    low, high = panel.span or PERCENT_SPAN
    across = Scale(low, high)
    pitch = FMT.text * 3.0
    height = pitch * len(panel.series)
    up = Scale(height, 0.0)
    x = across.axis("at", axis={"title": None, "gridOpacity": 0.6, "tickCount": 6})
    y = up.axis("y", axis=None)
    words: list[look.Spec] = []
    bars: list[look.Spec] = []
    dots: list[look.Spec] = []
    marks: dict[bool, list[look.Spec]] = {True: [], False: []}
    for i, (key, name) in enumerate(panel.series):
        middle = pitch * i + FMT.text * 1.6
        below = middle + FMT.text * 0.7
        value = measured[key][0]["value"]
        mine = [p for p in published if p.series == key]
        told = ", ".join(_told(p, panel.unit) for p in mine)
        said = f"{name}: {_number(value, panel.unit)}" + (f" (published {told})" if told else "")
        words.append({"y": pitch * i + FMT.text * 0.2, "text": said})
        dots.append({"at": value, "y": middle})
        for p in mine:
            if p.low is not None and p.high is not None:
                bars.append({"at": max(low, p.low), "to": min(high, p.high), "y": below})
            if p.value is not None:
                marks[p.is_read].append({"at": p.value, "y": below})
    layers = [
        look.layer_of(
            "words", words,
            {"type": "text", "align": "left", "baseline": "top", "fontSize": FMT.text},
            x={"value": 0}, y=y, text={"field": "text"},
        ),
        look.layer_of(
            "range", bars, {"type": "rule", "color": look.INK, "strokeWidth": 1.2},
            x=x, x2={"field": "to"}, y=y,
        ),
        *(
            _marks("read" if is_read else "memory", marks[is_read], STYLES[0], x=x, y=y)
            for is_read in (True, False)
        ),
        look.layer_of(
            "simulated", dots,
            {"type": "point", "shape": "circle", "size": FMT.text * 5, "opacity": 1,
             "fill": look.BLUE, "stroke": FMT.ground, "strokeWidth": 1},
            x=x, y=y,
        ),
    ]  # fmt: skip
    return {"title": look.panel_title(FMT, panel.title), "height": height, "layer": layers}


def _number(value: float, unit: str) -> str:
    """Return a value with the figures its unit deserves."""
    digits = {"%": 0, "points": 0, "ratio": 2, "h": 1, "d": 1, "ng/mL": 1}[unit]
    return f"{value:.{digits}f}"


def _told(one: Published, unit: str) -> str:
    if one.value is not None:
        return _number(one.value, unit)
    return f"{_number(one.low or 0.0, unit)}-{_number(one.high or 0.0, unit)}"
