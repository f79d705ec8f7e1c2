"""Days of conception by insemination and by bull, against sums worked out by hand."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from herds import LIBRARY
from sunup.planning.conceptions import (
    BullTime,
    ChanceError,
    ConceptionFigures,
    Insemination,
    conception_days,
)

FIGURES = ConceptionFigures.of(LIBRARY)
P = FIGURES.bull_chance
DAY0 = date(2027, 5, 25)
# heats 18 to 24 days apart (common practice): 7 days alike; a first heat within 21, their middle
FIRST, CYCLE = 1 / 21, 1 / 7


def on(day):
    return DAY0 + timedelta(days=day)


def found(*services, until):
    ai = [s for s in services if isinstance(s, Insemination)]
    bulls = [s for s in services if isinstance(s, BullTime)]
    return conception_days(ai, bulls, until_on=on(until), figures=FIGURES)


def test_with_a_bull_alone_she_comes_in_heat_on_any_day_of_her_first_cycle():
    told = found(BullTime(DAY0, None), until=17)
    assert told.weights[0] == pytest.approx([P * FIRST] * 18)
    assert told.open_weight == pytest.approx(1 - 18 * P * FIRST)


def test_what_the_bull_missed_comes_back_18_to_24_days_later():
    (row,) = found(BullTime(DAY0, None), until=21).weights
    missed = (1 - P) * FIRST * CYCLE  # of one day's heat, on one day of its return
    assert row[18] == pytest.approx(P * (FIRST + missed))
    assert row[20] == pytest.approx(P * (FIRST + 3 * missed))
    assert row[21] == pytest.approx(P * 4 * missed)  # the first heats are over


@pytest.mark.parametrize("out", [0, 5])
def test_a_bull_counts_on_the_day_he_came_and_the_day_he_went(out):
    (row,) = found(BullTime(DAY0, on(out)), until=30).weights
    assert row[: out + 1] == pytest.approx([P * FIRST] * (out + 1))
    assert row[out + 1 :].sum() == 0


def test_two_bulls_share_the_day_they_were_both_with_her():
    rows = found(BullTime(DAY0, on(9)), BullTime(on(5), on(9)), until=9).weights
    assert rows[:, 4] == pytest.approx([P * FIRST, 0])
    assert rows[:, 5] == pytest.approx([P * FIRST / 2] * 2)


def test_one_open_after_ten_days_with_a_bull_is_inseminated():
    told = found(BullTime(DAY0, on(9)), Insemination(on(10), "A1", chance=0.6), until=12)
    open_ = 1 - 10 * P * FIRST
    assert told.weights[0, 10] == pytest.approx(open_ * 0.6)
    assert told.open_weight == pytest.approx(open_ * 0.4)


def test_what_came_after_the_day_asked_about_does_not_count():
    first = Insemination(DAY0, "A1", chance=0.6)
    alone = found(first, until=40)
    told = found(first, Insemination(on(41), "A2"), BullTime(on(41), None), until=40)
    assert told.weights[0] == pytest.approx(alone.weights[0])
    assert told.weights[1:].sum() == 0
    assert told.open_weight == pytest.approx(alone.open_weight)
    assert found(Insemination(on(41), "A2"), BullTime(on(41), None), until=40) is None


def test_all_that_failed_to_conceive_to_ai_return_to_the_bull():
    """Returns are all over by the last day of `breeding.return_days`; the bull takes his share."""
    last = int(FIGURES.return_days.value[-1])
    told = found(Insemination(DAY0, "A1", chance=0.6), BullTime(on(1), None), until=last)
    assert told.weights[1].sum() >= 0.4 * P
    assert told.weights.sum() + told.open_weight == pytest.approx(1)


@pytest.mark.parametrize(
    ("chance", "is_one"), [(-0.1, False), (0.0, True), (1.0, True), (1.1, False)]
)
def test_a_chance_lies_from_0_to_1(chance, is_one):
    service = Insemination(DAY0, "A1", chance=chance)
    if is_one:
        assert found(service, until=30).weights.sum() == pytest.approx(chance)
    else:
        with pytest.raises(ChanceError):
            found(service, until=30)
