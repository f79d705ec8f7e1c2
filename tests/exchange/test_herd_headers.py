"""Headers: the many ways people write them, and what must never be guessed."""

import pytest

from sunup.exchange.fields import FIELDS
from sunup.exchange.headers import header_score, nearest_header, read_header, squash


@pytest.mark.parametrize(
    ("header", "key"),
    [
        ("Tag", "tag"), ("VISUAL_ID", "tag"), ("Ear tag #", "tag"), ("Cow ID", "tag"),
        ("Dangle", "tag"), ("Animal", "tag"), ("EID", "rfid"), ("840 tag", "rfid"),
        ("Class", "class"), ("Parity", "calvings"), ("DOB", "born_on"), ("Birth-Date", "born_on"),
        ("Calving\nDate", "calved_on"), ("Last calved", "calved_on"), ("B.C.S.", "condition"),
        ("BCS (1-9)", "condition"), ("Weight_lb", "weight"), ("Wt, kg", "weight"),
        ("Mature weight (lbs)", "mature_weight"), ("RTS", "tract_score"),
        ("Pelvic area (cm²)", "pelvic_area"), ("Bulls in", "bull_in"), ("Bull Out", "bull_out"),
        ("A.I. date", "ai_on"), ("Last Heat", "last_heat_on"), ("Estrus date", "last_heat_on"),
        ("Preg status", "pregnancy"),
        ("Preg check date", "pregnancy_checked_on"),
        ("Calved (mm/dd/yyyy)", "calved_on"), ("Hold", "hold"), ("Notes", "remarks"),
    ],
)  # fmt: skip
def test_header_is_known_whatever_its_case_and_punctuation(header, key):
    found = read_header(header)
    assert found is not None
    assert found.key == key


@pytest.mark.parametrize(
    "header", ["BW", "Color", "Sale date", "Weaned", "Calf tag", "", "Birth weight"]
)
def test_header_that_means_something_else_is_not_taken(header):
    assert read_header(header) is None


def test_header_states_unit_order_and_scale():
    assert read_header("Weight (lb)").unit == "lb"
    assert read_header("weight kg").unit == "kg"
    assert read_header("Weight").unit is None
    assert read_header("Calved (dd/mm/yyyy)").date_order == "dmy"
    assert read_header("Born m/d/y").date_order == "mdy"
    assert read_header("BCS (1-5)").scale == "1-5"


def test_no_header_stands_for_two_fields():
    owner = {}
    for field in FIELDS:
        for name in (name for names in field.ranks for name in names):
            assert owner.setdefault(squash(name), field.key) == field.key, name


def test_slip_of_the_pen_gets_the_nearest_header():
    field, name = nearest_header("Bul in")
    assert field.key == "bull_in"
    assert name == "bull in"
    assert nearest_header("Hair colour of calf") is None


def test_row_of_a_headless_list_is_no_header():
    assert header_score(["412", "cow", "2027-03-04"], {}) == 0
    assert header_score(["Tag", "whatever"], {}) == 1
    assert header_score(["Cow", "Calved"], {}) == 2
    assert header_score(["Nummer", "Calved"], {"tag": "nummer"}) == 2
