"""From a chart to a picture: SVG or PNG, with the fonts we ship and no network."""

from __future__ import annotations

import re
from functools import cache
from html import escape
from importlib.resources import as_file, files
from typing import TYPE_CHECKING

import vl_convert

from sunup.base.problems import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from sunup.reports.charts.chart import Chart

_VEGA_LITE = "6.4"
ENDINGS = (".svg", ".png")
_SCALE = 2.0  # pixels of a PNG to a px of the picture: sharp on phones and in print


class UnknownPictureError(UsageError):
    """A file ending we cannot draw."""

    def __init__(self, ending: str) -> None:
        super().__init__(f"We cannot draw a chart as '{ending}'. Name the file .svg or .png.")


def draw_svg(chart: Chart) -> str:
    """Return the chart as SVG text with its alt text inside, the same bytes each time.

    No part of it is fetched: no script, no link, no font address.
    """
    svg = vl_convert.vegalite_to_svg(chart.spec, vl_version=_fonts_ready(), allowed_base_urls=[])
    return _labelled(_with_own_ids(svg, chart.key), chart)


def draw_png(chart: Chart, *, scale: float = _SCALE) -> bytes:
    """Return the chart as PNG, `scale` pixels to a px."""
    return vl_convert.vegalite_to_png(
        chart.spec,
        vl_version=_fonts_ready(),
        scale=scale,
        allowed_base_urls=[],
    )


def draw_for(chart: Chart, path: Path) -> bytes:
    """Return the picture in the form that a file's ending asks for.

    Raises
    ------
    UnknownPictureError
        If it is neither .svg nor .png.
    """
    ending = path.suffix.lower()
    if ending == ".svg":
        return draw_svg(chart).encode()
    if ending == ".png":
        return draw_png(chart)
    raise UnknownPictureError(path.suffix or path.name)


def draw_files(charts: Sequence[Chart], path: Path) -> list[tuple[Path, bytes]]:
    """Return files to write for charts asked for under one name.

    Parameters
    ----------
    charts : sequence of Chart
    path : Path
        ``out.svg`` or ``out.png``. One chart takes it as it is; several get their key added:
        ``out_heats.svg``.

    Returns
    -------
    list of (Path, bytes)

    Raises
    ------
    UnknownPictureError
        If the ending is another.
    """
    if len(charts) == 1:
        return [(path, draw_for(charts[0], path))]
    named = [(path.with_stem(f"{path.stem}_{chart.key}"), chart) for chart in charts]
    return [(own, draw_for(chart, own)) for own, chart in named]


def _with_own_ids(svg: str, key: str) -> str:
    """Name gradients and clips after the chart: several may stand in one page."""
    held = list(dict.fromkeys(re.findall(r'\bid="([^"]+)"', svg)))
    for i, old in enumerate(held):
        new = f"{key}-{i}"
        svg = svg.replace(f'id="{old}"', f'id="{new}"').replace(f"url(#{old})", f"url(#{new})")
    return svg


def _labelled(svg: str, chart: Chart) -> str:
    """Give the picture a name and a description that readers aloud find."""
    opening, rest = svg.split(">", 1)
    said = f"<title>{escape(chart.title)}</title><desc>{escape(chart.alt)}</desc>"
    return f'{opening} role="img">{said}{rest}'


@cache
def _fonts_ready() -> str:
    with as_file(files("sunup.reports") / "fonts") as fonts:
        vl_convert.register_font_directory(str(fonts))
    return _VEGA_LITE
