"""Today where a season does not go as planned: watches, sires, days that are over, what comes."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from running_season import DENVER, local, running, step

from herds import cows, season
from sunup.app.heats import record_heats
from sunup.app.no_plan import NoSeasonError
from sunup.app.record import Details, due_tags, record_ai, record_visit
from sunup.app.record_facts import record_fact
from sunup.app.season import adopt
from sunup.app.today import find_today
from sunup.cli.record_view import print_entry
from sunup.cli.season_view import print_season
from sunup.cli.today_view import _print_late_lines, line_notes, print_ai_lines, print_today
from sunup.planning.ahead import Coming
from sunup.planning.insemination_times import Timeliness
from sunup.planning.request import Sire
from sunup.planning.review_compliance import Slip
from sunup.planning.today import Late
from sunup.records.event import Kind
from sunup.reports.review_values import _slip_rows

SELECT = {"cows": "select_synch_insert_tai_cow"}
TEN = [str(2001 + i) for i in range(10)]


def treated(n=10, **wishes):
    """Cows that had GnRH and insert as planned; their ranch, plan and the PGF's hour."""
    ranch, plan = running(n, protocols=SELECT, **wishes)
    ranch.now = step(plan, "cows", "gnrh_1").at_utc
    record_visit(ranch.desk(), "cows", "gnrh_1", TEN[:n], at=ranch.now)
    return ranch, plan, step(plan, "cows", "pgf").at_utc


def watch_of(today):
    return next((v for v in today.work.now if v.words.startswith("watch")), None)


def test_a_watch_runs_from_the_first_female_to_the_last_one():
    """Watched from the PGF for 72 h (the protocol's hours): one had it a day before the others."""
    ranch, _, pgf = treated()
    early, rest = pgf - timedelta(hours=23, minutes=55), pgf + timedelta(hours=1, minutes=5)
    record_visit(ranch.desk(), "cows", "pgf", TEN[:1], at=early)
    record_visit(ranch.desk(), "cows", "pgf", TEN[1:], at=rest)
    ranch.now = rest + timedelta(hours=1)
    visit = watch_of(find_today(ranch.desk()))
    assert visit.window == (early, rest + timedelta(hours=72))
    assert visit.until == rest + timedelta(hours=72)
    ranch.now = rest + timedelta(hours=60)
    assert watch_of(find_today(ranch.desk())) is not None, "nine are still to be watched"
    ranch.now = rest + timedelta(hours=73)
    assert watch_of(find_today(ranch.desk())) is None


TWO_SIRES = (Sire("cows", "A31", share=0.6), Sire("cows", "H12", share=0.4))
NEXT_AI = date(2028, 5, 23)


def next_season(ranch, at):
    """The season of 2028 adopted: the same cows, calved again by its first treatment."""
    listed = cows(6, ai_on=NEXT_AI)
    plan = season(
        listed,
        today=at.date(),
        first_ai_on=NEXT_AI,
        protocols={"cows": "co_synch_insert7_cow"},
        sires=TWO_SIRES,
    )
    adopt(ranch.desk(), plan, females=listed)
    return plan


def sires_of(ranch):
    return {f.tag: f.assigned[:1] for f in ranch.desk().season.females.values()}


def choose(ranch, tag, sire):
    fact = {"sire": sire, "alternates": None, "semen": None}
    record_fact(ranch.desk(), [tag], Kind.SIRE_ASSIGNED, fact, at=ranch.now, words="sire")


def test_a_sire_chosen_for_last_season_is_not_carried_into_this_one():
    """2001 and 2003 were chosen for in 2027, 2002 after the last AI of 2027 and before 2028."""
    ranch, plan = running(6, sires=TWO_SIRES)
    for tag in ("2001", "2003"):
        choose(ranch, tag, "H12")
    assert sires_of(ranch)["2003"] == ("H12",)
    ranch.now = step(plan, "cows", "ai").at_utc
    record_ai(ranch.desk(), ["2001"], at=ranch.now, details=Details(sire="H12"))
    ranch.now += timedelta(days=200)
    choose(ranch, "2002", "H12")
    ranch.now += timedelta(days=60)
    coming = next_season(ranch, ranch.now)
    assert sires_of(ranch) == {
        **dict.fromkeys((str(2001 + i) for i in range(6)), ()),
        "2002": ("H12",),
    }
    ranch.now += timedelta(days=1)
    choose(ranch, "2004", "H12")
    ranch.now = step(coming, "cows", "ai").at_utc - timedelta(days=2)
    record_ai(ranch.desk(), ["2006"], at=ranch.now, details=Details(sire="A31"))
    assert sires_of(ranch)["2004"] == ("H12",), "an AI of this season ends nothing"


def test_the_next_visit_counts_straws_of_the_sires_the_lists_name():
    """The plan gives A31 the larger share; H12 was chosen for one: the list and NEXT agree."""
    ranch, plan = running(6, protocols=SELECT, sires=TWO_SIRES)
    choose(ranch, "2002", "H12")
    ranch.now = step(plan, "cows", "gnrh_1").at_utc
    record_visit(ranch.desk(), "cows", "gnrh_1", TEN[:6], at=ranch.now)
    ranch.now = step(plan, "cows", "pgf").at_utc
    record_visit(ranch.desk(), "cows", "pgf", TEN[:6], at=ranch.now)
    ranch.now += timedelta(hours=48)
    record_heats(ranch.desk(), ["2001", "2002"], sign="standing", at=ranch.now)
    today = find_today(ranch.desk())
    listed = {line.tag: line.sire for line in (*today.inseminate, *today.later)}
    (visit,) = [v for v in today.work.next if "inseminate" in v.words]
    straws = {tag: sire for sire, tags in visit.steps[0].by_sire for tag in tags}
    assert listed == {"2001": "A31", "2002": "H12"}
    assert {tag: straws[tag] for tag in listed} == listed
    assert set(straws.values()) == {"A31", "H12"}


def days_of(told, kind):
    return [(line.n, line.from_on, line.until_on) for line in told if line.kind is kind]


def test_after_the_inseminations_today_says_what_comes_next():
    """Return 18 to 24 days, scan 28 days after AI without bulls (ultrasound), calf after 280 or so.

    Common practice for the returns (no source); ultrasound from day 28, gestation of cattle near
    283 days (both in any textbook): the calf's days are held to a fortnight either side.
    """
    ranch, plan = running(3)
    ranch.now = step(plan, "cows", "ai").at_utc
    served = ranch.now.astimezone(DENVER).date()
    record_ai(ranch.desk(), ["2001", "2002"], at=ranch.now, details=Details(sire="A31"))

    def ahead(days):
        ranch.now = step(plan, "cows", "ai").at_utc + timedelta(days=days)
        return find_today(ranch.desk(season_only=True)).ahead

    def after(days):
        return served + timedelta(days=days)

    week = ahead(7)
    assert days_of(week, Coming.RETURNS) == [(2, after(18), after(24))]
    ((n, scan_from, _),) = days_of(week, Coming.SCAN)
    assert (n, scan_from) == (2, after(28))
    ((n, first, last),) = days_of(week, Coming.CALVING)
    assert n == 2
    assert after(283 - 14) < first < last < after(283 + 14)
    assert [line.is_now for line in week] == [False, False, False]
    assert [line.is_now for line in ahead(20) if line.kind is Coming.RETURNS] == [True]
    ranch.now = step(plan, "cows", "ai").at_utc + timedelta(days=40)
    for tag, result in (("2001", "pregnant"), ("2002", "not_pregnant")):
        body = {"method": "ultrasound", "result": result, "fetal_age_days": None}
        record_fact(ranch.desk(), [tag], Kind.PREGNANCY_CHECKED, body, at=ranch.now, words="scan")
    (calving,) = ahead(60)
    assert (calving.kind, calving.n, calving.not_checked) == (Coming.CALVING, 1, 0)
    (over,) = ahead(310)
    assert (over.kind, over.n, over.is_now) == (Coming.OVERDUE, 1, True)


def test_what_was_missed_is_told_of_females_and_not_of_a_season_that_is_over():
    """Three cows got nothing of five steps: three females, and not a word a month later."""
    ranch, plan = running(3)
    last = step(plan, "cows", "ai")
    ranch.now = step(plan, "cows", "gnrh_1").at_utc + timedelta(days=6)
    assert find_today(ranch.desk()).work.beyond_before == 3
    ranch.now = last.window_utc[1] + timedelta(days=30)
    work = find_today(ranch.desk()).work
    assert (work.beyond_before, work.beyond) == (0, ())


def test_hours_of_two_days_are_told_with_their_days(capsys):
    """One cow's window closed two days ago, the others' this morning: "08:50" alone misleads."""
    zone = DENVER
    late = [
        Late("a", "1", "cows", "pgf", "PGF", closes, closes)
        for closes in (local("2027-05-23T02:00"), local("2027-05-25T08:50"))
    ]
    _print_late_lines(late, zone, local("2027-05-25T15:00"), limit=9, word="closed")
    assert "closed Sun 23 May 02:00 to Tue 25 May 08:50" in capsys.readouterr().out


def test_before_the_plan_was_adopted_today_says_when_it_was():
    ranch, _ = running(2)
    with pytest.raises(NoSeasonError) as told:
        find_today(ranch.desk(at=ranch.now - timedelta(days=30)))
    day = ranch.now.astimezone(DENVER)
    assert f"adopted on {day:%a} {day.day} {day:%b} {day.year}" in str(told.value)
    ranch.events.clear()
    with pytest.raises(NoSeasonError, match="No plan has been adopted in this ledger yet"):
        find_today(ranch.desk())


def test_a_heat_told_two_days_late_is_answered_and_listed_with_one_advice():
    """Standing 52 h ago: no straw is worth it now, nor at the fixed time, twenty hours on.

    The ovum lives half a day after ovulation, some 30 h after the heat began (any textbook).
    """
    ranch, plan, pgf = treated()
    record_visit(ranch.desk(), "cows", "pgf", TEN, at=pgf)
    ranch.now = step(plan, "cows", "ai").at_utc - timedelta(hours=20)
    seen = record_heats(ranch.desk(), ["2001"], sign="standing", at=ranch.now - timedelta(hours=52))
    (answer,) = seen.lines
    assert answer.standing is Timeliness.TOO_LATE
    assert answer.text.startswith("Too late now")
    assert "Leave her, also at the fixed time" in answer.text
    assert not [note for note in line_notes(answer, DENVER) if "once inseminated" in note]
    today = find_today(ranch.desk())
    assert [line.tag for line in today.too_late] == ["2001"]
    assert not [*today.inseminate, *today.later]


def test_who_is_left_for_her_next_heat_is_not_counted_at_the_fixed_time(capsys):
    """As advised: the ovum of a heat 52 h ago is dead (any textbook), so that no straw is for her.

    Neither before the visit, nor at it, nor as one who missed it; inseminated all the same, it is
    said.
    """
    ranch, plan, pgf = treated()
    record_visit(ranch.desk(), "cows", "pgf", TEN, at=pgf)
    ai = step(plan, "cows", "ai")
    ranch.now = ai.at_utc - timedelta(hours=20)
    record_heats(ranch.desk(), ["2001"], sign="standing", at=ranch.now - timedelta(hours=52))
    record_heats(ranch.desk(), ["2002"], sign="standing", at=ranch.now - timedelta(hours=2))
    today = find_today(ranch.desk())
    (visit,) = [v for v in (*today.work.now, *today.work.next) if "insemin" in v.words]
    assert (len(visit.to_go), visit.left_out) == (9, ("2001",))
    (straws,) = [s.straws for s in visit.steps if s.straws]
    assert straws == 9
    print_today(today)
    assert "left for her next heat, not in the count: 2001" in capsys.readouterr().out
    ranch.now = ai.at_utc
    entry = record_visit(ranch.desk(), "cows", "ai", TEN[:2], at=ranch.now, keep=False)
    flagged = {line.tag for line in entry.lines if "heat_over" in {f.rule for _, f in line.flags}}
    assert flagged == {"2001"}
    timed = record_ai(
        ranch.desk(), TEN[:2], at=ranch.now, details=Details(sire="A31", timed=True), keep=False
    )
    flagged = {line.tag for line in timed.lines if "heat_over" in {f.rule for _, f in line.flags}}
    assert flagged == {"2001"}
    due = due_tags(ranch.desk(), "cows", "ai", at=ranch.now)
    assert set(due) == set(TEN[1:])
    entry = record_visit(ranch.desk(), "cows", "ai", due, at=ranch.now)
    assert (entry.left_for_heat, entry.left_to_do) == (("2001",), ())
    print_entry(ranch.desk(), entry)
    assert "not recorded, left for her next heat: 2001" in capsys.readouterr().out
    ranch.now = ai.window_utc[1] + timedelta(hours=6)
    work = find_today(ranch.desk()).work
    assert "2001" not in {line.tag for line in (*work.late, *work.beyond)}


def test_a_heat_before_the_groups_pgf_leaves_her_in_the_groups_plan():
    ranch, _, pgf = treated()
    ranch.now = pgf - timedelta(days=1)
    seen = record_heats(ranch.desk(), ["2001"], sign="standing", at=ranch.now - timedelta(days=2))
    assert "Go on with her group's plan" in seen.lines[0].text
    today = find_today(ranch.desk())
    assert not [tag for v in (*today.work.now, *today.work.next) for tag in v.left_out]


def test_an_old_heat_entered_afterwards_does_not_promise_a_next_heat_gone_by(capsys):
    ranch, _, pgf = treated()
    ranch.now = pgf
    seen = record_heats(ranch.desk(), ["2001"], sign="standing", at=ranch.now - timedelta(days=40))
    print_ai_lines(seen.lines, DENVER)
    told = capsys.readouterr().out
    assert "2001: Too late: her heat began 40 days ago" in told
    assert "inseminate Too" not in told


def test_who_waits_for_a_pgf_not_on_file_is_not_told_as_past_her_window(capsys):
    """The PGF was missed; the insemination's own window is open yet."""
    ranch, plan, pgf = treated(n=2)
    record_visit(ranch.desk(), "cows", "pgf", TEN[:1], at=pgf)
    ranch.now = step(plan, "cows", "ai").at_utc
    print_season(ranch.desk())
    told = capsys.readouterr().out
    assert "missed pgf: 2002" in told
    assert "missed ai" not in told
    assert "waiting at ai (no PGF recorded" in told


def test_less_than_a_minute_outside_a_window_is_inside():
    """Hours are written down to the minute: 0.0 h late is not late."""
    ranch, plan, _ = treated(n=2)
    closes = step(plan, "cows", "pgf").window_utc[1]
    ranch.now = closes + timedelta(seconds=40)
    assert not record_visit(ranch.desk(), "cows", "pgf", TEN[:1], at=ranch.now).lines[0].flags
    (late,) = record_visit(
        ranch.desk(), "cows", "pgf", TEN[1:2], at=closes + timedelta(minutes=9)
    ).lines
    assert "9 min too late" in late.flags[0][1].text
    (row,) = _slip_rows([Slip("late", "cows", "2002", "pgf", "PGF", hours=0.04)], {})
    assert row[-1] == "2 min"
