"""What is recorded beside the plan: a drug, a vaccine, a bull's exam, and what is said of it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from running_season import running, step

from herds import cows
from sunup.app.record_facts import record_facts, record_group
from sunup.app.record_off_plan import (
    Dose,
    check_bulls,
    find_drug,
    record_drug,
    record_exams,
    record_vaccine,
)
from sunup.app.season import find_female
from sunup.app.undo import last_entries
from sunup.base.problems import UsageError
from sunup.records.event import Kind


def rules(entry):
    return {(line.tag, flag.rule) for line in entry.lines for _, flag in line.flags}


def test_an_act_takes_drug_and_millilitres_from_the_plan_of_her_group():
    ranch, plan = running(2)
    dose = step(plan, "cows", "pgf").dose
    entry = record_drug(ranch.desk(), "pgf", ["2001"], at=ranch.now, dose=Dose(share=0.5))
    (event,) = entry.events
    assert event.kind is Kind.TREATED
    assert event.body["active"] == dose.active.partition("/")[0]
    assert event.body["dose_ml"] == pytest.approx(dose.ml_each / 2)
    assert "step" not in event.body


def test_an_active_is_known_by_its_name_and_any_other_drug_is_kept_as_written():
    ranch, _ = running(1)
    desk = ranch.desk()
    assert find_drug(desk, "Cloprostenol") == ("pgf", "cloprostenol")
    assert find_drug(desk, "buserelin") == ("gnrh", "buserelin")
    assert find_drug(desk, "oxytetracycline") == ("other", "oxytetracycline")
    with pytest.raises(UsageError, match="sunup record feed"):
        find_drug(desk, "melengestrol_acetate")


def test_a_drug_of_another_kind_carries_its_withdrawal():
    ranch, _ = running(1)
    dose = Dose(ml=20, withdrawal_days=28, lot="X1")
    record_drug(ranch.desk(), "oxytetracycline", ["2001"], at=ranch.now, dose=dose)
    her = find_female(ranch.desk(), "2001")
    (running_,) = her.withdrawals(ranch.desk().season.zone)
    assert running_.what == "oxytetracycline"
    assert (running_.ends_on - running_.given_on).days == 28


def test_looking_at_a_pgf_off_the_plan_refuses_a_cow_that_ran_with_a_bull():
    ranch, _ = running(2)
    record_group(ranch.desk(), Kind.BULLS_IN, "cows", {"bulls": ["B7"]}, at=ranch.now)
    ranch.now += timedelta(days=30)
    n = len(ranch.events)
    entry = record_drug(ranch.desk(), "pgf", ["2001"], at=ranch.now, keep=False)
    assert ("2001", "may_be_pregnant") in rules(entry)
    assert len(ranch.events) == n


def test_an_insert_in_and_out_off_the_plan_is_counted():
    ranch, _ = running(2)
    record_drug(ranch.desk(), "insert", ["2001"], at=ranch.now)
    ranch.now += timedelta(hours=1)
    assert find_female(ranch.desk(), "2001").inserted is not None
    out = record_drug(
        ranch.desk(),
        "insert_out",
        ["2001", "2002"],
        at=ranch.now,
        dose=Dose(lost=frozenset({"2001"})),
    )
    assert rules(out) == {("2001", "insert_lost"), ("2002", "insert_never_in")}
    assert len(find_female(ranch.desk(), "2001").lost_at) == 1


def test_a_list_over_hours_spreads_and_a_vaccine_near_breeding_is_flagged():
    ranch, _ = running(3)
    body = {"against": "IBR", "modified_live": True}
    ends = ranch.now + timedelta(hours=2)
    entry = record_vaccine(ranch.desk(), ["2001", "2002", "2003"], body, at=ranch.now, until=ends)
    assert [line.at for line in entry.lines] == [
        ranch.now, ranch.now + timedelta(hours=1), ends,
    ]  # fmt: skip
    assert {rule for _, rule in rules(entry)} == {"vaccine_near_breeding"}


def test_several_measures_of_an_unlisted_tag_are_one_female_and_one_entry():
    ranch, _ = running(1)
    facts = [
        (Kind.CONDITION_SCORED, {"score": 5.0}, "condition 5"),
        (Kind.OVARY_SCANNED, {"cycling": False}, "ovaries: not cycling"),
    ]
    entries = record_facts(ranch.desk(), ["9999"], facts, at=ranch.now)
    assert len({line.female for entry in entries for line in entry.lines}) == 1
    ranch.now += timedelta(hours=1)
    (last,) = last_entries(ranch.desk(), 1)
    assert {e.kind for e in last} >= {Kind.CONDITION_SCORED, Kind.OVARY_SCANNED}
    assert find_female(ranch.desk(), "9999").facts.cycling == "not_cycling"


def test_bulls_of_a_natural_service_plan_are_held_against_heats_that_come_together():
    """15 to 25 females a bull where heats are synchronised, 25 to 35 after AI."""
    females = cows(30)
    for protocol, is_crowded in (("ns_pg_day5", True), ("co_synch_insert7_cow", False)):
        ranch, _ = running(females=females, protocols={"cows": protocol})
        remarks = check_bulls(ranch.desk(), "cows", ["B7"], at=ranch.now).remarks
        assert any("30 females for bulls that serve 15 to 25" in r for r in remarks) == is_crowded


def test_a_bull_that_failed_is_told_where_he_runs_and_when_turned_in():
    ranch, _ = running(2)
    record_exams(ranch.desk(), {"B7": 38.5}, result="satisfactory", at=ranch.now)
    ranch.now += timedelta(hours=1)
    assert not [r for r in check_bulls(ranch.desk(), "cows", ["B7"], at=ranch.now).remarks
                if "exam" in r]  # fmt: skip
    record_group(ranch.desk(), Kind.BULLS_IN, "cows", {"bulls": ["B7"]}, at=ranch.now)
    ranch.now += timedelta(days=1)
    _, bad = record_exams(ranch.desk(), {"b7": None}, result="unsatisfactory", at=ranch.now)
    assert bad == (("b7", "cows"),)
    ranch.now += timedelta(hours=1)
    remarks = check_bulls(ranch.desk(), "cows", ["B7", "B9"], at=ranch.now).remarks
    assert any("B7: failed" in r for r in remarks)
    assert any("B9: no breeding soundness exam on file" in r for r in remarks)
    with pytest.raises(UsageError, match="satisfactory"):
        record_exams(ranch.desk(), {"B7": None}, result="good", at=ranch.now)
