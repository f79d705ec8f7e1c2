"""What does not fit is said as it is entered, and kept all the same."""

from __future__ import annotations

from datetime import timedelta

import pytest
from running_season import local, running, step

from sunup.app.heats import record_heats
from sunup.app.record import Details, record_ai, record_visit
from sunup.app.record_calving import record_calvings
from sunup.app.record_facts import record_fact
from sunup.app.record_off_plan import Dose, record_drug
from sunup.app.scan import Finding, find_book, record_findings
from sunup.planning.calving_book import Outcome
from sunup.records.event import Kind

SERVED = local("2027-05-25T18:00")


@pytest.fixture
def served():
    ranch, _ = running(3)
    ranch.now = SERVED
    record_ai(ranch.desk(), ["2001", "2002"], at=SERVED, details=Details(sire="A31"))
    return ranch


def rules(entry):
    return {flag.rule for line in entry.lines for _, flag in line.flags}


def check(ranch, days, tag="2001", **found):
    ranch.now = SERVED + timedelta(days=days)
    finding = Finding(**({"result": "pregnant"} | found))
    entry, _ = record_findings(ranch.desk(), [tag], finding, at=ranch.now)
    assert entry.events  # nothing is refused
    return entry


def calve(ranch, days, tag="2001"):
    ranch.now = SERVED + timedelta(days=days)
    entry = record_calvings(ranch.desk(), [tag], {}, at=ranch.now)
    assert entry.events
    return entry


@pytest.mark.parametrize(
    ("days", "found", "expected"),
    [
        (64, {"fetal_age_days": 64}, set()),
        (64, {"fetal_age_days": 70}, set()),
        (64, {}, set()),
        (2, {"fetal_age_days": 64}, {"finding_fits_no_service"}),
        (2, {}, {"finding_fits_no_service"}),
        (63, {"fetal_age_days": 120}, {"finding_fits_no_service"}),
        (30, {"fetal_age_days": 20}, {"fetal_age_too_young"}),
        (64, {"result": "not_pregnant", "fetal_age_days": 55}, {"open_with_fetus"}),
        (64, {"result": "not_pregnant"}, set()),
        (64, {"tag": "2003", "fetal_age_days": 64}, {"finding_fits_no_service"}),
    ],
)
def test_a_finding_that_fits_nothing_on_file_is_said_at_entry(served, days, found, expected):
    assert rules(check(served, days, **found)) == expected


def test_a_doubtful_finding_names_the_services_it_was_held_against(served):
    entry = check(served, 63, fetal_age_days=120)
    (flag,) = [flag for _, flag in entry.lines[0].flags]
    assert "AI 25 May 2027, 63 days before" in flag.text
    assert "record it with its own --at" in flag.now


def test_two_findings_of_one_day_are_said_and_the_later_one_holds_without_a_loss(served):
    check(served, 64, fetal_age_days=64)
    entry = check(served, 64.1, result="not_pregnant")
    assert rules(entry) == {"found_both_ways"}
    served.now += timedelta(days=1)
    assert Outcome.LOST not in {line.outcome for line in find_book(served.desk())}


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        (283, set()),
        (76, {"calving_fits_no_service"}),
        (224, {"calving_fits_no_service"}),  # 59 days before 283
        (258, {"calving_against_the_book"}),  # three weeks early and more
    ],
)
def test_a_calving_off_her_service_is_said_at_entry(served, days, expected):
    assert rules(calve(served, days)) == expected


def test_a_calving_soon_after_the_one_on_the_list_is_said_at_entry(served):
    # on the list she calved 75 days before the insemination
    entry = calve(served, -20, tag="2002")
    (flag,) = [f for _, f in entry.lines[0].flags if f.rule == "calved_twice"]
    assert "55 days after calving on 11 Mar 2027" in flag.text


def test_a_second_calving_within_two_days_is_said(served):
    calve(served, 283)
    entry = calve(served, 285)
    assert "calved_twice" in rules(entry)
    (flag,) = [f for _, f in entry.lines[0].flags if f.rule == "calved_twice"]
    assert "2 days after calving on 3 Mar 2028" in flag.text


def test_a_calf_after_an_abortion_is_said_at_entry_and_in_the_book(served):
    check(served, 64, fetal_age_days=64)
    served.now = SERVED + timedelta(days=118)  # 20 September
    record_fact(served.desk(), ["2001"], Kind.ABORTED, {}, at=served.now, words="aborted")
    assert "calved_after_abortion" in rules(calve(served, 282))
    served.now += timedelta(days=1)
    (line,) = [x for x in find_book(served.desk()) if x.outcome is Outcome.CALVED]
    assert any("after an abortion (20 Sep 2027)" in remark for remark in line.remarks)


def test_one_heat_seen_twice_in_a_minute_is_said(served):
    first = record_heats(served.desk(), ["2003"], sign="standing", at=served.now)
    assert rules(first.entry) == set()
    served.now += timedelta(hours=1)
    again = record_heats(
        served.desk(), ["2003"], sign="standing", at=served.now - timedelta(hours=1)
    )
    assert rules(again.entry) == {"heat_twice"}


@pytest.mark.parametrize(("share", "is_said"), [(0.5, True), (0.0, True), (1.0, False)])
def test_a_part_dose_is_said_at_a_visit_and_off_the_plan(share, is_said):
    ranch, plan = running(1)
    ranch.now = step(plan, "cows", "gnrh_1").at_utc
    entry = record_visit(
        ranch.desk(), "cows", "gnrh_1", ["2001"], at=ranch.now, details=Details(dose_share=share)
    )
    # the insert of the visit is whole: said once, of the injection
    told = [words for line in entry.lines for words, flag in line.flags if flag.rule == "part_dose"]
    assert len(told) == is_said
    off = record_drug(ranch.desk(), "pgf", ["2001"], at=ranch.now, dose=Dose(share=share))
    assert ("part_dose" in rules(off)) == is_said
    for _, flag in off.lines[0].flags:
        assert flag.rule != "part_dose" or "veterinarian" in flag.now
