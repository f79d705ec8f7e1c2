"""A season's review out of its events: what was counted is what was put in."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from ledger_events import event
from season_events import (
    BORN_DEAD,
    COWS,
    DIED,
    HEIFERS,
    HEIFERS_SEEN,
    LATE_H,
    LATE_PGF,
    LOST_INSERT,
    MISSED_GNRH,
    OPEN_AFTER_BULLS,
    PART_DOSE,
    PREGNANT_COWS,
    PREGNANT_HEIFERS,
    RANCH,
    SEASON,
    SIRES,
    SOLD_OPEN,
    female_id,
    make_events,
)

from herds import cows, season
from sunup.app.no_plan import NoSeasonError
from sunup.app.review import end_of_day, read_rule, review_season
from sunup.base.problems import UsageError
from sunup.exchange.plan_file import plan_to_json
from sunup.planning.review import ALL
from sunup.planning.review_luck import Verdict
from sunup.planning.review_performance import Start
from sunup.planning.review_rows import Outcome
from sunup.records.event import Kind

AT = datetime(2028, 11, 1, tzinfo=UTC)
NEXT_ON = date(2028, 5, 25)
NAMES = ("low95", "low80", "low50", "median", "high50", "high80", "high95")


def forecast(n, *counts):
    told = dict(zip(NAMES, counts, strict=True)) | {"mean": counts[3], "of": n}
    spread = {"luck": 7.0, "herd": 9.0, "parameters": 0.0}
    return {"n": n, "pregnant_to_ai": told, "waterfall": [{}], "season": [], "sources": spread}


@pytest.fixture(scope="module")
def review():
    kept = {
        "cows": forecast(40, 14, 17, 20, 23, 26, 29, 32),
        "heifers": forecast(24, 14, 16, 17, 19, 20, 21, 22),
    }
    return review_season(make_events(forecast=kept), at=AT).review


def counts(review, group):
    return next(c for c in review.counts if c.group == group)


def test_groups_get_the_counts_that_were_put_in(review):
    cows, heifers, both = (counts(review, g) for g in ("cows", "heifers", ALL))
    assert (cows.treated, cows.inseminated) == (COWS, COWS)
    assert (cows.conception.count, cows.conception.of) == (len(PREGNANT_COWS), COWS)
    assert (cows.season.count, cows.season.of) == (COWS - len(OPEN_AFTER_BULLS), COWS)
    assert (heifers.treated, heifers.inseminated) == (HEIFERS, len(HEIFERS_SEEN))
    assert (heifers.response.count, heifers.response.of) == (len(HEIFERS_SEEN), HEIFERS)
    assert heifers.conception.count == len(PREGNANT_HEIFERS)
    assert (heifers.pregnancy.count, heifers.pregnancy.of) == (len(PREGNANT_HEIFERS), HEIFERS)
    assert both.pregnancy.count == len(PREGNANT_COWS) + len(PREGNANT_HEIFERS)
    assert (both.unknown, both.unsure) == (0, 0)


def test_a_cow_in_calf_to_the_bull_is_not_credited_to_ai(review):
    """Fetal ages 23 days apart, with calvings to match, tell the two apart in every cow."""
    ends = {r.tag: r for r in review.results if r.group == "cows"}
    for i in range(COWS):
        told = ends[str(2001 + i)]
        assert (told.outcome is Outcome.PREGNANT) == (i in PREGNANT_COWS), told.note
        assert told.pregnant == (i not in OPEN_AFTER_BULLS)


def test_compliance_names_every_slip_and_no_other(review):
    kept = review.compliance
    tags = review.tags

    def told(kind, words):
        return {tags[s.female] for s in kept.of_kind(kind) if s.words == words}

    assert told("late", "PGF") == {str(2001 + i) for i in LATE_PGF}
    assert told("late", "insert out") == {str(2001 + i) for i in LATE_PGF}
    assert told("missed", "GnRH") == {str(2001 + i) for i in MISSED_GNRH}
    assert told("lost insert", "insert out") == {str(2001 + i) for i in LOST_INSERT}
    assert len(kept.of_kind("part dose")) == len(PART_DOSE)
    assert len(kept.slips) == 2 * len(LATE_PGF) + len(MISSED_GNRH) + len(LOST_INSERT) + 1
    hours = [s.hours for s in kept.of_kind("late")]
    # her window follows her own first treatment, up to an hour after the first female's
    assert all(LATE_H - 1.0 <= h <= LATE_H for h in hours)
    (watch,) = kept.watches
    assert (watch.looked, watch.half_days, watch.minutes) == (3, 6, 90.0)


def test_insemination_that_moved_with_a_late_pgf_is_in_time(review):
    """63 hours after her own PGF: late by the plan's clock, in time by hers."""
    ai = next(s for s in review.compliance.steps if (s.group, s.step) == ("cows", "ai"))
    assert (ai.of, ai.in_time) == (COWS, COWS)


def test_what_to_change_begins_with_the_plan_kept(review):
    kinds = [lesson.kind for lesson in review.lessons]
    assert kinds[0] == "plan kept"
    last_kept = max(i for i, kind in enumerate(kinds) if kind == "plan kept")
    assert all(i > last_kept for i, kind in enumerate(kinds) if kind in {"sires", "technicians"})
    assert "PGF (3" in review.lessons[0].words


def test_results_are_set_against_the_forecast_kept(review):
    against = {(a.group, a.measure): a for a in review.against}
    assert against["cows", "pregnant_to_ai"].verdict is Verdict.WITHIN
    poor = against["heifers", "pregnant_to_ai"]
    assert (poor.seen, poor.of, poor.is_low) == (len(PREGNANT_HEIFERS), HEIFERS, True)
    assert poor.verdict is Verdict.RARE
    assert any(lesson.kind == "forecast" for lesson in review.lessons)


def test_small_numbers_tell_no_sire_from_another(review):
    sires = next(c for c in review.comparisons if c.key == "sire")
    assert {line.pooled.level for line in sires.lines} == set(SIRES)
    assert sum(line.raw.of for line in sires.lines) == COWS + len(HEIFERS_SEEN)
    raw = [line.raw.share for line in sires.lines]
    pooled = [line.pooled.share for line in sires.lines]
    assert max(pooled) - min(pooled) < max(raw) - min(raw)
    assert sires.pair.chance < 0.8
    assert sires.pair.more(sires.pair.needed_worth) > 300
    lesson = next(one for one in review.lessons if one.kind == "sires")
    assert "do not choose by it" in lesson.why


def test_measures_count_the_exposed_by_the_standard(review):
    """A cow that died pregnant is taken out; open ones that were sold stay in."""
    told = next(m for m in review.measures if m.group == "cows").performance
    exposed = COWS - len(DIED)
    calved = exposed - len(OPEN_AFTER_BULLS)
    assert SOLD_OPEN <= OPEN_AFTER_BULLS
    assert (told.exposed, told.taken_out) == (exposed, len(DIED))
    assert (told.calved, told.born_dead) == (calved, len(BORN_DEAD))
    assert told.weaned == calved - len(BORN_DEAD)
    assert told.weaning == pytest.approx((calved - len(BORN_DEAD)) / exposed)
    assert told.kg_weaned_per_exposed == pytest.approx(230.0 * told.weaned / exposed)


def test_calving_windows_follow_the_rule_asked_for(review):
    mature = next(m for m in review.measures if m.group == "cows").calvings
    assert mature.start is Start.THIRD_MATURE_COW
    by_ai = len(PREGNANT_COWS - DIED)
    # calves by bull come 23 days after those by AI: none of them in the first 21 days of 7
    assert mature.by_end(0) == by_ai
    other = review_season(make_events(), at=AT, start=Start.BREEDING_START).review
    told = next(m for m in other.measures if m.group == "cows").calvings
    assert "285 days" in told.words
    assert told.calved == mature.calved


def test_any_order_and_doubles_give_the_same_review():
    events = make_events()
    doubled = [*events, *events[::3]]
    mixed = [doubled[i] for i in np.random.default_rng(7).permutation(len(doubled))]
    assert review_season(mixed, at=AT).review == review_season(events, at=AT).review


def test_before_results_a_review_says_that_none_are_known():
    told = review_season(make_events(results=False), at=datetime(2027, 6, 20, tzinfo=UTC)).review
    cows = counts(told, "cows")
    assert (cows.conception.of, cows.unknown, cows.inseminations) == (0, COWS, COWS)
    assert not told.against
    assert told.comparisons == ()
    assert any("No result is on record" in lesson.words for lesson in told.lessons)
    assert told.measures[0].performance.weaning is None


def test_pregnant_without_fetal_age_beside_bulls_counts_by_its_chance():
    """Nobody aged a fetus and nobody has calved: each pregnant cow is AI or bull. Leaving them
    out would leave only the open ones and call AI a failure."""
    events = [
        e if e.kind is not Kind.PREGNANCY_CHECKED
        else event(
            e.kind, at=e.occurred_at, id_=e.id, ranch=RANCH, female=e.female,
            body={k: v for k, v in e.body.items() if k != "fetal_age_days"},
        )
        for e in make_events(calvings=False)
    ]  # fmt: skip
    cows = counts(review_season(events, at=datetime(2027, 9, 1, tzinfo=UTC)).review, "cows")
    assert cows.unsure > 30
    assert cows.pregnancy.of == COWS
    assert 0.3 < cows.pregnancy.share < 0.9


def test_a_correction_and_a_found_tag_are_heeded():
    events = make_events()
    who = female_id("heifers", 0)
    check = next(e for e in events if e.kind is Kind.PREGNANCY_CHECKED and e.female == who)
    at = check.entered_at + timedelta(hours=1)
    wrong = event(
        Kind.CORRECTED, at=at, ranch=RANCH, corrects=check.id,
        body={"taken_back": False, "body": {"method": "ultrasound", "result": "not_pregnant"}},
    )  # fmt: skip
    told = review_season([*events, wrong], at=AT).review
    assert counts(told, "heifers").conception.count == len(PREGNANT_HEIFERS) - 1


def test_one_group_alone_is_reviewed_alone(review):
    told = review_season(make_events(), at=AT, group="heifers").review
    assert {r.group for r in told.results} == {"heifers"}
    assert {s.group for s in told.compliance.steps} == {"heifers"}
    assert counts(told, "heifers").conception == counts(review, "heifers").conception


def test_what_cannot_be_reviewed_is_refused_in_words():
    events = make_events()
    with pytest.raises(NoSeasonError, match="No plan has been adopted"):
        review_season([e for e in events if e.kind is not Kind.PLAN_ADOPTED], at=AT)
    adopted = next(e for e in events if e.kind is Kind.PLAN_ADOPTED)
    with pytest.raises(NoSeasonError) as early:
        review_season(events, at=adopted.occurred_at - timedelta(days=3))
    on = adopted.occurred_at.astimezone(ZoneInfo(adopted.zone))
    assert f"adopted on {on:%a} {on.day} {on:%b} {on.year}" in str(early.value)
    assert "SUNUP_NOW" in str(early.value)
    with pytest.raises(NoSeasonError, match=f"Seasons: {SEASON}"):
        review_season(events, at=AT, season="autumn")
    with pytest.raises(UsageError, match="Groups: cows, heifers"):
        review_season(events, at=AT, group="bulls")
    with pytest.raises(NoSeasonError, match="has not begun"):
        review_season(events, at=datetime(2027, 4, 2, tzinfo=UTC))
    with pytest.raises(UsageError, match="third_mature_cow or breeding_start"):
        read_rule("first_calf")
    with pytest.raises(UsageError, match="2028-10-15"):
        end_of_day("soon", events)


def next_season_adopted():
    """The plan of the season after, taken up while this one's last calves are still to come."""
    plan = season(
        cows(4, ai_on=NEXT_ON), protocols={"cows": "co_synch_insert7_cow"}, ranch=RANCH,
        first_ai_on=NEXT_ON,
    )  # fmt: skip
    return event(
        Kind.PLAN_ADOPTED, at=datetime(2028, 4, 20, 15, tzinfo=UTC), ranch=RANCH,
        body={"plan_id": "plan-2", "season": "spring 2028", "plan": plan_to_json(plan)},
    )  # fmt: skip


def test_a_late_calf_of_last_season_is_no_result_of_the_next():
    """A cow that calves while the next season's treatments run was bred in the season before;
    until the new season has a check, the one with results is reviewed."""
    events = make_events()
    adopted = next_season_adopted()
    late = event(
        Kind.CALVED, at=datetime(2028, 6, 1, 15, tzinfo=UTC), ranch=RANCH, body={},
        female=female_id("cows", 39),
    )  # fmt: skip
    asked = datetime(2028, 6, 20, tzinfo=UTC)
    assert review_season([*events, adopted, late], at=asked).record.season == SEASON
    check = event(
        Kind.PREGNANCY_CHECKED, at=datetime(2028, 7, 1, 15, tzinfo=UTC), ranch=RANCH,
        body={"method": "ultrasound", "result": "pregnant"}, female=female_id("cows", 1),
    )  # fmt: skip
    told = review_season([*events, adopted, late, check], at=datetime(2028, 7, 2, tzinfo=UTC))
    assert told.record.season == "spring 2028"


def test_a_season_whose_calves_came_is_the_one_with_results_though_nobody_checked():
    events = [e for e in make_events() if e.kind is not Kind.PREGNANCY_CHECKED]
    adopted = next_season_adopted()
    asked = datetime(2028, 6, 20, tzinfo=UTC)
    assert review_season([*events, adopted], at=asked).record.season == SEASON
