"""Lists a buyer or a breed association asks for: AI or bull in words, cells that are not run."""

from __future__ import annotations

import csv
import io
from datetime import date, timedelta

import pytest
from running_season import DENVER, running

from herds import cow, cows
from sunup.app.record import Details, record_ai, record_visit
from sunup.app.record_facts import record_fact, record_group
from sunup.app.stock_lists import bred_list, certificate_list, treatment_list, write_csv
from sunup.records.event import Kind
from sunup.records.female import Exposure, ExposureKind


@pytest.fixture
def ranch():
    """Two cows inseminated, bulls in twelve days later, one found pregnant, one open."""
    ranch, _ = running(3)
    ranch.now += timedelta(days=10)
    record_ai(ranch.desk(), ["2001", "2002"], at=ranch.now, details=Details(sire="=A31", note="-x"))
    ranch.now += timedelta(days=12)
    record_group(ranch.desk(), Kind.BULLS_IN, "cows", {"bulls": ["B7"]}, at=ranch.now)
    ranch.now += timedelta(days=58)
    for tag, body in (
        ("2001", {"method": "ultrasound", "result": "pregnant", "fetal_age_days": 70}),
        ("2002", {"method": "ultrasound", "result": "not_pregnant"}),
    ):
        record_fact(ranch.desk(), [tag], Kind.PREGNANCY_CHECKED, body, at=ranch.now, words="scan")
    ranch.now += timedelta(hours=1)
    return ranch


def rows(listing):
    return {row[0]: dict(zip(listing.head, row, strict=True)) for row in listing.rows}


def test_a_bred_female_is_sold_with_ai_or_bull_in_words_and_her_due_days(ranch):
    """Fetal age of 70 days is the age of the AI: within 15 days at 32 to 110 (trade press)."""
    told = rows(bred_list(ranch.desk()))
    assert "=A31" in told["2001"]["AI or bull"]
    assert "10" in told["2001"]["AI or bull"], "a chance, not a verdict"
    assert told["2001"]["8 of 10 from"] < told["2001"]["due"] < told["2001"]["until"]
    assert told["2003"]["AI or bull"].endswith("B7") or "bull" in told["2003"]["AI or bull"]
    assert told["2002"]["due"] == "", "found open while with the bull: nothing is promised"


def test_who_has_calved_or_aborted_since_is_no_bred_female(ranch):
    """2001 calves; 2003 aborts and, by then, no bull is with the group: neither is sold as bred."""
    ranch.now += timedelta(days=10)
    record_group(ranch.desk(), Kind.BULLS_OUT, "cows", {}, at=ranch.now)
    ranch.now += timedelta(days=190)
    record_fact(ranch.desk(), ["2003"], Kind.ABORTED, {}, at=ranch.now, words="aborted")
    assert set(rows(bred_list(ranch.desk()))) == {"2001"}, "2002 was found open"
    ranch.now += timedelta(days=40)
    late = bred_list(ranch.desk())
    assert any("2001" in note for note in late.notes), "long due and no calving recorded"
    record_fact(ranch.desk(), ["2001"], Kind.CALVED, {}, at=ranch.now, words="calved")
    ranch.now += timedelta(hours=1)
    assert rows(bred_list(ranch.desk())) == {}
    ranch.now += timedelta(days=60)
    record_ai(ranch.desk(), ["2001"], at=ranch.now, details=Details(sire="H12"))
    ranch.now += timedelta(hours=1)
    told = rows(bred_list(ranch.desk()))
    assert set(told) == {"2001"}
    assert told["2001"]["AI sire"] == "H12"
    assert (told["2001"]["last check"], told["2001"]["with bull from"]) == ("", ""), "of old"


def test_the_bulls_day_is_that_of_the_bulls_not_of_her_insemination(ranch):
    """Inseminated twelve days before the bulls went in; a third was with the bulls alone."""
    bulls_in = next(e.occurred_at for e in ranch.events if e.kind is Kind.BULLS_IN)
    day = bulls_in.astimezone(DENVER).date().isoformat()
    told = rows(bred_list(ranch.desk()))
    assert {told[tag]["with bull from"] for tag in ("2001", "2002", "2003")} == {day}
    assert told["2001"]["last AI (local)"][:10] < day


def test_an_insemination_among_bulls_is_told_the_day_the_bulls_went_in(ranch):
    bulls_in = next(e.occurred_at for e in ranch.events if e.kind is Kind.BULLS_IN)
    again = record_ai(ranch.desk(), ["2001"], at=bulls_in + timedelta(days=9), keep=False)
    said = [flag.text for _, flag in again.lines[0].flags if flag.rule == "with_bull"]
    day = bulls_in.astimezone(DENVER)
    assert said == [f"with a bull since {day:%a} {day.day} {day:%b}"]
    before = record_ai(ranch.desk(), ["2001"], at=bulls_in - timedelta(days=1), keep=False)
    assert "with_bull" not in {flag.rule for _, flag in before.lines[0].flags}


def test_a_certificate_says_how_likely_the_calf_is_of_that_insemination(ranch):
    told = rows(certificate_list(ranch.desk()))
    assert "in 10" in told["2001"]["calf of this insemination"]
    assert told["2002"]["calf of this insemination"] == "found open"


@pytest.mark.parametrize("hours", [8, 24])
def test_two_straws_of_one_sire_in_one_heat_are_one_mating_on_the_certificate(hours):
    """Which straw met the egg is not known, whose calf it is is: no bull was ever with her."""
    ranch, _ = running(2)
    ranch.now += timedelta(days=10)
    for sires, wait in ((("A31", "A31"), 0), (("A31", "H12"), hours)):
        for tag, sire in zip(("2001", "2002"), sires, strict=True):
            at = ranch.now + timedelta(hours=wait)
            record_ai(ranch.desk(at=at), [tag], at=at, details=Details(sire=sire))
    ranch.now += timedelta(days=60)
    body = {"method": "ultrasound", "result": "pregnant", "fetal_age_days": 60}
    tags = ["2001", "2002"]
    record_fact(ranch.desk(), tags, Kind.PREGNANCY_CHECKED, body, at=ranch.now, words="scan")
    listing = certificate_list(ranch.desk())
    told = [(row[0], row[-1]) for row in listing.rows]
    assert told.count(("2001", "99 in 100 or more, one mating of 2 straws")) == 2
    assert [words for tag, words in told if tag == "2002"] == ["5 in 10", "5 in 10"], "two sires"


def test_a_cell_a_spreadsheet_would_run_is_written_as_text(ranch, tmp_path):
    path = write_csv(certificate_list(ranch.desk()), tmp_path / "ai.csv")
    told = path.read_bytes().decode("utf-8-sig")
    sires = {row["sire"] for row in csv.DictReader(io.StringIO(told))}
    assert sires == {"'=A31"}


def test_a_pgf_among_bulls_is_refused_with_the_days_of_ai_and_bull_apart(ranch):
    days = {
        kind: next(e.occurred_at for e in ranch.events if e.kind is kind).astimezone(DENVER)
        for kind in (Kind.INSEMINATED, Kind.BULLS_IN)
    }
    entry = record_visit(ranch.desk(), "cows", "pgf", ["2001", "2003"], at=ranch.now, keep=False)
    said = {
        line.tag: flag.text
        for line in entry.lines
        for _, flag in line.flags
        if flag.rule == "may_be_pregnant"
    }
    ai, bull = (f"{day.day} {day:%b %Y}" for day in days.values())
    assert said["2003"].startswith(f"with a bull from {bull}")
    assert "found pregnant" in said["2001"]
    female = next(f for f in ranch.desk().season.females.values() if f.tag == "2001")
    served, with_bull = female.facts.exposure.parts
    assert [f"{d.from_on.day} {d.from_on:%b %Y}" for d in (served, with_bull)] == [ai, bull]


def test_a_herd_file_with_ai_and_bull_days_puts_each_on_its_own_day():
    """Inseminated 25 April, bulls from 10 May: the calf of a check may be either's."""
    ai, bull = date(2027, 4, 25), date(2027, 5, 10)
    span = Exposure(ExposureKind.BULL, ai, None, ai_days=(ai, ai), bull_days=(bull, None))
    ranch, _ = running(females=[*cows(2), cow("9", exposure=span)])
    (female,) = [f for f in ranch.desk().season.females.values() if f.tag == "9"]
    assert [s.at.astimezone(DENVER).date() for s in female.services] == [ai]
    assert [w.from_at.astimezone(DENVER).date() for w in female.with_bulls] == [bull]
    assert female.facts.exposure == span
    certificate = rows(certificate_list(ranch.desk()))
    assert certificate["9"]["inseminated (local)"] == ai.isoformat(), "no hour was written"
    assert rows(bred_list(ranch.desk()))["9"]["last AI (local)"] == ai.isoformat()


def test_a_treatment_of_which_only_the_day_is_known_has_no_hour_in_the_record():
    """A list of treatments without a clock time, as `exchange read` takes it."""
    ranch, _ = running(1)
    ranch.now += timedelta(days=3)
    day = ranch.now.astimezone(DENVER).date().isoformat()
    for hours, known in ((0, {"day_only": True}), (30, {})):
        body = {"act": "pgf", "active": "cloprostenol", "dose_ml": 2.0, **known}
        at = ranch.now + timedelta(hours=hours)
        record_fact(ranch.desk(at=at), ["2001"], Kind.TREATED, body, at=at, words="pgf")
    ranch.now += timedelta(hours=31)
    when = [row[2] for row in treatment_list(ranch.desk()).rows]
    assert when[0] == day
    assert len(when[1]) == len("2027-05-22 14:45")
