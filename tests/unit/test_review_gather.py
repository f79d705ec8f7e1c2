"""Who is counted in which group of a season, and what of the ledger is of that season."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

from herds import LIBRARY, cows, heifers, season
from sunup.planning.females_now import Noted
from sunup.planning.review_gather import SeasonRecord, gather
from sunup.records.event import Kind

DENVER = ZoneInfo("America/Denver")
DAY = timedelta(days=1)
PLAN = season(cows(4), protocols={"cows": "select_synch_insert_tai_cow"})
COWS = PLAN.groups[0]
TAGS = tuple(COWS.order)


def noted(kind, at, **body):
    return Noted(kind, at, body, event=f"{kind} {at} {sorted(body.items())}")


def listed(tag, group, at, class_="cow"):
    """A female as the ledger has her: added with her tag and put into a group."""
    return [
        noted(Kind.FEMALE_ADDED, at, tag=tag, listed=True, **{"class": class_}),
        noted(Kind.MOVED, at, to=group),
    ]


def treated(step):
    return noted(Kind.TREATED, step.at_utc, act=step.do, step=step.id)


def gathered(plan, females, **told):
    last = max(s.at_utc for g in plan.groups for s in g.schedule)
    told = {"at": last + 100 * DAY} | told
    record = SeasonRecord(ranch="r", season="s", plan=plan, zone=DENVER, females=females, **told)
    return gather(record, LIBRARY)


def herd(plan, *, group="cows", days_before=30):
    first = min(s.at_utc for g in plan.groups for s in g.schedule)
    return {f"f{tag}": listed(tag, group, first - days_before * DAY) for tag in TAGS}


def split():
    """The plan of the cows in two starts, a day apart."""
    later = tuple(
        replace(s, at_utc=s.at_utc + DAY, ends_utc=s.ends_utc + DAY,
                window_utc=(s.window_utc[0] + DAY, s.window_utc[1] + DAY),
                until_utc=None if s.until_utc is None else s.until_utc + DAY)
        for s in COWS.schedule
    )  # fmt: skip
    one = replace(COWS, name="cows, start 1", order=TAGS[:2])
    two = replace(COWS, name="cows, start 2", order=TAGS[2:], schedule=later)
    return replace(PLAN, groups=(one, two))


def test_cows_of_two_starts_are_counted_each_in_her_own():
    told = gathered(split(), herd(PLAN))
    assert {(r.tag, r.group) for r in told.results} == {
        (TAGS[0], "cows, start 1"), (TAGS[1], "cows, start 1"),
        (TAGS[2], "cows, start 2"), (TAGS[3], "cows, start 2"),
    }  # fmt: skip


def test_a_watch_recorded_of_the_cows_counts_for_both_their_starts():
    step = next(s for s in COWS.schedule if s.do == "watch")
    looks = [noted(Kind.WATCHED, step.at_utc + timedelta(hours=30 + 24 * i), minutes=30.0)
             for i in range(2)]  # fmt: skip
    told = gathered(split(), herd(PLAN), groups={"cows": looks})
    assert [kept.watches[0].looked for kept in told.compliance] == [2, 2]


def test_a_group_taken_out_of_the_plan_is_not_reviewed():
    off = replace(COWS, schedule=tuple(replace(s, cancelled=True) for s in COWS.schedule))
    told = gathered(replace(PLAN, groups=(off,)), herd(PLAN))
    assert (told.results, told.compliance, told.measures) == ((), (), ())


def test_a_step_called_off_long_before_does_not_open_the_season():
    """An insemination of a month before the first treatment is of no season of this plan."""
    early = replace(
        COWS.schedule[0], id="old", cancelled=True,
        window_utc=tuple(at - 40 * DAY for at in COWS.schedule[0].window_utc),
    )  # fmt: skip
    plan = replace(PLAN, groups=(replace(COWS, schedule=(early, *COWS.schedule)),))
    females = herd(PLAN, days_before=60)
    bred = noted(Kind.INSEMINATED, COWS.schedule[0].at_utc - 30 * DAY, sire="A1")
    females[f"f{TAGS[0]}"].append(bred)
    told = gathered(plan, females)
    assert [len(r.services) for r in told.results] == [0, 0, 0, 0]


def test_what_comes_after_the_next_seasons_start_is_not_of_this_one():
    at = max(s.at_utc for s in COWS.schedule if s.do == "ai")
    females = herd(PLAN)
    females[f"f{TAGS[0]}"] += [
        noted(Kind.INSEMINATED, at, sire="A1"),
        noted(Kind.INSEMINATED, at + 60 * DAY, sire="A1"),
    ]
    (all_, *_) = gathered(PLAN, females).results
    (first, *_) = gathered(PLAN, females, next_from=at + 50 * DAY).results
    assert (len(all_.services), len(first.services)) == (2, 1)


def test_one_that_went_over_to_another_group_is_counted_there_and_once():
    plan = season([*cows(4), *heifers(1)], protocols={"cows": "co_synch_insert7_cow"})
    first = plan.groups[0].schedule[0]
    females = herd(plan)
    females["h"] = listed(plan.groups[1].order[0], "heifers", first.at_utc - 30 * DAY, "heifer")
    gone = females[f"f{TAGS[0]}"]
    gone.append(noted(Kind.MOVED, first.at_utc - 2 * DAY, to="heifers"))
    step = plan.groups[1].schedule[0]
    gone.append(treated(step))
    told = gathered(plan, females)
    assert [r.group for r in told.results if r.tag == TAGS[0]] == ["heifers"]


def test_a_move_after_the_treatments_changes_nobodys_group():
    """The lists are drawn by the group she was in when treatments began (21 days, ours)."""
    females = herd(PLAN)
    last = max(s.at_utc for s in COWS.schedule)
    for notes in females.values():
        notes.append(noted(Kind.MOVED, last + 60 * DAY, to="sale"))
    told = gathered(PLAN, females)
    assert sorted((r.tag, r.group, r.gone) for r in told.results) == [
        (tag, "cows", False) for tag in sorted(TAGS)
    ]


def test_melengestrol_fed_and_pgf_given_to_a_whole_group_is_done_to_each():
    plan = season(heifers(3), protocols={"heifers": "mga_pg_tai"})
    group = plan.groups[0]
    start, end, pgf = (
        next(s for s in group.schedule if s.do == do) for do in ("mga_start", "mga_end", "pgf")
    )
    females = {
        f"f{tag}": listed(tag, "heifers", start.at_utc - 30 * DAY, "heifer") for tag in group.order
    }
    fed = [
        noted(Kind.FED, start.at_utc, feed="melengestrol", first_day=True),
        noted(Kind.FED, start.at_utc + DAY, feed="melengestrol"),
        noted(Kind.FED, end.at_utc, feed="melengestrol", last_day=True),
        noted(Kind.TREATED, pgf.at_utc, act="pgf", step=pgf.id),
    ]
    (kept,) = gathered(plan, females, groups={"heifers": fed}).compliance
    steps = {s.step: (s.of, s.in_time) for s in kept.steps}
    assert [steps[s.id] for s in (start, end, pgf)] == [(3, 3)] * 3
    assert kept.of_kind("not in the plan") == ()


def test_lost_inserts_and_part_doses_are_slips_and_whole_doses_are_not():
    first, *_ = (s for s in COWS.schedule if s.do == "pgf")
    out = next(s for s in COWS.schedule if s.do == "insert_out")
    females = herd(PLAN)
    for tag, what in (
        (TAGS[0], noted(Kind.INSERT_REMOVED, out.at_utc, found=False, step=out.id)),
        (TAGS[1], noted(Kind.INSERT_REMOVED, out.at_utc, found=True, step=out.id)),
        (TAGS[2], noted(Kind.TREATED, first.at_utc, act="pgf", step=first.id, dose_share=0.5)),
        (TAGS[3], noted(Kind.TREATED, first.at_utc, act="pgf", step=first.id, dose_share=1.0)),
    ):
        females[f"f{tag}"].append(what)
    (kept,) = gathered(PLAN, females).compliance
    told = [(s.kind, s.female, s.step) for s in kept.of_kind("lost insert", "part dose")]
    assert told == [
        ("lost insert", f"f{TAGS[0]}", out.id),
        ("part dose", f"f{TAGS[2]}", first.id),
    ]


def test_what_was_done_last_year_is_no_treatment_of_this_season():
    """The same steps a year ago; this year nobody was treated, and bulls came."""
    pgf = next(s for s in COWS.schedule if s.do == "pgf")
    females = herd(PLAN, days_before=400)
    for notes in females.values():
        notes.append(noted(Kind.TREATED, pgf.at_utc - 365 * DAY, act="pgf", step=pgf.id))
    bulls = [noted(Kind.BULLS_IN, pgf.at_utc + 20 * DAY, bulls=["B1"])]
    told = gathered(PLAN, females, groups={"cows": bulls})
    assert not any(r.treated for r in told.results)
    step = next(s for s in told.compliance[0].steps if s.step == pgf.id)
    assert step.in_time + step.early + step.late == 0
    females[f"f{TAGS[0]}"].append(treated(pgf))
    told = gathered(PLAN, females, groups={"cows": bulls})
    assert [r.treated for r in told.results] == [True, False, False, False]


def test_one_sold_before_the_insemination_was_over_is_gone():
    last = max(s.window_utc[1] for s in COWS.schedule if s.do == "ai")
    females = herd(PLAN)
    females[f"f{TAGS[0]}"].append(noted(Kind.LEFT_HERD, last - DAY, why="sold"))
    females[f"f{TAGS[1]}"].append(noted(Kind.LEFT_HERD, last + DAY, why="sold"))
    told = gathered(PLAN, females)
    assert [r.gone for r in told.results] == [True, False, False, False]
