"""The workbook, read back by another library."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from io import BytesIO
from zipfile import ZipFile

import pytest
from openpyxl import load_workbook

from sunup.planning.plan import ForecastSummary
from sunup.reports.workbook import render_workbook


@pytest.fixture(scope="module")
def book(plan):
    return load_workbook(BytesIO(render_workbook(plan)))


def column(sheet, title):
    heads = [cell.value for cell in sheet[1]]
    at = heads.index(title) + 1
    return [sheet.cell(row, at) for row in range(2, sheet.max_row + 1)]


def test_the_sheets_are_there_in_order(book):
    assert book.sheetnames == [
        "Summary", "Schedule", "Females", "Shopping", "Run-up", "Clashes", "Choices", "Costs",
    ]  # fmt: skip


def widths_of(sheet):
    spans = sheet.column_dimensions.values()  # neighbours of one width share an entry
    return {n: span.width for span in spans for n in range(span.min, span.max + 1)}


def test_every_head_is_frozen_repeated_in_print_and_fitted_to_the_width(book):
    for sheet in book:
        assert sheet.freeze_panes[1:] == "2"
        assert sheet.print_title_rows == "$1:$1"
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        for dimension in sheet.column_dimensions.values():
            assert dimension.width > 5


def test_what_a_row_is_of_stays_in_sight_and_stands_on_each_page(book):
    """The schedule's group, visit and step: on a screen and on the pages beside the first."""
    named = {sheet.title: (sheet.freeze_panes, sheet.print_title_cols) for sheet in book}
    assert named["Schedule"] == ("D2", "$A:$C")
    assert named["Females"] == ("B2", "$A:$A")
    assert named["Summary"] == ("A2", None)


def test_every_sheet_is_printed_large_enough_to_be_read(book):
    """A page that lies down has 10 inches: 137 characters of 11 points (7 pixels of 1/96 inch).

    Under 6 points nothing is read; all 28 columns of the schedule on one page were 2.6 points.
    """
    for sheet in book:
        widths = widths_of(sheet)
        named = sum(widths[n + 1] for n in range(ord(sheet.freeze_panes[0]) - ord("A")))
        pages = sheet.page_setup.fitToWidth or 1
        each = sum(widths.values()) + (pages - 1) * named
        assert 11 * pages * 137 / each >= 6, sheet.title


def test_columns_are_as_wide_as_what_stands_in_them(book):
    """A column never holds its longest word in two pieces, nor is it wider than it need be."""
    for sheet in book:
        widths = widths_of(sheet)
        for cells in sheet.columns:
            told = [str(cell.value) for cell in cells if cell.data_type == "s"]
            word = max((len(word) for text in told for word in text.split()), default=0)
            assert widths[cells[0].column] >= word, (sheet.title, cells[0].value)
    assert widths_of(book["Females"])[1] < 10  # tags of four figures


def test_a_number_does_not_touch_the_words_of_the_next_column(book):
    numbers = [
        cell
        for sheet in book
        for row in sheet.iter_rows(min_row=2)
        for cell in row
        if isinstance(cell.value, int | float)
    ]
    for cell in numbers:
        stands = cell.alignment
        assert (stands.horizontal, stands.indent) in {("right", 1), ("left", 0)}, cell.coordinate
    assert {c.alignment.horizontal for c in numbers if c.parent.title == "Summary"} == {"left"}
    assert {c.alignment.horizontal for c in numbers if c.parent.title != "Summary"} == {"right"}


def test_a_step_that_takes_none_has_no_nought(book):
    for title in ("Doses", "Straws"):
        assert 0 not in [cell.value for cell in column(book["Schedule"], title)]


def test_times_are_dates_on_the_ranchs_clock(book):
    starts = [cell.value for cell in column(book["Schedule"], "Start")]
    assert all(isinstance(value, datetime) for value in starts)
    assert starts[0] == datetime(2027, 5, 17, 8, 0)  # 14:00 UTC in Denver in May
    orders = [cell.value for cell in column(book["Shopping"], "Order by")]
    assert orders[0].date() == date(2027, 5, 3)
    assert orders[5] is None


def test_numbers_are_numbers(book):
    for sheet, title in (("Schedule", "Head"), ("Shopping", "Quantity"), ("Costs", "Amount")):
        for cell in column(book[sheet], title):
            assert cell.data_type == "n", (sheet, title, cell.value)


def test_no_amount_shows_a_bare_point(book):
    # under 0.## two is shown as "2." (how spreadsheets format numbers; common practice)
    whole = [
        cell
        for sheet in book
        for row in sheet.iter_rows(min_row=2)
        for cell in row
        if isinstance(cell.value, int | float) and cell.value == int(cell.value)
    ]
    assert whole
    assert not [cell.coordinate for cell in whole if cell.number_format.endswith(".##")]


def test_every_female_has_a_row_with_her_tag_as_text(book, plan):
    tags = column(book["Females"], "Tag")
    assert [cell.value for cell in tags] == [female.tag for female in plan.females]
    assert {cell.data_type for cell in tags} == {"s"}
    rfids = [cell.value for cell in column(book["Females"], "RFID")]
    assert rfids == [female.rfid for female in plan.females]


@pytest.mark.parametrize(
    "start", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", '=HYPERLINK("x","y")']
)
def test_text_that_looks_like_a_formula_stays_text(plan, start):
    """OWASP ASVS 5.0.0, 1.2.10: the cell is a string, is quoted, and its text is unharmed."""
    females = (replace(plan.females[0], tag=start, group=start), *plan.females[1:])
    book = load_workbook(BytesIO(render_workbook(replace(plan, females=females, ranch=start))))
    for cell in (book["Females"]["A2"], book["Females"]["D2"], book["Summary"]["B2"]):
        assert cell.data_type == "s"
        assert cell.value.replace("_x000D_", "\r").replace("\n", "\r") == start
        assert cell.quotePrefix
    formulas = [c.value for s in book for row in s.rows for c in row if c.data_type == "f"]
    assert formulas == [f"=SUBTOTAL(109,G2:G{len(plan.shopping) + 1})"]  # ours


def test_a_negative_amount_is_a_number_and_not_quoted(plan):
    group = plan.groups[0]
    money = replace(group.fits[0].costs[0], amount=-12.5)
    fit = replace(group.fits[0], costs=(money,))
    changed = replace(plan, groups=(replace(group, fits=(fit,)),))
    sheet = load_workbook(BytesIO(render_workbook(changed)))["Costs"]
    cell = column(sheet, "Amount")[0]
    assert cell.value == -12.5
    assert cell.data_type == "n"
    assert not cell.quotePrefix


def test_plain_text_is_not_quoted(book):
    assert not book["Females"]["A2"].quotePrefix


def test_example_prices_are_marked(book, plan):
    marks = [cell.value for cell in column(book["Shopping"], "Price")]
    told = ["example price" if line.example_price else None for line in plan.shopping]
    assert marks == [*told, None]  # the last row is the sum


def test_steps_called_off_are_kept_and_said(book):
    said = [cell.value for cell in column(book["Schedule"], "Called off")]
    assert said.count("called off") == 1


def test_the_same_plan_gives_the_same_bytes(plan):
    """Two books made at once could agree by luck, so the times of the parts are looked at too."""
    raw = render_workbook(plan)
    assert raw == render_workbook(plan)
    parts = ZipFile(BytesIO(raw)).infolist()
    assert {part.date_time for part in parts} == {(1980, 1, 1, 0, 0, 0)}  # the format's zero


def test_the_book_was_made_when_the_plan_was(book):
    assert book.properties.created == datetime(2026, 11, 25, 15, 30)


def test_odd_names_and_an_empty_group_are_written_whole(odd_plan):
    book = load_workbook(BytesIO(render_workbook(odd_plan)))
    groups = {cell.value for cell in column(book["Schedule"], "Group")}
    assert groups == {group.name for group in odd_plan.groups}


def test_inseminations_on_heat_stand_in_the_schedule_as_at_most_so_many(watched):
    sheet = load_workbook(BytesIO(render_workbook(watched)))["Schedule"]
    cells = zip(
        *(column(sheet, title) for title in ("Step", "Start", "Head", "Counted as")), strict=True
    )
    rows = [tuple(c.value for c in row) for row in cells if "seen in heat" in row[0].value]
    assert rows[0] == (
        "inseminate those seen in heat", datetime(2027, 5, 24, 18), 60, "at most"
    )  # fmt: skip
    assert len(rows) == 4


def test_the_shopping_list_adds_up_and_goes_on_adding_when_prices_are_changed(plan):
    raw = render_workbook(replace(plan, currency="USD"))
    sheet = load_workbook(BytesIO(raw))["Shopping"]
    total = column(sheet, "Cost, USD")[-1]
    assert total.value == f"=SUBTOTAL(109,G2:G{len(plan.shopping) + 1})"
    shown = load_workbook(BytesIO(raw), data_only=True)["Shopping"][total.coordinate].value
    assert shown == pytest.approx(sum(line.cost or 0.0 for line in plan.shopping))
    assert sheet.auto_filter.ref.endswith(str(len(plan.shopping) + 1))  # the sum is not sorted away


def test_each_choice_has_one_row_and_no_cost_stands_twice(book, plan):
    fits = [(g.name, f.name) for g in plan.groups for f in g.fits] + [
        (g.name, "bulls alone") for g in plan.groups
    ]
    rows = zip(column(book["Choices"], "Group"), column(book["Choices"], "Choice"), strict=True)
    assert sorted((a.value, b.value) for a, b in rows) == sorted(fits)
    items = [cell.value for cell in column(book["Costs"], "Item")]
    assert not any("in all" in item for item in items)


def test_a_forecast_stands_beside_its_choice(plan):
    told = ForecastSummary(
        n=46, seed=1, replicates=100, pregnant_to_ai=(20.0, 25.0, 30.0), on_heat=12.25, on_time=34,
        pregnant_in_season=(38.0, 41.0, 44.0), cost_per_pregnancy=(80.0, 96.5, 120.0), spread=None,
        better_than_chosen=0.32, more_than_chosen=None, rests_on=(), assumed=(), left_out=(),
    )  # fmt: skip
    group = plan.groups[1]
    fits = tuple(replace(f, forecast=told) for f in group.fits)
    alone = replace(group.bulls_alone, forecast=replace(told, pregnant_to_ai=None))
    changed = replace(plan, groups=(replace(group, fits=fits, bulls_alone=alone, forecast=told),))
    sheet = load_workbook(BytesIO(render_workbook(changed)))["Choices"]
    shown = [cell.value for cell in column(sheet, "Pregnant to AI, middle")]
    assert shown == [25] * len(fits) + [None]
    assert column(sheet, "A pregnancy, middle")[0].value == 96.5
    assert column(sheet, "Inseminated on heat")[0].value == 12.25
    assert column(sheet, "Inseminated on heat")[0].number_format == "#,##0"  # of females
    assert column(sheet, "More than the chosen in so many of 100 seasons")[0].value == 32


def test_a_watch_ends_when_it_ends_and_nobody_is_treated_yet(plan):
    group = plan.groups[0]
    step = replace(group.schedule[0], until_utc=group.schedule[0].at_utc + timedelta(days=3))
    changed = replace(plan, groups=(replace(group, schedule=(step,)),), called_off=())
    book = load_workbook(BytesIO(render_workbook(changed)))
    starts, ends = (column(book["Schedule"], title)[0].value for title in ("Start", "Ends"))
    assert ends - starts == timedelta(days=3)
    assert "Treated" not in {cell.value for cell in book["Females"][1]}


def test_every_row_is_high_enough_for_its_longest_text(book):
    """Not every program grows rows by itself; a line of 11 points is 15 points high, as preset."""
    long = 0
    for sheet in book:
        widths = widths_of(sheet)
        for row in sheet.iter_rows():
            height = sheet.row_dimensions[row[0].row].height or 15.0
            for cell in row:
                if cell.data_type != "s":
                    continue
                needs = -(-len(cell.value) // widths[cell.column])  # at the very least, words aside
                long += needs > 1
                assert height >= min(15.0 * needs, 409.0), (sheet.title, cell.coordinate)
    assert long > 5
