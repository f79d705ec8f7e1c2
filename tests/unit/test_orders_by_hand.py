"""Amounts, order dates and their reminders in sums done by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from herds import LIBRARY, cows, heifers, season
from sunup.planning.plan import FemaleLine, RunUpItem, ShoppingLine, SireUse, State
from sunup.planning.supplies import GroupNeed, find_shopping
from sunup.reports.calendar_days import dated_events
from sunup.reports.words import second_identifier

DENVER = ZoneInfo("America/Denver")


def test_melengestrol_is_half_a_mg_a_head_a_day():
    """48 head x 0.5 mg x 14 d = 336 mg: 336 lb at 1 mg/lb, 1,344 lb at 0.25 (21 CFR 558.342)."""
    plan = season(heifers(48), protocols={"heifers": "mga_pg_ftai"})
    (feed,) = [line for line in plan.shopping if line.kind == "feed"]
    assert (feed.quantity, feed.unit) == (336.0, "mg")
    assert "336 lb of feed at 1 mg/lb to 1344 lb at 0.25 mg/lb" in feed.detail
    # PGF on day 32, AI 72 h later: first fed 35 days before 25 May, on 20 April; ordered 35 d ahead
    assert feed.order_by == date(2027, 3, 16)


def test_semen_is_ordered_90_days_before_the_ai():
    """25 May is the 145th day of 2027; 145 - 90 = 55, the 24th of February. 90 is our own lead."""
    plan = season(cows(100), protocols={"cows": "co_synch_insert7_cow"})
    (semen,) = [line for line in plan.shopping if line.kind == "semen"]
    assert semen.order_by == date(2027, 2, 24)
    assert semen.quantity == 110  # 10 in 100 spare, from memory


@pytest.mark.parametrize(("head", "sheaths"), [(100, 110), (101, 112)])
def test_a_tenth_more_of_a_round_number_is_no_piece_too_many(head, sheaths):
    """A tenth of 100 is 10, of 101 it is 10.1, which takes 11 pieces."""
    plan = season(cows(head), protocols={"cows": "co_synch_insert7_cow"})
    (line,) = [one for one in plan.shopping if one.item == "AI sheaths"]
    assert line.quantity == sheaths


def later(step, days):
    return replace(step, at_utc=step.at_utc + timedelta(days=days))


@pytest.fixture(scope="module")
def two_groups():
    """48 cows, and 48 as "late" a week behind; the later are named first, to be no help."""
    plan = season(cows(48), protocols={"cows": "split_insert7_cow_66_90"})
    (group,) = plan.groups
    steps = [s for s in group.schedule if s.do in {"insert_in", "heat_aid_on"}]
    assert [s.do for s in steps] == ["insert_in", "heat_aid_on"]

    def need(name, days):
        return GroupNeed(
            name,
            48,
            LIBRARY.protocols["split_insert7_cow_66_90"],
            [replace(later(s, days), group=name) for s in steps],
            [SireUse(name, "B1", "conventional", 1.0, 48, 5)],
            date(2027, 5, 15) + timedelta(days=days),
            date(2027, 5, 25) + timedelta(days=days),
        )

    needs = [need("late", 7), need("early", 0)]
    lines = find_shopping(needs, library=LIBRARY, drugs={}, zone=DENVER)
    on = {s.do: s.at_utc.astimezone(DENVER).date() for s in steps}
    return {line.item: line for line in lines}, on


def test_what_two_groups_share_is_ordered_for_the_first(two_groups):
    """Drugs and supplies 35 days ahead, services 90, nitrogen by its 7 days: our own leads."""
    lines, on = two_groups
    ahead = timedelta(days=35)
    assert lines["progesterone inserts"].order_by == on["insert_in"] - ahead
    assert lines["heat aids (patch or paint)"].order_by == on["heat_aid_on"] - ahead
    assert lines["AI sheaths"].order_by == date(2027, 4, 20)  # 145 - 35 = 110
    assert lines["technician"].order_by == date(2027, 2, 24)
    assert lines["liquid nitrogen"].order_by == date(2027, 5, 18)


def test_what_each_group_has_for_itself_is_ordered_for_each(two_groups):
    lines, _ = two_groups
    semen = {item: line.order_by for item, line in lines.items() if line.kind == "semen"}
    assert semen == {
        "semen, B1 (conventional), early": date(2027, 2, 24),
        "semen, B1 (conventional), late": date(2027, 3, 3),
    }


def test_sheaths_and_inserts_have_their_spare(two_groups):
    """96 females: 9.6 more sheaths make 106, 1.92 more inserts 98 (shares from memory)."""
    lines, _ = two_groups
    assert lines["AI sheaths"].quantity == 106
    assert lines["progesterone inserts"].quantity == 98


@pytest.fixture(scope="module")
def bare():
    """A plan made at noon on 1 February 2027 that holds nothing with a day yet."""
    plan = season(cows(3), protocols={"cows": "co_synch_insert7_cow"})
    return replace(plan, made_at_utc=datetime(2027, 2, 1, 19, tzinfo=UTC), run_up=(), shopping=())


def alarm_of(event):
    (alarm,) = event.walk("VALARM")
    return datetime.combine(event["DTSTART"].dt, datetime.min.time()) + alarm["TRIGGER"].dt


def test_orders_of_a_kind_stand_on_their_first_day_with_a_reminder_a_week_before(bare):
    """By 10 and by 3 May: on 3 May, told on 26 April at 08:00."""
    lines = tuple(
        ShoppingLine(item, 10, "doses", "", order_by, None, False, "drug")
        for item, order_by in (("later drug", date(2027, 5, 10)), ("drug", date(2027, 5, 3)))
    )
    (event,) = dated_events(replace(bare, shopping=lines))
    assert event["DTSTART"].dt == date(2027, 5, 3)
    assert alarm_of(event) == datetime(2027, 4, 26, 8)


@pytest.mark.parametrize(
    ("from_on", "told_on"),
    [(date(2027, 1, 1), date(2027, 2, 1)), (date(2027, 2, 10), date(2027, 2, 10))],
)
def test_what_has_begun_is_told_on_the_day_of_the_plan_and_not_before(bare, from_on, told_on):
    item = RunUpItem("k", from_on, date(2027, 3, 1), "Do it.", "Why.", (), False, False)
    (event,) = dated_events(replace(bare, run_up=(item,)))
    assert event["DTSTART"].dt == date(2027, 3, 1)
    assert alarm_of(event) == datetime(told_on.year, told_on.month, told_on.day, 8)


def test_the_second_mark_is_the_end_of_the_rfid_for_its_first_digits_are_the_country():
    """ISO 11784: the first three digits are the country, the same for all of a herd."""
    her = FemaleLine("1", "840003123456789", "cow", "cows", State.READY, ())
    assert second_identifier(her) == "…6789"
