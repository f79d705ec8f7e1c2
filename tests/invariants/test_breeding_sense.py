"""Heats, insemination times, sires and due dates can never be absurd."""

import itertools
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sunup.app.open import open_library
from sunup.planning.conceptions import BullTime, ConceptionFigures, Insemination, conception_days
from sunup.planning.due_dates import due_dates
from sunup.planning.heat_flags import Past, flag_heats
from sunup.planning.heats import HeatFigures, Sighting, find_heats
from sunup.planning.insemination_times import Rule, TimeFigures, insemination_time
from sunup.planning.parentage import Check, Dam, ParentageFigures, find_parentage
from sunup.planning.sires import StrawMove, StrawPlace, StrawUse, reconcile
from sunup.protocols.protocol import Inseminate

LIBRARY, _ = open_library()
HEATS = HeatFigures.of(LIBRARY)
TIMES = TimeFigures.of(LIBRARY)
PARENTS = ParentageFigures.of(LIBRARY)
CONCEPTIONS = ConceptionFigures.of(LIBRARY)
START = datetime(2026, 2, 20, tzinfo=UTC)
AI_ON = date(2026, 6, 1)
ZONES = ["America/Denver", "America/Chicago", "Europe/London", "Australia/Sydney", "UTC"]

HOURS = st.integers(0, 24 * 90)
SIGHTINGS = st.lists(
    st.builds(
        lambda hours, what, score: Sighting(
            START + timedelta(hours=hours), what, score if what in {"patch", "chalk"} else None
        ),
        HOURS,
        st.sampled_from(["standing", "mounting", "mucus", "blood", "patch", "chalk", "collar"]),
        st.integers(0, 4),
    ),
    max_size=25,
)
LOOKS = st.lists(HOURS.map(lambda h: START + timedelta(hours=h)), max_size=20)


@given(SIGHTINGS, LOOKS, st.randoms(use_true_random=False))
def test_heats_do_not_depend_on_the_order_of_what_was_recorded(sightings, looks, chance):
    mixed, turned = list(sightings), list(looks)
    chance.shuffle(mixed)
    chance.shuffle(turned)
    shape = [
        [(h.first_seen_at, h.last_seen_at, h.onset_after, h.over_by, h.is_sure) for h in found]
        for found in (
            find_heats(sightings, looks, figures=HEATS),
            find_heats(mixed, turned, figures=HEATS),
        )
    ]
    assert shape[0] == shape[1]


@given(SIGHTINGS, LOOKS)
def test_heats_are_in_order_begin_before_they_end_and_stand_apart(sightings, looks):
    heats = find_heats(sightings, looks, figures=HEATS)
    for heat in heats:
        assert heat.onset_after is None or heat.onset_after < heat.first_seen_at
        assert heat.first_seen_at <= heat.last_seen_at
        assert heat.over_by is None or heat.over_by > heat.last_seen_at
        assert heat.onset_guess(12.0) <= heat.first_seen_at
    seen = [h for h in heats if not h.was_missed]
    for earlier, later in itertools.pairwise(seen):
        gap_h = (later.first_seen_at - earlier.last_seen_at).total_seconds() / 3600
        assert gap_h > HEATS.one_heat_gap.number


@given(SIGHTINGS, st.lists(HOURS, max_size=4))
def test_a_flag_always_says_what_to_do(sightings, served):
    heats = find_heats(sightings, figures=HEATS)
    past = Past(services_at=tuple(START + timedelta(hours=h) for h in sorted(served)))
    for flag in flag_heats(heats, past, figures=HEATS):
        assert flag.heat in heats
        assert flag.text
        assert flag.do


@given(
    st.integers(0, 60 * 24 * 400),
    st.sampled_from(ZONES),
    st.sampled_from([Inseminate.AM_PM, Inseminate.AFTER_12H, Inseminate.ONCE_DAILY]),
    st.booleans(),
    st.floats(3, 24),
)
def test_insemination_never_comes_before_the_heat_nor_after_a_day_and_a_half(
    minutes, zone, how, is_sexed, gap_h
):
    seen = START + timedelta(minutes=minutes)
    (heat,) = find_heats([Sighting(seen, "standing")], figures=HEATS)
    rule = Rule(how, ZoneInfo(zone), is_sexed=is_sexed, usual_gap_h=gap_h)
    one = insemination_time(heat, rule, figures=TIMES)
    assert seen <= one.at <= seen + timedelta(hours=36)
    assert one.early <= one.at <= one.late <= one.last


SERVICES = st.lists(st.integers(0, 60), min_size=1, max_size=3)
BULLS = st.lists(st.tuples(st.integers(0, 60), st.integers(1, 60)), max_size=2)


def services(days, spans):
    return (
        [Insemination(AI_ON + timedelta(days=n), f"S{i}") for i, n in enumerate(days)],
        [
            BullTime(AI_ON + timedelta(days=a), AI_ON + timedelta(days=a + n), (f"B{i}",))
            for i, (a, n) in enumerate(spans)
        ],
    )


@given(SERVICES, BULLS, st.integers(0, 200))
def test_chances_of_conceiving_and_of_staying_open_make_one(days, spans, until):
    ais, bulls = services(days, spans)
    found = conception_days(ais, bulls, until_on=AI_ON + timedelta(days=until), figures=CONCEPTIONS)
    if found is None:
        assert until < min(days + [a for a, _ in spans])
        return
    assert found.weights.min() >= 0.0
    assert found.weights.sum() + found.open_weight == pytest.approx(1.0)


@settings(deadline=None)
@given(SERVICES, BULLS, st.integers(65, 150), st.one_of(st.none(), st.integers(20, 150)))
def test_parentage_is_a_distribution_and_due_dates_are_in_order(days, spans, scan, age):
    ais, bulls = services(days, spans)
    on = AI_ON + timedelta(days=scan)
    found = find_parentage(
        ais,
        bulls,
        dam=Dam(),
        checks=[Check(on, "ultrasound", "pregnant", age)],
        asked_on=on,
        figures=PARENTS,
    )
    if not found.candidates:
        return
    assert sum(c.chance for c in found.candidates) == pytest.approx(1.0)
    due = due_dates(found)
    assert due.early_on <= due.likely_on <= due.late_on
    assert sum(due.by_day) == pytest.approx(1.0)
    first = min(day for day, _, _ in found.days)
    assert first + timedelta(days=250) < due.early_on


PLACES = st.builds(
    StrawPlace,
    sire=st.sampled_from(["OAK", "ELM"]),
    batch=st.sampled_from(["", "C1"]),
    tank=st.sampled_from(["", "1"]),
    canister=st.sampled_from(["", "2", "3"]),
)


@given(
    st.lists(st.tuples(HOURS, PLACES, st.integers(-5, 20)), max_size=8),
    st.lists(st.tuples(HOURS, PLACES), max_size=15),
)
def test_no_straw_appears_or_vanishes(moves, uses):
    stock = reconcile(
        [StrawMove(START + timedelta(hours=h), place, n) for h, place, n in moves],
        [
            StrawUse(START + timedelta(hours=h), place, f"id-{i}", str(i))
            for i, (h, place) in enumerate(uses)
        ],
    )
    assert sum(c.left for c in stock.counts) == sum(n for _, _, n in moves) - len(uses)
