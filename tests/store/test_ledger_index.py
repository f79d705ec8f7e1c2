"""What is drawn from the ledger is what the fold of all events gives, whatever came when."""

from __future__ import annotations

import random
from datetime import timedelta

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from ledger_events import START, event, made_id, season

from sunup.app.open import open_ledger
from sunup.records.event import Kind
from sunup.records.fold import fold
from sunup.store.engine import writing
from sunup.store.index import draw_rows
from sunup.store.tables import also_about, female_index
from sunup.store.verify import verify_ledger

FEMALES = [made_id("female", n) for n in range(5)]

KINDS = [
    Kind.FEMALE_ADDED,
    Kind.TAG_CHANGED,
    Kind.MOVED,
    Kind.WEIGHED,
    Kind.LEFT_HERD,
    Kind.IDENTIFIED,
    *(Kind.CORRECTED, Kind.CORRECTED),
]


def make_history(luck, n):
    """Events of a few females that name each other: added, retagged, moved, found to be another,
    corrected, corrected again, given to another female; some name events that never come."""
    events = []
    for i in range(n):
        female = luck.choice(FEMALES)
        at = START + timedelta(minutes=luck.randint(0, 200))
        more = {"at": at, "entered_at": at + timedelta(seconds=luck.randint(0, 90))}
        id_ = made_id("history", i)
        kind = luck.choice(KINDS)
        body = {
            Kind.FEMALE_ADDED: {"tag": f"T{i}", "listed": bool(i % 3), "rfid": f"84{i:013d}"},
            Kind.TAG_CHANGED: luck.choice([{"tag": f"N{i}"}, {"rfid": f"85{i:013d}"}, {}]),
            Kind.MOVED: {"to": luck.choice(["A", "B", ""])},
            Kind.WEIGHED: {"weight_kg": 500 + i},
            Kind.LEFT_HERD: {"why": "sold"},
            Kind.IDENTIFIED: {"same_as": luck.choice(FEMALES)},
        }.get(kind, {})
        if kind is Kind.CORRECTED:
            wrong = luck.choice(events) if events else None
            inner = {"tag": f"C{i}", "to": "C", "same_as": luck.choice(FEMALES), "listed": True}
            restated = {"female": luck.choice(FEMALES), "body": inner}
            body = luck.choice(
                [
                    {"taken_back": True},
                    {"taken_back": False, "body": inner},
                    {"taken_back": False, "female": luck.choice(FEMALES)},
                    {"taken_back": False, "body": {"taken_back": False} | restated},
                ]
            )
            more["corrects"] = wrong.id if wrong and i % 9 else made_id("never comes", i)
            female = luck.choice([female, None, wrong.female if wrong else None])
        if kind in {Kind.WEIGHED, Kind.MOVED} and i % 6 == 0:
            female = None  # a correction may give it to somebody, before or after
        events.append(event(kind, id_=id_, female=female, body=body, **more))
    return events


def check_drawn(ledger):
    assert verify_ledger(ledger).problems == ()
    rows = {r["id"]: r for r in draw_rows(fold(ledger.events()), ledger.ranch)}
    shown = {f.id: f for f in ledger.females()}
    assert shown.keys() == rows.keys()
    for female, row in rows.items():
        assert (shown[female].tag, shown[female].group) == (row["tag"], row["grp"])


@given(seed=st.integers(0, 2**32))
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
def test_the_index_is_the_fold_after_every_portion_in_any_order(tmp_path, seed):
    luck = random.Random(seed)  # noqa: S311  a history, not a secret
    events = make_history(luck, luck.randint(1, 40))
    luck.shuffle(events)
    path = tmp_path / f"{seed}.db"
    path.unlink(missing_ok=True)
    with open_ledger(path, create=True) as ledger:
        while events:
            n = luck.randint(1, 10)
            ledger.append(events[:n])
            events = events[n:]
            check_drawn(ledger)


@pytest.mark.parametrize("seed", range(3))
def test_the_index_is_the_fold_on_both_databases(ledger, seed):
    luck = random.Random(seed)  # noqa: S311
    events = make_history(luck, 60)
    luck.shuffle(events)
    for start in range(0, len(events), 12):
        ledger.append(events[start : start + 12])
        check_drawn(ledger)


def test_what_is_drawn_may_be_thrown_away_at_any_time(ledger):
    ledger.append([*season(12), *make_history(random.Random(1), 50)])  # noqa: S311
    before = ledger.females()
    with writing(ledger.engine, ledger.name) as connection:
        connection.execute(sa.delete(female_index))
        connection.execute(sa.delete(also_about))
    assert any("ledger rebuild" in p.fix for p in verify_ledger(ledger).problems)
    ledger.rebuild()
    assert ledger.females() == before
    check_drawn(ledger)


def test_a_wrong_index_is_found(ledger):
    ledger.append(season(3))
    with writing(ledger.engine, ledger.name) as connection:
        connection.execute(sa.update(female_index).values(tag="0"))
    (problem,) = verify_ledger(ledger).problems
    assert "differs from the ledger for 3 of 3" in problem.what


def test_a_guard_that_was_taken_off_is_found(ledger):
    ledger.append(season(1))
    statement = "DROP TRIGGER event_not_changed"
    if ledger.engine.dialect.name == "postgresql":
        statement = "ALTER TABLE event DISABLE TRIGGER event_not_changed"
    with writing(ledger.engine, ledger.name) as connection:
        connection.execute(sa.text(statement))
    (problem,) = verify_ledger(ledger).problems
    assert "guard 'event_not_changed'" in problem.what


def test_a_female_is_found_by_her_tag_of_today_and_by_her_code(ledger):
    ledger.append(season(6))
    (found,) = ledger.females(tag="R5")
    assert (found.group, found.rfid, found.is_here) == ("Group 2", "840003000000005", True)
    assert ledger.females(tag="1005") == []
    assert ledger.females(rfid="840003000000005") == [found]
    (sold,) = ledger.females(tag="R0")
    assert not sold.is_here


def test_the_history_of_a_female_holds_what_was_filed_under_her_other_self(ledger):
    a, b, c = FEMALES[:3]
    hers = [
        event(Kind.FEMALE_ADDED, female=a, body={"tag": "412", "listed": True}),
        event(Kind.FEMALE_ADDED, female=b, body={"tag": "4I2", "listed": False}),
        event(Kind.WEIGHED, female=b, body={"weight_kg": 1}),
        event(Kind.IDENTIFIED, female=b, body={"same_as": a}),
    ]
    wrong = event(Kind.WEIGHED, female=c, body={"weight_kg": 2})
    right = event(
        Kind.CORRECTED, female=c, corrects=wrong.id, body={"taken_back": False, "female": a}
    )
    other = event(Kind.WEIGHED, female=c, body={"weight_kg": 3})
    ledger.append([*hers, wrong, right, other, *season(3)])
    ids = {e.id for e in ledger.history(a)}
    assert {e.id for e in [*hers, wrong, right]} <= ids
    assert ids == {e.id for e in ledger.history(b)}
    assert not ids & {e.id for e in season(3)}
