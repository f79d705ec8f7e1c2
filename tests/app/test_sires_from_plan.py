"""Sires chosen ahead from the plan's shares: what the lists and the records then say."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta

from running_season import local, running, step

from herds import cow, cows
from sunup.app.heats import record_heats
from sunup.app.record import Details, record_ai, record_visit
from sunup.app.sires import assign_from_plan
from sunup.app.stock import Parcel, move_stock
from sunup.app.today import find_today
from sunup.cli.record_view import print_entry
from sunup.planning.request import Sire

SIRES = (Sire("cows", "A31", share=0.5), Sire("cows", "H12", share=0.5))


def ranch_with_sires():
    listed = [*cows(5), cow("9", sire="A31", days=75)]
    ranch, plan = running(females=listed, sires=SIRES)
    told, _ = assign_from_plan(ranch.desk(), at=ranch.now)
    ranch.now += timedelta(minutes=1)
    return ranch, plan, told


def test_each_cow_has_a_sire_with_alternates_and_none_her_own():
    ranch, _, (told,) = ranch_with_sires()
    assert dict(told.counts) == {"A31": 3, "H12": 3}
    females = {f.tag: f for f in ranch.desk().season.females.values()}
    assert females["9"].assigned == ("H12",)
    assert all(set(f.assigned) == {"A31", "H12"} for t, f in females.items() if t != "9")


def test_where_the_plan_leaves_the_sire_open_none_is_made_up():
    ranch, plan = running(2)
    assert [use.code for g in plan.groups for use in g.sires] == ["to choose"]
    assert assign_from_plan(ranch.desk()) == ((), ())
    (line,) = record_ai(ranch.desk(), ["2001"], at=ranch.now).lines
    assert line.events[-1].body["sire"] == "unknown"


def test_the_visit_records_the_sire_that_next_names_and_says_so(capsys):
    """Several sires in the plan and none chosen: the one with the larger share, but no father."""
    females = [*cows(3), cow("9", sire="A31", days=75)]
    shares = (Sire("cows", "H12", share=0.3), Sire("cows", "A31", share=0.7))
    ranch, plan = running(females=females, sires=shares)
    tags = [f.tag for f in females]
    for one in ("gnrh_1", "pgf"):
        ranch.now = step(plan, "cows", one).at_utc
        record_visit(ranch.desk(), "cows", one, tags, at=ranch.now)
    ranch.now = step(plan, "cows", "ai").at_utc
    (visit,) = [v for v in find_today(ranch.desk()).work.now if v.group == "cows"]
    named = {tag: sire for s in visit.steps for sire, some in s.by_sire for tag in some}
    entry = record_visit(ranch.desk(), "cows", "ai", tags, at=ranch.now)
    kept = {
        line.tag: event.body["sire"]
        for line in entry.lines
        for event in line.events
        if event.kind == "Inseminated"
    }
    assert kept == named == dict.fromkeys(tags, "A31") | {"9": "H12"}
    assert {sire: set(some) for sire, some in entry.sires_taken} == {
        "A31": set(tags) - {"9"},
        "H12": {"9"},
    }
    print_entry(ranch.desk(), entry)
    said = capsys.readouterr().out
    assert "A31 for" in said
    assert "H12 for 9" in said


def test_a_sire_named_by_hand_is_not_repeated_and_none_known_is_said(capsys):
    ranch, _ = running(2)
    details = Details(sire="A31")
    assert record_ai(ranch.desk(), ["2001"], at=ranch.now, details=details).sires_taken == ()
    entry = record_ai(ranch.desk(), ["2002"], at=ranch.now)
    print_entry(ranch.desk(), entry)
    assert "no sire named or planned for 2002" in capsys.readouterr().out


def test_done_again_nothing_changes_unless_asked():
    ranch, _, _ = ranch_with_sires()
    (told,), events = assign_from_plan(ranch.desk())
    assert (told.kept, events) == (6, ())
    (told,), events = assign_from_plan(ranch.desk(), ["2001"], again=True)
    assert len(events) == 1


def test_the_list_names_sire_and_straw_and_the_alternate_where_the_first_is_out():
    ranch, _, _ = ranch_with_sires()
    straw = {"sire": True, "tank": "T1", "canister": "2"}
    move_stock(ranch.desk(), Parcel(item="H12", amount=5, **straw), why="bought", at=ranch.now)
    ranch.now = local("2027-05-23T06:30:00")
    season = ranch.desk().season
    tag = next(f.tag for f in season.females.values() if f.assigned[0] == "A31")
    (line,) = record_heats(ranch.desk(), [tag], sign="standing", at=ranch.now).lines
    assert (line.sire, line.straw.is_alternate) == ("H12", True)
    assert line.straw.takes_from.canister == "2"


def test_today_says_how_many_straws_of_which_sire_and_the_visit_records_each_her_own():
    ranch, plan, _ = ranch_with_sires()
    ai = step(plan, "cows", "ai").at_utc
    for one in ("gnrh_1", "pgf"):
        ranch.now = step(plan, "cows", one).at_utc
        tags = [f.tag for f in ranch.desk().season.females.values()]
        record_visit(ranch.desk(), "cows", one, tags, at=ranch.now)
    ranch.now = ai
    (visit,) = [v for v in find_today(ranch.desk()).work.now if v.group == "cows"]
    (line,) = [s for s in visit.steps if s.straws]
    assert {sire: len(tags) for sire, tags in line.by_sire} == {"A31": 3, "H12": 3}
    entry = record_visit(ranch.desk(), "cows", "ai", tags, at=ai)
    used = Counter(e.body["sire"] for e in entry.events if e.kind == "Inseminated")
    assert used == {"A31": 3, "H12": 3}
    assert "own_father" not in {flag.rule for li in entry.lines for _, flag in li.flags}
