"""The review blames nobody for females that died, were sold, went over or came late."""

from __future__ import annotations

from datetime import timedelta

from running_season import running, step

from sunup.app.record import Details, record_visit
from sunup.app.record_facts import record_fact
from sunup.app.review import review_season
from sunup.app.season import join, move
from sunup.records.event import Kind

STEPS = ("gnrh", "pgf", "ai")


def treat(ranch, plan, step_id, tags):
    at = step(plan, "cows", step_id).at_utc
    ranch.now = at + timedelta(hours=1)
    details = Details(sire="A31") if step_id == "ai" else Details()
    record_visit(ranch.desk(), "cows", step_id, tags, at=at, details=details)


def reviewed(ranch):
    return review_season(ranch.events, at=ranch.now + timedelta(days=30)).review


def season_with(change):
    """Six cows through the plan; `change` is done between first treatment and PGF to 2001."""
    ranch, plan = running(6, 2)
    ids = [s.id for s in plan.groups[0].schedule]
    first = next(s.id for s in plan.groups[0].schedule if s.do == "gnrh")
    everyone = [f"200{i}" for i in range(1, 7)]
    treat(ranch, plan, first, everyone)
    ranch.now += timedelta(days=2)
    change(ranch)
    for name in ("pgf", "ai"):
        assert name in ids
        treat(ranch, plan, name, everyone[1:])
    return reviewed(ranch)


def left(ranch):
    record_fact(ranch.desk(), ["2001"], Kind.LEFT_HERD, {"why": "died"}, at=ranch.now, words="left")


def missed(review):
    slips = review.compliance.of_kind("missed")
    return [(review.tags[s.female], s.words) for s in slips if s.group == "cows"]


def test_a_cow_that_died_missed_nothing():
    review = season_with(left)
    assert missed(review) == []
    pgf = next(s for s in review.compliance.steps if (s.group, s.step) == ("cows", "pgf"))
    assert (pgf.of, pgf.in_time) == (5, 5)


def test_a_cow_that_stayed_and_got_nothing_missed_her_steps():
    review = season_with(lambda _: None)
    assert ("2001", "PGF") in missed(review)


def test_a_cow_moved_to_another_group_of_the_plan_is_counted_there_alone():
    review = season_with(lambda ranch: move(ranch.desk(), ["2001"], "heifers"))
    told = [(s.group, review.tags[s.female]) for s in review.compliance.slips]
    assert ("cows", "2001") not in told
    assert [r.tag for r in review.results].count("2001") == 1


def test_a_cow_that_joined_late_did_not_miss_what_came_before():
    def joined(ranch):
        join(ranch.desk(), "900", class_="cow", group="cows")

    assert [told for told in missed(season_with(joined)) if told[0] == "900"] == []
