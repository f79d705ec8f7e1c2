"""Rows of a herd file: cells that contradict each other, and what nobody may treat on a guess."""

from datetime import date

import pytest

from herds import LIMITS
from sunup.base.problems import Severity
from sunup.exchange.herd_file import HerdReading, read_herd
from sunup.records.female import Exposure, ExposureKind, FemaleClass, PregnancyFinding

ON = date(2027, 5, 1)


def read(text, **how):
    return read_herd(text.encode(), "herd.csv", on=ON, limits=LIMITS, reading=HerdReading(**how))


def one(text, **how):
    herd = read(text, **how)
    assert len(herd.females) == 1, herd.problems
    return herd.females[0]


def test_tag_alone_loads_on_hold_because_nothing_tells_her_class():
    herd = read("Tag\n412\n")
    assert herd.females[0].tag == "412"
    assert herd.females[0].hold_reason == "class not known"
    assert len(herd.problems) == 1
    assert herd.problems[0].severity is Severity.ERROR


@pytest.mark.parametrize(
    ("row", "class_", "held"),
    [
        ("2026-02-01,,", FemaleClass.HEIFER, False),  # 15 months, never calved
        ("2024-02-01,,", FemaleClass.COW, True),  # 39 months and no calving date
        (",,", FemaleClass.COW, True),
        ("2025-02-15,2027-02-20,", FemaleClass.FIRST_CALF_COW, False),  # calved at 24 months
        ("2020-02-15,2027-02-20,", FemaleClass.COW, False),  # calved at 7 years
        (",2027-02-20,", FemaleClass.COW, False),  # has calved; said with a warning
        (",,0", FemaleClass.HEIFER, False),
        (",2027-02-20,1", FemaleClass.FIRST_CALF_COW, False),
        (",2027-02-20,4", FemaleClass.COW, False),
    ],
)
def test_missing_class_is_derived_only_where_sure(row, class_, held):
    female = one(f"Tag,Born,Calved,Parity\n412,{row}\n")
    assert female.class_ is class_
    assert (female.hold_reason is not None) is held


@pytest.mark.parametrize(
    ("row", "class_", "held"),
    [
        ("2-year-old,2027-02-20,", FemaleClass.FIRST_CALF_COW, False),
        ("2-year-old,,", FemaleClass.FIRST_CALF_COW, True),
        ("bred heifer,,", FemaleClass.HEIFER, True),
        ("bred heifer,,2026-07-01", FemaleClass.HEIFER, False),
        ("heifer,2027-02-20,", FemaleClass.HEIFER, True),
        ("steer,,", FemaleClass.COW, True),
    ],
)
def test_class_words_that_need_a_date_hold_her_without_it(row, class_, held):
    female = one(f"Tag,Class,Calved,AI date\n412,{row}\n")
    assert female.class_ is class_
    assert (female.hold_reason is not None) is held


def test_groups_are_named_by_class_where_none_is_given():
    herd = read("Tag,Class,Group\n1,heifer,\n2,cow,\n3,cow,North\n")
    assert [female.group for female in herd.females] == ["heifers", "cows", "North"]


def test_bull_and_ai_dates_become_one_span_that_keeps_both_apart():
    header = "Tag,Class,Bull in,Bull out,AI date\n412,cow,"
    assert one(header + "2026-05-01,2026-07-01,\n").exposure == Exposure(
        ExposureKind.BULL, date(2026, 5, 1), date(2026, 7, 1)
    )
    assert one(header + "2026-05-01,,\n").exposure == Exposure(ExposureKind.BULL, date(2026, 5, 1))
    assert one(header + ",,2026-05-01\n").exposure == Exposure(
        ExposureKind.AI, date(2026, 5, 1), date(2026, 5, 1)
    )
    assert one(header + "2026-05-15,2026-07-01,2026-05-01\n").exposure == Exposure(
        ExposureKind.BULL,
        date(2026, 5, 1),
        date(2026, 7, 1),
        ai_days=(date(2026, 5, 1), date(2026, 5, 1)),
        bull_days=(date(2026, 5, 15), date(2026, 7, 1)),
    )
    assert one(header + ",,\n").exposure is None


@pytest.mark.parametrize(
    "column", ["Class", "Calved", "Bull in", "Bull out", "AI date", "Preg", "Hold"]
)
def test_unreadable_cell_on_which_safety_depends_holds_her(column):
    herd = read(f"Tag,{column}\n412,#N/A\n")
    assert herd.females[0].hold_reason
    assert (2, column) in [(problem.row, problem.column) for problem in herd.problems]


def test_unreadable_exposure_is_named_in_the_hold():
    female = one("Tag,Class,Bull in\n412,cow,sometime\n")
    assert female.hold_reason == "exposure not readable: 'sometime'"


def test_tag_on_two_rows_keeps_both_out_unless_they_are_the_same():
    herd = read("Tag,Class,Group\n412,cow,A\n412,cow,B\n413,cow,A\n")
    assert [female.tag for female in herd.females] == ["413"]
    assert [problem.row for problem in herd.problems] == [2, 3]
    herd = read("Tag,Class,RFID\nb1,cow,840003123456789\nb1,cow,840003123456789\n")
    assert [female.row for female in herd.females] == [2]
    assert herd.females[0].rfid == "840003123456789"
    assert [(one.row, one.severity) for one in herd.problems] == [(3, Severity.WARNING)]


def test_tags_that_differ_by_case_only_are_the_same_tag():
    assert read("Tag,Class,Group\nb1,cow,A\nB1,cow,B\n").females == ()


def test_leading_zero_makes_another_tag():
    assert len(read("Tag,Class\n0412,cow\n412,cow\n").females) == 2


def test_rfid_on_two_rows_is_given_to_neither():
    herd = read("Tag,Class,RFID\n1,cow,840003123456789\n2,cow,840 003 123 456 789\n")
    assert [female.rfid for female in herd.females] == [None, None]
    assert [(one.row, one.column) for one in herd.problems] == [(2, "RFID"), (3, "RFID")]


def test_weights_without_a_unit_are_asked_for_once():
    text = "Tag,Class,Weight\n1,cow,1150\n2,cow,1200\n3,cow,540 kg\n"
    herd = read(text)
    assert [female.weight_kg for female in herd.females] == [None, None, 540.0]
    assert [(one.row, one.column) for one in herd.problems] == [(1, "Weight")]
    assert read(text, weight_unit="lb").females[1].weight_kg == pytest.approx(544.31, abs=0.01)


def test_weight_in_the_wrong_unit_names_the_right_one():
    herd = read("Tag,Class,Weight kg\n1,cow,1200\n")
    assert herd.females[0].weight_kg is None
    assert "1200 lb would be" in herd.problems[0].what


def test_scale_of_1_to_5_is_not_read_as_1_to_9():
    herd = read("Tag,Class,BCS (1-5)\n1,cow,3\n")
    assert herd.females[0].condition is None
    assert [(one.row, one.column) for one in herd.problems] == [(1, "BCS (1-5)")]
    assert herd.unused == ("BCS (1-5)",)


def test_finding_older_than_the_exposure_holds_her():
    female = one("Tag,Class,Bull in,Preg,Preg check date\n1,cow,2026-12-01,open,2026-10-01\n")
    assert female.pregnancy is PregnancyFinding.NOT_PREGNANT
    assert "before her exposure" in female.hold_reason


def test_second_column_of_a_safety_fact_is_compared_not_dropped():
    herd = read("Tag,Class,AI date,Breeding date\n1,cow,,2027-04-01\n2,cow,,\n")
    assert herd.females[0].hold_reason
    assert herd.females[1].hold_reason is None
    assert (2, "Breeding date") in [(one.row, one.column) for one in herd.problems]


def test_two_equal_tag_columns_that_differ_keep_the_row_out():
    herd = read("Tag,Tag,Class\n1,1,cow\n2,3,cow\n")
    assert [female.tag for female in herd.females] == ["1"]


def test_better_named_tag_column_is_taken_and_said():
    herd = read("ID,Tag,Class\nx9,412,cow\n")
    assert herd.females[0].tag == "412"
    assert herd.unused == ("ID",)
    assert [one.severity for one in herd.problems] == [Severity.WARNING]


def test_user_may_say_which_column_is_which():
    herd = read("ID,Nummer,Class\nx9,412,cow\n", columns={"tag": "nummer"})
    assert herd.females[0].tag == "412"
    herd = read("ID,Class\nx9,cow\n", columns={"weight": "Mass", "colour": "Class"})
    assert [female.tag for female in herd.females] == ["x9"]
    assert len(herd.problems) == 2


def test_unknown_header_is_said_with_the_nearest_known_one():
    herd = read("Tag,Class,Bul in,Hair\n1,cow,2026-05-01,red\n")
    assert herd.unused == ("Bul in", "Hair")
    near, far = herd.problems
    assert "'bull in'" in near.what
    assert (near.severity, far.severity) == (Severity.WARNING, Severity.NOTICE)
