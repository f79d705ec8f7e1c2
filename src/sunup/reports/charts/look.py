"""Palette, type and sizes of every chart, and the frame they share.

Meaning never hangs on colour: filled against hollow, solid against dashed and a word beside it come
first. Each colour keeps 3:1 or more to each ground (``tests/reports/test_charts_seen.py``).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from textwrap import wrap
from typing import Any

Spec = dict[str, Any]

BLUE = "#145EBA"
OCHRE = "#A96800"
GREEN = "#164832"
CRIMSON = "#C11E5E"
INK = "#1F1A14"
INK_2 = "#463D32"
LINE = "#87785A"
FAINT = "#DDD3BF"  # guide lines: seen when looked for, never read as data

# one family: the renderer cannot measure a family whose name ends in a digit
FONT = "Atkinson Hyperlegible, sans-serif"

# the spaces inside "Mon 13 Mar" and "10 (6 to 14)", where no line ends
_HELD = re.compile(
    r"(?<=\b[A-Z][a-z]{2}) (?=\d)|(?<=\d) (?=[A-Z][a-z]{2}\b)"
    r"|(?<=\d) (?=to \d|\(\d)|(?<=\d to) (?=\d)"
)

DASHED = (5, 3)
DOTTED = (1.5, 3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """Where a chart is shown: width of the picture and size of its text, in px (pt on paper)."""

    name: str
    width: int
    text: float
    ground: str

    def wrapped(self, text: str, *, size: float) -> list[str]:
        """Return a text as lines no wider than the picture, at half an em a character."""
        at_most = max(12, int((self.width - 8) / (0.5 * size)))
        held = _HELD.sub("\u00a0", text)
        lines = wrap(held, at_most, break_on_hyphens=False)
        return [line.replace("\u00a0", " ") for line in lines]

    def wide(self, text: str) -> float:
        """Return roughly how wide a text of body size is, in px, on the safe side."""
        return 0.52 * self.text * len(text)


PAPER = Format(name="paper", width=500, text=9.5, ground="#FFFFFF")
DESK = Format(name="desk", width=720, text=14, ground="#FFFDF7")
PHONE = Format(name="phone", width=360, text=13, ground="#FFFDF7")
FORMATS = {fmt.name: fmt for fmt in (PAPER, DESK, PHONE)}


def heading(fmt: Format, title: str, below: str) -> Spec:
    """Return a title with a plain sentence under it, both broken to the width."""
    size = round(fmt.text * 1.25, 1)
    return {
        "text": fmt.wrapped(title, size=size * 1.1),
        "subtitle": fmt.wrapped(below, size=fmt.text),
        "anchor": "start",
        "frame": "bounds",
        "font": FONT,
        "fontSize": size,
        "fontWeight": "bold",
        "color": INK,
        "lineHeight": size * 1.2,
        "subtitleFont": FONT,
        "subtitleFontSize": fmt.text,
        "subtitleColor": INK_2,
        "subtitleLineHeight": fmt.text * 1.25,
        "subtitlePadding": 4,
        "offset": 10,
    }


def configured(fmt: Format) -> Spec:
    """Return the settings that every chart shares."""
    return {
        "background": fmt.ground,
        "padding": 4,
        "config": {
            "font": FONT,
            "aria": False,  # the picture as a whole is described instead
            "view": {"stroke": None},
            "axis": {
                "labelFont": FONT,
                "labelFontSize": fmt.text,
                "labelColor": INK,
                "titleFont": FONT,
                "titleFontSize": fmt.text,
                "titleFontWeight": "normal",
                "titleColor": INK_2,
                "domainColor": LINE,
                "tickColor": LINE,
                "gridColor": FAINT,
                "gridWidth": 0.7,
                "labelPadding": 4,
            },
            "text": {"font": FONT, "fontSize": fmt.text, "color": INK},
        },
    }


def one_view(fmt: Format, *, title: str, below: str, height: float, layer: list[Spec]) -> Spec:
    """Return a chart of one plot: the width is that of the picture, the height that of the plot."""
    return configured(fmt) | {
        "title": heading(fmt, title, below),
        "width": fmt.width,
        "height": height,
        "autosize": {"type": "fit-x", "contains": "padding"},
        "layer": layer,
    }


def panels(fmt: Format, *, title: str, below: str, views: list[Spec]) -> Spec:
    """Return plots one under another on one line of time, their left edges aligned."""
    return configured(fmt) | {
        "title": heading(fmt, title, below),
        "vconcat": [{"width": panel_width(fmt)} | view for view in views],
        "spacing": fmt.text * 0.9,
        "resolve": {"scale": {"x": "shared", "color": "independent"}},
    }


def panel_width(fmt: Format) -> float:
    """Return the width of a plot in `panels`: what the upright axis and the edge leave."""
    return fmt.width - axis_room(fmt) - 8 - fmt.text


def panel_title(fmt: Format, text: str) -> Spec:
    """Return the line over a plot in `panels` that names what it draws, with its unit."""
    return {
        "text": fmt.wrapped(text, size=fmt.text),
        "anchor": "start",
        "frame": "group",
        "font": FONT,
        "fontSize": fmt.text,
        "fontWeight": "bold",
        "color": INK,
        "offset": 4,
    }


def axis_room(fmt: Format) -> float:
    """Return the room kept for the upright axis of a plot in `panels`."""
    return fmt.text * 2.6


def ticks_at(values: list[float]) -> Spec:
    """Return ticks at just these values; without a count the renderer drops every second one."""
    return {"values": values, "tickCount": len(values) + 1, "labelOverlap": False}


def upright(fmt: Format, **more: Any) -> Spec:
    """Return an upright axis of counts, its room fixed so that plots align."""
    room = axis_room(fmt)
    return {
        "title": None,
        "minExtent": room,
        "maxExtent": room,
        "tickMinStep": 1,
        "tickCount": 4,
        "domain": False,
        "ticks": False,
    } | more


def soft(colour: str) -> Spec:
    """Return an upright fill that fades to nothing at both ends: a range has no wall."""
    return {
        "gradient": "linear",
        "x1": 0,
        "y1": 0,
        "x2": 0,
        "y2": 1,
        "stops": [
            {"offset": 0, "color": faded(colour, 0.04)},
            {"offset": 0.35, "color": faded(colour, 0.5)},
            {"offset": 0.65, "color": faded(colour, 0.5)},
            {"offset": 1, "color": faded(colour, 0.04)},
        ],
    }


def faded(colour: str, strength: float) -> str:
    """Return a hex colour at a strength from 0 to 1."""
    r, g, b = (int(colour[i : i + 2], 16) for i in (1, 3, 5))
    return f"rgba({r},{g},{b},{strength:g})"


def layer_of(name: str, rows: list[Spec], mark: Spec, **encoding: Spec) -> Spec:
    """Return one layer with its own data; `name` becomes a class of the drawn marks."""
    return {"name": name, "data": {"values": rows}, "mark": mark, "encoding": encoding}
