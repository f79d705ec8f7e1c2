"""What a ledger takes, what it hands back, and that nothing in it can be changed."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ledger_events import RANCH, START, event, made_id, season

from sunup.app.open import open_ledger
from sunup.records.event import Kind
from sunup.store.engine import writing
from sunup.store.faults import RefusedError
from sunup.store.ledger import OtherRanchError, SeveralRanchesError

WEIGHED = event(Kind.WEIGHED, female="f1", body={"weight_kg": 512.5})


# what comes back -----------------------------------------------------------------------------

JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**70), 2**70)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)


@given(
    body=st.dictionaries(st.text(), JSON, max_size=5),
    occurred_at=st.datetimes(timezones=st.sampled_from([UTC, timezone(timedelta(hours=-7))])),
    # a clock that is minus nothing off is right: SQLite keeps no sign of a zero
    offset=st.none() | st.floats(allow_nan=False, allow_infinity=False).map(lambda x: x + 0.0),
)
@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_an_event_comes_back_as_it_was_recorded(ledger, body, occurred_at, offset):
    if not datetime(2, 1, 1) < occurred_at.replace(tzinfo=None) < datetime(9999, 1, 1):
        return  # cannot be brought to UTC by the calendar of Python
    given_event = event(Kind.WEIGHED, at=START, body=body, clock_offset_s=offset)
    given_event = replace(given_event, occurred_at=occurred_at)
    assert ledger.append([given_event]).new == 1
    back = ledger.find_event(given_event.id)
    assert back == given_event
    # == takes True for 1 and 1.0 for 1: the text does not
    assert json.dumps(back.body) == json.dumps(given_event.body)
    assert repr(back.clock_offset_s) == repr(given_event.clock_offset_s)


def test_events_come_back_in_the_order_they_were_taken(ledger):
    events = season(5)
    ledger.append(events[10:])
    ledger.append(events[:10])
    assert ledger.events() == (*events[10:], *events[:10])
    assert ledger.count() == len(events)


def test_what_no_database_can_keep_is_handed_back_and_the_rest_is_taken(ledger):
    bad = [
        replace(WEIGHED, id=made_id("nul"), entered_by="a\0b"),
        replace(WEIGHED, id=made_id("half"), device="\ud83d"),
        replace(WEIGHED, id=made_id("inf"), body={"weight_kg": float("inf")}),
        replace(WEIGHED, id=made_id("offset"), clock_offset_s=float("nan")),
    ]
    result = ledger.append([*bad, WEIGHED])
    assert result.new == 1
    assert [r.event.id for r in result.refused] == [e.id for e in bad]
    assert ledger.events() == (WEIGHED,)


# the same again ------------------------------------------------------------------------------


def test_the_same_event_again_is_passed_over_without_a_word(ledger):
    assert ledger.append([WEIGHED, WEIGHED]).known == 1
    again = ledger.append([WEIGHED])
    assert (again.new, again.known, again.refused) == (0, 1, ())
    assert ledger.events() == (WEIGHED,)


def test_order_of_names_and_how_a_number_is_written_make_no_other_event(ledger):
    first = event(Kind.TREATED, female="f1", body={"act": "pgf", "dose_ml": 5.0})
    ledger.append([first])
    other = replace(first, body={"dose_ml": 5, "act": "pgf"})
    assert ledger.append([other]).known == 1


@pytest.mark.parametrize(
    "change",
    [
        {"body": {"weight_kg": 512.4}},
        {"body": {"weight_kg": True}},
        {"female": "f2"},
        {"occurred_at": START + timedelta(microseconds=1)},
        {"entered_by": "somebody else"},
        {"corrects": "x"},
    ],
    ids=", ".join,
)
def test_another_event_under_the_same_id_is_handed_back_with_the_one_on_file(ledger, change):
    one = replace(WEIGHED, body={"weight_kg": 1}) if change.get("body") else WEIGHED
    ledger.append([one])
    other, good = replace(one, **change), event(Kind.HEAT_SEEN, female="f1", body={"sign": "mucus"})
    result = ledger.append([other, good])
    assert result.new == 1
    (refused,) = result.refused
    assert (refused.event, refused.against, refused.place) == (other, one, 0)
    assert "on file under this id" in str(refused.problem)
    assert ledger.events() == (one, good)


# nothing is changed --------------------------------------------------------------------------


def run_sql(ledger, statement):
    """What another program with the right to write may try."""
    with ledger.engine.begin() as connection:
        connection.exec_driver_sql(statement)


CHANGES = [
    "UPDATE event SET body = '{}'",
    "UPDATE event SET ranch = ranch",
    "DELETE FROM event",
    "DELETE FROM event WHERE kind = 'Weighed'",
]


@pytest.mark.parametrize("statement", CHANGES)
def test_a_change_of_an_event_is_refused_by_the_database_itself(ledger, statement):
    ledger.append([WEIGHED])
    with pytest.raises(sa.exc.DBAPIError, match="record a correction instead"):
        run_sql(ledger, statement)
    assert ledger.events() == (WEIGHED,)


def test_nor_can_an_event_be_replaced_or_the_table_emptied(ledger):
    ledger.append([WEIGHED])
    columns = "id, ranch, kind, version, occurred_at, zone, entered_at, entered_by, device, body"
    values = "'r', 'Weighed', 1, 'x', 'x', 'x', '', '', '{}'"
    same_id = f"INTO event ({columns}) VALUES ('{WEIGHED.id}', {values})"
    if ledger.engine.dialect.name == "sqlite":
        statements = [
            f"INSERT OR REPLACE {same_id}",
            f"REPLACE INTO event (seq, {columns}) VALUES (1, 'new', {values})",  # noqa: S608
        ]
    else:
        statements = [
            f"INSERT {same_id} ON CONFLICT (id) DO UPDATE SET body = '{{}}'",
            "TRUNCATE event CASCADE",
            "SET session_replication_role = replica; DELETE FROM event",
        ]
    for statement in statements:
        with pytest.raises(sa.exc.DBAPIError, match="record a correction instead"):
            run_sql(ledger, statement)
    assert ledger.events() == (WEIGHED,)


# plans and settings --------------------------------------------------------------------------


def plan(kind, *words, **body):
    return event(kind, id_=made_id(*words), body={"plan_id": "p1", "plan": {}} | body)


ADOPTED = plan(Kind.PLAN_ADOPTED, "adopted", season="2027")
SECOND = plan(Kind.PLAN_CHANGED, "second", based_on=ADOPTED.id, why="rain")
THIRD = plan(Kind.PLAN_CHANGED, "third", based_on=SECOND.id)
STALE = plan(Kind.PLAN_CHANGED, "stale", based_on=ADOPTED.id, why="late")


def test_a_change_made_from_an_older_plan_is_handed_back_with_the_plan_that_counts(ledger):
    ledger.append([ADOPTED, SECOND])
    result = ledger.append([STALE, WEIGHED])
    (refused,) = result.refused
    assert (refused.event, refused.against) == (STALE, SECOND)
    assert "was changed in between" in refused.problem.what
    assert ledger.events() == (ADOPTED, SECOND, WEIGHED)


def test_changes_that_follow_each_other_are_taken_in_any_order_of_the_file(ledger):
    assert ledger.append([THIRD, WEIGHED, SECOND, ADOPTED]).new == 4
    assert ledger.append([STALE]).refused


def test_a_change_of_a_plan_that_is_not_here_is_handed_back(ledger):
    (refused,) = ledger.append([THIRD]).refused
    assert "not in this ledger" in refused.problem.what
    assert ledger.count() == 0


def test_a_change_that_was_taken_back_no_longer_counts(ledger):
    back = event(
        Kind.CORRECTED,
        at=START + timedelta(hours=1),
        corrects=SECOND.id,
        body={"taken_back": True},
    )
    again = event(
        Kind.CORRECTED, at=START + timedelta(hours=2), corrects=back.id, body={"taken_back": True}
    )
    ledger.append([ADOPTED, SECOND, back])
    assert ledger.append([STALE]).new == 1
    assert ledger.append([replace(THIRD, body=THIRD.body | {"based_on": STALE.id})]).new == 1
    # the correction itself taken back, within one portion: the second change stands again
    with ledger.writing() as session:
        session.add([plan(Kind.PLAN_ADOPTED, "q", plan_id="q")])
        session.add([plan(Kind.PLAN_CHANGED, "q2", plan_id="q", based_on=made_id("q"))])
        undo = replace(back, id=made_id("undo"), corrects=made_id("q2"))
        redo = replace(again, id=made_id("redo"), corrects=undo.id)
        session.add([undo, redo])
        session.add([plan(Kind.PLAN_CHANGED, "q3", plan_id="q", based_on=made_id("q2"))])
        assert session.finish().refused == ()


def test_a_setting_is_changed_from_the_value_that_counts(ledger):
    def setting(word, **body):
        body = {"key": "zone", "value": {"value": word}} | body
        return event(Kind.SETTING_CHANGED, id_=made_id("setting", word), body=body)

    first = setting("a")
    other_key = setting("b", key="hours")
    assert ledger.append([first, other_key]).new == 2
    (refused,) = ledger.append([setting("c")]).refused
    assert refused.against == first
    assert "setting 'zone'" in refused.problem.what
    assert ledger.append([setting("d", based_on=first.id)]).new == 1


def test_what_belongs_together_is_recorded_whole_or_not_at_all(ledger):
    ledger.record([ADOPTED, SECOND])
    moved = event(Kind.MOVED, female="f1", body={"to": "A"})
    with pytest.raises(RefusedError, match=r"Nothing was recorded.*changed in between"):
        ledger.record([moved, STALE])
    assert ledger.events() == (ADOPTED, SECOND)
    assert ledger.females() == []
    assert ledger.record([moved, THIRD]).new == 2


def test_observations_are_taken_whatever_they_say(ledger):
    odd = [
        event(Kind.INSERT_REMOVED, female="nobody", body={"found": True}),
        event(Kind.CORRECTED, corrects=made_id("not here"), body={"taken_back": True}),
        event(Kind.CALVED, at=datetime(1950, 1, 1, tzinfo=UTC), female="f1"),
        event(Kind.WEIGHED, female="f1", body={"from a newer program": [1, {"x": None}]}),
    ]
    assert ledger.append(odd).new == 4


# ranches -------------------------------------------------------------------------------------


def test_a_new_ledger_is_of_the_ranch_of_its_first_event(ledger):
    assert ledger.ranch == "ranch"
    ledger.append([WEIGHED])
    assert ledger.ranch == RANCH
    other = event(Kind.WEIGHED, ranch="Next door", female="f9", body={"weight_kg": 1})
    (refused,) = ledger.append([other]).refused
    assert "'Next door'" in refused.problem.what


def test_ranches_in_one_database_do_not_see_each_other(cluster):
    url = cluster.new_database()
    other = event(Kind.WEIGHED, ranch="Next door", female="f9", body={"weight_kg": 1})
    with (
        open_ledger(url, create=True, ranch=RANCH) as one,
        open_ledger(url, ranch="Next door") as two,
    ):
        one.append([WEIGHED])
        two.append([other])
        assert (one.events(), two.events()) == ((WEIGHED,), (other,))
        assert [f.id for f in one.females()] == ["f1"]
        assert two.history("f1") == ()
        assert two.find_event(WEIGHED.id) is None
        # an id is an id everywhere
        assert two.append([replace(other, id=WEIGHED.id)]).refused
    with pytest.raises(SeveralRanchesError, match=f"Next door, {RANCH}"):
        open_ledger(url)
    with open_ledger(url, new_ranch="Next door") as two:
        assert two.events() == (other,)
    cluster.drop(url)


def test_a_file_is_of_one_ranch_and_another_name_does_not_begin_a_second(tmp_path):
    where = tmp_path / "sunup.db"
    with open_ledger(where, create=True, new_ranch=RANCH) as ledger:
        assert ledger.ranch == RANCH
        ledger.append([WEIGHED])
    with pytest.raises(OtherRanchError, match=f"is of the ranch '{RANCH}', not of 'Next door'"):
        open_ledger(where, ranch="Next door")
    # a plan may be called otherwise, by its herd file for one: it is taken into the ranch there is
    with open_ledger(where, new_ranch="Next door") as ledger:
        assert ledger.ranch == RANCH


def test_a_transaction_that_ends_in_an_error_leaves_nothing(ledger):
    ledger.append([WEIGHED])
    more = season(3)

    def fail():
        with ledger.writing() as session:
            session.add(more)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fail()
    assert ledger.events() == (WEIGHED,)
    assert [f.id for f in ledger.females()] == ["f1"]
    with writing(ledger.engine, ledger.name) as connection:  # and no lock is held
        assert connection.execute(sa.text("SELECT count(*) FROM event")).scalar_one() == 1
