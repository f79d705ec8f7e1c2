"""Bulls in, bulls out and the one scan, dated from the inseminations of the plan.

Days: bulls 10 to 14 after the last insemination (Kentucky 2011, part read), one scan 55 to 90 days
after AI (trade press, part read), a season of 63 days for cows and 42 to 45 for heifers (trade
press, part read).
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from zoneinfo import ZoneInfo

import pytest

from herds import AI_ON, LIBRARY, cows, heifers, season
from sunup.app.forecast_timing import first_session_h, planned_timing
from sunup.forecast.figures import ForecastFigures
from sunup.forecast.orders import SeasonRule, make_orders
from sunup.planning.follow_up import find_follow_up
from sunup.planning.readiness import State

TIMED = {"cows": "co_synch_insert7_cow", "heifers": "co_synch_insert7_heifer"}
AFTER = ("bulls_in", "bulls_out", "scan")


def after(plan, group):
    return {i.key: i for i in plan.run_up if i.group == group and i.key in AFTER}


def days_after(day, item):
    return (item.from_on - day).days, (item.to_on - day).days


def test_after_a_timed_ai_all_count_from_that_day():
    plan = season([*cows(10), *heifers(10)], protocols=TIMED)
    cow, heifer = after(plan, "cows"), after(plan, "heifers")
    assert {key: days_after(AI_ON, item) for key, item in cow.items()} == {
        "bulls_in": (10, 14), "bulls_out": (63, 63), "scan": (55, 90),
    }  # fmt: skip
    assert days_after(AI_ON, heifer["bulls_out"]) == (42, 45)


def test_after_a_watch_bulls_wait_for_the_last_insemination():
    """Watched from Sunday, the first session on Monday, the rest by time on Wednesday 26 May."""
    items = after(season(cows(10), protocols={"cows": "select_synch_insert_tai_cow"}), "cows")
    assert items["bulls_in"].from_on == date(2027, 5, 26) + timedelta(10)
    assert items["bulls_out"].from_on == date(2027, 5, 24) + timedelta(63)


@pytest.mark.parametrize("key", ["co_synch_insert7_cow", "select_synch_insert_tai_cow"])
def test_the_days_of_the_forecasts_bulls_lie_within_those_suggested(key):
    plan = season(cows(10), protocols={"cows": key})
    items = after(plan, "cows")
    figures = ForecastFigures.from_library(LIBRARY)
    rule = SeasonRule(
        bulls_after_days=figures.bulls_after_days, season_days=figures.season_days_cows
    )
    (group,) = plan.groups
    protocol = LIBRARY.protocols[key]
    timing, _, first_on = planned_timing(group, protocol, zone_name=plan.zone)
    rule = replace(rule, first_session_h=first_session_h(group, protocol))
    orders = make_orders(protocol, figures=figures, season=rule, timing=timing)
    zero = min(s.at_utc for s in group.schedule)
    first = zero + timedelta(hours=orders.first_service_h)
    assert first.astimezone(ZoneInfo(plan.zone)).date() == first_on
    into = (zero + timedelta(hours=orders.bulls_in_h)).date()
    out = (zero + timedelta(hours=orders.bulls_out_h)).date()
    assert items["bulls_in"].from_on <= into <= items["bulls_in"].to_on
    assert abs((items["bulls_out"].from_on - out).days) <= 1
    assert (items["bulls_out"].from_on - first_on).days == figures.season_days_cows


def test_each_is_told_as_a_suggestion_that_others_decide():
    items = after(season(cows(10), protocols={"cows": TIMED["cows"]}), "cows")
    assert all("you and your veterinarian decide" in item.text for item in items.values())
    assert all(item.source for item in items.values())


def test_bulls_that_the_protocol_turns_in_are_not_suggested_again():
    plan = season(cows(10), protocols={"cows": "ns_insert7"})
    assert not after(plan, "cows")


def follow(group, females=(), *, today=date(2027, 1, 1)):
    """The items of a group, by key."""
    zone = ZoneInfo("America/Denver")
    found = find_follow_up(group, females, library=LIBRARY, zone=zone, today=today)
    return {item.key: item for item in found}


@pytest.fixture(scope="module")
def timed():
    plan = season([*cows(4), *heifers(4)], protocols=TIMED)
    return {group.name: group for group in plan.groups}, plan.females


def with_more(group, days, **facts):
    """The group with a second insemination some days after its own."""
    (ai,) = [s for s in group.schedule if s.do == "ai"]
    later = ai.at_utc + timedelta(days=days)
    return replace(group, schedule=(*group.schedule, replace(ai, at_utc=later, **facts)))


def test_bulls_wait_for_the_last_of_several_inseminations_and_the_season_for_none(timed):
    items = follow(with_more(timed[0]["cows"], 20))
    assert days_after(AI_ON, items["bulls_in"]) == (30, 34)
    assert days_after(AI_ON, items["bulls_out"]) == (63, 63)
    # from 55 days after the last to 90 after the first, where that leaves any
    assert days_after(AI_ON, items["scan"]) == (75, 90)
    assert days_after(AI_ON, follow(with_more(timed[0]["cows"], 40))["scan"]) == (95, 95)


def test_what_is_called_off_dates_nothing(timed):
    group = with_more(timed[0]["cows"], 20, cancelled=True)
    assert follow(group) == follow(timed[0]["cows"])
    none = replace(group, schedule=tuple(replace(step, cancelled=True) for step in group.schedule))
    assert follow(none) == {}


def test_no_bulls_are_suggested_where_the_season_would_be_over_before_they_go_in(timed):
    # 10 days after the last insemination, a season of 63 days from the first
    assert set(follow(with_more(timed[0]["cows"], 52))) == set(AFTER)
    assert set(follow(with_more(timed[0]["cows"], 53))) == {"scan"}


def test_bulls_that_a_protocol_with_ai_turns_in_are_left_to_it(timed):
    group = timed[0]["cows"]
    (ai,) = [s for s in group.schedule if s.do == "ai"]
    bulls = replace(ai, do="bulls_in", at_utc=ai.at_utc + timedelta(days=14))
    assert set(follow(replace(group, schedule=(*group.schedule, bulls)))) == {"scan"}


def test_most_of_those_treated_decide_whose_season_it_is(timed):
    groups, lines = timed
    cow = next(f for f in lines if f.class_ == "cow" and f.is_treated)
    heifer = next(f for f in lines if f.class_ == "heifer" and f.is_treated)
    held = replace(heifer, state=State.HOLD)

    def season_days(*females):
        return days_after(AI_ON, follow(groups["cows"], females)["bulls_out"])

    assert season_days(cow, heifer, heifer) == (42, 45)
    assert season_days(cow, heifer) == (63, 63)
    assert season_days(cow, held, held) == (63, 63)


def test_days_are_told_as_a_range_only_where_they_are_one(timed):
    groups, lines = timed
    cow, heifer = (
        follow(groups[name], [f for f in lines if f.group == name]) for name in ("cows", "heifers")
    )
    assert "in, 10 to 14 days after the last insemination" in cow["bulls_in"].text
    assert "out, 63 days after the first service" in cow["bulls_out"].text
    assert "out, 42 to 45 days after the first service" in heifer["bulls_out"].text
    assert cow["bulls_in"].why.endswith("a forecast reckons with day 12.")
    assert not any(item.from_memory for item in cow.values())


def test_it_is_overdue_from_the_day_after_its_last(timed):
    last = AI_ON + timedelta(days=14)
    for today, overdue in ((last, False), (last + timedelta(days=1), True)):
        assert follow(timed[0]["cows"], today=today)["bulls_in"].overdue is overdue
