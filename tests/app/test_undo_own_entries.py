"""Undo takes back what was typed last on this computer, whatever clocks say."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from running_season import local, running, step

from sunup.app.record import record_visit
from sunup.app.season import find_female
from sunup.app.undo import (
    NothingToUndoError,
    UnknownEventError,
    WhichOfEntryError,
    events_of,
    find_event,
    last_entries,
    undo,
)
from sunup.app.when import tell_behind


@pytest.fixture
def ranch():
    """Four cows on the day of their first treatment."""
    ranch, plan = running(4)
    ranch.now = step(plan, "cows", "gnrh_1").at_utc
    return ranch


def treat(ranch, tags, *, by="Ana", device=None):
    desk = ranch.desk(by=by)
    if device is not None:
        desk = replace(desk, writer=replace(desk.writer, device=device))
    return record_visit(desk, "cows", "gnrh_1", tags, at=ranch.now)


def treated(ranch):
    return {f.tag for f in ranch.desk().season.females.values() if f.acts}


def test_what_came_in_from_another_device_is_not_taken_back(ranch):
    treat(ranch, ["2001"])
    ranch.now += timedelta(minutes=5)
    treat(ranch, ["2002"], by="Ben", device="Ben's phone")
    undo(ranch.desk())
    assert treated(ranch) == {"2002"}
    with pytest.raises(NothingToUndoError, match="on this computer"):
        undo(ranch.desk())
    assert treated(ranch) == {"2002"}


def test_a_number_takes_back_what_another_device_entered_too(ranch):
    entry = treat(ranch, ["2002"], by="Ben", device="Ben's phone")
    undo(ranch.desk(), event=entry.events[0].id)
    assert len(ranch.desk().season.by_tag()["2002"][0].acts) == 1


def test_with_a_name_only_what_that_person_entered_is_taken_back(ranch):
    treat(ranch, ["2001"], by="Ana")
    treat(ranch, ["2002"], by="Ben")
    undo(ranch.desk(), by="Ana")
    assert treated(ranch) == {"2002"}
    with pytest.raises(NothingToUndoError, match="of Ana"):
        undo(ranch.desk(), by="Ana")


def test_with_the_clock_put_back_the_entry_typed_last_is_taken_back(ranch):
    treat(ranch, ["2001", "2002", "2003"])
    ranch.now = local("2020-01-01T08:00")
    desk = ranch.desk(at=local("2027-06-01T12:00"))
    record_visit(desk, "cows", "gnrh_1", ["2004"], at=ranch.now)
    assert [len(entry) for entry in last_entries(ranch.desk(at=desk.season.at))] == [2, 6]
    undo(ranch.desk(at=desk.season.at))
    ranch.now = desk.season.at
    assert treated(ranch) == {"2001", "2002", "2003"}


def test_a_clock_behind_what_is_on_file_is_said():
    now, newest = local("2020-01-01T08:00"), local("2027-05-15T14:50")
    (told,) = tell_behind(now, newest, zone="America/Denver", within_h=1.0)
    assert "Wed 1 Jan 2020 08:00" in told.what
    assert "Sat 15 May 2027 14:50" in told.what
    assert tell_behind(newest, newest + timedelta(minutes=30), zone="UTC", within_h=1.0) == ()
    assert tell_behind(newest, None, zone="UTC", within_h=1.0) == ()


def test_one_line_of_a_batch_is_named_by_her_tag(ranch):
    entry = treat(ranch, ["2001", "2002", "2003"])
    desk = ranch.desk()
    with pytest.raises(WhichOfEntryError, match="--tag TAG"):
        find_event(desk, "last")
    her = find_female(desk, "2002").id
    hers = events_of(desk, her, 20)
    assert [len(told) for told in hers] == [1] * len(hers)
    of_visit = {e.id for line in entry.lines if line.tag == "2002" for e in line.events}
    assert {told[0].id for told in hers[:2]} == of_visit
    with pytest.raises(WhichOfEntryError) as error:
        find_event(desk, "last", female=her)
    assert all(number[:8] in str(error.value) for number in of_visit)
    number = hers[0][0].id
    assert find_event(desk, number, female=her).id == number
    with pytest.raises(UnknownEventError):
        find_event(desk, number, female=find_female(desk, "2001").id)
