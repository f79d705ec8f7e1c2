"""The row of one female in a review, from what was recorded of her and her group."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from herds import LIBRARY
from sunup.planning.females_now import Noted
from sunup.planning.review_female import Reading, Span, find_calving, make_result, read_season
from sunup.records.event import Kind

DENVER = ZoneInfo("America/Denver")
READING = Reading.of(LIBRARY)
DAY0 = datetime(2027, 5, 15, 8, tzinfo=DENVER).astimezone(UTC)
SPAN = Span(DAY0, DAY0 + timedelta(days=150), DENVER, DAY0 + timedelta(days=400))
PGF, AI = 7.0, 9.5  # days from the first treatment


def noted(kind, days, **body):
    return Noted(kind, DAY0 + timedelta(days=days), body, event=f"{kind}{days}")


ADDED = noted(
    Kind.FEMALE_ADDED, -30, tag="2001", listed=True, **{"class": "cow", "calved_on": "2027-03-16"}
)
TREATED = noted(Kind.TREATED, 0, act="gnrh"), noted(Kind.TREATED, PGF, act="pgf")


def served(days=AI, **facts):
    return noted(
        Kind.INSEMINATED, days, **{"sire": "A1", "technician": "Lee", "timed": True} | facts
    )


def seen(days):
    return noted(Kind.HEAT_SEEN, days, sign="standing")


def watched(days):
    return noted(Kind.WATCHED, days, minutes=30.0)


def read(*notes, of_group=()):
    own = sorted((ADDED, *TREATED, *notes), key=lambda n: n.at)
    return read_season(
        "f1", own, of_group, group="cows", protocol="co_synch", span=SPAN, reading=READING
    )


def row(*notes, of_group=(), **facts):
    return make_result(
        read(*notes, of_group=of_group), on_time=True, treated=True, span=SPAN, reading=READING,
        **facts,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("hour", "half"), [(6, "morning"), (11.99, "morning"), (12, "evening"), (20, "evening")]
)
def test_noon_of_the_ranch_parts_morning_from_evening(hour, half):
    """20:00 in Denver is 02:00 of the next day in UTC."""
    (service,) = row(served(9 + (hour - 8) / 24)).services
    assert service.half == half


@pytest.mark.parametrize(
    ("straws", "notes", "in_heat"),
    [
        ([True], (), True),
        ([False], (), False),
        ([None], (), None),  # nobody looked
        ([None], (watched(8.5),), False),  # somebody looked and did not see her
        ([None], (watched(8.5), seen(8.5)), True),
        ([None], (watched(8.5), seen(6.5)), False),  # a heat before the PGF is not its answer
        ([None, True], (), True),
        ([True, False], (), True),
        ([False, False], (), False),
        ([False, None], (), None),  # not yet at the first; of the second nothing is known
        ([False, None], (seen(9.8),), True),
    ],
)
def test_in_heat_is_what_was_noted_by_the_last_straw_of_the_heat_or_else_seen(
    straws, notes, in_heat
):
    given = [
        served(AI + 0.5 * i, **({} if said is None else {"in_heat": said}))
        for i, said in enumerate(straws)
    ]
    own = [n for n in notes if n.kind is Kind.HEAT_SEEN]
    looks = [n for n in notes if n.kind is Kind.WATCHED]
    told = row(*given, *own, of_group=looks)
    (service,) = told.services
    assert service.in_heat is in_heat
    assert service.straws == len(straws)


def test_what_the_straws_of_one_heat_differ_in_is_given_to_neither():
    (one,) = row(served(), served(AI + 0.5, sire="B2")).services
    assert (one.sire, one.technician, one.shared) == ("", "Lee", ("sire", "half"))


def test_an_unknown_sire_is_no_sire():
    (one,) = row(served(sire="unknown")).services
    assert (one.sire, one.shared) == ("", ())


def test_days_since_calving_count_to_each_insemination():
    """Calved on 16 March: 24 May is day 69, 14 June day 90."""
    told = row(served(9.0), served(30.0, in_heat=True, timed=False))
    assert [s.days_since_calving for s in told.services] == [69, 90]
    assert [s.number for s in told.services] == [1, 2]
    assert told.days_since_calving == 69


def test_a_heat_that_brought_her_back_is_not_that_of_the_first_service():
    told = row(served(9.0), seen(29.5), served(30.0, timed=False), of_group=(watched(8.5),))
    assert [s.in_heat for s in told.services] == [False, True]
    assert told.seen_in_heat is False


def test_one_never_inseminated_may_have_been_seen_in_heat():
    told = row(seen(8.5), of_group=(watched(8.5),))
    assert (told.services, told.seen_in_heat) == ((), True)


def test_condition_is_that_of_the_insemination_and_not_of_later():
    scores = (
        noted(Kind.CONDITION_SCORED, -10, score=5.0),
        noted(Kind.CONDITION_SCORED, 60, score=7.0),
    )
    told = row(*scores, served())
    assert (told.condition, told.services[0].condition) == (5.0, 5.0)


def test_an_insemination_of_the_season_before_or_after_is_none_of_this():
    told = row(served(-20.0), served(), served(170.0))
    assert [s.at for s in told.services] == [DAY0 + timedelta(days=AI)]


def test_gone_says_only_that_she_left_before_she_was_inseminated():
    assert row(gone=True).gone
    assert not row(served(), gone=True).gone
    assert not row().gone


@pytest.mark.parametrize("days", [199, 200, 420])
def test_the_calf_of_a_season_is_born_200_to_420_days_after_its_first_treatment(days):
    """Our bounds, `review.calving_of_season_days`; the review is as late as is needed."""
    late = Span(SPAN.since, SPAN.until, DENVER, DAY0 + timedelta(days=500))
    calved = noted(Kind.CALVED, days, calves=[{"sex": "female"}])
    season = read_season(
        "f1", (ADDED, calved), (), group="cows", protocol="co_synch", span=late, reading=READING
    )
    assert (find_calving(season, late, READING) is None) == (days < 200)


def bulls(kind, days, *names):
    return noted(kind, days, bulls=list(names))


ALL_OUT = (bulls(Kind.BULLS_OUT, 21),)


@pytest.mark.parametrize(
    ("out", "are_gone"),
    [
        (ALL_OUT, True),
        ((bulls(Kind.BULLS_OUT, 21, "B1", "B2"),), True),
        ((bulls(Kind.BULLS_OUT, 21, "B1"), bulls(Kind.BULLS_OUT, 21, "B2")), True),
        ((bulls(Kind.BULLS_OUT, 21, "B1"),), False),  # one is left with her
        ((bulls(Kind.BULLS_OUT, 21, "B9"),), False),  # one that never was with her
        ((), False),
    ],
)
def test_a_pregnancy_is_rather_the_ai_s_where_the_bulls_were_with_her_for_a_day(out, are_gone):
    """Two bulls came on day 20; pregnant at a scan on day 80 that told no age."""

    def chance(*out):
        inside = (bulls(Kind.BULLS_IN, 20, "B1"), bulls(Kind.BULLS_IN, 20, "B2"), *out)
        scan = noted(Kind.PREGNANCY_CHECKED, 80, method="ultrasound", result="pregnant")
        return row(served(), scan, of_group=inside).chance

    assert chance(*ALL_OUT) > chance() + 0.1
    assert chance(*out) == pytest.approx(chance(*ALL_OUT) if are_gone else chance())


def test_a_calf_lost_that_nobody_had_found_counts_neither_for_nor_against_the_ai():
    """Whether it was the insemination's nobody can say; once found it is, whatever came after."""
    lost = noted(Kind.ABORTED, 90)
    told = row(served(), lost)
    assert told.chance is None
    assert "lost" in told.note
    scan = noted(Kind.PREGNANCY_CHECKED, 50, method="ultrasound", result="pregnant")
    told = row(served(), scan, lost)
    assert told.pregnant
    assert told.chance == 1.0


def test_heat_noted_with_the_straw_counts_where_nobody_watched():
    assert row(served(in_heat=True)).seen_in_heat is True
    assert row(served()).seen_in_heat is None


def test_bulls_turned_in_are_no_look_for_heats():
    (service,) = row(served(), of_group=(bulls(Kind.BULLS_IN, 8.5, "B1"),)).services
    assert service.in_heat is None


@pytest.mark.parametrize(("days", "chance"), [(80, 0.0), (200, None), (401, None)])
def test_a_finding_after_the_season_or_the_review_is_none_of_it(days, chance):
    """The next season begins on day 150 and the review is made on day 400."""
    scan = noted(Kind.PREGNANCY_CHECKED, days, method="ultrasound", result="not_pregnant")
    assert row(served(), scan).chance == chance


def test_twins_come_sooner_and_bull_calves_later():
    """Bulls with her on day 25 for a day; calved 292 days after the AI and 276 after the bulls.

    Twins come 6.8 days sooner (USDA) and point to the bull; bull calves come later than heifers.
    """

    def chance(*calves):
        there = (bulls(Kind.BULLS_IN, 25, "B1"), bulls(Kind.BULLS_OUT, 26, "B1"))
        calved = noted(Kind.CALVED, 301, **({"calves": list(calves)} if calves else {}))
        return row(served(), calved, of_group=there).chance

    male, female = {"sex": "male"}, {"sex": "female"}
    assert chance(female, female) < chance(female) < chance() < chance(male)
    assert chance({}) == chance()
    assert chance(male, female) < chance(female)
