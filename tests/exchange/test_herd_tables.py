"""Files as the world sends them: letters, separators, workbooks, damage."""

import datetime as dt
import io
import zipfile
from datetime import date

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from herds import LIMITS
from sunup.base.problems import Severity
from sunup.exchange.herd_file import HerdFile, HerdReading, read_herd

ON = date(2027, 5, 1)
ROWS = "Tag;Class;Remarks\n0412;cow;quiet\nÑ7;heifer;naïve\n"


def read(data, name="herd.csv", **how):
    return read_herd(data, name, on=ON, limits=LIMITS, reading=HerdReading(**how))


def tags(herd):
    return [female.tag for female in herd.females]


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]
)
@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_text_tables_are_read_in_every_common_form(encoding, separator, newline):
    text = ROWS.replace(";", separator).replace("\n", newline)
    herd = read(text.encode(encoding))
    assert tags(herd) == ["0412", "Ñ7"]
    assert herd.females[1].remarks == "naïve"
    said = [problem.severity for problem in herd.problems]
    assert said == ([Severity.NOTICE] if encoding == "cp1252" else [])


def test_rows_are_numbered_as_a_spreadsheet_shows_them():
    text = '\n\nHerd of spring 2027\n\nTag,Class,Remarks\n1,cow,"two\nlines"\n\n,,\n2,cow,\n3,xx,\n'
    herd = read(text.encode())
    assert [(one.tag, one.row) for one in herd.females] == [("1", 6), ("2", 9), ("3", 10)]
    assert herd.females[0].remarks == "two lines"
    assert herd.problems[0].row == 10
    assert herd.rows == 3


def test_line_that_names_the_separator_is_no_row():
    herd = read(b"sep=;\nTag;Class\n1;cow\n")
    assert [one.row for one in herd.females] == [2]


def test_header_printed_again_is_no_female():
    assert tags(read(b"Tag,Class\n1,cow\nTag,Class\n2,cow\n")) == ["1", "2"]


def test_short_row_loads_with_a_warning_and_long_row_does_not_load():
    herd = read(b"Tag,Class,Group\n1,cow\n2,cow,A,slipped\n3,cow,A,,\n")
    assert tags(herd) == ["1", "3"]
    assert [(one.row, one.severity) for one in herd.problems] == [
        (2, Severity.WARNING),
        (3, Severity.ERROR),
    ]


def test_open_quotation_mark_costs_one_row_not_the_herd():
    herd = read(b'Tag,Class,Remarks\n1,cow,"lame\n2,cow,\n3,cow,"ok, quiet"\n4,cow,5" horn\n')
    assert tags(herd) == ["2", "3", "4"]
    assert [one.row for one in herd.problems] == [2]
    assert herd.rows == 4, "a row that cannot be read is a row"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"\xef\xbb\xbf \r\n\r\n", "empty"),
        (b"%PDF-1.7 ...", "PDF"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "old .xls"),
        (b"\x89PNG\r\n\x1a\n" + bytes(50), "picture"),
        (b"\x7fELF\x02\x01\x01" + bytes(200) + b"\x80\x00", "not text"),
        (b"PK\x03\x04 and nothing more", "damaged"),
        (b"<html><table><tr><td>Tag", "web page"),
        (b"Tag,Class\n", "no row below"),
        (b"12,cow,2027-03-04\n13,cow,2027-03-05\n", "No header row"),
        ("Tag,Class\n1,cow\n".encode("utf-32"), "UTF-32"),
    ],
)
def test_what_is_no_herd_file_gets_a_clear_message(data, words):
    herd = read(data)
    assert herd.females == ()
    assert len(herd.problems) == 1
    assert words in herd.problems[0].what
    assert herd.problems[0].fix


def test_cell_of_ten_megabytes_is_reported_and_the_others_load():
    herd = read(b"Tag,Class\n1,cow\n" + b"9" * 10_000_000 + b",cow\n2,cow\n")
    assert tags(herd) == ["1", "2"]
    assert [one.row for one in herd.problems] == [3]
    assert len(herd.problems[0].value) <= 80


def book(fill, **kinds):
    workbook = openpyxl.Workbook(**kinds)
    fill(workbook)
    file = io.BytesIO()
    workbook.save(file)
    return file.getvalue()


def test_workbook_cells_are_read_by_what_they_mean():
    def fill(workbook):
        sheet = workbook.active
        sheet.append(["Herd list"])
        sheet.append([])
        sheet.append(["Tag", "Class", "Calved", "RFID", "Weight (kg)", "BCS", "Cycling"])
        calved = dt.date(2027, 3, 4)
        sheet.append([412.0, "cow", calved, 840003123456789, 540, 5.5, True])
        sheet.append(["0413", "cow", "2027-03-04", "840 003 123 456 788", "540", "5,5", "no"])
        sheet.append([dt.datetime(2027, 3, 4), "cow", calved])

    herd = read(book(fill), "herd.xlsx")
    first, second = herd.females
    assert (first.tag, first.rfid, first.condition) == ("412", "840003123456789", 5.5)
    assert first.calved_on == second.calved_on == date(2027, 3, 4)
    assert (first.row, second.tag) == (4, "0413")
    assert [(one.row, one.column) for one in herd.problems] == [(6, "Tag")]


def test_error_cell_or_formula_without_result_is_no_blank():
    def fill(workbook):
        sheet = workbook.active
        sheet.append(["Tag", "Class", "Bull in"])
        sheet.append([1, "cow", "#N/A"])
        sheet["C2"].data_type = "e"
        sheet.append([2, "cow", "=TODAY()-90"])
        sheet.append([3, "cow", None])

    herd = read(book(fill), "herd.xlsx")
    assert [bool(one.hold_reason) for one in herd.females] == [True, True, False]
    assert [(one.row, one.column) for one in herd.problems] == [(2, "Bull in"), (3, "Bull in")]


def test_merged_cell_holds_for_all_its_rows():
    def fill(workbook):
        sheet = workbook.active
        sheet.append(["Tag", "Class", "Bull in"])
        for number in range(1, 5):
            sheet.append([number, "cow", "2026-06-01" if number == 1 else None])
        sheet.merge_cells("C2:C4")

    herd = read(book(fill), "herd.xlsx")
    assert [one.exposure is not None for one in herd.females] == [True, True, True, False]


def test_workbook_counted_from_1904_keeps_its_dates():
    def fill(workbook):
        workbook.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904
        workbook.active.append(["Tag", "Class", "Calved"])
        workbook.active.append([1, "cow", dt.date(2027, 3, 4)])

    assert read(book(fill), "herd.xlsx").females[0].calved_on == date(2027, 3, 4)


def sheets(**rows):
    """A workbook of the sheets named, and a hidden one that would serve best."""

    def fill(workbook):
        workbook.remove(workbook.active)
        for name, told in {
            **rows,
            "Old": [["Tag", "Class", "Group", "Born"], ["8", "cow"]],
        }.items():
            sheet = workbook.create_sheet(name)
            for row in told:
                sheet.append(row)
        workbook["Old"].sheet_state = "hidden"

    return book(fill)


SPRING = [["Tag", "Class", "Group"], ["7", "cow", "A"]]


@pytest.mark.parametrize(
    "notes", [[["Tag", "whatever"]], [["whatever"], ["7"]], [["Tag", "Class", "Group", "Born"]], []]
)
def test_the_only_sheet_that_names_females_is_taken_and_a_hidden_one_is_not(notes):
    assert tags(read(sheets(Notes=notes, Spring=SPRING), "herd.xlsx")) == ["7"]


def test_two_sheets_that_serve_equally_are_asked_about():
    data = sheets(Notes=[["Tag", "?"]], Spring=[["Tag", "?", "??"]])
    herd = read(data, "herd.xlsx")
    assert herd.females == ()
    assert "--sheet" in herd.problems[0].fix
    assert "no sheet" in read(data, "herd.xlsx", sheet="Autumn").problems[0].what


@pytest.mark.parametrize(
    "cows",
    [
        [["Tag", "Class"], ["1", "cow"], ["2", "cow"]],
        [["Our cows"], [], ["Name", "Tag", None], ["Bess", 1], ["", " "], ["Rose", "2"]],
    ],
)
def test_a_sheet_of_cows_and_one_of_heifers_are_not_read_as_heifers_alone(cows):
    """Better headers on one sheet are no reason to leave the females of the other."""
    heifers = [["Tag", "Class", "Born", "Weight (lb)"], ["H1", "heifer", "2026-02-01", 800]]
    data = sheets(Cows=cows, Heifers=heifers)
    herd = read(data, "herd.xlsx")
    assert herd.females == ()
    (problem,) = herd.problems
    assert problem.severity is Severity.ERROR
    assert "'Cows' (2 rows)" in problem.what
    assert "'Heifers' (1 row)" in problem.what
    assert tags(read(data, "herd.xlsx", sheet="cows")) == ["1", "2"]
    assert tags(read(data, "herd.xlsx", sheet="Heifers")) == ["H1"]


def test_a_header_in_two_lines_is_no_female_called_tag():
    """Animal and Calving over Tag and Date, as merged cells leave them."""
    herd = read(b"Animal,,Calving\nTag,Class,Date\n1,cow,2027-03-04\nTag7,cow,\n")
    assert tags(herd) == ["1", "Tag7"]
    assert (2, Severity.WARNING) in [(one.row, one.severity) for one in herd.problems]
    assert tags(read(b"Tag,Class\n1,cow\nTag,cow\n")) == ["1", "Tag"], "not right below: a row"


def calved(*days, **how):
    rows = "".join(f"{n},cow,{day}\n" for n, day in enumerate(days, start=1))
    return read(f"Tag,Class,Calved\n{rows}".encode(), **how)


def test_a_day_past_the_twelfth_tells_what_to_declare_for_the_others():
    """It says so and no more: whether the others keep its order is for the user to say."""
    herd = calved("03/04/2027", "25/02/2027", "01/03/2027")
    held = [female.tag for female in herd.females if female.hold_reason]
    assert held == ["1", "3"]
    assert herd.females[1].calved_on == date(2027, 2, 25)
    assert {problem.row for problem in herd.problems} == {2, 4}
    for problem in herd.problems:
        assert "Row 3 (25/02/2027) has the day first" in problem.fix
        assert "--dates dmy" in problem.fix
    assert calved("25/02/2027", "01/03/2027", date_order="dmy").problems == ()


def test_a_column_that_mixes_orders_is_told_and_its_doubtful_dates_are_held():
    herd = calved("03/04/2027", "25/02/2027", "02/28/2027")
    assert [female.calved_on for female in herd.females] == [
        None,
        date(2027, 2, 25),
        date(2027, 2, 28),
    ]
    mixed, asked = herd.problems
    assert (mixed.row, mixed.severity) == (1, Severity.WARNING)
    assert "row 3 (25/02/2027) has the day first and row 4 (02/28/2027)" in mixed.what
    assert asked.row == 2
    assert "--dates" not in asked.fix, "no order would be right for the whole column"


def test_stray_cell_at_the_far_corner_does_not_fill_the_memory():
    def fill(workbook):
        workbook.active.append(["Tag", "Class"])
        workbook.active["XFD1048576"] = "x"

    herd = read(book(fill), "herd.xlsx")
    assert herd.females == ()
    assert "1,048,576" in herd.problems[0].what


CELL = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        ["Tag", "Class", "Calved", "RFID", "Weight lb", "Bull in", "Breed", "BCS", "cow", "heifer",
         "2027-03-04", "03/04/2027", "45658", "99999", "1e400", "AN50", "1/0 AN", "#N/A", '"', "٣٣"]
    ),
)  # fmt: skip


@given(rows=st.lists(st.lists(CELL, max_size=6), max_size=8), separator=st.sampled_from(",;\t|"))
def test_no_table_of_any_cells_ends_in_a_traceback(rows, separator):
    text = "Tag,Class,Calved,Breed,RFID,Weight lb\n".replace(",", separator)
    text += "\n".join(separator.join(row) for row in rows)
    herd = read(text.encode("utf-8", "surrogatepass"), date_order="mdy")
    assert isinstance(herd, HerdFile)
    assert all(problem.what and problem.fix for problem in herd.problems)


@given(data=st.binary(max_size=300))
def test_no_bytes_end_in_a_traceback(data):
    assert isinstance(read(data), HerdFile)
    assert isinstance(read(b"Tag,Class,Calved\n" + data), HerdFile)


def plain_book():
    def fill(workbook):
        workbook.active.append(["Tag", "Class", "Calved"])
        workbook.active.append([1, "cow", "=1+1"])

    return book(fill)


PLAIN = plain_book()


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(
    changes=st.lists(
        st.tuples(st.floats(0, 1, exclude_max=True), st.integers(0, 255)), min_size=1, max_size=5
    )
)
def test_no_damaged_workbook_ends_in_a_traceback(changes):
    data = bytearray(PLAIN)
    for place, byte in changes:
        data[int(place * len(data))] = byte
    assert isinstance(read(bytes(data), "herd.xlsx"), HerdFile)


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(part=st.sampled_from(["xl/workbook.xml", "xl/worksheets/sheet1.xml"]), drop=st.data())
def test_no_workbook_with_damaged_xml_ends_in_a_traceback(part, drop):
    with zipfile.ZipFile(io.BytesIO(PLAIN)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    at = drop.draw(st.integers(0, len(parts[part]) - 1))
    length = drop.draw(st.integers(0, 40))
    put = drop.draw(st.binary(max_size=10))
    parts[part] = parts[part][:at] + put + parts[part][at + length :]
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        for name, text in parts.items():
            archive.writestr(name, text)
    assert isinstance(read(file.getvalue(), "herd.xlsx"), HerdFile)
