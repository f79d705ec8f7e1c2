"""A step that closed while a female was not there is not missed by anybody."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from sunup.planning.females_now import Noted
from sunup.planning.review_away import find_stays
from sunup.records.event import Kind

DAY0 = datetime(2027, 5, 15, 20, tzinfo=UTC)


def at(days):
    return DAY0 + timedelta(days=days)


def moved(days, to):
    return Noted(Kind.MOVED, at(days), {"to": to})


def left(days):
    return Noted(Kind.LEFT_HERD, at(days), {"why": "sold"})


def test_a_planned_female_was_there_before_she_was_put_into_the_group():
    stays = find_stays([moved(-400, "heifers"), moved(1, "cows")], {"cows"}, is_planned=True)
    assert stays.holds(at(0))
    assert stays.holds(at(100))


def test_one_who_died_was_there_until_then_and_gone_after():
    stays = find_stays([moved(-20, "cows"), left(4)], {"cows"}, is_planned=True)
    assert stays.holds(at(3))
    assert not stays.holds(at(4))
    assert stays.gone_by(at(7))
    assert stays.went == "left the herd"


def test_one_who_joined_later_was_not_there_before():
    stays = find_stays([moved(5, "cows")], {"cows"}, is_planned=False)
    assert not stays.holds(at(4))
    assert not stays.gone_by(at(4))
    assert stays.holds(at(5))


def test_one_who_left_and_came_back_was_away_between():
    notes = [moved(-20, "cows"), left(1), moved(7, "cows")]
    stays = find_stays(notes, {"cows"}, is_planned=True)
    assert [stays.holds(at(d)) for d in (0, 3, 8)] == [True, False, True]


def test_one_who_went_over_to_another_group_was_there_until_then():
    stays = find_stays([moved(-20, "cows"), moved(1, "heifers")], {"cows"}, is_planned=True)
    assert [stays.holds(at(d)) for d in (0, 2)] == [True, False]
    assert stays.went == "in another group"
