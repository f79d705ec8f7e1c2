"""What eyes and printers get: warnings, outside links, width, bytes, contrast in grey, shapes."""

from __future__ import annotations

import copy
import re
import subprocess
import sys
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import vl_convert
from charts_drawn import KEYS, contrast, grey_luminance, layers_of, make_chart, read_png

from sunup.reports.charts import look
from sunup.reports.charts.draw import UnknownPictureError, draw_files, draw_for, draw_png, draw_svg

SVG = "{http://www.w3.org/2000/svg}"
everywhere = pytest.mark.parametrize("fmt", look.FORMATS.values(), ids=lambda fmt: fmt.name)
_DRAW_HEATS = """
import sys
from charts_drawn import make_chart
from sunup.reports.charts import look
from sunup.reports.charts.draw import draw_svg
sys.stdout.reconfigure(encoding="utf-8")
sys.stdout.write(draw_svg(make_chart("heats", look.PHONE)))
"""
each = pytest.mark.parametrize("key", KEYS)


@each
@everywhere
def test_the_renderer_has_nothing_to_warn_of(key, fmt, capfd):
    vl_convert.vegalite_to_svg(
        make_chart(key, fmt).spec, vl_version="6.4", show_warnings=True, allowed_base_urls=[]
    )
    told = capfd.readouterr()
    assert told.out + told.err == ""


@each
def test_a_picture_fetches_nothing(key):
    svg = draw_svg(make_chart(key, look.DESK))
    assert not re.findall(r"href|<script|<image|@import|<style|url\((?!#)", svg)
    named = set(re.findall(r'[a-z:]+="(https?:[^"]*)"', svg))
    # names of the SVG and XLink namespaces, never fetched
    assert named <= {"http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"}
    held = set(re.findall(r'\bid="([^"]+)"', svg))
    assert set(re.findall(r"url\(#([^)]+)\)", svg)) <= held


@each
@everywhere
def test_a_picture_is_no_wider_than_its_place_and_uses_it(key, fmt):
    root = ET.fromstring(draw_svg(make_chart(key, fmt)))  # noqa: S314  # our own
    assert 0.94 * fmt.width <= float(root.get("width")) <= fmt.width + 0.5


@each
def test_the_same_chart_gives_the_same_bytes_again_and_in_another_process(key):
    chart = make_chart(key, look.PHONE)
    svg, png = draw_svg(chart), draw_png(chart)
    assert (draw_svg(chart), draw_png(chart)) == (svg, png)
    if key != "heats":
        return
    told = subprocess.run(
        [sys.executable, "-c", _DRAW_HEATS],
        capture_output=True,
        check=True,
        cwd=Path(__file__).parent,
        encoding="utf-8",
    )
    assert told.stdout == svg


def test_ids_of_two_charts_never_meet_in_one_page():
    held = [
        set(re.findall(r'\bid="([^"]+)"', draw_svg(make_chart(key, look.DESK))))
        for key in ("heats", "pregnancy", "waterfall", "calving", "trace")
    ]
    assert any(held)
    for one, other in combinations(held, 2):
        assert not one & other


@each
def test_readers_aloud_get_title_and_description(key):
    chart = make_chart(key, look.DESK)
    root = ET.fromstring(draw_svg(chart))  # noqa: S314  # our own
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text == chart.title
    assert root.find(f"{SVG}desc").text == chart.alt


@each
@everywhere
def test_every_mark_keeps_three_to_one_in_grey(key, fmt):
    """Each layer but the soft ranges, found as the pixels that change when it is taken away.

    3:1 to the ground is what WCAG 2.2, 1.4.11 asks of graphics. Soft ranges fade on purpose; a
    mean mark that is judged here stands in each.
    """
    chart = make_chart(key, fmt)
    full = grey_luminance(read_png(draw_png(chart, scale=1.0))[..., :3])
    ground = full[0, 0]
    judged = 0
    for name, layers in layers_of(chart).items():
        if name.startswith("soft") or not any(layer["data"]["values"] for layer in layers):
            continue
        bare = grey_luminance(read_png(draw_png(_without(chart, name), scale=1.0))[..., :3])
        changed = np.abs(full - bare) > 1e-6
        assert changed.any(), name
        assert contrast(full[changed].min(), ground) >= 3.0, name
        judged += 1
    assert judged >= 4


def _without(chart, name):
    spec = copy.deepcopy(chart.spec)
    for view in spec.get("vconcat", [spec]):
        for layer in view["layer"]:
            if layer["name"] == name:
                layer["mark"]["opacity"] = 0
    return replace(chart, spec=spec)


@each
def test_no_range_is_a_bar_with_whiskers(key):
    kinds = {
        layer["mark"]["type"] for layers in layers_of(make_chart(key, look.DESK)).values()
        for layer in layers
    }  # fmt: skip
    assert not kinds & {"errorbar", "errorband", "boxplot", "bar"}


def test_true_and_seen_differ_in_shape_and_dash_not_only_in_colour():
    layers = layers_of(make_chart("heats", look.DESK))
    seen, true = layers["point_seen"][0]["mark"], layers["point_true"][0]["mark"]
    assert seen["shape"] != true["shape"]
    assert (seen["fill"] == seen["stroke"]) is not (true["fill"] == true["stroke"])
    assert "strokeDash" in layers["mean_true"][0]["mark"]
    assert "strokeDash" not in layers["mean_seen"][0]["mark"]


def test_seasons_that_reach_the_mark_are_filled_and_others_hollow():
    layers = layers_of(make_chart("pregnancy", look.PAPER))
    assert layers["reaching"][0]["mark"]["fill"] == look.BLUE
    assert layers["short"][0]["mark"]["fill"] == look.PAPER.ground


@pytest.mark.parametrize("fmt", look.FORMATS.values(), ids=lambda fmt: fmt.name)
def test_every_colour_of_the_palette_is_read_on_each_ground(fmt):
    ground = _luminance(fmt.ground)
    for colour in (
        look.BLUE,
        look.OCHRE,
        look.GREEN,
        look.CRIMSON,
        look.INK,
        look.INK_2,
        look.LINE,
    ):
        assert contrast(_luminance(colour), ground) >= 3.0
    for colour in (look.INK, look.INK_2):  # text: WCAG 2.2, 1.4.6
        assert contrast(_luminance(colour), ground) >= 7.0


def _luminance(colour):
    return grey_luminance([int(colour[i : i + 2], 16) for i in (1, 3, 5)])


def test_the_ending_of_the_file_picks_svg_or_png():
    chart = make_chart("waterfall", look.DESK)
    assert draw_for(chart, Path("a.SVG")).startswith(b"<svg")
    assert draw_for(chart, Path("a.png")).startswith(b"\x89PNG")
    with pytest.raises(UnknownPictureError, match=r"\.svg or \.png"):
        draw_for(chart, Path("a.jpg"))


def test_several_charts_under_one_name_get_their_keys_added():
    charts = [make_chart(key, look.PHONE) for key in ("waterfall", "calving")]
    named = [path.as_posix() for path, _ in draw_files(charts, Path("out/cows.svg"))]
    assert named == ["out/cows_waterfall.svg", "out/cows_calving.svg"]
    ((path, body),) = draw_files(charts[:1], Path("out/cows.svg"))
    assert path == Path("out/cows.svg")
    assert body == draw_svg(charts[0]).encode()
