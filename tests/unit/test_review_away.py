"""A step that closed while a female was not there is not missed by anybody."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from sunup.planning.females_now import Noted
from sunup.planning.progress import Act, FemaleStep, GroupProgress, GroupStep, Phase
from sunup.planning.review_away import cut_away, find_stays
from sunup.records.event import Kind

DAY0 = datetime(2027, 5, 15, 20, tzinfo=UTC)


def at(days):
    return DAY0 + timedelta(days=days)


def moved(days, to):
    return Noted(Kind.MOVED, at(days), {"to": to})


def left(days):
    return Noted(Kind.LEFT_HERD, at(days), {"why": "sold"})


def test_a_planned_female_was_there_before_she_was_put_into_the_group():
    stays = find_stays([moved(-400, "heifers"), moved(1, "cows")], {"cows"}, is_planned=True)
    assert stays.holds(at(0))
    assert stays.holds(at(100))


def test_one_who_died_was_there_until_then_and_gone_after():
    stays = find_stays([moved(-20, "cows"), left(4)], {"cows"}, is_planned=True)
    assert stays.holds(at(3))
    assert not stays.holds(at(4))
    assert stays.gone_by(at(7))
    assert stays.went == "left the herd"


def test_one_who_joined_later_was_not_there_before():
    stays = find_stays([moved(5, "cows")], {"cows"}, is_planned=False)
    assert not stays.holds(at(4))
    assert not stays.gone_by(at(4))
    assert stays.holds(at(5))


def test_one_who_left_and_came_back_was_away_between():
    notes = [moved(-20, "cows"), left(1), moved(7, "cows")]
    stays = find_stays(notes, {"cows"}, is_planned=True)
    assert [stays.holds(at(d)) for d in (0, 3, 8)] == [True, False, True]


def test_one_who_went_over_to_another_group_was_there_until_then():
    stays = find_stays([moved(-20, "cows"), moved(1, "heifers")], {"cows"}, is_planned=True)
    assert [stays.holds(at(d)) for d in (0, 2)] == [True, False]
    assert stays.went == "in another group"


def test_only_a_move_or_leaving_ends_a_stay():
    weighed = Noted(Kind.WEIGHED, at(2), {"weight_kg": 500.0})
    again = moved(3, "cows")
    stays = find_stays([moved(-20, "cows"), weighed, again, moved(5, "heifers")], {"cows"},
                       is_planned=False)  # fmt: skip
    assert [stays.holds(at(d)) for d in (-21, 0, 2.5, 4, 5)] == [False, True, True, True, False]


def test_a_planned_female_sold_before_any_move_was_written_is_gone():
    stays = find_stays([left(4)], {"cows"}, is_planned=True)
    assert [stays.holds(at(d)) for d in (0, 5)] == [True, False]


def test_one_never_in_the_group_was_neither_in_it_nor_gone_from_it():
    stays = find_stays([moved(-20, "heifers"), left(4)], {"cows"}, is_planned=False)
    assert not any(stays.holds(at(d)) or stays.gone_by(at(d)) for d in (-30, 0, 9))


def test_a_planned_female_moved_out_in_the_very_hour_she_was_put_in_was_in_it():
    """The group of the list and the move of the day may bear one time."""
    stays = find_stays([moved(0, "cows"), moved(0, "heifers")], {"cows"}, is_planned=True)
    assert stays.holds(at(-1))
    assert stays.gone_by(at(0))


def test_gone_from_the_instant_a_stay_ends_also_after_an_earlier_one():
    notes = [moved(-20, "cows"), left(1), moved(7, "cows"), left(9)]
    stays = find_stays(notes, {"cows"}, is_planned=False)
    assert [stays.gone_by(at(d)) for d in (0, 1, 6, 7, 8, 9)] == [
        False, True, True, False, False, True,
    ]  # fmt: skip


STAYED = (moved(-20, "cows"),)
DIED = (moved(-20, "cows"), left(4))
CAME = (moved(5, "cows"),)


def cut(notes, *, phase=Phase.BEYOND, done=None, closes=6, until=None, planned=False):
    """What becomes of a step of hers whose window closes on a day."""
    act = None if done is None else Act("pgf", at(done))
    line = FemaleStep(
        "f1", "pgf", phase, at(closes - 0.5), (at(closes - 1), at(closes)), done=act,
        until=None if until is None else at(until),
    )  # fmt: skip
    stays = {} if notes is None else {"f1": find_stays(notes, {"cows"}, is_planned=planned)}
    step = GroupStep(None, (line,), line.at, line.window)
    (told,) = cut_away(GroupProgress("cows", (step,)), stays).steps[0].females
    return told.phase, told.why


@pytest.mark.parametrize(
    ("notes", "how", "phase", "why"),
    [
        (STAYED, {}, Phase.BEYOND, ""),
        (None, {}, Phase.BEYOND, ""),  # nothing is known of her stays: the plan stands
        (DIED, {}, Phase.NOT_HERS, "left the herd"),
        (DIED, {"closes": 3}, Phase.BEYOND, ""),  # she was there and it was missed
        (DIED, {"closes": 3, "until": 7}, Phase.NOT_HERS, "left the herd"),  # a watch that lasts
        (CAME, {"closes": 3}, Phase.NOT_HERS, "before she came"),
        (CAME, {"closes": 6}, Phase.BEYOND, ""),
        # what was done in the group stays hers, also where she is gone when the window closes
        (DIED, {"phase": Phase.DONE, "done": 2}, Phase.DONE, ""),
        (CAME, {"phase": Phase.DONE, "done": 3, "closes": 3}, Phase.NOT_HERS, "before she came"),
        (CAME, {"phase": Phase.DONE, "done": 5}, Phase.DONE, ""),
        # two stays: what was done between them was not before she came
        ((*DIED, moved(8, "cows")), {"phase": Phase.DONE, "done": 2}, Phase.DONE, ""),
    ],
)
def test_a_step_is_hers_while_she_is_in_the_group(notes, how, phase, why):
    assert cut(notes, **how) == (phase, why)


def test_a_step_that_was_for_others_anyway_keeps_its_reason():
    line = FemaleStep(
        "f1", "ai", Phase.NOT_HERS, at(6), (at(5), at(6)), why="inseminated on heat"
    )  # fmt: skip
    progress = GroupProgress("cows", (GroupStep(None, (line,), at(6), line.window),))
    stays = {"f1": find_stays(DIED, {"cows"}, is_planned=True)}
    assert cut_away(progress, stays).steps[0].females == (line,)
