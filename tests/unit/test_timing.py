"""Hours, visits, passes and days of a protocol, on small schedules worked out by hand."""

from dataclasses import replace

import pytest

from sunup.base.figures import Seen
from sunup.protocols.protocol import (
    Cattle,
    CyclingNeed,
    Do,
    Inseminate,
    Protocol,
    Standing,
    Step,
    Style,
    Who,
    Zero,
)
from sunup.protocols.timing import (
    nominal_hours,
    passes_through_chute,
    total_days,
    visits,
    watch_days,
    watch_spans,
)

pytestmark = pytest.mark.unit

EMPTY = Protocol(
    key="made_up",
    name="Made up",
    standing=Standing.RESEARCH,
    standing_note="",
    style=Style.TIMED_AI,
    classes=("cow",),
    cattle=Cattle.ANY,
    order=1,
    why="",
    suits="",
    cycling_need=CyclingNeed.HALF,
    zero=Zero.FIRST_TREATMENT,
    clock=None,
    steps=(),
    results=(),
    prerequisites=(),
    cautions=(),
    when_not=(),
    disagree=(),
    source=("memory",),
    seen=Seen.MEMORY,
)


def made_of(*steps):
    return replace(EMPTY, steps=steps)


def watch(id_, until, **when):
    return Step(id_, Do.WATCH, until=until, inseminate=Inseminate.AM_PM, **when)


SPLIT = made_of(
    Step("gnrh_1", Do.GNRH, day=0),
    Step("in", Do.INSERT_IN, with_="gnrh_1"),
    Step("pgf", Do.PGF, day=7),
    Step("out", Do.INSERT_OUT, with_="pgf"),
    Step("calves_off", Do.CALVES_OFF, with_="out"),
    Step("ai_1", Do.AI, after="pgf", hours=66, who=Who.IN_HEAT),
    Step("ai_2", Do.AI, after="ai_1", hours=24, who=Who.NOT_INSEMINATED),
    Step("gnrh_2", Do.GNRH, with_="ai_2", who=Who.NOT_IN_HEAT),
)


def test_hours_add_up_along_days_same_visits_and_elapsed_hours():
    assert nominal_hours(SPLIT) == {
        "gnrh_1": 0,
        "in": 0,
        "pgf": 168,
        "out": 168,
        "calves_off": 168,
        "ai_1": 234,
        "ai_2": 258,
        "gnrh_2": 258,
    }


def test_steps_tied_by_with_are_one_visit_even_through_another_step():
    chained = made_of(
        Step("pgf", Do.PGF, day=0),
        Step("in", Do.INSERT_IN, with_="pgf"),
        Step("gnrh", Do.GNRH, with_="in"),
    )
    (visit,) = visits(chained)
    assert [step.id for step in visit.steps] == ["pgf", "in", "gnrh"]


def test_visits_hold_chute_steps_only_and_stand_in_order_of_their_hours():
    assert [(visit.id, visit.hour, len(visit.steps)) for visit in visits(SPLIT)] == [
        ("gnrh_1", 0, 2),
        ("pgf", 168, 2),
        ("ai_1", 234, 1),
        ("ai_2", 258, 2),
    ]


def test_steps_that_only_share_an_hour_stay_two_visits():
    apart = made_of(Step("in", Do.INSERT_IN, day=0), Step("gnrh", Do.GNRH, after="in", hours=0))
    assert passes_through_chute(apart) == 2


def test_a_visit_that_hangs_on_a_feeding_is_named_by_its_first_chute_step():
    fed = made_of(
        Step("start", Do.MGA_START, day=0),
        Step("end", Do.MGA_END, day=6),
        Step("pgf", Do.PGF, with_="end"),
    )
    assert [(visit.id, visit.hour) for visit in visits(fed)] == [("pgf", 144)]


def test_watching_feeding_and_bulls_are_no_pass_through_the_chute():
    no_chute = made_of(
        Step("start", Do.MGA_START, day=0),
        Step("end", Do.MGA_END, day=13),
        watch("watch", 600, day=23),
        Step("bulls_in", Do.BULLS_IN, day=25),
    )
    assert passes_through_chute(no_chute) == 0


def test_timed_ai_of_the_rest_is_a_pass_and_ai_on_heat_is_not():
    cleanup = made_of(
        Step("pgf", Do.PGF, day=0),
        watch("watch", 72, after="pgf"),
        Step("ai", Do.AI, after="pgf", hours=78, who=Who.NOT_INSEMINATED),
    )
    assert passes_through_chute(cleanup) == 2


def test_days_run_to_the_last_step_or_the_end_of_the_last_watch():
    assert total_days(SPLIT) == pytest.approx(10.75)
    watched = made_of(Step("pgf", Do.PGF, day=2), watch("watch", 120, after="pgf"))
    assert total_days(watched) == 7  # 48 h to the PGF and 120 h of watching


def test_until_counts_from_the_step_named_or_from_zero_for_a_watch_by_day():
    two = made_of(
        watch("first", 144, day=0),
        Step("pgf", Do.PGF, day=7, who=Who.NOT_INSEMINATED),
        watch("second", 120, after="pgf", hours=24),
    )
    assert watch_spans(two) == ((0, 144), (192, 288))
    assert watch_days(two) == 10  # 6 days, and 4 days from hour 24 to hour 120 after the PGF


def test_watches_that_touch_or_overlap_are_counted_once():
    joined = made_of(
        watch("first", 72, day=0),
        watch("second", 100, day=2),
        watch("third", 120, day=4),
    )
    assert watch_spans(joined) == ((0, 120),)
    assert watch_days(joined) == 5


def test_a_protocol_without_steps_takes_no_time():
    assert (visits(EMPTY), total_days(EMPTY), watch_days(EMPTY)) == ((), 0, 0)
