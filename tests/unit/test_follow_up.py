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
