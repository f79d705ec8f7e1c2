"""The herd list written for the next season says what forbids a treatment; adopting looks again."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from running_season import Ranch, local, running

from herds import LIMITS, cows, season
from sunup.app.exchange_out import write_list
from sunup.app.herd_list import find_herd_list
from sunup.app.record_facts import record_fact
from sunup.app.season import adopt
from sunup.exchange.herd_file import HerdReading, read_herd
from sunup.records.event import Kind
from sunup.records.female import ExposureKind, PregnancyFinding

NOW = local("2028-03-01T10:00")
NEXT = date(2028, 5, 23)  # first insemination of the season to come


def put(ranch, tags, kind, body, at):
    record_fact(ranch.desk(), tags, kind, body, at=local(f"{at}T08:00"), words=kind.value)


def bred():
    """Six cows of last season: inseminated in May, bulls until August; three were scanned."""
    ranch, _ = running(6)
    ranch.now = NOW
    put(ranch, [f"200{i}" for i in range(1, 7)], Kind.INSEMINATED, {"sire": "A31"}, "2027-05-25")
    write = ranch.desk().writer.write
    for kind, day in ((Kind.BULLS_IN, "2027-06-10"), (Kind.BULLS_OUT, "2027-08-10")):
        ranch.append([write(kind, {"bulls": ["Tom"]}, at=local(f"{day}T08:00"), group="cows")])
    for tag, result in (("2001", "pregnant"), ("2002", "not_pregnant"), ("2003", "pregnant")):
        found = {"method": "ultrasound", "result": result}
        put(ranch, [tag], Kind.PREGNANCY_CHECKED, found, "2027-10-20")
    put(ranch, ["2003"], Kind.CALVED, {"calves": [{}]}, "2028-02-25")
    put(ranch, ["2003"], Kind.CONDITION_SCORED, {"score": 5}, "2028-03-01")
    put(ranch, ["2004"], Kind.HOLD_SET, {"why": "lame"}, "2028-03-01")
    return ranch


def listed(ranch):
    return {
        f.tag: f for f in find_herd_list(ranch.events, ranch="r", zone="America/Denver").females
    }


def test_next_seasons_list_tells_pregnancy_due_date_exposure_and_hold(monkeypatch):
    monkeypatch.setenv("SUNUP_NOW", NOW.isoformat())
    herd = listed(bred())
    pregnant = herd["2001"]
    assert pregnant.pregnancy is PregnancyFinding.PREGNANT
    assert pregnant.pregnancy_checked_on == date(2027, 10, 20)
    # to the insemination: 25 May and a gestation of the breed on; to a bull it would be later
    assert date(2028, 2, 20) < pregnant.due_on < date(2028, 5, 31)
    ai, bull = herd["2005"].exposure.parts
    assert (ai.kind, ai.from_on) == (ExposureKind.AI, date(2027, 5, 25))
    assert (bull.from_on, bull.until_on) == (date(2027, 6, 10), date(2027, 8, 10))
    assert herd["2002"].pregnancy is PregnancyFinding.NOT_PREGNANT
    assert herd["2002"].due_on is None
    assert herd["2004"].hold_reason == "lame"
    calved = herd["2003"]
    assert (calved.pregnancy, calved.exposure, calved.due_on) == (None, None, None)
    assert calved.calved_on == date(2028, 2, 25)


def test_scores_of_last_spring_do_not_stand_as_todays(monkeypatch):
    monkeypatch.setenv("SUNUP_NOW", NOW.isoformat())
    ranch = bred()
    told = find_herd_list(ranch.events, ranch="r", zone="America/Denver")
    herd = {f.tag: f for f in told.females}
    assert (herd["2001"].condition, herd["2001"].weight_kg) == (None, None)
    assert herd["2003"].condition == 5
    assert ("body condition", 5) in told.left_out


def test_what_is_written_is_read_again_as_it_was(monkeypatch, tmp_path):
    monkeypatch.setenv("SUNUP_NOW", NOW.isoformat())
    ranch = bred()
    file = tmp_path / "h.csv"
    done = write_list("herd", ranch.events, file, ranch="r", zone="America/Denver")
    assert "body condition of 5" in done.said[0]
    again = read_herd(
        file.read_bytes(), "h.csv", on=date(2028, 3, 1), limits=LIMITS, reading=HerdReading()
    )
    assert [p for p in again.problems if p.severity == "error"] == []
    assert {f.tag: f for f in again.females} == listed(ranch)


def test_no_female_that_may_be_pregnant_is_planned_for_from_the_list(monkeypatch, tmp_path):
    monkeypatch.setenv("SUNUP_NOW", NOW.isoformat())
    ranch = bred()
    file = tmp_path / "h.csv"
    write_list("herd", ranch.events, file, ranch="r", zone="America/Denver")
    again = read_herd(
        file.read_bytes(), "h.csv", on=date(2028, 3, 1), limits=LIMITS, reading=HerdReading()
    )
    plan = season(again.females, first_ai_on=NEXT, today=date(2028, 3, 1))
    treated = {line.tag for line in plan.females if line.is_treated}
    # 2002 was found open long after the bulls; 2003 has calved; 2001 is due before the AI
    assert treated <= {"2001", "2002", "2003"}
    assert "2003" in treated


def test_adopting_a_plan_names_the_pregnant_the_exposed_and_those_on_hold():
    ranch = bred()
    plan = season(cows(6, ai_on=NEXT), first_ai_on=NEXT, today=date(2028, 3, 1))
    before = len(ranch.events)
    done = adopt(ranch.desk(), plan)
    assert len(ranch.events) > before  # nothing is refused
    [said] = [p for p in done.problems if "may be pregnant" in p.what]
    assert "2001: found pregnant" in said.what
    assert "2004: on hold (lame); inseminated from 25 May 2027" in said.what
    assert "2005: inseminated from" in said.what
    assert "2003" not in said.what
    assert "sunup exchange write herd" in said.fix


def test_a_cow_planned_as_calved_on_her_due_date_is_not_named():
    ranch = bred()
    her = replace(cows(1, ai_on=NEXT)[0], tag="2001", due_on=date(2028, 3, 5))
    plan = season([her], first_ai_on=NEXT, today=date(2028, 3, 1))
    assert adopt(ranch.desk(), plan, females=[her]).problems == ()


def test_a_new_herd_has_nothing_against_it():
    plan = season(cows(3))
    ranch = Ranch(min(s.at_utc for g in plan.groups for s in g.schedule) - timedelta(days=1))
    assert adopt(ranch.desk(), plan, females=cows(3)).problems == ()


def test_an_early_insemination_beside_a_late_one_is_a_hold(monkeypatch):
    monkeypatch.setenv("SUNUP_NOW", "2027-07-20T10:00:00-06:00")
    ranch, _ = running(2)
    ranch.now = local("2027-07-20T10:00")
    for day in ("2027-05-25", "2027-07-18"):
        put(ranch, ["2001"], Kind.INSEMINATED, {"sire": "A31"}, day)
    assert listed(ranch)["2001"].hold_reason == "inseminated also on 2027-05-25"
