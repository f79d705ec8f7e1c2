"""What stands on the lists of the packet, in which order and how long a row gets."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from sunup.planning.plan import State
from sunup.reports.packet_lists import readiness_page, run_up_page, shopping_page
from sunup.reports.packet_season import choices_page


def rows_of(plan):
    (page,) = [page for page in readiness_page(plan) if page["name"] == "Cows"]
    return page["rows"]


def test_of_those_ready_later_the_soonest_stands_first(plan):
    """Dates in the order of the calendar, not in that of the list or of the weekdays' names."""
    waiting = [f for f in plan.females if f.state is State.READY_ON]
    days = {f.tag: date(2027, 6, 20 - i) for i, f in enumerate(waiting)}
    females = tuple(replace(f, ready_on=days[f.tag]) if f.tag in days else f for f in plan.females)
    rows = rows_of(replace(plan, females=females))
    told = [tag for row in rows if row["state"] == "ready_on" for tag, _ in row["tags"]]
    assert told == sorted(days, key=days.__getitem__)


def test_a_row_of_many_tags_goes_on_in_a_row_that_says_so_again(plan):
    """Rows are not broken over pages, so that none may be taller than one."""
    (reason,) = next(f.reasons for f in plan.females if f.state is State.EXPECT_LESS)
    females = tuple(
        replace(f, state=State.EXPECT_LESS, reasons=(reason,), ready_on=None) for f in plan.females
    )
    rows = rows_of(replace(plan, females=females, problems=()))
    assert [(row["n"], len(row["tags"])) for row in rows] == [
        (172, 36), ("", 36), ("", 36), ("", 36), ("", 28),
    ]  # fmt: skip
    assert all(row["words"] == rows[0]["words"] for row in rows)
    assert [row["reasons"].endswith("(continued)") for row in rows] == [False] + [True] * 4
    assert len({tag for row in rows for tag, _ in row["tags"]}) == 172


def test_a_female_without_rfid_has_a_blank_not_her_class_as_second_mark(plan):
    marks = {tag: second for row in rows_of(plan) for tag, second in row["tags"]}
    without = {f.tag for f in plan.females if f.rfid is None}
    assert {second for tag, second in marks.items() if tag in without} == {""}
    assert all(second.startswith("…") for tag, second in marks.items() if tag not in without)


def test_a_column_of_money_names_the_currency_in_its_head_and_holds_numbers(plan):
    priced = replace(plan, currency="USD")
    shopping, (cows, _) = shopping_page(priced), choices_page(priced)
    assert (shopping["cost_head"], cows["cost_head"]) == ("Cost, USD", "A female, USD")
    cells = [row["cost"] for part in shopping["sections"] for row in part["rows"] if row["cost"]]
    cells += [row["cost"] for row in cows["fits"]]
    assert all(cell.replace(",", "").replace(".", "").isdigit() for cell in cells)


def test_what_has_one_day_is_told_with_one_day(plan):
    (item,) = [item for item in plan.run_up if item.key == "condition"]
    one = replace(item, from_on=item.to_on)
    told = [x["when"] for x in run_up_page(replace(plan, run_up=(item, one)))]
    assert sorted(map(len, told)) == [1, 2]
    assert told[0][-1] == told[1][-1] == "Mon 1 Mar 2027"
