"""Cells of a herd file: what each text must be read as.

Expected values are worked out by hand from the calendar, the pound (0.45359237 kg exactly) and the
usage of the trade; none comes from the program.
"""

from datetime import date

import pytest

from herds import LIMITS
from sunup.base.problems import Severity
from sunup.exchange.breed_shares import read_breeds
from sunup.exchange.columns import Column, bare
from sunup.exchange.dates import date_reader
from sunup.exchange.faults import Fault
from sunup.exchange.numbers import number_in, score_reader, weight_reader
from sunup.exchange.tags import read_tag
from sunup.exchange.vocabulary import (
    ClassHint,
    read_class,
    read_cycling,
    read_hold,
    read_method,
    read_pregnancy,
    read_yes_no,
)
from sunup.records.female import CheckMethod, Cycling, FemaleClass, PregnancyFinding

ON = date(2027, 5, 1)
MARCH_4 = date(2027, 3, 4)


@pytest.mark.parametrize(
    "text",
    [
        "2027-03-04", "2027-3-4", "2027/03/04", "2027.03.04", "20270304", "2027-03-04 00:00:00",
        "2027-03-04T07:30", "4 Mar 2027", "04-Mar-2027", "4 March 2027", "March 4, 2027",
        "Mar 4th 2027", "4.mar.2027",
    ],
)  # fmt: skip
def test_date_that_leaves_no_doubt_needs_no_order(text):
    assert date_reader(ON, None, limits=LIMITS)(text) == MARCH_4


def test_declared_order_decides_what_03_04_means():
    assert date_reader(ON, "mdy", limits=LIMITS)("03/04/2027") == date(2027, 3, 4)
    assert date_reader(ON, "dmy", limits=LIMITS)("03/04/2027") == date(2027, 4, 3)


@pytest.mark.parametrize("order", [None, "iso"])
@pytest.mark.parametrize("text", ["03/04/2027", "3.4.2027", "3-4-2027"])
def test_date_without_declared_order_is_asked_for(order, text):
    found = date_reader(ON, order, limits=LIMITS)(text)
    assert isinstance(found, Fault)
    assert "--dates" in found.fix


@pytest.mark.parametrize("order", [None, "iso"])
@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("25/04/2027", date(2027, 4, 25)), ("04/25/2027", date(2027, 4, 25)),
        ("13.1.2027", date(2027, 1, 13)), ("3/3/2027", date(2027, 3, 3)),
    ],
)  # fmt: skip
def test_numbers_that_can_be_one_day_only_need_no_order(order, text, day):
    assert date_reader(ON, order, limits=LIMITS)(text) == day


@pytest.mark.parametrize("text", ["13/13/2027", "31/04/2027", "0/13/2027"])
def test_numbers_that_are_no_day_in_either_order_are_a_fault(text):
    found = date_reader(ON, None, limits=LIMITS)(text)
    assert isinstance(found, Fault)
    assert "does not exist" in found.what


@pytest.mark.parametrize(
    ("order", "text"),
    [
        ("mdy", "25/04/2027"), ("dmy", "04/25/2027"), ("mdy", "02/30/2027"), (None, "2027-02-29"),
        ("mdy", "3/4/27"), ("dmy", "4-Mar-27"), (None, "2027"), (None, "May"), (None, "00/00/0000"),
        (None, "1900-01-00"), (None, "1899-12-30"), (None, "0"), (None, "12345678"),
        (None, "2027-05-02"), (None, "1987-05-02"), (None, "60 days"), (None, "3-4"),
    ],
)  # fmt: skip
def test_date_that_cannot_be_is_a_fault(order, text):
    found = date_reader(ON, order, limits=LIMITS)(text)
    assert isinstance(found, Fault)
    assert found.severity is Severity.ERROR


def test_today_is_not_the_future():
    assert date_reader(ON, None, limits=LIMITS)("2027-05-01") == ON


def test_spreadsheet_day_number_is_read_with_a_warning():
    # 1 January 2025 is day 45658 in the 1900 system (a well-known value of spreadsheets)
    found = date_reader(ON, None, limits=LIMITS)("45658")
    assert isinstance(found, Fault)
    assert found.severity is Severity.WARNING
    assert found.value == date(2025, 1, 1)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1150", 1150), ("1,150", 1150), ("1 150", 1150), ("12,345.5", 12345.5), ("523,5", 523.5),
        ("1.150,5", 1150.5), ("5.5", 5.5), ("5 1/2", 5.5), ("5½", 5.5), (".5", 0.5), ("0", 0),
    ],
)  # fmt: skip
def test_number_is_read_as_people_write_it(text, number):
    assert number_in(text) == number


@pytest.mark.parametrize(
    "text", ["", "-5", "5-6", "1e3", "5+", "nan", "inf", "1,15,0", "٣", "1_000", "0x1F", "5 5"]
)
def test_text_that_is_no_number_gives_none(text):
    assert number_in(text) is None


def test_weight_is_brought_to_kilograms():
    assert weight_reader("lb")("1,150") == pytest.approx(1150 * 0.45359237)
    assert weight_reader("kg")("523,5") == 523.5
    assert weight_reader("kg")("1150 lb") == pytest.approx(1150 * 0.45359237)
    assert weight_reader(None)("540 kg") == 540
    assert weight_reader(None)("1150#") == pytest.approx(1150 * 0.45359237)


def test_weight_of_no_unit_stays_unknown():
    assert weight_reader(None)("1150") is None


def test_scores_keep_their_scale_and_steps():
    condition = score_reader("body condition", 1, 9, step=0.5)
    tract = score_reader("tract score", 1, 5, step=1)
    assert condition("5.5") == 5.5
    assert condition("5,5") == 5.5
    assert tract("3.0") == 3
    assert isinstance(tract("3"), int)
    for reader, text in [(condition, "9.5"), (condition, "5.25"), (condition, "0"), (tract, "2.5")]:
        assert isinstance(reader(text), Fault)


@pytest.mark.parametrize(
    ("text", "tag"),
    [
        ("0412", "0412"), ("412.0", "412"), ("1.0", "1"), ("B12", "B12"), ("12E3", "12E3"),
        ("4-12", "4-12"), ("#412", "#412"), ("A  7", "A 7"), ("7/3", "7/3"), ("Ñ7", "Ñ7"),
        ("Z\u200b8", "Z8"), ("\u200e4\u200d12\ufeff", "412"), ("A\u00ad7", "A7"),
    ],
)  # fmt: skip
def test_tag_keeps_its_letters_and_leading_zeros(text, tag):
    assert read_tag(text) == tag


@pytest.mark.parametrize(
    "text",
    ["Mar-04", "4-Mar", "4 Mar", "2027-03-04", "3/4/2027", "1.2E+05", "---", "x" * 41, "a\x00"],
)
def test_tag_damaged_by_a_spreadsheet_is_a_fault(text):
    assert isinstance(read_tag(text), Fault)


@pytest.mark.parametrize(
    ("text", "shares"),
    [
        ("Angus", {"Angus": 1}),
        ("Red Angus", {"Red Angus": 1}),
        ("AN50 HE50", {"AN": 0.5, "HE": 0.5}),
        ("1/2 Angus 1/2 Brahman", {"Angus": 0.5, "Brahman": 0.5}),
        ("1/2 Angus x 1/2 Brahman", {"Angus": 0.5, "Brahman": 0.5}),
        ("75% AN, 25% BR", {"AN": 0.75, "BR": 0.25}),
        ("AN 75%; BR 25%", {"AN": 0.75, "BR": 0.25}),
        ("3/8 BR 5/8 AN", {"BR": 0.375, "AN": 0.625}),
        ("Red Angus 50% Simmental 50%", {"Red Angus": 0.5, "Simmental": 0.5}),
        ("0.5 AN 0.5 HE", {"AN": 0.5, "HE": 0.5}),
        ("Angus x Hereford", {"Angus": 0.5, "Hereford": 0.5}),
        ("AN/HE", {"AN": 0.5, "HE": 0.5}),
        ("AN50", {"AN": 0.5}),
        ("33.3% AN 33.3% HE 33.3% SM", {"AN": 0.333, "HE": 0.333, "SM": 0.333}),
    ],
)
def test_breed_shares_keep_the_words(text, shares):
    found = read_breeds(text)
    assert not isinstance(found, Fault), found
    assert dict(found) == pytest.approx(shares)


@pytest.mark.parametrize(
    "text", ["AN60 HE60", "1/0 AN", "50", "AN50 50", "%%", "3/2 AN", "AN0", "1/2 AN and 1/2", "?!"]
)
def test_breed_that_does_not_add_up_is_a_fault(text):
    assert isinstance(read_breeds(text), Fault)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("Heifer", FemaleClass.HEIFER),
        ("H", FemaleClass.HEIFER),
        ("replacement heifer", FemaleClass.HEIFER),
        ("First-calf cow", FemaleClass.FIRST_CALF_COW),
        ("first_calf_cow", FemaleClass.FIRST_CALF_COW),
        ("primiparous", FemaleClass.FIRST_CALF_COW),
        ("Mature cow", FemaleClass.COW),
        ("multiparous", FemaleClass.COW),
        ("2-year-old", ClassHint.FIRST_CALF_IF_CALVED),
        ("first calf heifer", ClassHint.FIRST_CALF_IF_CALVED),
        ("bred heifer", ClassHint.BRED_HEIFER),
    ],
)
def test_class_words_of_the_trade_are_known(text, meant):
    assert read_class(text) is meant


@pytest.mark.parametrize("text", ["F", "2", "P1", "calf", "steer", "bull", "L3", "cull"])
def test_class_codes_that_could_mean_several_things_are_faults(text):
    assert isinstance(read_class(text), Fault)


@pytest.mark.parametrize(
    ("read", "text", "meant"),
    [
        (read_pregnancy, "P", PregnancyFinding.PREGNANT),
        (read_pregnancy, "Open", PregnancyFinding.NOT_PREGNANT),
        (read_pregnancy, "re-check", PregnancyFinding.UNSURE),
        (read_pregnancy, "?", PregnancyFinding.UNSURE),
        (read_cycling, "CL", Cycling.CYCLING),
        (read_cycling, "Anestrus", Cycling.NOT_CYCLING),
        (read_cycling, "not cycling", Cycling.NOT_CYCLING),
        (read_method, "U/S", CheckMethod.ULTRASOUND),
        (read_method, "palp.", CheckMethod.PALPATION),
        (read_yes_no, "TRUE", True),
        (read_yes_no, "n", False),
        (read_hold, "no", None),
        (read_hold, "lame  left hind", "lame left hind"),
    ],
)
def test_findings_are_read_in_the_words_of_the_trade(read, text, meant):
    assert read(text) == meant


@pytest.mark.parametrize("text", ["B", "S", "bred", "-", "90", "P 60"])
def test_pregnancy_code_that_is_not_sure_is_a_fault(text):
    assert isinstance(read_pregnancy(text), Fault)


def test_scan_without_luteum_says_nothing_alone():
    # one scan without a corpus luteum fits both the days around heat and an ovary at rest
    found = read_cycling("follicle")
    assert isinstance(found, Fault)
    assert found.severity is Severity.WARNING
    assert found.value is None


def test_hold_that_gives_no_reason_is_still_a_hold():
    assert read_hold("yes")
    assert read_hold("x")


@pytest.mark.parametrize("text", ["\xa0 0412 ", "'0412", '="0412"', "\ufeff0412", "0412\u200b"])
def test_wrapping_of_a_cell_is_taken_off(text):
    assert bare(text) == "0412"


@pytest.mark.parametrize("text", ["#N/A", "#REF!", "#DIV/0!", "#name?", "########"])
def test_error_cell_is_a_fault_in_every_column(text):
    assert isinstance(Column("remarks", lambda plain: plain)[text], Fault)


def test_column_remembers_without_growing_for_ever():
    column = Column("remarks", lambda plain: plain)
    for number in range(50_000):
        assert column[f"note {number}"] == f"note {number}"
    assert len(column) <= 20_000
