"""Heat aids are put on wherever they are bought, in one pass of the chute (no source: our rule)."""

from __future__ import annotations

import pytest

from herds import LIBRARY, cows, season, step_of
from sunup.planning.heat_aids import wants_aid, with_aids
from sunup.planning.visits import find_visits
from sunup.protocols.protocol import Do
from sunup.protocols.timing import nominal_hours

BOUGHT = [key for key, protocol in LIBRARY.protocols.items() if wants_aid(protocol)]
WATCHED_AFTER_PGF = "select_synch_insert_tai_cow"


def aids_bought(plan):
    return [line for line in plan.shopping if line.item.startswith("heat aids")]


@pytest.mark.parametrize("key", BOUGHT)
def test_aids_that_are_bought_go_on_once_and_before_heats_are_looked_for(key):
    protocol = with_aids(LIBRARY.protocols[key])
    (aid,) = [s for s in protocol.steps if s.do is Do.HEAT_AID_ON]
    hours = nominal_hours(protocol)
    starts = [hours[s.id] for s in protocol.steps if s.do in {Do.WATCH, Do.AI}]
    assert hours[aid.id] <= min(starts)


def test_aids_take_no_pass_of_their_own_where_one_begins_the_watch():
    plain = LIBRARY.protocols[WATCHED_AFTER_PGF]
    changed = with_aids(plain)
    assert changed.step("aid").with_ == "pgf"
    assert [v.id for v in find_visits(changed)] == [v.id for v in find_visits(plain)]


def test_aids_take_a_pass_of_their_own_where_none_comes_before_the_watch():
    changed = with_aids(LIBRARY.protocols["natural_heat"])
    assert [(v.id, v.in_chute) for v in find_visits(changed)] == [("aid", True), ("watch", False)]


def test_aids_stand_in_the_schedule_with_the_job_of_the_pgf_day():
    plan = season(cows(40), protocols={"cows": WATCHED_AFTER_PGF})
    (group,) = plan.groups
    aid, pgf = step_of(group, "aid"), step_of(group, "pgf")
    assert (aid.visit, aid.at_utc, aid.head) == (pgf.visit, pgf.at_utc, 40)
    (line,) = aids_bought(plan)
    assert "40 to put on (cows Sun 23 May)" in line.detail


@pytest.mark.parametrize("aid", ["eye", "electronic"])
def test_a_watch_without_patch_or_paint_neither_buys_nor_puts_any_on(aid):
    plan = season(cows(40), protocols={"cows": WATCHED_AFTER_PGF}, watches={"cows": f"3x30:{aid}"})
    (group,) = plan.groups
    assert not aids_bought(plan)
    assert not any(s.do == Do.HEAT_AID_ON.value for s in group.schedule)
