"""Long names, one female and none at all: nothing runs over its neighbour, nothing stands empty."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import as_file, files
from io import BytesIO

import pytest
import typst
from plan_by_hand import build_plan
from pypdf import PdfReader

from sunup.planning.plan import Reason, State
from sunup.reports.packet import render_packet
from sunup.reports.packet_lists import shopping_page

TEMPLATES = files("sunup.reports") / "templates"
UNBROKEN = "Mature_cows_of_the_upper_meadow_and_the_home_place_2027_lot_A"
SPACED = "First-calf cows from the north river pasture, late calvers 27"


def texts_of(plan, **more):
    pages = PdfReader(BytesIO(render_packet(plan, **more))).pages
    return [" ".join(page.extract_text().split()) for page in pages]


def lines_taken(name):
    """How many lines a name takes in a column of 30 mm of a list, as its row is high."""
    source = f"""
#import "look.typ": *
#set text(font: plain-font, size: 10.5pt)
#context {{
  let list(name) = ruled((30mm, 60mm), ("Group", "What"), ((name, [x]),))
  let high(name) = measure(width: 90mm, list(name)).height
  let line = high([a \\ a]) - high([a])
  [lines #calc.round(1 + (high("{name}") - high("a")) / line)]
}}"""
    parts = {"main.typ": source.encode(), "look.typ": (TEMPLATES / "look.typ").read_bytes()}
    with as_file(files("sunup.reports") / "fonts") as fonts:
        pdf = typst.compile(parts, font_paths=[str(fonts)], ignore_system_fonts=True)
    return int(PdfReader(BytesIO(pdf)).pages[0].extract_text().split()[-1])


@pytest.mark.parametrize("name", [UNBROKEN, "X" * 60])
def test_a_name_without_a_blank_breaks_in_its_cell(name):
    """60 signs of 10.5 points are over 90 mm long: in a column of 30 mm at least 4 lines."""
    assert lines_taken("cows") == 1
    assert lines_taken(name) >= 4


def test_the_page_for_the_veterinarian_stays_short_under_long_names():
    """Beside a name that took all the width the reason stood one word a line, a page a female."""
    plan = build_plan(cow_name=SPACED, heifer_name=UNBROKEN)
    told = "retained membranes, 92 days ago at insemination: have the uterus examined first"
    why = Reason("retained_membranes", State.READY, told, "", ())
    marked = tuple(replace(f, reasons=(why,)) for f in plan.females[-12:])
    texts = texts_of(replace(plan, females=plan.females[:-12] + marked))
    first = next(i for i, text in enumerate(texts) if text.startswith("For the veterinarian"))
    last = next(i for i, text in enumerate(texts) if text.startswith("Shopping and booking"))
    assert "Animals to see first" in " ".join(texts[first:last])
    assert last - first <= 3


def test_an_empty_list_has_no_heading_without_words():
    plan = build_plan()
    texts = texts_of(
        replace(plan, groups=(), females=(), shopping=(), clashes=(), label_differences=())
    )
    (vet,) = (text for text in texts if text.startswith("For the veterinarian"))
    assert "Withdrawal, to fill in" not in vet
    assert "Cautions" not in vet
    whole = " ".join(texts)
    assert "In all" not in whole
    assert "No female could be read" in whole
    assert "nothing to choose" in whole


def test_one_of_a_thing_is_told_as_one(plan):
    (line,) = [x for x in plan.shopping if x.unit == "days"]
    rows = [
        row
        for n in (1, 2)
        for part in shopping_page(replace(plan, shopping=(replace(line, quantity=n),)))["sections"]
        for row in part["rows"]
    ]
    assert [row["quantity"] for row in rows] == ["1 day", "2 days"]


def test_a_sheet_of_one_female_does_not_say_one_to_one():
    one = build_plan(cows=1, cows_ready=1, heifers=0, heifers_ready=0)
    texts = texts_of(one)
    assert any("sheet 1 of 1, female 1" in text for text in texts)
    assert not any("females 1 to 1" in text for text in texts)


def test_where_all_rests_on_example_prices_the_sum_is_not_told_twice(plan):
    priced = tuple(replace(x, cost=10.0, example_price=True) for x in plan.shopping)
    assert shopping_page(replace(plan, shopping=priced))["example"] == "All of it rests"
    some = (replace(priced[0], example_price=False), *priced[1:])
    assert shopping_page(replace(plan, shopping=some))["example"].startswith("Of this ")
