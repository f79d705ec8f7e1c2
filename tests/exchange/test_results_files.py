"""Lists of results: read, matched with the herd, taken once; whatever is in the file."""

import io
from datetime import UTC, date, datetime, time, timedelta

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from herds import LIMITS
from sunup.base.problems import Severity
from sunup.exchange.herd_file import HerdReading
from sunup.exchange.moments import Moment, read_clock_cell
from sunup.exchange.result_fields import RESULT_FIELDS, ResultKind
from sunup.exchange.result_taking import draft_results
from sunup.exchange.results_file import read_results
from sunup.records.event import Kind
from sunup.records.forms import has_form
from support.small_ledger import RANCH, ZONE, event, four, recorded, roster

ON = date(2027, 9, 30)


def read(text, kind, name="list.csv", day=None, **how):
    data = text if isinstance(text, bytes) else text.encode()
    reading = HerdReading(**how)
    return read_results(
        data, name, kind=ResultKind(kind), on=ON, limits=LIMITS, reading=reading, day=day
    )


def take(text, kind, events=None, *, keep_unknown=True, **how):
    file = read(text, kind, **how)
    herd = roster(four() if events is None else events)
    return draft_results(
        file, herd, ranch=RANCH, zone=ZONE, limits=LIMITS, keep_unknown=keep_unknown
    )


def said(taking):
    return [(one.kind, one.female, dict(one.body)) for one in taking.drafts]


def test_pregnancy_list_with_fetal_age_becomes_checks():
    text = "EID;Tag;Check date;Preg;Method;Days;Twins;Sex;Vet\n"
    text += "840 003 123456789;101;2027-09-14 08:30;P;US;65 d;2;bull;Ana\n;102;2027-09-14;O;;;;;\n"
    first, second = take(text, "pregnancy").drafts
    assert first.female == "a"
    assert first.at == datetime(2027, 9, 14, 14, 30, tzinfo=UTC)  # 08:30 in Denver, UTC-6
    assert dict(first.body) == {
        "method": "ultrasound",
        "result": "pregnant",
        "fetal_age_days": 65.0,
        "fetuses": 2,
        "fetal_sex": "male",
        "operator": "Ana",
    }
    assert first.by == "Ana"
    assert dict(second.body) == {"method": "other", "result": "not_pregnant", "day_only": True}


def test_two_findings_of_one_female_and_day_are_put_aside_and_good_rows_load():
    text = "Tag,Check date,Preg,Fetal age days\n"
    text += "101,2027-09-14,P,64\n102,2027-09-14,P,60\n101,2027-09-14,O,\n"
    taking = take(text, "pregnancy")
    assert said(taking) == [
        (
            Kind.PREGNANCY_CHECKED,
            "b",
            {"method": "other", "result": "pregnant", "fetal_age_days": 60.0, "day_only": True},
        )
    ]
    assert [(one.row, one.what) for one in taking.aside] == [(2, "101"), (4, "101")]
    words = "rows 2 and 4 say pregnant 64 days and open of her on 2027-09-14"
    assert all(one.why.startswith(words) for one in taking.aside)


def test_twins_seen_on_two_rows_and_an_unsure_look_are_no_contradiction():
    text = "Tag,Check date,Preg,Fetal age days,Fetal sex\n"
    text += "101,2027-09-14,P,64,bull\n101,2027-09-14,P,62,heifer\n102,2027-09-14,recheck,,\n"
    text += "102,2027-09-14,P,60,\n"
    taking = take(text, "pregnancy")
    assert not taking.aside
    assert len(taking.drafts) == 4


def test_two_ages_of_one_day_far_apart_are_put_aside():
    text = "Tag,Check date,Preg,Fetal age days\n101,2027-09-14,P,64\n101,2027-09-14,P,120\n"
    taking = take(text, "pregnancy")
    assert not taking.drafts
    assert len(taking.aside) == 2


def test_an_open_female_with_a_fetal_age_is_told_at_its_cell_and_left_out():
    text = "Tag,Check date,Preg,Fetal age days\n101,2027-09-14,O,55\n102,2027-09-14,O,\n"
    file = read(text, "pregnancy")
    (problem,) = file.problems
    assert (problem.row, problem.column) == (2, "Fetal age days")
    assert "open" in problem.what
    assert [row.tag for row in file.rows] == ["102"]


def test_an_hour_still_to_come_is_put_aside():
    file = read("Tag,Date,BCS\n101,2027-09-30 15:00,5\n102,2027-09-30 09:00,5\n", "condition")
    noon = datetime(2027, 9, 30, 18, tzinfo=UTC)  # 12:00 in Denver
    taking = draft_results(file, roster(four()), ranch=RANCH, zone=ZONE, limits=LIMITS, now=noon)
    assert [one.female for one in taking.drafts] == ["b"]
    (aside,) = taking.aside
    assert "still to come" in aside.why


def test_a_finding_against_one_of_that_day_on_file_is_put_aside():
    body = {"method": "ultrasound", "result": "pregnant", "fetal_age_days": 64}
    at = datetime(2027, 9, 14, 14, 30, tzinfo=UTC)
    on_file = event(Kind.PREGNANCY_CHECKED, body, at=at, female="a")
    taking = take("Tag,Check date,Preg\n101,2027-09-14,O\n102,2027-09-14,O\n", "pregnancy",
                  [*four(), on_file])  # fmt: skip
    assert [one.female for one in taking.drafts] == ["b"]
    (aside,) = taking.aside
    assert "on file of 2027-09-14: pregnant 64 days; the file says open" in aside.why
    assert not taking.differences


def test_twins_on_two_rows_are_one_calving():
    text = "Dam,Calf tag,Calved,Ease,Calf sex,Alive,Birth weight (lb)\n"
    text = text.replace("Ease", "Calving ease")
    text += "101,1a,2027-03-04,1,H,alive,80\n101,1b,2027-03-04,3,B,dead,70\n"
    taking = take(text, "calvings")
    [(kind, female, body)] = said(taking)
    assert (kind, female, body["ease"]) == (Kind.CALVED, "a", 3)
    assert [calf["alive"] for calf in body["calves"]] == [True, False]
    assert body["calves"][0]["weight_kg"] == pytest.approx(36.29, abs=0.01)  # 80 lb
    again = take(text, "calvings", four() + recorded(taking.drafts))
    assert (again.drafts, again.aside, again.already) == ([], [], 1)


def test_calf_tag_beside_the_dam_is_not_taken_for_the_dam():
    file = read("Tag,Dam,Birth date\n9001,101,2027-03-04\n", "calvings")
    assert [row.tag for row in file.rows] == ["101"]
    assert any("not used" in one.what for one in file.problems)


def test_two_calvings_near_each_other_are_put_aside():
    once = four() + recorded(take("Dam,Calved\n101,2027-03-04\n", "calvings").drafts)
    told = take("Dam,Calved\n101,2027-03-09\n102,2027-03-01\n102,2027-04-01\n", "calvings", once)
    assert told.drafts == []
    assert "5 days from this one" in told.aside[0].why
    assert sum("two calvings" in one.why for one in told.aside) == 2


def test_weights_need_a_unit_and_condition_comes_along():
    text = "Tag,Date,Weight,BCS\n101,2027-05-01,1200,5.5\n"
    assert read(text, "weights").problems[0].severity is Severity.ERROR
    kinds = [(kind, body) for kind, _, body in said(take(text, "weights", weight_unit="lb"))]
    assert kinds[0][1]["weight_kg"] == pytest.approx(544.31, abs=0.01)
    assert kinds[1] == (Kind.CONDITION_SCORED, {"score": 5.5, "day_only": True})


def test_scans_become_ovary_tract_and_pelvis():
    text = "Tag,Date,Cycling,CL found,Follicle mm,RTS,Pelvic area\n"
    text += "103,2027-04-01,cycling,yes,12 mm,4,180\n"
    kinds = [kind for kind, _, _ in said(take(text, "scans"))]
    assert kinds == [Kind.OVARY_SCANNED, Kind.TRACT_SCORED, Kind.PELVIS_MEASURED]


def test_treatments_are_told_apart_and_a_brand_is_no_guess():
    text = "Tag,Date,Time,Drug,Dose,Lot,Expires,Withdrawal\n"
    drugs = ["dinoprost", "GnRH", "insert in", "insert out", "vaccine against IBR", "Wonder 5"]
    for hour, drug in enumerate(drugs):
        text += f"101,2027-05-0{hour + 1},2:30 pm,{drug},5 cc,A1,2028-06,0\n"
    found = said(take(text, "treatments"))
    assert [kind for kind, _, _ in found] == [
        Kind.TREATED, Kind.TREATED, Kind.INSERT_PLACED, Kind.INSERT_REMOVED, Kind.VACCINATED,
        Kind.TREATED,
    ]  # fmt: skip
    assert found[0][2] == {
        "act": "pgf", "active": "dinoprost", "dose_ml": 5.0, "lot": "A1",
        "expires_on": "2028-06-30", "withdrawal_days": 0.0,
    }  # fmt: skip
    assert found[5][2]["act"] == "other"
    assert "Wonder 5" in found[5][2]["note"]


def test_treatment_on_file_already_is_asked_about_not_given_twice():
    at = datetime(2027, 5, 1, 20, tzinfo=UTC)
    given_ = [*four(), event(Kind.TREATED, {"act": "pgf"}, female="a", at=at)]
    told = take("Tag,Date,Drug\n101,2027-05-01,PGF\n102,2027-05-01,PGF\n", "treatments", given_)
    assert [one.female for one in told.drafts] == ["b"]
    assert "given twice" in told.aside[0].why


def test_a_treatment_told_to_the_minute_with_drug_and_amount_is_on_file_already():
    """As our own list of treatments writes it: to the minute. Another amount or hour is asked."""
    pgf = {"act": "pgf", "active": "cloprostenol", "dose_ml": 2.0}
    first = datetime(2027, 5, 1, 20, 5, 41, tzinfo=UTC)  # 14:05:41 in Denver
    second = first + timedelta(hours=8)
    given_ = [*four(), *(event(Kind.TREATED, pgf, female="a", at=at) for at in (first, second))]
    head = "Tag,Date,Drug,Dose ml\n"
    rows = "101,2027-05-01 14:05,cloprostenol,2\n101,2027-05-01 22:05,cloprostenol,2\n"
    told = take(head + rows, "treatments", given_)
    assert (told.already, told.drafts, told.aside) == (2, [], [])
    for row in ("101,2027-05-01 14:05,cloprostenol,4\n", "101,2027-05-01 16:00,cloprostenol,2\n"):
        asked = take(head + row, "treatments", given_)
        assert asked.already == 0
        assert "given twice" in asked.aside[0].why


def test_who_is_meant_is_never_guessed():
    text = "Tag,EID,Date,BCS\n200,,2027-05-01,5\n101,840003123456780,2027-05-01,5\n"
    text += (
        "101,840003999999999,2027-05-01,5\n999,,2027-05-01,5\n104,840003123456789,2027-05-01,6\n"
    )
    told = take(text, "condition")
    whys = [one.why for one in told.aside]
    assert "2 females on file wear tag 200" in whys[0]
    assert "is another" in whys[1]
    assert "the file says" in whys[2]
    assert told.unlisted == ["999"]
    assert [one.female for one in told.drafts if one.kind is Kind.CONDITION_SCORED][1] == "a"
    assert "her tag on file is 101" in told.problems[0].what.casefold()
    strict = take(text, "condition", keep_unknown=False)
    assert (strict.unlisted, len(strict.aside)) == ([], 4)


def test_day_of_the_whole_list_can_be_said():
    text = "Tag,BCS\n101,5\n"
    assert "no column for the day" in read(text, "condition").problems[0].what
    told = take(text, "condition", day=Moment(date(2027, 5, 1), time(8)))
    assert told.drafts[0].at == datetime(2027, 5, 1, 14, tzinfo=UTC)


def test_same_file_twice_adds_nothing_and_a_differing_value_is_shown():
    text = "Tag,Date,BCS\n101,2027-05-01,5\n101,2027-05-01,5\n"
    first = take(text, "condition")
    assert (len(first.drafts), first.already) == (1, 1)
    kept = four() + recorded(first.drafts)
    assert take(text, "condition", kept).drafts == []
    other = take("Tag,Date,BCS\n101,2027-05-01,6\n", "condition", kept)
    assert [(one.ledger, one.file) for one in other.differences] == [("5.0", "6.0")]


@pytest.mark.parametrize(
    ("text", "clock"),
    [("2:30 pm", (14, 30)), ("12:05 AM", (0, 5)), ("0630", (6, 30)), ("7h15", (7, 15)),
     ("0.604166667", (14, 30)), ("08:30:15", (8, 30, 15))],
)  # fmt: skip
def test_clock_times_are_read_in_their_usual_forms(text, clock):
    assert read_clock_cell(text) == time(*clock)


@pytest.mark.parametrize("text", ["25:00", "13:00 pm", "7", "noonish", "8:75"])
def test_what_is_no_clock_time_is_told(text):
    assert not isinstance(read_clock_cell(text), time)


NASTY = ["8.4E+14", "=1+1", "#N/A", "\U0001f404", "'101", "-", "2027-05-01", "nan", "1e999",
         "  101 ", "101.0", "\u202e101", "9" * 400, "12/13/2027", "yes", "P", "840003123456789",
         '"', "a\nb", "0.5", "-5", "5;5", "\x00"]  # fmt: skip
HEADS = [name for kind in RESULT_FIELDS.values() for one in kind.fields for name in one.ranks[0]]
cells = st.sampled_from(NASTY) | st.text(max_size=6) | st.integers(-5, 2000).map(str)


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    kind=st.sampled_from(list(ResultKind)),
    heads=st.lists(st.sampled_from(HEADS) | st.sampled_from(["Tag", "Date"]), max_size=7),
    rows=st.lists(st.lists(cells, max_size=8), max_size=5),
    form=st.sampled_from([("utf-8", ","), ("utf-8-sig", ";"), ("utf-16", "\t")]),
)
def test_no_list_however_odd_is_a_traceback_or_taken_in_silence(kind, heads, rows, form):
    encoding, separator = form
    lines = [separator.join(["Tag", "Date", *heads])]
    lines += [separator.join(row) for row in rows]
    data = "\n".join(lines).encode(encoding, "replace")
    file = read(data, kind)
    told = draft_results(file, roster(four()), ranch=RANCH, zone=ZONE, limits=LIMITS)
    assert len(file.rows) <= file.n_rows
    named = {one.row for one in file.problems}
    taken = {row.row for row in file.rows}
    if file.n_rows > len(file.rows):  # whatever was left out is told
        assert named - taken or any(one.row is None for one in file.problems)
    assert all(has_form(one.kind, one.body) for one in told.drafts)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200), st.sampled_from(list(ResultKind)))
def test_no_bytes_are_a_traceback(data, kind):
    file = read(data, kind)
    assert file.problems or file.rows


def test_cell_of_ten_megabytes_costs_its_row_only():
    text = (
        "Tag,Date,BCS\n101,2027-05-01,5\n" + "9" * 10_000_000 + ",2027-05-01,5\n102,2027-05-01,6\n"
    )
    file = read(text, "condition")
    assert [row.tag for row in file.rows] == ["101", "102"]
    assert [one.row for one in file.problems] == [3]


def test_a_list_tells_the_order_its_own_days_show():
    text = "Tag,Date,BCS\n101,25/02/2027 7:30,5\n102,3/4/2027,6\n"
    file = read(text, "condition")
    assert [row.when for row in file.rows] == [Moment(date(2027, 2, 25), time(7, 30))]
    assert [one.row for one in file.problems if "--dates dmy" in one.fix] == [3]


def test_two_sheets_of_weights_are_asked_about_and_a_herd_list_beside_one_is_none():
    workbook = openpyxl.Workbook()
    workbook.active.title = "Herd"
    for row in (["Tag", "Class", "RFID", "Remarks"], ["101", "cow", None, "x"]):
        workbook.active.append(row)
    for name in ("March", "June"):
        sheet = workbook.create_sheet(name)
        sheet.append(["Tag", "Weight (kg)", *(["Date"] if name == "June" else [])])
        sheet.append(["101", 540, *(["2027-06-01"] if name == "June" else [])])
        file = io.BytesIO()
        workbook.save(file)
        found = read(file.getvalue(), "weights", "w.xlsx", day=Moment(date(2027, 3, 1)))
        if name == "March":
            assert [row.tag for row in found.rows] == ["101"]
    assert found.rows == ()
    assert "'March' (1 row), 'June' (1 row)" in found.problems[0].what


def test_workbook_with_merged_dates_formulas_and_numbers_for_codes_is_read():
    workbook = openpyxl.Workbook()
    sheet = workbook.active
    sheet.append(["Scan day"])
    sheet.append(["EID", "Date", "Preg", "Days"])
    sheet.append([840003123456789, datetime(2027, 9, 14, 8, 30), "P", 65])
    sheet.append([840003123456780, None, "O", None])
    sheet.append(["8.4E+14", datetime(2027, 9, 14), "P", 60])
    sheet.append([840003123456789, datetime(2027, 9, 15), "=A1", 60])
    sheet.merge_cells("B3:B4")
    file = io.BytesIO()
    workbook.save(file)
    found = read(file.getvalue(), "pregnancy", "scan.xlsx")
    assert [row.when for row in found.rows] == [Moment(date(2027, 9, 14), time(8, 30))] * 2
    assert {one.row for one in found.problems if one.severity is Severity.ERROR} == {5, 6}
