"""Planning again: ids for ever, sequences that rise, cancelled steps kept, files lossless."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from herds import (
    AI_ON,
    COW,
    FIRST_CALF,
    LIBRARY,
    LIBRARY_PROBLEMS,
    cow,
    cows,
    heifer,
    heifers,
    season,
)
from sunup.app.open import shipped_texts
from sunup.base.problems import UsageError
from sunup.exchange.plan_file import PlanFileError, read_plan_file, render_plan_file
from sunup.library import build_library
from sunup.planning.plan import PLAN_SCHEMA_VERSION
from sunup.planning.renewal import find_rests_on, renew
from sunup.planning.request import Event, Sire

HERD = [*cows(30), *heifers(20)]
SEVEN = {"cows": "co_synch_insert7_cow", "heifers": "co_synch_insert7_heifer"}


def whole(females, *, library=LIBRARY, **wishes):
    """A plan with all that it rests on, as the program keeps it."""
    plan = season(females, library=library, **wishes)
    used = {g.chosen: library.protocols[g.chosen] for g in plan.groups if g.chosen}
    return replace(plan, rests_on=find_rests_on(library, used))


def again(old, females, **wishes):
    """The same as the program does with a former plan: order kept, then renewed."""
    made_at = datetime(2027, 1, 2, 3, tzinfo=UTC)
    new = whole(females, previous=old, **wishes)
    new = replace(
        new,
        made_at_utc=made_at,
        groups=tuple(
            replace(g, schedule=tuple(replace(s, uid=f"{s.uid}-new") for s in g.schedule))
            for g in new.groups
        ),
    )
    return renew(new, old)


def steps(plan):
    return {(s.group, s.id): s for g in plan.groups for s in g.schedule}


@st.composite
def herds(draw):
    return [
        *(
            cow(
                f"C{i}",
                days=draw(st.integers(20, 110)),
                class_=draw(st.sampled_from([COW, FIRST_CALF])),
                condition=draw(st.sampled_from([None, 3.5, 5.0, 6.0])),
            )
            for i in range(draw(st.integers(0, 12)))
        ),
        *(
            heifer(f"H{i}", tract_score=draw(st.sampled_from([None, 1, 3, 5])))
            for i in range(draw(st.integers(0, 12)))
        ),
    ]


WISHES = st.fixed_dictionaries(
    {
        "first_ai_on": st.integers(0, 300).map(lambda d: date(2027, 2, 1) + timedelta(days=d)),
        "zone": st.sampled_from(["America/Denver", "Europe/London", "Australia/Sydney"]),
        "chutes": st.integers(1, 3),
        "region": st.sampled_from(["US", "UK", "BR", "other"]),
        "prescriber": st.sampled_from([None, "Dr Example"]),
        "earlier_days": st.sampled_from([None, 7.5]),
        "events": st.sampled_from([(), (Event("haul", date(2027, 6, 20), None),)]),
    }
)


@settings(max_examples=30, deadline=None)
@given(herds(), WISHES)
def test_planning_again_from_the_same_herd_changes_not_a_byte(herd, wishes):
    old = whole(herd, **wishes)
    assert render_plan_file(old) == render_plan_file(again(old, herd, **wishes))


@settings(max_examples=30, deadline=None)
@given(herds(), WISHES)
def test_a_plan_comes_back_from_its_file_as_it_was(herd, wishes):
    plan = whole(herd, **wishes)
    text = render_plan_file(plan)
    back = read_plan_file(text, "plan.json")
    assert plan == back
    assert text == render_plan_file(back)


@settings(max_examples=20, deadline=None)
@given(herds(), st.integers(-20, 60))
def test_moving_the_day_keeps_ids_and_raises_the_sequence_of_what_moved(herd, days):
    old = whole(herd)
    new = again(old, herd, first_ai_on=AI_ON + timedelta(days=days))
    before, after = steps(old), steps(new)
    for key in before.keys() & after.keys():
        was, now = before[key], after[key]
        assert was.uid == now.uid
        moved = replace(was, sequence=0) != replace(now, sequence=0)
        assert now.sequence == was.sequence + moved
    assert before.keys() <= after.keys(), "a step that was handed out never vanishes"


def test_a_moved_day_is_told_step_by_step_in_words():
    old = whole(HERD, protocols=SEVEN)
    new = again(old, HERD, protocols=SEVEN, first_ai_on=AI_ON + timedelta(days=1))
    assert len(new.changes) == len(steps(old))
    assert all("moved from" in line for line in new.changes)
    assert {1} == {s.sequence for s in steps(new).values()}


def test_another_protocol_leaves_the_dropped_steps_cancelled():
    old = whole(HERD, protocols=SEVEN)
    new = again(old, HERD, protocols=SEVEN | {"cows": "pg1_all"})
    gone = {key: step for key, step in steps(new).items() if step.cancelled}
    assert gone.keys() == {k for k in steps(old) if k[0] == "cows" and k[1] != "pgf"}
    for key, step in gone.items():
        assert (step.uid, step.sequence) == (steps(old)[key].uid, 1)
    third = again(new, HERD, protocols=SEVEN | {"cows": "pg1_all"})
    assert render_plan_file(new) == render_plan_file(third), "cancelled once, not every time"


def test_a_step_that_comes_back_keeps_its_id_with_a_higher_sequence():
    first = whole(HERD, protocols=SEVEN)
    second = again(first, HERD, protocols=SEVEN | {"cows": "pg1_all"})
    third = again(second, HERD, protocols=SEVEN)
    key = ("cows", "gnrh_1")
    found = [steps(plan)[key] for plan in (first, second, third)]
    assert len({s.uid for s in found}) == 1
    assert [s.sequence for s in found] == [0, 1, 2]
    assert [s.cancelled for s in found] == [False, True, False]
    assert any("is back" in line for line in third.changes)


def test_a_group_that_is_gone_leaves_its_steps_called_off_and_nothing_else():
    old = whole(HERD, protocols=SEVEN)
    new = again(old, cows(30), protocols={"cows": SEVEN["cows"]})
    assert [g.name for g in new.groups] == ["cows"]
    was = [step for step in steps(old).values() if step.group == "heifers"]
    assert {(s.uid, s.sequence, s.cancelled) for s in new.called_off} == {
        (s.uid, 1, True) for s in was
    }
    assert read_plan_file(render_plan_file(new), "x") == new
    third = again(new, cows(30), protocols={"cows": SEVEN["cows"]})
    assert render_plan_file(new) == render_plan_file(third), "called off once, not every time"


def test_a_group_that_comes_back_has_the_ids_it_had():
    first = whole(HERD, protocols=SEVEN)
    second = again(first, cows(30), protocols={"cows": SEVEN["cows"]})
    third = again(second, HERD, protocols=SEVEN)
    assert not third.called_off
    for key, step in steps(third).items():
        assert step.uid == steps(first)[key].uid
        assert step.sequence == (2 if key[0] == "heifers" else 0)
    assert all("is back" in line for line in third.changes)


def test_starts_asked_for_once_do_not_come_back_as_groups():
    split = whole(cows(30), protocols={"cows": SEVEN["cows"]}, splits={"cows": 2})
    new = again(split, cows(30), protocols={"cows": SEVEN["cows"]})
    assert [(g.name, g.n) for g in new.groups] == [("cows", 30)]
    assert {"cows, start 1", "cows, start 2"} == {s.group for s in new.called_off}


def test_more_starts_than_females_are_refused():
    with pytest.raises(UsageError, match=r"--split cows=31: 'cows' has 30 females"):
        whole(cows(30), splits={"cows": 31})
    assert len(whole(cows(30), splits={"cows": 30}).groups) == 30


def test_a_female_added_goes_to_the_end_and_the_others_keep_their_place():
    old = whole(HERD, protocols=SEVEN)
    new = again(old, [cow("1"), *HERD], protocols=SEVEN)
    before, after = (next(g for g in plan.groups if g.name == "cows").order for plan in (old, new))
    assert (*before, "1") == after
    assert any("30 head became 31" in line or "moved" in line for line in new.changes)


def test_a_female_gone_closes_the_gap_and_moves_no_one_else():
    old = whole(HERD, protocols=SEVEN)
    left = [f for f in HERD if f.tag != "2010"]
    new = again(old, left, protocols=SEVEN)
    before, after = (next(g for g in plan.groups if g.name == "cows").order for plan in (old, new))
    assert tuple(t for t in before if t != "2010") == after


def test_a_figure_changed_by_an_overlay_is_named_with_both_values():
    old = whole(HERD, protocols=SEVEN)
    overlay = '["practice.work_rate_ai"]\nvalue = 32\nunit = "head/h"\nnote = "Counted."\n'
    library, problems = build_library(shipped_texts(), overlay)
    assert problems == LIBRARY_PROBLEMS
    new = again(old, HERD, library=library, protocols=SEVEN)
    assert "practice.work_rate_ai: 25 head/h became 32 head/h." in new.changes
    assert not [line for line in new.changes if line.startswith("prices.")]


def test_a_protocol_step_changed_in_the_library_is_named():
    texts = dict(shipped_texts())
    name = "protocols/co_synch_insert7_cow.toml"
    assert "hours = 63" in texts[name]
    texts[name] = texts[name].replace("hours = 63", "hours = 64")
    library, problems = build_library(texts, None)
    assert problems == LIBRARY_PROBLEMS
    old = whole(HERD, protocols=SEVEN)
    new = again(old, HERD, library=library, protocols=SEVEN)
    (line,) = [c for c in new.changes if c.startswith("co_synch_insert7_cow.ai:")]
    assert "63 h after pgf" in line
    assert "64 h after pgf" in line
    assert any("Library changed" in c for c in new.changes)


def test_sires_wishes_and_splits_survive_the_file():
    plan = whole(
        HERD,
        protocols=SEVEN,
        options={"cows": ("sexed_semen",)},
        sires=(Sire("cows", "B1", "sexed", 0.4), Sire("cows", "B2", share=0.6)),
        splits={"heifers": 2},
        drugs={"pgf": "dinoprost/5"},
    )
    assert plan == read_plan_file(render_plan_file(plan), "x")


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda t: t[: len(t) // 2], "not a plan file"),
        (lambda _: "", "not a plan file"),
        (lambda _: "[]", "no schema_version"),
        (lambda _: '"text"', "no schema_version"),
        (lambda t: t.replace('"schema_version": 1', '"schema_version": 99'), "form 99"),
        (lambda t: t.replace('"at_utc": "2027', '"at_utc": "20x7'), "damaged"),
        (lambda t: t.replace('"groups": [', '"groups": 7, "old": ['), "damaged"),
        (lambda t: t.replace('"females": [', '"females": ["x", '), "damaged"),
        (lambda t: t.replace('"zone": "America/Denver"', '"zone": 5'), "damaged|zone"),
    ],
)
def test_a_spoilt_plan_file_is_refused_in_words(spoil, words):
    text = render_plan_file(whole(HERD, protocols=SEVEN))
    spoilt = spoil(text)
    assert spoilt != text
    with pytest.raises(PlanFileError, match=words) as caught:
        read_plan_file(spoilt, "old/plan.json")
    assert "old/plan.json" in str(caught.value)


def test_the_file_states_its_form_and_times_in_utc_and_on_the_wall():
    data = json.loads(render_plan_file(whole(HERD, protocols=SEVEN)))
    assert data["schema_version"] == PLAN_SCHEMA_VERSION
    for group in data["groups"]:
        for step in group["schedule"]:
            utc = datetime.fromisoformat(step["at_utc"])
            local = datetime.fromisoformat(step["at_local"])
            assert utc == local
            assert local.utcoffset() == timedelta(hours=-6)  # Denver in May: daylight time
