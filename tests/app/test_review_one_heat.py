"""A second straw in one heat is no second chance: it changes no count of a review.

Two inseminations of one heat are one service in every conception rate the trade reports (common
practice, no source); the hours that make one heat are the library's.
"""

from datetime import UTC, datetime, timedelta

import pytest
from ledger_events import event, made_id
from season_events import (
    COWS,
    HEIFERS_SEEN,
    PREGNANT_HEIFERS,
    RANCH,
    female_id,
    make_events,
)

from sunup.app.review import review_season
from sunup.planning.review_breakdown import SHARED
from sunup.records.event import Kind
from sunup.reports.review_values import review_parts

AT = datetime(2028, 11, 1, tzinfo=UTC)
TWO_HANDS = (3, 6, 8)  # cows inseminated again 12 h later by the other technician


def again(events, group, places, *, hours=12.0, **facts):
    """The events with a second insemination of some females, so many hours after their first."""
    more = []
    for place in places:
        who = female_id(group, place)
        first = next(e for e in events if e.kind is Kind.INSEMINATED and e.female == who)
        body = {**first.body, **{key: say(first.body[key]) for key, say in facts.items()}}
        body.pop("step", None)
        more.append(
            event(
                Kind.INSEMINATED, at=first.occurred_at + timedelta(hours=hours), ranch=RANCH,
                id_=made_id("again", f"{group} {hours:g}", place), female=who, body=body,
                entered_by="Ann",
            )
        )  # fmt: skip
    return [*events, *more]


@pytest.fixture(scope="module")
def plain():
    return review_season(make_events(), at=AT).review


@pytest.fixture(scope="module")
def doubled():
    return review_season(again(make_events(), "heifers", HEIFERS_SEEN), at=AT).review


@pytest.fixture(scope="module")
def shared():
    other = {"Lee": "Sam", "Sam": "Lee"}
    events = again(make_events(), "cows", TWO_HANDS, technician=other.__getitem__)
    return review_season(events, at=AT).review


def counts(review, group):
    return next(c for c in review.counts if c.group == group)


def lines(review, key):
    one = next(b for b in review.breakdowns if b.key == key)
    return {line.level: (line.conception.count, line.conception.of) for line in one.lines}


def test_two_straws_in_one_heat_are_one_service_of_the_conception_rate(doubled):
    told = counts(doubled, "heifers")
    assert (told.conception.count, told.conception.of) == (len(PREGNANT_HEIFERS), len(HEIFERS_SEEN))
    assert told.inseminations == len(HEIFERS_SEEN)
    assert told.straws_beyond == len(HEIFERS_SEEN)


def test_nobody_had_a_second_insemination_who_had_two_straws_in_one_heat(doubled):
    assert set(lines(doubled, "number")) == {"first"}


@pytest.mark.parametrize("key", ["sire", "technician", "class", "timed"])
def test_no_technician_or_sire_is_marked_by_a_second_straw(plain, doubled, key):
    assert lines(doubled, key) == lines(plain, key)


def test_a_straw_a_cycle_later_is_a_second_service(plain):
    """21 days are the length of a cycle: she came back, and the first straw failed."""
    open_ = sorted(set(HEIFERS_SEEN) - PREGNANT_HEIFERS)
    review = review_season(again(make_events(), "heifers", open_, hours=21 * 24), at=AT).review
    told = counts(review, "heifers")
    assert told.conception.of == len(HEIFERS_SEEN) + len(open_)
    assert told.straws_beyond == 0
    assert counts(plain, "heifers").conception.of == len(HEIFERS_SEEN)


def test_the_review_says_how_many_straws_went_beyond_one_a_heat(doubled):
    said = [s for part in review_parts(doubled) for s in part.sentences]
    assert sum(f"{len(HEIFERS_SEEN)} straws were used beyond one a heat" in s for s in said) == 1


def test_a_heat_of_two_technicians_is_given_to_neither(plain, shared):
    technicians = next(c for c in shared.comparisons if c.key == "technician")
    alone = next(c for c in plain.comparisons if c.key == "technician")
    of = sum(line.raw.of for line in technicians.lines)
    assert of == sum(line.raw.of for line in alone.lines) - len(TWO_HANDS)
    assert {line.pooled.level for line in technicians.lines} == {"Lee", "Sam"}
    assert f"Left out: {len(TWO_HANDS)} heats of two sires or technicians" in shared.compared_words
    assert lines(shared, "technician")[SHARED][1] == len(TWO_HANDS)
    assert lines(shared, "sire") == lines(plain, "sire")
    assert counts(shared, "cows").conception.of == COWS
