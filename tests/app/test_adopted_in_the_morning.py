"""A plan adopted in the morning of its list's day has its herd from then on, not from noon."""

from __future__ import annotations

from datetime import date, timedelta

from running_season import Ranch, local

from herds import cows, season
from sunup.app.season import adopt, find_female
from sunup.planning.season_now import members

MORNING = local("2027-04-19T09:00")


def adopted(at):
    ranch = Ranch(at)
    listed = cows(3)
    plan = season(listed, today=date(2027, 4, 19))
    adopt(ranch.desk(), plan, females=listed)
    return ranch


def test_the_herd_is_there_from_the_minute_of_adoption():
    ranch = adopted(MORNING)
    desk = ranch.desk(at=MORNING + timedelta(minutes=1))
    [group] = desk.season.in_force.plan.groups
    assert [f.tag for f in members(desk.season, group)] == ["2001", "2002", "2003"]
    assert find_female(desk, "2001").facts.condition == 6.0


def test_facts_of_an_older_list_stand_at_noon_of_its_day():
    ranch = adopted(local("2027-05-01T09:00"))
    first = next(e for e in ranch.events if e.kind == "FemaleAdded")
    assert first.occurred_at == local("2027-04-19T12:00")
