"""What is to be done before the season: dates, whom for, late ones, daily gain."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from herds import AI_ON, LIBRARY, cows, heifer, heifers, season
from sunup.planning.run_up import find_run_up, needed_gain_kg


def items(classes, today=date(2026, 11, 25), *, feeds=False):
    return find_run_up(AI_ON, library=LIBRARY, classes=classes, feeds=feeds, today=today)


def test_half_a_year_before_25_may_2027_is_late_november_2026():
    """180 days back from 25 May 2027, counted on a calendar: 26 November 2026."""
    first = items(["cow"])[0]
    assert first.from_on == date(2026, 11, 26)
    assert first.to_on == date(2026, 12, 26)


def test_items_stand_in_order_of_their_dates():
    for found in (items(["cow"]), items(["heifer", "cow"])):
        assert list(found) == sorted(found, key=lambda i: (i.from_on, i.to_on))


def test_heifers_and_cows_get_their_own_items_and_the_common_ones():
    cow_keys, heifer_keys = ({i.key for i in items([c])} for c in ("cow", "heifer"))
    assert "weigh_heifers" in heifer_keys - cow_keys
    assert "set_the_season" in cow_keys & heifer_keys
    assert cow_keys | heifer_keys == {i.key for i in items(["cow", "heifer"])}
    assert cow_keys - heifer_keys


def test_an_item_past_its_day_is_marked_late_and_never_dropped():
    early, late = items(["cow"]), items(["cow"], today=AI_ON - timedelta(days=30))
    assert [i.key for i in early] == [i.key for i in late]
    assert not any(i.overdue for i in early)
    assert [i.overdue for i in late] == [i.to_on < AI_ON - timedelta(days=30) for i in late]
    assert any(i.overdue for i in late)


def test_every_item_says_why_and_has_a_source():
    for item in items(["heifer", "first_calf_cow", "cow"]):
        assert item.why
        assert item.source


@pytest.mark.parametrize(
    ("weight", "mature", "share", "days", "gain"),
    [
        (300, 600, 0.65, 90, 1.0),  # (390 - 300) / 90
        (390, 600, 0.65, 90, 0.0),
        (400, 600, 0.65, 90, 0.0),
        (330, 600, 0.60, 60, 0.5),
    ],
)
def test_daily_gain_is_what_is_missing_over_the_days_left(weight, mature, share, days, gain):
    assert gain == pytest.approx(needed_gain_kg(weight, mature_kg=mature, share=share, days=days))


def test_no_day_left_needs_an_endless_gain():
    assert needed_gain_kg(300, mature_kg=600, share=0.65, days=0) == float("inf")


def test_light_heifers_get_a_line_with_their_gain_in_the_units_of_the_region():
    """65 % of 600 kg is 390; from 300 kg in 181 days that is 0.5 kg or 1.1 lb a day."""
    herd = [*heifers(4), heifer("9", weight_kg=300.0)]
    for region, shown in (("US", "1.1 lb a day"), ("UK", "0.5 kg a day")):
        plan = season(herd, region=region)
        (gain,) = [i for i in plan.run_up if i.key == "heifer_gain_needed"]
        assert "1 of 5 weighed heifers" in gain.text
        assert shown in gain.text


def test_cows_and_heavy_heifers_get_no_such_line():
    plan = season([*cows(3), *heifers(3, weight_kg=400.0)])
    assert not [i for i in plan.run_up if i.key == "heifer_gain_needed"]


def gain_of(plan):
    (item,) = [i for i in plan.run_up if i.key == "heifer_gain_needed"]
    return item.text


def test_a_gain_no_heifer_makes_is_not_asked_for():
    """By hand, 30 days: 65 % of 600 kg is 390; from 375 kg 0.5 kg a day, from 330 kg 2 kg a day."""
    on = AI_ON - timedelta(days=30)
    herd = [*heifers(4), heifer("8", weight_kg=375.0), heifer("9", weight_kg=330.0)]
    text = gain_of(season(herd, region="UK", today=on, first_ai_on=AI_ON))
    assert "2 of 6 weighed heifers" in text
    assert "1 can get there with up to 0.5 kg a day" in text
    assert "1 would need more than 1.4 kg a day and will not get there" in text


def test_a_heifer_on_hold_is_not_fed_for_this_season():
    """250 of 600 kg is 42 %: too small to breed, whatever she gains."""
    herd = [*heifers(4), heifer("8", weight_kg=360.0), heifer("9", weight_kg=250.0)]
    assert "1 of 5 weighed heifers" in gain_of(season(herd, region="UK"))


def test_melengestrol_is_ordered_only_where_it_is_fed():
    keys = {
        key: {i.key for i in season(heifers(20), protocols={"heifers": key}).run_up}
        for key in ("mga_pg_ftai", "co_synch_insert7_heifer")
    }
    assert "order_feed" in keys["mga_pg_ftai"]
    assert "order_feed" not in keys["co_synch_insert7_heifer"]
