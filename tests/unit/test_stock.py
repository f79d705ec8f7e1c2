"""Stock by lot, shortages, the nitrogen line, expected heats."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from herds import LIBRARY
from sunup.planning.expected_heats import KeptHeats, expected_by, heats_so_far, read_kept_heats
from sunup.planning.nitrogen import CM_PER_IN, Level, NitrogenFigures, fall_per_day, judge_tank
from sunup.planning.stock import DRUG, INSERT, Change, Count, Item, Need, balances, find_shortages

DAY = timedelta(days=1)
T0 = datetime(2027, 5, 1, 14, tzinfo=UTC)
ON = date(2027, 5, 20)
PGF_A, PGF_B, PGF = (
    Item(DRUG, "cloprostenol", "A"),
    Item(DRUG, "cloprostenol", "B"),
    Item(DRUG, "cloprostenol"),
)


def lines(changes, counts=(), *, at=T0 + 30 * DAY):
    return {b.item.lot: b for b in balances(changes, counts, at=at, on=ON)}


def test_what_is_used_comes_off_its_lot():
    found = lines([Change(PGF_A, T0, 100, "bought"), Change(PGF_A, T0 + DAY, -34, "used")])
    assert (found["A"].on_hand, found["A"].used) == (66, 34)


def test_use_without_a_lot_comes_off_the_lot_that_expires_first():
    found = lines(
        [
            Change(PGF_A, T0, 100, "bought", expires_on=date(2028, 1, 1)),
            Change(PGF_B, T0, 20, "bought", expires_on=date(2027, 7, 1)),
            Change(PGF, T0 + DAY, -30, "used"),
        ]
    )
    assert (found["B"].on_hand, found["A"].on_hand) == (0, 90)
    assert sum(b.used for b in found.values()) == 30


def test_a_count_is_the_truth_of_its_day_and_the_difference_is_told():
    found = lines(
        [
            Change(PGF_A, T0, 100, "bought"),
            Change(PGF_A, T0 + DAY, -30, "used"),
            Change(PGF_A, T0 + 3 * DAY, -10, "used"),
        ],
        [Count(PGF_A, T0 + 2 * DAY, 60)],
    )
    assert (found["A"].on_hand, found["A"].missing) == (50, 10)
    assert any("10 mL fewer counted" in flag for flag in found["A"].flags)


def test_a_count_without_a_lot_is_of_all_its_lots_and_adds_nothing():
    bought = [
        Change(PGF_A, T0, 100, "bought", expires_on=date(2028, 1, 1)),
        Change(PGF_B, T0, 20, "bought", expires_on=date(2027, 7, 1)),
    ]
    none_left = lines(bought, [Count(PGF, T0 + DAY, 0)])
    assert {lot: b.on_hand for lot, b in none_left.items()} == {"A": 0, "B": 0}
    assert any("100 mL fewer counted" in flag for flag in none_left["A"].flags)
    # 90 of 120 there: the lot that expires first was used first
    some = lines(bought, [Count(PGF, T0 + DAY, 90)])
    assert {lot: b.on_hand for lot, b in some.items()} == {"A": 90, "B": 0}
    more = lines(bought, [Count(PGF, T0 + DAY, 130)])
    assert sum(b.on_hand for b in more.values()) == 130
    later = lines([*bought, Change(PGF_A, T0 + 2 * DAY, -30, "used")], [Count(PGF, T0 + DAY, 90)])
    assert later["A"].on_hand == 60


def test_straws_counted_without_tank_or_code_are_all_of_the_sire():
    sexed = Item("semen", "A31", "c1", "T1", "sexed")
    [line] = balances(
        [Change(sexed, T0, 18, "bought")],
        [Count(Item("semen", "A31", "", "", "conventional"), T0 + DAY, 15)],
        at=T0 + 9 * DAY,
        on=ON,
    )
    assert (line.on_hand, line.missing) == (15, 3)


def test_a_count_before_anything_was_bought_stands_for_itself():
    found = lines([Change(PGF_A, T0 + DAY, 50, "bought")], [Count(PGF, T0, 10)])
    assert {lot: b.on_hand for lot, b in found.items()} == {"": 10, "A": 50}


def test_stock_never_bought_is_not_known_rather_than_negative():
    found = lines([Change(PGF_A, T0, -30, "used")])
    assert found["A"].on_hand is None


def test_expired_stock_is_flagged_and_not_counted_on():
    stock = balances(
        [Change(PGF_A, T0, 100, "bought", expires_on=date(2027, 5, 19))], (), at=T0 + DAY, on=ON
    )
    assert any("expired" in flag for flag in stock[0].flags)
    need = Need(DRUG, "cloprostenol", "cows", "pgf", "PGF", T0 + 30 * DAY, 40)
    (short,) = find_shortages([need], stock, on=ON)
    assert (short.on_hand, short.short) == (0, 40)


def test_steps_draw_on_the_shelf_in_time_order():
    stock = balances([Change(PGF_A, T0, 100, "bought")], (), at=T0 + DAY, on=ON)
    first = Need(DRUG, "cloprostenol", "cows", "pgf", "PGF", T0 + 5 * DAY, 80)
    second = Need(DRUG, "cloprostenol", "heifers", "pgf", "PGF", T0 + 6 * DAY, 50)
    (short,) = find_shortages([second, first], stock, on=ON)
    assert (short.need.group, short.on_hand, short.short) == ("heifers", 20, 30)


def test_nothing_is_said_of_what_is_not_kept():
    need = Need(INSERT, "progesterone_insert", "cows", "in", "insert in", T0, 40)
    assert find_shortages([need], (), on=ON) == ()


def test_the_fall_of_one_run_is_the_slope_numpy_finds():
    """numpy.polyfit is the truth."""
    days = np.array([0.0, 3.5, 7.0, 15.0])
    level = np.array([30.2, 28.4, 26.9, 23.1])
    slope = np.polyfit(days, level, 1)[0]
    assert fall_per_day([list(zip(days, level, strict=True))]) == pytest.approx(-slope)


def test_runs_between_fills_share_a_slope_and_keep_their_own_start():
    """Two exact lines of 0.5 cm a day, one starting at 30 and one at 34."""
    runs = [[(0, 30.0), (10, 25.0)], [(12, 34.0), (20, 30.0)]]
    assert fall_per_day(runs) == pytest.approx(0.5)
    assert fall_per_day([[(0, 30.0)], [(5, 30.0)]]) is None


def tank(*readings, at=T0 + 15 * DAY, start=T0, zone="UTC"):
    levels = [Level(start + day * DAY, cm, filled) for day, cm, filled in readings]
    figures = NitrogenFigures.of(LIBRARY)
    return judge_tank("north", levels, at=at, zone=ZoneInfo(zone), figures=figures)


def test_the_refill_day_is_where_the_line_meets_the_least_level():
    """3 inches at least (University of Wisconsin Extension, 2019, part read): 7.62 cm."""
    state = tank((0, 30.0, True), (14, 23.0, False))
    assert state.fall_cm_per_day == pytest.approx(0.5)
    days = 14 + (23.0 - 3 * CM_PER_IN) / 0.5
    assert state.refill_on == (T0 + days * DAY).date()
    assert state.flags == ()


def test_a_tank_that_falls_fast_is_to_be_looked_at():
    state = tank((0, 30.0, True), (7, 28.0, False), (14, 26.0, False), (15, 23.0, False))
    assert any("frost" in flag for flag in state.flags)


def test_a_tank_at_the_least_level_is_to_be_filled_now_and_one_unread_to_be_read():
    assert any("fill it now" in flag for flag in tank((14, 7.0, False)).flags)
    assert any("read it" in flag for flag in tank((0, 30.0, False)).flags)
    assert tank() is None


LEAST = 3 * CM_PER_IN


def test_days_of_a_tank_are_the_ranchs_and_never_a_day_late():
    """Read at nine in the evening in Denver, when it is the next day by UTC."""
    evening = datetime(2027, 5, 3, 3, tzinfo=UTC)
    fall = (30.0 - LEAST) / 10
    state = tank(
        (0, 30.0, True), (2, 30.0 - 2 * fall, False), start=evening, at=evening + 2 * DAY,
        zone="America/Denver",
    )  # fmt: skip
    assert (state.last_on, state.refill_on) == (date(2027, 5, 4), date(2027, 5, 12))


def test_a_tank_is_to_be_filled_from_the_least_level_on_by_stick_or_by_reckoning():
    assert any("fill it now" in flag for flag in tank((14, LEAST, False)).flags)
    assert tank((14, LEAST + 0.1, False)).flags == ()
    # half a centimetre a day; a week after the last reading the line has met the least level
    falling = ((0, LEAST + 7.0, True), (7, LEAST + 3.5, False))
    for days, is_told in ((13.9, False), (14.1, True)):
        flags = tank(*falling, at=T0 + days * DAY).flags
        assert any("fill it now" in flag for flag in flags) is is_told
    # a tank that was filled up is judged by what it lost since, and one that gained by nothing
    assert tank((0, 20.0, False), (7, 25.0, False)).refill_on is None


def test_a_tank_is_to_be_read_when_longer_ago_than_the_figure():
    every = LIBRARY.number("practice.nitrogen_check_days")
    for days, is_told in ((every, False), (every + 0.1, True)):
        flags = tank((0, 30.0, True), at=T0 + days * DAY).flags
        assert any("read it at least every 7 days" in flag for flag in flags) is is_told


@pytest.mark.parametrize(
    ("readings", "is_told"),
    [
        (((0, 30.0), (7, 28.0), (14, 24.0)), False),  # 4 cm in a week is twice 2 cm
        (((0, 30.0), (7, 28.0), (14, 23.9)), True),
        (((0, 30.0), (7, 30.0), (14, 24.0)), False),  # nothing fell before: no measure of fast
        (((0, 30.0), (7, 24.0)), False),
        (((0, 30.0), (14, 24.0), (14, 20.0)), False),  # two readings of one time
    ],
)
def test_a_fall_is_fast_past_twice_the_fall_before_it(readings, is_told):
    # ours: practice.nitrogen_fast_fall_ratio
    flags = tank(*((day, cm, day == 0) for day, cm in readings)).flags
    assert any("frost" in flag for flag in flags) is is_told


def test_a_fall_is_held_against_those_before_the_last_fill_too():
    before = ((0, 30.0, True), (10, 25.0, False))
    told = tank(*before, (11, 34.0, True), (13, 33.0, False))
    assert not any("frost" in flag for flag in told.flags)
    fast = tank(*before, (11, 34.0, True), (13, 31.0, False))
    assert any("frost" in flag for flag in fast.flags)


def test_three_readings_since_a_fill_tell_by_themselves_and_fewer_with_those_before():
    before = ((0, 30.0, True), (10, 20.0, False))  # 1 cm a day
    two = ((11, 34.0, True), (13, 33.0, False))
    assert 0.5 < tank(*before, *two).fall_cm_per_day < 1.0
    three = tank(*before, *two, (15, 32.0, False))
    assert three.fall_cm_per_day == pytest.approx(0.5)


def test_readings_count_in_the_order_of_their_time_and_later_ones_are_not_seen():
    given = ((7, 26.5, False), (0, 30.0, True), (20, 10.0, False))
    state = tank(*given)
    assert (state.last_cm, state.fall_cm_per_day) == (26.5, pytest.approx(0.5))
    assert tank((20, 10.0, False)) is None


KEPT = KeptHeats(100, 168.0, "PGF", ((36.0, 10.0, 5.0, 15.0), (48.0, 20.0, 12.0, 28.0)))
CALL = LIBRARY.figure("practice.low_response_call_h")


def test_expected_heats_add_up_over_half_days_and_spread_inside_them():
    assert expected_by(KEPT, 36.0)[0] == 0
    assert expected_by(KEPT, 42.0)[0] == pytest.approx(5.0)
    assert expected_by(KEPT, 60.0) == pytest.approx((30.0, 17.0, 43.0))
    assert expected_by(KEPT, 500.0)[0] == pytest.approx(30.0)


def test_each_female_is_expected_by_her_own_hours():
    """Half of them 12 h later: what is expected is the mean of the two clocks."""
    clocks = [T0] * 50 + [T0 + timedelta(hours=12)] * 50
    told = heats_so_far("cows", KEPT, clocks, 9, at=T0 + timedelta(hours=60), call_after=CALL)
    assert told.expected == pytest.approx((30.0 + 10.0) / 2)


@pytest.mark.parametrize(
    ("hours", "seen", "called"), [(47, 0, False), (49, 0, True), (49, 8, False)]
)
def test_a_low_response_is_called_at_48_h_and_only_below_the_range(hours, seen, called):
    """48 h: common practice, from memory."""
    at = T0 + timedelta(hours=hours)
    told = heats_so_far("cows", KEPT, [T0] * 100, seen, at=at, call_after=CALL)
    assert bool(told.call) is called


def test_a_forecast_without_heats_is_compared_with_nothing():
    assert read_kept_heats({"n": 4, "heats": []}) is None
    assert heats_so_far("cows", KEPT, [], 0, at=T0, call_after=CALL) is None
