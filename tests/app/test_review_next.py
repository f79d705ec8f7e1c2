"""What another date, protocol or watch would have brought: who is run, and on what."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from ledger_events import event
from season_events import COWS, HEIFERS, RANCH, make_events, the_plan

from sunup.app.forecast_asked import Asked
from sunup.app.review import review_season
from sunup.app.review_next import females_then, foresee_next
from sunup.records.event import Kind

AT = datetime(2028, 11, 1, tzinfo=UTC)
ASKED = Asked(replicates=50)


@pytest.fixture(scope="module")
def reviewed():
    return review_season(make_events(), at=AT)


@pytest.fixture(scope="module")
def foreseen(reviewed):
    return foresee_next(reviewed, asked=ASKED).review


def test_females_are_taken_as_they_stood_before_the_season(reviewed):
    """Inseminations, bulls and calvings of the season itself must not be known."""
    before = {f.tag: f for f in females_then(reviewed)}
    listed = {line.tag: line for line in the_plan().females}
    assert set(before) == set(listed)
    for tag, female in before.items():
        assert female.exposure is None
        assert female.pregnancy is None
        assert female.class_.value == listed[tag].class_
        assert female.group == listed[tag].group
        assert female.condition in {4.5, 5.5}


def test_other_protocols_and_watches_are_run_for_each_group(foreseen):
    told = {(c.group, c.key) for c in foreseen.next_season}
    assert ("cows", "protocol") in told
    assert ("heifers", "protocol") in told
    # only the heifers were watched
    assert ("heifers", "watching") in told
    assert ("cows", "watching") not in told
    for one in foreseen.next_season:
        assert one.n == {"cows": COWS, "heifers": HEIFERS}[one.group]
        assert 0 <= one.then <= one.n
        assert one.more_low80 <= one.more_median <= one.more_high80
        assert 0 <= one.beats <= 50
    assert "Simulated" in foreseen.next_words


def test_heat_aids_that_the_plan_buys_are_in_it_and_not_offered_again(foreseen):
    assert any("times a day instead of" in c.words for c in foreseen.next_season)
    assert not any("patches" in c.words for c in foreseen.next_season)


def test_the_same_seed_gives_the_same_numbers_and_one_group_only_itself(reviewed, foreseen):
    again = foresee_next(reviewed, asked=ASKED).review
    assert again.next_season == foreseen.next_season
    alone = foresee_next(review_season(make_events(), at=AT, group="heifers"), asked=ASKED).review
    assert {c.group for c in alone.next_season} == {"heifers"}


def test_a_later_date_counts_the_females_who_would_be_ready_by_then():
    """Ten more cows on file and in the plan's herd, 30 days calved at AI: not ready, so not
    treated; 51 days at an AI three weeks later, past the usual 45 (common practice)."""
    plan = the_plan()
    start = datetime(2027, 4, 1, 15, tzinfo=UTC)
    calved = (plan.groups[0].schedule[0].at_utc - timedelta(days=20)).date()
    late, lines = [], []
    for i in range(10):
        tag, who = f"L{i}", f"late-{i}"
        body = {
            "tag": tag, "listed": True, "class": "cow",
            "calved_on": calved.isoformat(),
        }  # fmt: skip
        late += [
            event(Kind.FEMALE_ADDED, at=start, ranch=RANCH, female=who, body=body),
            event(Kind.MOVED, at=start, ranch=RANCH, female=who, body={"to": "cows"}),
            event(Kind.CONDITION_SCORED, at=start, ranch=RANCH, female=who, body={"score": 6.0}),
        ]
        lines.append(replace(plan.females[0], tag=tag, state="hold"))
    told = review_season([*make_events(), *late], at=AT, group="cows")
    wider = replace(told.record.plan, females=(*told.record.plan.females, *lines))
    told = replace(told, record=replace(told.record, plan=wider))
    later = [c for c in foresee_next(told, asked=ASKED).review.next_season if c.key == "ready date"]
    assert later
    assert later[-1].n == COWS + 10
    assert later[-1].n_now == COWS
    assert "10 more females ready" in later[-1].words
    assert "later" in later[-1].note
