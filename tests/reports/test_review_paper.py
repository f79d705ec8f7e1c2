"""The review on paper and as pictures: what it says, in which order, and how it is seen."""

from __future__ import annotations

import copy
from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import vl_convert
from charts_drawn import contrast, grey_luminance, layers_of, read_png
from pypdf import PdfReader
from season_events import make_events

from sunup.app.review import review_season
from sunup.planning.review import Changed
from sunup.planning.review_compliance import Slip
from sunup.planning.review_share import share_of
from sunup.reports.charts import look
from sunup.reports.charts.draw import draw_png, draw_svg
from sunup.reports.charts.of_review import charts_of_review
from sunup.reports.packet import UnknownPaperError
from sunup.reports.review_pdf import render_review
from sunup.reports.review_values import count_of, review_parts

AT = datetime(2028, 11, 1, tzinfo=UTC)
NAMES = ("low95", "low80", "low50", "median", "high50", "high80", "high95")
everywhere = pytest.mark.parametrize("fmt", look.FORMATS.values(), ids=lambda fmt: fmt.name)


def forecast(n, *counts):
    told = dict(zip(NAMES, counts, strict=True)) | {"mean": counts[3], "of": n}
    spread = {"luck": 7.0, "herd": 9.0, "parameters": 0.0}
    return {"n": n, "pregnant_to_ai": told, "waterfall": [{}], "season": [], "sources": spread}


@pytest.fixture(scope="module")
def review():
    kept = {
        "cows": forecast(40, 14, 17, 20, 23, 26, 29, 32),
        "heifers": forecast(24, 14, 16, 17, 19, 20, 21, 22),
    }
    told = review_season(make_events(forecast=kept), at=AT).review
    other = Changed(
        group="cows", key="protocol", words="protocol another", n=40, n_now=40, now=22.0, then=24.0,
        more_low80=-3.0, more_median=2.0, more_high80=7.0, beats=33.0,
    )  # fmt: skip
    return replace(told, next_season=(other,), next_words="The same females.")


@pytest.fixture(scope="module")
def pages(review):
    pdf = PdfReader(BytesIO(render_review(review)))
    return " ".join(" ".join(page.extract_text().split()) for page in pdf.pages)


def charts(review, fmt):
    return [chart for part in charts_of_review(review, fmt).values() for chart in part]


def test_it_reads_compliance_then_results_then_luck_then_what_to_change(review, pages):
    titles = [part.title for part in review_parts(review)]
    assert titles[:4] == [
        "Was the plan kept?", "What did we get?", "Is it luck?", "What to change",
    ]  # fmt: skip
    places = [pages.index(title) for title in titles]
    assert places == sorted(places)


def test_paper_says_the_counts_and_never_a_bare_percentage(pages):
    for said in ("22 of 40", "11 of 24", "worth a look", "well within luck", "Lee", "33 of 50"):
        assert said in pages
    assert "%" not in pages


def test_a_share_of_few_is_marked_and_none_is_a_dash():
    assert count_of(share_of(3, 6)) == "3 of 6 (19 to 81) (few)"
    assert count_of(share_of(0, 0)) == "-"
    assert "few" not in count_of(share_of(20, 40))


def test_the_same_review_gives_the_same_bytes_on_either_paper(review):
    assert render_review(review) == render_review(review)
    assert render_review(review, paper="a4") != render_review(review)
    with pytest.raises(UnknownPaperError):
        render_review(review, paper="foolscap")


def test_a_name_no_font_can_draw_is_replaced_and_said(review):
    odd = replace(review, season="spring \U0001f404 2027")
    pdf = PdfReader(BytesIO(render_review(odd)))
    text = " ".join(page.extract_text() for page in pdf.pages)
    assert "spring ? 2027" in text
    assert "question mark" in text


def test_every_row_of_a_table_is_as_long_as_its_head(review):
    for part in review_parts(review):
        for table in part.tables:
            assert {len(row) for row in table.rows} == {len(table.head)}


@everywhere
def test_the_renderer_has_nothing_to_warn_of(review, fmt, capfd):
    for chart in charts(review, fmt):
        vl_convert.vegalite_to_svg(
            chart.spec, vl_version="6.4", show_warnings=True, allowed_base_urls=[]
        )
    told = capfd.readouterr()
    assert told.out + told.err == ""


@everywhere
def test_a_picture_is_no_wider_than_its_place_and_uses_it(review, fmt):
    for chart in charts(review, fmt):
        root = ET.fromstring(draw_svg(chart))  # noqa: S314  # our own
        assert 0.94 * fmt.width <= float(root.get("width")) <= fmt.width + 0.5, chart.key


@pytest.mark.parametrize("fmt", [look.PAPER, look.PHONE], ids=lambda fmt: fmt.name)
def test_every_mark_keeps_three_to_one_in_grey(review, fmt):
    """WCAG 2.2, 1.4.11, as in test_charts_seen: each layer is found by taking it away; soft
    ranges fade on purpose and have a solid mark in them."""
    seen = set()
    for chart in charts(review, fmt):
        full = grey_luminance(read_png(draw_png(chart, scale=1.0))[..., :3])
        for name, layers in layers_of(chart).items():
            if name.startswith("soft") or not any(layer["data"]["values"] for layer in layers):
                continue
            spec = copy.deepcopy(chart.spec)
            for layer in spec["layer"]:
                if layer["name"] == name:
                    layer["mark"]["opacity"] = 0
            bare = draw_png(replace(chart, spec=spec), scale=1.0)
            changed = np.abs(full - grey_luminance(read_png(bare)[..., :3])) > 1e-6
            assert changed.any(), (chart.key, name)
            assert contrast(full[changed].min(), full[0, 0]) >= 3.0, (chart.key, name)
            seen.add(name)
    assert {"point_raw", "point_pooled", "calved", "window", "middle"} <= seen


def test_counted_and_best_guess_differ_in_shape_not_only_in_colour(review):
    told = next(c for c in charts(review, look.DESK) if c.key == "review_sire")
    layers = layers_of(told)
    raw, pooled = layers["point_raw"][0]["mark"], layers["point_pooled"][0]["mark"]
    assert raw["shape"] != pooled["shape"]
    assert raw["fill"] != raw["stroke"]
    assert pooled["fill"] == pooled["stroke"]


def test_a_picture_says_its_numbers_and_holds_them_as_a_table(review):
    told = {c.key: c for c in charts(review, look.DESK)}
    luck = told["review_luck_2"]
    assert "11 of 24 pregnant to first insemination" in luck.title
    assert "worth a look" in luck.alt
    sires = told["review_sire"]
    assert len(sires.rows) == 3
    assert all(len(row) == len(sires.head) for row in sires.rows)
    assert "13 of 23" in sires.alt
    calved = told["review_calving_1"]
    assert calved.rows[-1][1] == 36
    assert "by day 21 21 of 36" in calved.alt


def test_templates_and_fonts_are_inside_the_package():
    folder = Path(look.__file__).parents[1] / "templates"
    assert (folder / "review.typ").exists()


def slips_of(n, kinds):
    """Of each kind n females, none of them in two."""
    return tuple(
        Slip("missed", "cows", f"{kind}-{i:03}", "pgf", f"step {kind}")
        for kind in kinds
        for i in range(n)
    )


def slips_told(review, slips):
    changed = replace(review, compliance=replace(review.compliance, slips=slips))
    tables = [table for part in review_parts(changed) for table in part.tables]
    return changed, next(table.rows for table in tables if table.title == "Female by female")


def test_a_group_that_missed_a_step_is_a_row_not_a_row_each(review):
    """A season nobody wrote down gave a page for every 16 females and steps."""
    _, rows = slips_told(review, slips_of(40, "ab"))
    assert [(len(row[0].split(", ")), row[3]) for row in rows] == [
        (36, "step a"), (4, "step a"), (36, "step b"), (4, "step b"),
    ]  # fmt: skip
    assert len({tag for row in rows for tag in row[0].split(", ")}) == 80


def test_slips_that_differ_stay_apart(review):
    late = Slip("late", "cows", "7", "pgf", "PGF", 5.3)
    _, rows = slips_told(review, (late, replace(late, female="8", hours=2.0)))
    assert [(row[0], row[4]) for row in rows] == [("7", "5.3 h"), ("8", "2.0 h")]


def test_a_row_of_the_review_is_never_broken_over_two_pages(review):
    changed, rows = slips_told(review, slips_of(36, "abcdefghijklmnop"))
    texts = [page.extract_text() for page in PdfReader(BytesIO(render_review(changed))).pages]
    for row in rows:
        pages = {i for i, text in enumerate(texts) for tag in row[0].split(", ") if tag in text}
        assert len(pages) == 1, row[3]
