"""A fetal age that does not fit is said as the finding is recorded."""

from __future__ import annotations

from running_season import local, running

from sunup.app.record_facts import record_fact
from sunup.app.scan import Finding, record_findings
from sunup.records.event import Kind


def scanned(age):
    """One cow inseminated on 25 May and scanned on 28 Jul with an age of the fetus."""
    ranch, _ = running(2)
    ranch.now = local("2027-07-28T10:00")
    at = local("2027-05-25T08:00")
    record_fact(ranch.desk(), ["2001"], Kind.INSEMINATED, {"sire": "A31"}, at=at, words="AI")
    finding = Finding(result="pregnant", fetal_age_days=age)
    entry, states = record_findings(ranch.desk(), ["2001"], finding, at=ranch.now)
    [line] = entry.lines
    return {flag.rule: flag.text for _, flag in line.flags}, next(iter(states.values()))


def test_an_age_within_its_error_is_taken_without_a_word():
    assert scanned(70) == ({}, "pregnant to AI")


def test_an_age_further_off_than_the_sheet_promises_is_flagged_and_names_no_sire():
    flags, state = scanned(90)
    assert "26 days off every service on file: AI 25 May 2027" in flags["fetal_age_off"]
    assert state == "pregnant (sire unsure)"


def test_an_age_that_fits_nothing_says_when_she_is_due_by_it():
    flags, state = scanned(120)
    text = flags["finding_fits_no_service"]
    assert "By the age of the fetus she is due" in text
    assert " Jan" in text
    assert state == "pregnant (sire unsure)"
