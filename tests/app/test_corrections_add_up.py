"""A second correction adds to the first; values are held to what may be entered."""

from __future__ import annotations

from datetime import timedelta

import pytest
from running_season import local, running

from sunup.app.record_facts import record_fact
from sunup.app.season import find_female
from sunup.app.undo import find_event, put_right, read_changes, undo
from sunup.base.problems import UsageError
from sunup.cli.entries_view import print_corrected
from sunup.records.event import Kind


@pytest.fixture
def calved():
    """A cow calved; the entry's id."""
    ranch, _ = running(2)
    at = local("2027-05-01T05:00")
    entry = record_fact(ranch.desk(), ["2001"], Kind.CALVED, {"ease": 1}, at=at, words="calved")
    ranch.now += timedelta(hours=1)
    return ranch, entry.events[0].id


def later(ranch, event, **how):
    ranch.now += timedelta(minutes=5)
    return put_right(ranch.desk(), event, **how)


def test_each_correction_starts_from_the_entry_as_it_stands(calved):
    ranch, event = calved
    right = local("2027-05-03T05:00")
    later(ranch, event, at=right)
    later(ranch, event, changes={"ease": 3})
    stands = find_event(ranch.desk(), event)
    assert (stands.occurred_at, stands.body["ease"]) == (right, 3)
    later(ranch, event, female=find_female(ranch.desk(), "2002").id)
    stands = find_event(ranch.desk(), event)
    assert (stands.occurred_at, stands.body["ease"]) == (right, 3)
    assert stands.female == find_female(ranch.desk(), "2002").id
    later(ranch, event, changes={"note": "twins"})
    stands = find_event(ranch.desk(), event)
    assert stands.female == find_female(ranch.desk(), "2002").id
    assert (stands.occurred_at, stands.body["ease"], stands.body["note"]) == (right, 3, "twins")


def test_a_correction_taken_back_is_not_carried_on(calved):
    ranch, event = calved
    first = later(ranch, event, at=local("2027-05-03T05:00"))
    ranch.now += timedelta(minutes=5)
    body = {"taken_back": True}
    taken = ranch.desk().writer.write(
        Kind.CORRECTED, body, female=first.entries[0].female, corrects=first.corrections[0].id
    )
    ranch.append([taken])
    later(ranch, event, changes={"ease": 3})
    stands = find_event(ranch.desk(), event)
    assert (stands.occurred_at, stands.body["ease"]) == (local("2027-05-01T05:00"), 3)


def test_after_many_corrections_undo_takes_the_entry_back(calved):
    ranch, event = calved
    later(ranch, event, at=local("2027-05-03T05:00"))
    later(ranch, event, changes={"ease": 3})
    ranch.now += timedelta(minutes=5)
    undo(ranch.desk(), event=event)
    assert not [e for e in ranch.desk().standing if e.id == event]


@pytest.mark.parametrize(
    ("pair", "said"),
    [
        (("ease", "9"), "ease=9: it is 1 to 5"),
        (("ease", "0"), "1 to 5"),
        (("ease", "two"), "a whole number"),
        (("calves", "female"), "record it anew"),
        (("score", "3"), "has no 'score'"),
    ],
)
def test_a_value_that_could_not_be_entered_cannot_be_set(calved, pair, said):
    ranch, event = calved
    with pytest.raises(UsageError, match=said):
        read_changes(ranch.desk(), event, [pair])


def test_the_answer_names_how_it_stands_now(calved, capsys):
    ranch, event = calved
    done = later(ranch, event, female=find_female(ranch.desk(), "2002").id)
    print_corrected(ranch.desk(), done)
    told = " ".join(capsys.readouterr().out.split())
    assert "Put right: calved of 2002, Sat 1 May 2027 05:00 (was: of 2001)." in told
