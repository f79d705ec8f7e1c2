"""Standard performance measures from a season's notes: who is exposed, what was born and weaned.

Definitions: open females that are sold stay among the exposed; those that die or leave for another
reason before calving are taken out (extension accounts of standardised performance analysis).
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from herds import LIBRARY
from sunup.planning.females_now import Noted
from sunup.planning.review import ALL
from sunup.planning.review_female import Reading, Span, read_season
from sunup.planning.review_measures import measure
from sunup.planning.review_performance import Start
from sunup.planning.review_rows import FemaleResult
from sunup.records.event import Kind

DENVER = ZoneInfo("America/Denver")
READING = Reading.of(LIBRARY)
FIRST = datetime(2027, 5, 17, 15, tzinfo=UTC)  # the first treatment's window opens
AI = FIRST + timedelta(days=10)
SPAN = Span(
    FIRST - timedelta(days=7),
    datetime(2028, 5, 1, tzinfo=UTC),
    DENVER,
    datetime(2029, 12, 1, tzinfo=UTC),
)


def note(kind, days, **body):
    return Noted(kind, AI + timedelta(days=days), body)


def calved(days=283, *calves):
    return note(Kind.CALVED, days, calves=list(calves))


def left(days, why):
    return note(Kind.LEFT_HERD, days, why=why)


def female(tag, *notes, group="cows", class_="cow", born=None, pregnant=True, of_group=()):
    """A female's season and its result."""
    body = {"tag": tag, "listed": True, "class": class_}
    if born is not None:
        body["born_on"] = born.isoformat()
    own = [
        note(Kind.FEMALE_ADDED, -60, **body),
        note(Kind.MOVED, -60, to=group),
        note(Kind.INSEMINATED, 0, sire="OAK", timed=True),
        *notes,
    ]
    season = read_season(
        tag, sorted(own, key=lambda n: n.at), of_group, group=group, protocol="", span=SPAN,
        reading=READING,
    )  # fmt: skip
    result = FemaleResult(
        female=tag, tag=tag, group=group, class_=class_, protocol="", treated=True,
        seen_in_heat=None, condition=None, days_since_calving=None, services=(), chance=None,
        called_from=READING.parentage.called_from.number, pregnant=pregnant,
    )  # fmt: skip
    return season, result


def told(*females, start=Start.THIRD_MATURE_COW):
    return measure(
        [season for season, _ in females],
        {result.female: result for _, result in females},
        start=start,
        span=SPAN,
        reading=READING,
    )


def one(*females, **how):
    (found,) = told(*females, **how)
    return found


def test_each_group_has_its_measures_and_several_have_them_together():
    found = told(
        female("1", calved()), female("2", group="heifers", class_="heifer"), female("3", calved())
    )
    assert [(m.group, m.performance.exposed, m.performance.calved) for m in found] == [
        ("cows", 2, 2), ("heifers", 1, 0), (ALL, 3, 2),
    ]  # fmt: skip
    assert [m.group for m in told(female("1"))] == ["cows"]


@pytest.mark.parametrize(
    ("notes", "pregnant", "is_exposed"),
    [
        ((left(100, "sold"),), False, True),
        ((left(100, "culled"),), False, True),
        ((left(100, "died"),), False, False),
        ((left(100, "other"),), False, False),
        ((left(100, "sold"),), True, False),
        ((left(100, "sold"),), None, False),
        ((left(100, "missing"),), True, False),
        ((calved(), left(300, "died")), True, True),
        ((left(-40, "sold"),), True, True),  # before the season: she is back, and was exposed
        # sold, and back before she calved or before the end
        ((left(50, "sold"), note(Kind.MOVED, 60, to="cows"), calved()), True, True),
        ((left(50, "sold"), note(Kind.MOVED, 60, to="cows")), True, True),
        ((left(50, "sold"), note(Kind.MOVED, 60, to="cows"), left(90, "died")), True, False),
    ],
)
def test_who_is_among_the_exposed(notes, pregnant, is_exposed):
    found = one(female("1", *notes, pregnant=pregnant), female("2", calved())).performance
    assert (found.exposed, found.taken_out) == ((2, 0) if is_exposed else (1, 1))


def test_a_pregnancy_rate_is_told_where_every_female_exposed_has_a_finding():
    checked = one(female("1"), female("2", pregnant=False)).performance
    assert (checked.checked, checked.pregnancy) == (2, 0.5)
    some = one(female("1"), female("2", pregnant=None)).performance
    assert (some.checked, some.pregnant, some.pregnancy) == (1, 1, None)


def test_calves_are_counted_alive_unless_told_dead_and_twins_as_two():
    found = one(
        female("1", calved()),
        female("2", calved(283, {"alive": True}, {"alive": False})),
        female("3", calved(283, {"sex": "male"})),
        female("4", calved(283, {"alive": False})),
    ).performance
    assert (found.calved, found.born_alive, found.born_dead) == (4, 3, 2)


def test_a_calving_of_another_season_is_none_of_this_one():
    """Counted from a week before the first window, as `review.calving_of_season_days` says."""
    low, high = LIBRARY.figure("review.calving_of_season_days").span
    for days, n in ((low - 1, 0), (low, 1), (high, 1), (high + 1, 0)):
        birth = Noted(Kind.CALVED, SPAN.since + timedelta(days=days, hours=1), {})
        assert one(female("1", birth)).performance.calved == n


def test_weaned_calves_count_by_their_number_and_weight_only_where_all_were_weighed():
    first = (calved(), note(Kind.WEANED, 490, calves=1, weight_kg=240.0))
    twins = (calved(), note(Kind.WEANED, 490, calves=2, weight_kg=400.0))
    found = one(female("1", *first), female("2", *twins), female("3", calved())).performance
    assert (found.weaned, found.weighed, found.weaned_weight_kg) == (3, 3, 640.0)
    assert found.kg_weaned_per_exposed == pytest.approx(640 / 3)
    light = one(female("1", *first), female("2", calved(), note(Kind.WEANED, 490))).performance
    assert (light.weaned, light.weighed, light.kg_weaned_per_exposed) == (2, 1, None)


def test_a_weaning_longer_after_the_calving_than_the_figure_is_of_another_calf():
    most = int(LIBRARY.figure("review.weaning_of_calf_days").number)
    for days, n in ((most, 1), (most + 1, 0), (-30, 0)):
        notes = (calved(), note(Kind.WEANED, 283 + days))
        assert one(female("1", *notes)).performance.weaned == n
    # before anything was weaned there is no share weaned, rather than none weaned
    assert one(female("1", calved())).performance.weaning is None
    assert one(female("1", calved(), note(Kind.WEANED, 490))).performance.weaning == 1.0
    # a weaning with no calving on record is of no calf of the season
    assert one(female("1", note(Kind.WEANED, 490)), female("2", calved())).performance.weaned == 0


def test_calvings_that_are_missing_are_told_where_others_are_on_record():
    lacking = "found pregnant have no calving on record"
    found = one(female("1", calved()), female("2"), female("3", pregnant=False))
    assert found.note.startswith(f"1 {lacking}")
    assert one(female("1"), female("2")).note == ""  # a season still running lacks none
    sold = female("2", left(250, "sold"), pregnant=False)
    assert lacking not in one(female("1", calved()), sold).note
    back = female("2", left(50, "sold"), note(Kind.MOVED, 60, to="cows"))
    assert f"1 {lacking}" in one(female("1", calved()), back).note


def cow_born(tag, born, days=283):
    return female(tag, calved(days), born=born)


def test_a_cow_is_mature_from_her_third_birthday_on():
    on = SPAN.day(AI + timedelta(days=283))
    birthday = on.replace(year=on.year - 3)
    old = [cow_born(str(i), birthday) for i in range(3)]
    assert (one(*old).calvings.opens_on, one(*old).note) == (on, "")
    young = [cow_born(str(i), birthday + timedelta(days=1)) for i in range(3)]
    found = one(*young)
    assert found.calvings is None
    assert "No third mature cow has calved" in found.note
    by_breeding = one(*young, start=Start.BREEDING_START)
    assert by_breeding.calvings.calved == 3
    assert by_breeding.note == ""


def test_where_no_birth_is_on_file_a_heifer_of_the_season_is_not_mature_and_others_are():
    heifers = [female(str(i), calved(), class_="heifer") for i in range(3)]
    assert one(*heifers).calvings is None
    second = [female(str(i), calved(), class_="first_calf_cow") for i in range(3)]
    assert one(*second).calvings.calved == 3


def test_breeding_begins_with_the_first_insemination_or_bull_of_the_season():
    days = LIBRARY.number("review.first_window_days")
    found = one(female("1", calved()), start=Start.BREEDING_START)
    assert found.calvings.opens_on == SPAN.day(AI) + timedelta(days=days)
    bulls = [note(Kind.WATCHED, -9, minutes=30, n_seen=0), note(Kind.BULLS_IN, -3, bulls=["B7"])]
    earlier = one(female("1", calved(), of_group=bulls), start=Start.BREEDING_START)
    assert earlier.calvings.opens_on == SPAN.day(AI) + timedelta(days=days - 3)
    before = female("1", note(Kind.INSEMINATED, -50, sire="OAK"), calved())
    assert one(before, start=Start.BREEDING_START).calvings.opens_on == found.calvings.opens_on
    assert found.calvings.days == (
        (SPAN.day(AI + timedelta(days=283)) - date(2027, 5, 27)).days - days,
    )
