"""The rule in force takes the plan's hours, the protocol's watches, the ranch's session."""

from __future__ import annotations

from dataclasses import replace
from datetime import time, timedelta

import pytest
from running_season import local, running

from herds import LIBRARY, cows
from sunup.app.heats import find_ai_lines, record_heats
from sunup.app.record import Details, record_ai
from sunup.app.scan import find_book
from sunup.app.settings import set_once_a_day, set_sire_breed, set_words
from sunup.base.problems import UsageError
from sunup.planning.insemination_list import rule_in_force
from sunup.planning.request import Sire
from sunup.protocols.protocol import Do, Inseminate

SELECT = "select_synch_insert_tai_cow"


def watched(**wishes):
    return running(4, protocols={"cows": SELECT}, **wishes)


def rule(ranch, **said):
    desk = ranch.desk()
    return rule_in_force(desk.season, desk.season.group("cows"), per_day=3, **said)


def test_sessions_lie_inside_the_working_hours_of_the_plan():
    ranch, _ = watched(open_at=time(7, 30), close_at=time(17))
    told = rule(ranch)
    assert told.how is Inseminate.AM_PM
    assert (told.morning, told.evening, told.once) == (time(7, 30), time(17), time(11))


def test_a_morning_heat_is_inseminated_before_the_crew_goes_home():
    ranch, _ = watched(open_at=time(7, 30), close_at=time(17))
    ranch.now = local("2027-05-24T06:40:00")
    (line,) = record_heats(ranch.desk(), ["2001"], sign="standing", at=ranch.now).lines
    assert line.time.at == local("2027-05-24T17:00:00")


def test_the_ranch_sets_the_hour_of_its_once_a_day_session():
    ranch, _ = watched()
    set_once_a_day(ranch.desk(), "09:30", at=ranch.now)
    ranch.now += timedelta(minutes=1)
    assert rule(ranch).once == time(9, 30)
    with pytest.raises(UsageError, match="10:30"):
        set_words(ranch.desk(), "once_a_day", ["noonish"], at=ranch.now)


@pytest.mark.parametrize(("times", "gap"), [(1, 24.0), (2, 12.0), (3, 12.0), (None, 12.0)])
def test_watched_once_a_day_her_heat_may_have_begun_a_day_before(times, gap):
    ranch, _ = watched()
    protocol = LIBRARY.protocols[SELECT]
    steps = tuple(
        replace(s, times_per_day=times) if s.do is Do.WATCH else s for s in protocol.steps
    )
    assert rule(ranch, protocol=replace(protocol, steps=steps)).usual_gap_h == gap


def test_sexed_semen_is_said_the_same_on_the_plan_and_on_the_list():
    """18 to 24 h after onset: Kansas 2023 (part read), the figure of the library."""
    ranch, plan = watched(options={"cows": ("sexed_semen",)}, sires=(Sire("cows", "S1", "sexed"),))
    notes = " ".join(s.note or "" for g in plan.groups for s in g.schedule)
    assert "18 to 24 h after her heat began" in notes
    ranch.now = local("2027-05-23T18:00:00")
    record_heats(ranch.desk(), ["2001"], sign="standing", at=ranch.now)
    ranch.now += timedelta(hours=1)
    (line,) = find_ai_lines(ranch.desk())
    assert "18 to 24 h after her heat began" in line.text


def test_a_sires_breed_moves_the_due_date_of_his_calves():
    """Gestation by breed: Angus about 281, Brahman about 292 days (gestation.toml's sources)."""
    due = {}
    for breed in ("angus", "brahman"):
        ranch, _ = running(females=cows(2))
        set_sire_breed(ranch.desk(), "7an-1", breed, at=ranch.now)
        ranch.now += timedelta(days=9)
        record_ai(ranch.desk(), ["2001"], at=ranch.now, details=Details(sire="7AN1"))
        ranch.now += timedelta(days=60)
        due[breed] = find_book(ranch.desk())[0].pregnancy.due
    days = (due["brahman"].likely_on - due["angus"].likely_on).days
    assert 9 <= days <= 12, "her own breed is not on file: the calf counts as the sire's"
    with pytest.raises(UsageError, match="no breed"):
        set_sire_breed(running(1)[0].desk(), "A31", "anguish", at=ranch.now)
