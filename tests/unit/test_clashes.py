"""Weekends, holidays, vaccination, hauling and diet around the first insemination.

The days are those of the figures in ``practice.toml`` (vaccination 30 days: from memory; hauling
days 5-42 and 45-60: read; see the figures for the marks).
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from herds import AI_ON, clashes_of, cows, heifers, season
from sunup.planning.request import Event

TIMED = {"cows": "co_synch_insert7_cow"}


def with_event(kind, days, group=None):
    """A plan with an event so many days after the first insemination (before it: negative)."""
    event = Event(kind, AI_ON + timedelta(days=days), group)
    return season(cows(10), protocols=TIMED, events=(event,))


@pytest.mark.parametrize(
    ("days", "is_clash"), [(-60, False), (-31, False), (-30, False), (-29, True), (0, True)]
)
def test_vaccination_is_a_clash_inside_30_days_before_ai(days, is_clash):
    assert is_clash == bool(clashes_of(with_event("vaccination", days), "vaccination"))


@pytest.mark.parametrize(
    ("days", "is_clash"),
    [
        (-10, False),
        (0, False),
        (1, False),
        (4, False),
        (5, True),
        (42, True),
        (43, False),
        (44, False),
        (45, True),
        (60, True),
        (61, False),
    ],
)
def test_hauling_is_a_clash_on_days_5_to_42_and_45_to_60(days, is_clash):
    assert is_clash == bool(clashes_of(with_event("haul", days), "haul_or_diet"))


def test_hauling_words_tell_the_worse_days_from_the_others():
    (worse,) = clashes_of(with_event("haul", 20), "haul_or_diet")
    (later,) = clashes_of(with_event("haul", 50), "haul_or_diet")
    assert "costs pregnancies" in worse.text
    assert "still costs some" in later.text
    assert "days 45 to 60" in later.text


def first_treatment_lead():
    (group,) = season(cows(10), protocols=TIMED).groups
    return (AI_ON - min(s.at_utc for s in group.schedule).date()).days


@pytest.mark.parametrize(("after_first_treatment", "is_clash"), [(-1, False), (0, True), (1, True)])
def test_a_change_of_diet_is_a_clash_from_the_first_treatment_on(after_first_treatment, is_clash):
    days = after_first_treatment - first_treatment_lead()
    assert is_clash == bool(clashes_of(with_event("diet", days), "haul_or_diet"))


@pytest.mark.parametrize(("days", "is_clash"), [(21, True), (22, False)])
def test_a_change_of_diet_is_a_clash_until_21_days_after_ai(days, is_clash):
    assert is_clash == bool(clashes_of(with_event("diet", days), "haul_or_diet"))


def test_an_event_of_one_group_touches_no_other():
    event = Event("haul", AI_ON + timedelta(days=20), "cows")
    plan = season([*cows(5), *heifers(5)], events=(event,))
    assert {c.group for c in clashes_of(plan, "haul_or_diet")} == {"cows"}


@pytest.mark.parametrize(
    ("ai_on", "weekend"), [(date(2027, 5, 29), True), (date(2027, 5, 30), True), (AI_ON, False)]
)
def test_inseminating_on_saturday_or_sunday_is_named(ai_on, weekend):
    plan = season(cows(5, ai_on=ai_on), first_ai_on=ai_on, protocols=TIMED)
    named = {c.on for c in clashes_of(plan, "weekend") if c.step == "ai"}
    assert weekend == (ai_on in named)


def test_a_holiday_is_named_by_its_name_and_nothing_is_moved():
    plain = season(cows(5), protocols=TIMED)
    plan = season(cows(5), protocols=TIMED, holidays={AI_ON: "Founders' Day"})
    (clash,) = clashes_of(plan, "holiday")
    assert "Founders' Day" in clash.text
    assert plain.groups[0].schedule == plan.groups[0].schedule


def test_feeding_and_watching_on_a_weekend_are_no_clash():
    plan = season(heifers(5), protocols={"heifers": "mga_pg_heat"})
    steps = {c.step for c in clashes_of(plan, "weekend")}
    assert not steps & {"mga_start", "mga_end", "watch"}


def test_two_groups_at_one_chute_are_laid_one_after_the_other():
    herd = [*cows(40), *cows(40, group="more cows")]
    plan = season(herd, protocols=TIMED | {"more cows": "co_synch_insert7_cow"})
    first, second = (
        [(s.at_utc, s.ends_utc) for s in g.schedule if s.ends_utc > s.at_utc] for g in plan.groups
    )
    shared = [(a, b) for a in first for b in second if a[0] < b[1] and b[0] < a[1]]
    assert bool(shared) == bool(clashes_of(plan, "other_group"))
    assert not shared, "two groups of 40 fit one day"


def test_too_many_groups_for_one_day_are_named_as_a_clash():
    herd = [f for i in range(6) for f in cows(120, group=f"g{i}")]
    plan = season(herd, protocols={f"g{i}": "co_synch_insert7_cow" for i in range(6)})
    assert clashes_of(plan, "other_group")
