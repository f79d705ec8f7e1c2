"""Tables out: nothing in them is run, numbers stay numbers, lists come in again.

What counts as risky follows the usual advice on formula injection (texts that begin with = + - @,
tab or carriage return); common practice.
"""

import csv
import io
import zipfile
from datetime import UTC, date, datetime

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from herds import LIMITS
from sunup.exchange.ade_out_events import event_fields
from sunup.exchange.herd_file import HerdReading
from sunup.exchange.lists_out import events_table, result_table
from sunup.exchange.result_fields import ResultKind
from sunup.exchange.result_taking import draft_results
from sunup.exchange.results_file import read_results
from sunup.exchange.standing import stand
from sunup.exchange.table_out import OutTable, guard, render_csv, render_xlsx
from sunup.records.event import Kind
from support.small_ledger import RANCH, ZONE, event, four, roster

RISKY = ["=1+1", "+1+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", " =1", "\uff1d1", "=HYPERLINK(1)"]


@pytest.mark.parametrize("text", RISKY)
def test_text_a_spreadsheet_would_run_is_guarded(text):
    assert guard(text) == f"'{text}"


@pytest.mark.parametrize(
    ("value", "text"),
    [(-5.5, "-5.5"), (-3, "-3"), ("-5.5", "-5.5"), ("+7", "+7"), ("-1e-3", "-1e-3"),
     (0.1 + 0.2, "0.3"), (None, ""), (True, "yes"), ("0412", "0412"),
     (date(2027, 5, 1), "2027-05-01"),
     ("840003123456789", "840003123456789")],
)  # fmt: skip
def test_numbers_dates_and_plain_texts_stay_as_they_are(value, text):
    assert guard(value) == text


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=12))
def test_no_text_cell_begins_as_a_formula_unless_it_is_a_number(text):
    out = guard(text)
    try:
        float(out)
    except ValueError:
        assert not out.lstrip(" \u00a0\u200b\ufeff").startswith(("=", "+", "-", "@", "\t", "\r"))


def test_columns_of_a_workbook_hold_their_dates_and_codes_and_the_head_stays():
    # a date in a column too narrow for it shows as a row of marks (common practice, no source)
    moment = datetime(2027, 5, 25, 14, 30)
    table = OutTable("T", ("When", "RFID", "Remarks"), ((moment, "840003123456789", "x" * 300),))
    sheet = openpyxl.load_workbook(io.BytesIO(render_xlsx([table]))).active
    wide = [sheet.column_dimensions[letter].width for letter in "ABC"]
    assert wide[0] >= len("2027-05-25 14:30")
    assert wide[1] >= len("840003123456789")
    assert wide[2] < 60  # a page holds the rest
    assert sheet.auto_filter.ref == "A1:C2"
    assert sheet.print_title_rows == "$1:$1"


def test_workbook_holds_texts_not_formulas_and_numbers_as_numbers():
    table = OutTable("T", ("a", "b", "c"), (("=1+1", -5.5, "840003123456789"),))
    sheet = openpyxl.load_workbook(io.BytesIO(render_xlsx([table]))).active
    cells = [(cell.value, cell.data_type) for cell in sheet[2]]
    assert cells[1:] == [(-5.5, "n"), ("840003123456789", "s")]
    # the reader above takes any text that begins with = for a formula: look at the XML itself
    xml = zipfile.ZipFile(io.BytesIO(render_xlsx([table]))).read("xl/worksheets/sheet1.xml")
    assert b"<f>" not in xml
    assert b'<c r="A2" s="2" t="s">' in xml


def test_csv_is_utf_8_with_its_mark_and_quoted():
    data = render_csv(OutTable("T", ("Tag", "Remarks"), (("\u00d17", 'a "b", c\nd'),)))
    assert data.startswith(b"\xef\xbb\xbf")
    rows = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    assert rows[1] == ["\u00d17", 'a "b", c\nd']


def season():
    def at(month, day, hour=15):
        return datetime(2027, month, day, hour, tzinfo=UTC)

    calf = {"sex": "female", "alive": True, "weight_kg": 36.5, "tag": "=9"}
    bottle = {"lot": "A1", "expires_on": "2028-06-30", "withdrawal_days": 0}
    check = {"method": "ultrasound", "result": "pregnant", "fetal_age_days": 65, "fetuses": 1}
    return [
        *four(),
        event(Kind.CALVED, {"ease": 2, "calves": [calf], "day_only": True}, female="a",
              at=at(3, 4, 19)),
        event(Kind.WEIGHED, {"weight_kg": 540.5, "note": "-quiet"}, female="a", at=at(5, 1)),
        event(Kind.CONDITION_SCORED, {"score": 5.5}, female="b", at=at(5, 1)),
        event(Kind.OVARY_SCANNED, {"luteum": True, "cycling": True}, female="c", at=at(4, 1)),
        event(Kind.PREGNANCY_CHECKED, {**check, "operator": "Ana"}, female="a", at=at(9, 14)),
        event(Kind.TREATED, {"act": "pgf", "active": "dinoprost", "dose_ml": 5, **bottle},
              female="a", at=at(5, 8)),
        event(Kind.INSERT_PLACED, bottle, female="b", at=at(5, 1)),
        event(Kind.INSERT_REMOVED, {"found": False}, female="b", at=at(5, 8)),
        event(Kind.VACCINATED, {"against": "IBR"}, female="c", at=at(4, 2)),
    ]  # fmt: skip


@pytest.mark.parametrize("kind", list(ResultKind))
@pytest.mark.parametrize("render", [render_csv, lambda table: render_xlsx([table])])
def test_lists_out_come_in_again_with_nothing_new(kind, render):
    herd = roster(season())
    table = result_table(kind, herd, ZONE)
    assert table.rows
    on = date(2027, 10, 1)
    file = read_results(render(table), "f", kind=kind, on=on, limits=LIMITS, reading=HerdReading())
    assert [str(one) for one in file.problems] == []
    told = draft_results(file, herd, ranch=RANCH, zone=ZONE, limits=LIMITS)
    asked = [one.why for one in told.aside if "given twice" not in one.why]
    assert (told.drafts, asked) == ([], [])


def test_all_events_are_listed_and_guarded():
    table = events_table(stand(season()), roster(season()), ZONE)
    assert len(table.rows) == len(season())
    what = {row[table.headers.index("What")] for row in table.rows}
    assert "Female added" in what
    facts = " ".join(str(row[table.headers.index("Facts")]) for row in table.rows)
    assert "listed yes" in facts
    assert "True" not in facts
    text = render_csv(table).decode("utf-8-sig")
    assert "\n=" not in text
    assert ",=" not in text


def test_a_weight_typed_in_pounds_leaves_as_a_person_would_write_it_and_comes_back_in():
    """1285 lb are 582.8661955 kg by the exact pound of 1959; scales read to half a kilo."""
    kg = 1285 * 0.45359237
    events = [*four(), event(Kind.WEIGHED, {"weight_kg": kg}, female="a")]
    table = result_table(ResultKind.WEIGHTS, roster(events), ZONE)
    (row,) = list(csv.reader(io.StringIO(render_csv(table).decode("utf-8-sig"))))[1:]
    assert row[3] == "582.87"
    assert round(float(row[3]) / 0.45359237) == 1285
    sheet = openpyxl.load_workbook(io.BytesIO(render_xlsx([table]))).active
    assert sheet["D2"].value == 582.87
    told = events_table(stand(events), roster(events), ZONE)
    assert any("weight kg 582.87" in str(cell) for row in told.rows for cell in row)
    (weighed,) = [one for one in stand(events) if one.kind is Kind.WEIGHED]
    assert event_fields(weighed)[1]["weight"] == {"measurement": 582.87, "units": "KGM"}
