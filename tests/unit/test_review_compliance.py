"""How a plan was kept: counts of each step, slips of each female, half-days watched."""

from __future__ import annotations

from datetime import timedelta

import pytest

from herds import cows, season, step_of
from sunup.planning.progress import Act, FemaleStep, GroupProgress, GroupStep, Phase
from sunup.planning.review_compliance import Slip, Watch, check_compliance

GROUP = season(cows(1), protocols={"cows": "select_synch_insert_tai_cow"}).groups[0]
FIRST = GROUP.schedule[0].id
HOUR = timedelta(hours=1)


def line(female, step, phase, *, off=0.0):
    done = None
    if phase is Phase.DONE:
        done = Act(step.do, step.at_utc + off * HOUR, step=step.id)
    return FemaleStep(
        female, step.id, phase, step.at_utc, step.window_utc, done=done, hours_off=off
    )


def kept(*steps, extra=(), watches=(), others=()):
    """Compliance of a group; each step as (id, {female: hours outside her window or a phase})."""
    made = []
    for id_, females in steps:
        step = step_of(GROUP, id_)
        lines = tuple(
            line(female, step, how)
            if isinstance(how, Phase)
            else line(female, step, Phase.DONE, off=how)
            for female, how in females.items()
        )
        made.append(GroupStep(step, lines, step.at_utc, step.window_utc))
    progress = GroupProgress("cows", tuple(made), extra=tuple(extra))
    return check_compliance(progress, watches=watches, others=others)


@pytest.mark.parametrize(
    ("hours", "early_h", "late_h"),
    [
        ((0.0, 0.0), 0.0, 0.0),
        ((3.0, 5.0), 0.0, 5.0),  # all late: nobody was early
        ((-3.0, -5.0), 5.0, 0.0),  # all early: nobody was late
        ((-2.0, 4.0), 2.0, 4.0),
    ],
)
def test_the_worst_hours_outside_the_window_are_none_where_nobody_was(hours, early_h, late_h):
    (step,) = kept(("pgf", dict(zip("ab", hours, strict=True)))).steps
    assert (step.worst_early_h, step.worst_late_h) == (early_h, late_h)
    assert "-" not in f"{step.worst_early_h}{step.worst_late_h}"


def test_each_female_a_step_is_for_is_counted_once():
    found = {
        "a": 0.0, "b": 0.5, "c": -1.0, "d": Phase.BEYOND, "e": Phase.WAITS, "f": Phase.COMING,
        "g": Phase.DUE, "h": Phase.NOT_HERS,
    }  # fmt: skip
    told = kept((FIRST, {"e": Phase.BEYOND}), ("pgf", found))
    _, step = told.steps
    counts = (step.of, step.in_time, step.early, step.late, step.missed, step.to_come)
    assert counts == (7, 1, 1, 1, 2, 2)
    # one that waits because the step before was missed is a slip there and not here
    slips = {(s.step, s.female, s.kind, s.hours) for s in told.slips}
    assert slips == {
        (FIRST, "e", "missed", 0.0),
        ("pgf", "b", "late", 0.5),
        ("pgf", "c", "early", 1.0),
        ("pgf", "d", "missed", 0.0),
    }
    # of those whose turn has not come, and those it is not for, nothing is said
    assert told.on_time == {"a": True, "b": False, "c": False, "d": False, "e": False}


def test_an_insert_lost_or_part_of_a_dose_is_out_of_time_and_another_remark_is_not():
    others = [
        Slip("lost insert", "cows", "a", "in", "insert"),
        Slip("part dose", "cows", "b", "pgf", "PGF"),
        Slip("not in the plan", "cows", "c", "", "GnRH"),
    ]
    told = kept(("pgf", dict.fromkeys("abcd", 0.0)), others=others)
    assert told.on_time == {"a": False, "b": False, "c": True, "d": True}
    assert told.of_kind("lost insert", "part dose") == tuple(others[:2])


def test_what_the_plan_does_not_hold_is_named_with_the_step_it_was_said_to_be():
    at = step_of(GROUP, "pgf").at_utc
    extra = [("a", Act("gnrh", at)), ("b", Act("pgf", at, step="pgf")), ("c", Act("ai", at))]
    told = kept(extra=extra)
    assert [(s.female, s.step, s.words) for s in told.slips] == [
        ("a", "", "GnRH"),
        ("b", "pgf", "PGF"),
    ]


def watch_step():
    return next(s for s in GROUP.schedule if s.do == "watch")


@pytest.mark.parametrize(
    ("hours", "looked"),
    [
        ((), 0),
        ((1, 5, 11), 1),  # three looks in one half-day are one half-day
        ((1, 13, 25), 3),
        ((-2,), 1),  # a little before it was to begin
        ((-30, 400), 0),  # before it and after it
        ((400, 1), 1),
    ],
)
def test_half_days_with_a_look_are_counted_of_those_the_watch_lasts(hours, looked):
    step = watch_step()
    watches = [Watch(step.at_utc + h * HOUR, 20.0) for h in hours]
    (told,) = kept((step.id, {"a": Phase.COMING}), watches=watches).watches
    lasts = (step.until_utc or step.ends_utc) - step.at_utc
    assert told.half_days == round(lasts / (12 * HOUR))
    assert told.looked == looked
    assert told.minutes == 20.0 * sum(-6 <= h < 12 * told.half_days for h in hours)
