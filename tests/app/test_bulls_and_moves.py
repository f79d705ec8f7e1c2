"""Who ran with bulls when females move between groups: the PGF refusal rests on it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from running_season import DENVER, Ranch, running, step

from herds import cows, heifers
from sunup.app.record import record_visit
from sunup.app.record_facts import record_fact, record_group
from sunup.app.season import adopt, find_female, move
from sunup.records.event import Kind
from sunup.records.female import ExposureKind


@pytest.fixture
def ranch_and_pgf():
    """A ranch that adopted its plan 90 days before the PGF of its cows, and that PGF's hour."""
    listed = [*cows(3, days=120), *heifers(2)]
    _, plan = running(females=listed)
    pgf = step(plan, "cows", "pgf").at_utc
    ranch = Ranch(pgf - timedelta(days=90))
    adopt(ranch.desk(), plan, females=listed)
    ranch.now = pgf
    return ranch, pgf


def bulls(ranch, kind, at, *names, group="heifers"):
    record_group(ranch.desk(), kind, group, {"bulls": list(names)} if names else {}, at=at)


def refused(ranch, tag, pgf):
    entry = record_visit(ranch.desk(), "cows", "pgf", [tag], at=pgf, keep=False)
    return "may_be_pregnant" in {flag.rule for _, flag in entry.lines[0].flags}


def test_a_cow_moved_in_with_bulls_already_there_is_exposed_from_then(ranch_and_pgf):
    ranch, pgf = ranch_and_pgf
    bulls(ranch, Kind.BULLS_IN, pgf - timedelta(days=60), "B7")
    came, went = pgf - timedelta(days=30), pgf - timedelta(days=20)
    move(ranch.desk(), ["2001"], "heifers", at=came)
    move(ranch.desk(), ["2001"], "cows", at=went)
    exposure = find_female(ranch.desk(), "2001").facts.exposure
    days = (came.astimezone(DENVER).date(), went.astimezone(DENVER).date())
    assert days == (exposure.from_on, exposure.until_on)
    assert exposure.kind is ExposureKind.BULL
    assert refused(ranch, "2001", pgf)
    assert not refused(ranch, "2002", pgf)


def test_a_cow_moved_away_is_with_the_bulls_no_longer(ranch_and_pgf):
    ranch, pgf = ranch_and_pgf
    bulls(ranch, Kind.BULLS_IN, pgf - timedelta(days=50), "B7", group="cows")
    move(ranch.desk(), ["2001"], "heifers", at=pgf - timedelta(days=44))
    desk = ranch.desk()
    away, stayed = find_female(desk, "2001"), find_female(desk, "2002")
    assert away.facts.exposure.until_on is not None
    assert away.past(DENVER).with_bull_from is None
    assert stayed.facts.exposure.until_on is None
    assert stayed.past(DENVER).with_bull_from == pgf - timedelta(days=50)


def test_bulls_taken_out_before_she_came_are_not_hers(ranch_and_pgf):
    ranch, pgf = ranch_and_pgf
    bulls(ranch, Kind.BULLS_IN, pgf - timedelta(days=60), "B7")
    bulls(ranch, Kind.BULLS_OUT, pgf - timedelta(days=35))
    move(ranch.desk(), ["2001"], "heifers", at=pgf - timedelta(days=30))
    move(ranch.desk(), ["2001"], "cows", at=pgf - timedelta(days=20))
    assert not refused(ranch, "2001", pgf)


def test_one_of_two_bulls_taken_out_leaves_her_with_the_other(ranch_and_pgf):
    ranch, pgf = ranch_and_pgf
    bulls(ranch, Kind.BULLS_IN, pgf - timedelta(days=50), "B7", "B9", group="cows")
    bulls(ranch, Kind.BULLS_OUT, pgf - timedelta(days=45), "B7", group="cows")
    assert find_female(ranch.desk(), "2001").facts.exposure.until_on is None
    assert refused(ranch, "2001", pgf)


def test_an_abortion_ends_what_came_before_and_not_the_bull_that_is_in(ranch_and_pgf):
    ranch, pgf = ranch_and_pgf
    bulls(ranch, Kind.BULLS_IN, pgf - timedelta(days=60), "B7", group="cows")
    bulls(ranch, Kind.BULLS_OUT, pgf - timedelta(days=45), group="cows")
    record_fact(
        ranch.desk(), ["2001"], Kind.ABORTED, {}, at=pgf - timedelta(days=10), words="aborted"
    )
    assert not refused(ranch, "2001", pgf)
    assert refused(ranch, "2002", pgf)
    bulls(ranch, Kind.BULLS_IN, pgf - timedelta(days=40), "B9", group="cows")
    still = find_female(ranch.desk(), "2001").facts.exposure
    assert still.until_on is None
