"""Tags in order, groups, breeds, months."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from herds import LIBRARY, cow, cows, season
from sunup.planning.groups import breed_names, indicus_share, natural_key, treatment_order
from sunup.planning.plan import FemaleLine, State
from sunup.planning.readiness import months_after


def line(tag, state=State.READY):
    return FemaleLine(tag, None, "cow", "cows", state, ())


@pytest.mark.parametrize(
    ("tags", "ordered"),
    [
        (["10", "9", "100"], ["9", "10", "100"]),
        (["A10", "A9", "B1"], ["A9", "A10", "B1"]),
        (["7B", "7A", "70A"], ["7A", "7B", "70A"]),
        (["red 2", "Red 10", "9"], ["9", "red 2", "Red 10"]),
        (["12-3", "12-20", "2-1"], ["2-1", "12-3", "12-20"]),
    ],
)
def test_tags_sort_as_people_count(tags, ordered):
    assert ordered == sorted(tags, key=natural_key)


@given(st.lists(st.text(min_size=1, max_size=6), min_size=1, max_size=12, unique=True))
def test_any_text_can_be_a_tag_and_the_order_never_depends_on_the_file(tags):
    """Superscript digits, letters of every script; 01 and 1 or A and a sort the same way twice."""
    forward = treatment_order([line(tag) for tag in tags])
    assert forward == treatment_order([line(tag) for tag in reversed(tags)])
    assert sorted(tags) == sorted(forward)


def test_a_former_order_is_kept_and_new_females_go_last():
    lines = [line(tag) for tag in ("5", "1", "9", "3")]
    assert treatment_order(lines, ("9", "5", "77")) == ("9", "5", "1", "3")


def test_only_treated_females_are_in_the_order():
    lines = [line("1"), line("2", State.HOLD), line("3", State.READY_ON)]
    assert treatment_order([*lines, line("4", State.EXPECT_LESS)]) == ("1", "4")


@pytest.mark.parametrize(
    ("day", "months", "then"),
    [
        (date(2026, 5, 25), 12, date(2027, 5, 25)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)),
        (date(2026, 11, 30), 3, date(2027, 2, 28)),
        (date(2026, 10, 31), 14, date(2027, 12, 31)),
        (date(2026, 8, 15), 0, date(2026, 8, 15)),
    ],
)
def test_months_end_on_the_same_day_or_the_last_of_the_month(day, months, then):
    assert then == months_after(day, months)


@pytest.mark.parametrize(
    ("shares", "indicus"),
    [
        ((("Angus", 1.0),), 0.0),
        ((("Brahman", 1.0),), 1.0),
        ((("Brahman", 0.25), ("Angus", 0.75)), 0.25),
        ((("Brahman", 0.5), ("no such breed", 0.5)), 1.0),  # of what is known
        ((("no such breed", 1.0),), None),
        ((), None),
    ],
)
def test_bos_indicus_share_counts_known_breeds_alone(shares, indicus):
    assert indicus == indicus_share(cow(breed_shares=shares), breed_names(LIBRARY))


@pytest.mark.parametrize("name", ["Barn, start 2", "Barn, start early", "a, start ", "²"])
def test_a_group_of_the_file_may_be_called_anything(name):
    plan = season(cows(4, group=name), protocols={name: "co_synch_insert7_cow"})
    (group,) = plan.groups
    assert (name, "co_synch_insert7_cow") == (group.name, group.chosen)
    assert group.ready == 4


def test_parts_of_a_split_group_start_a_day_apart_under_one_protocol():
    plan = season(cows(40), splits={"cows": 2}, protocols={"cows": "co_synch_insert7_cow"})
    first, second = plan.groups
    starts = [min(s.at_utc for s in g.schedule) for g in (first, second)]
    assert (starts[1] - starts[0]).days == 1
    assert first.chosen == second.chosen == "co_synch_insert7_cow"
    assert {20} == {first.n, second.n}
