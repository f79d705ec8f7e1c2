"""A second AI after the first in one order table, and who stands in for whom."""

import numpy as np
import pytest

from herds import LIBRARY
from sunup.forecast.figures import ForecastFigures
from sunup.forecast.orders import NO_SEASON, SeasonRule, make_orders
from sunup.forecast.services import read_chances, settle, stand_ins
from sunup.forecast.slips import Compliance, OrdersError
from sunup.physiology.orders import Act, Who

pytestmark = pytest.mark.unit

FIGURES = ForecastFigures.from_library(LIBRARY)
SEASON = SeasonRule(bulls_after_days=12.0, season_days=63.0)
AI_H = 231.0  # of the 7-day programme for cows, as published: 7 days and 63 hours
DAY = 24.0


def orders_of(first, second, **kwargs):
    return make_orders(
        LIBRARY.protocols[first],
        figures=FIGURES,
        second=LIBRARY.protocols[second],
        **({"season": NO_SEASON} | kwargs),
    )


def test_days_of_the_second_ai_count_from_the_timed_insemination():
    # the hours of the protocol by hand: scan and GnRH on day 29, PGF a week later, AI 63 h after it
    made = orders_of("co_synch_insert7_cow", "resync_us28_cosynch", season=SEASON)
    again = [o for o in made.tables[0].orders if o.hour > AI_H]
    told = [
        (o.hour - AI_H, o.act, o.who) for o in again if o.act not in {Act.BULLS_IN, Act.BULLS_OUT}
    ]
    assert told == [
        (29 * DAY, Act.PREG_CHECK, Who.ALL),
        (29 * DAY, Act.GNRH, Who.NOT_PREGNANT),
        (29 * DAY, Act.INSERT_IN, Who.NOT_PREGNANT),
        (36 * DAY, Act.PGF, Who.NOT_PREGNANT),
        (36 * DAY, Act.INSERT_OUT, Who.NOT_PREGNANT),
        (36 * DAY + 63, Act.AI, Who.NOT_PREGNANT),
        (36 * DAY + 63, Act.GNRH, Who.NOT_PREGNANT),
    ]
    assert made.bulls_in_h == AI_H + 36 * DAY + 63 + 12 * DAY
    assert made.bulls_out_h == AI_H + 63 * DAY


def test_the_clock_and_the_heats_stay_those_of_the_first_ai():
    plain = make_orders(
        LIBRARY.protocols["co_synch_insert7_cow"], figures=FIGURES, season=NO_SEASON
    )
    made = orders_of("co_synch_insert7_cow", "resync_us28_cosynch")
    assert (made.clock_h, made.from_h, made.until_h) == (plain.clock_h, plain.from_h, plain.until_h)
    assert made.first_until_h == plain.last_ai_h < made.last_ai_h
    late = orders_of(
        "co_synch_insert7_cow",
        "resync_us28_cosynch",
        compliance=Compliance(steps=("pgf",), share_late=0.1, late_h=12.0),
    )
    assert [table.clock_h for table in late.tables[:2]] == [168.0, 180.0]


def test_returns_are_watched_from_eighteen_days_after_the_first_to_twenty_four_after_the_last():
    made = orders_of("natural_heat", "resync_watch")
    first, again = [o for o in made.tables[0].orders if o.act is Act.WATCH]
    assert again.hour == first.hour + 18 * DAY
    assert again.until_h == first.until_h + 24 * DAY
    assert any("watching for returns begins as much sooner" in line for line in made.notes)


@pytest.mark.parametrize(
    ("key", "oldest_needed"), [("resync_e2_22", 22.0), ("resync_g21_us28", 28.0)]
)
def test_a_scan_finds_the_pregnancies_of_the_first_ai_at_the_age_they_have(key, oldest_needed):
    # Sperm live three days at most, so a pregnancy to the AI is at least so old by the scan; and a
    # pregnancy by the next heat, 17 days later at the soonest, is not found.
    made = orders_of("co_synch_insert7_cow", key)
    (check,) = [o for o in made.tables[0].orders if o.act is Act.PREG_CHECK]
    asked = check.amount * FIGURES.check_from_days
    assert oldest_needed - 17.0 < asked <= oldest_needed - 3.0


def test_what_cannot_be_a_second_ai_is_refused_in_words():
    with pytest.raises(OrdersError, match="does not follow an insemination"):
        orders_of("co_synch", "co_synch")
    with pytest.raises(OrdersError, match="no second AI can follow"):
        orders_of("ns_insert7", "resync_watch")


def test_a_stand_in_is_the_next_of_her_replicate_else_the_last_before_it_else_the_first_after():
    needs = np.array([[True, False, False, True], [True, False, True, False]])
    may = np.array([[False, True, True, False], [False, False, False, False]])
    # places count replicate after replicate: 0 to 3, 4 to 7
    assert stand_ins(needs, may).tolist() == [[1, 1, 2, 1], [2, 5, 1, 7]]
    assert stand_ins(needs, may[::-1]).tolist() == [[5, 1, 2, 6], [5, 5, 6, 7]]
    assert stand_ins(needs, np.zeros_like(may)).tolist() == [[-1, 1, 2, -1], [-1, 5, -1, 7]]


def test_straws_for_heats_shown_in_pregnancy_are_counted():
    """Four females, the first two pregnant to the first AI; the second AI is watched for.

    The first shows heat on day 20 all the same and is inseminated again, the third returns and
    conceives, the fourth is never seen: 2 + 1 + 2 + 1 straws, two of them of the second AI. With
    no spread between herds everything stays as the simulator left it.
    """
    orders = orders_of("co_synch_insert7_cow", "resync_watch")
    ai, later = orders.second.first_until_h - 36.0, orders.second.first_until_h + 400.0
    none = float("nan")
    lives = {
        "first_ai_h": np.full((1, 4), ai),
        "second_ai_h": np.array([[later, none, later, none]]),
        "n_ai": np.array([[2, 1, 2, 1]]),
        "chance_first": np.full((1, 4), 0.6),
        "chance_second": np.array([[0.0, none, 0.6, none]]),
        "pregnant_first": np.array([[1, 1, 0, 0]]),
        "pregnant_second": np.array([[0, 0, 1, 0]]),
        "pregnant": np.array([[1, 1, 1, 0]]),
        "pregnant_by_bull": np.zeros((1, 4), int),
        "conceived_h": np.array([[ai, ai, later, none]]),
        "served_h": np.array([[ai, ai, later, none]]),
        "calf_of_h": np.array([[ai, none, later, none]]),  # the second is lost later
    }
    even = np.full((1, 4), 0.5)
    still = np.zeros((1, 1))
    served = settle(
        lives, read_chances(lives, orders), orders, level=still, sd=still, luck=(even, even)
    )
    assert served.first.tolist() == [[True, True, False, False]]
    assert served.inseminations.tolist() == [[2, 1, 2, 1]]
    assert served.again.tolist() == [[True, False, True, False]]
    assert served.service_h.tolist()[0][:3] == [ai, ai, later]
    assert np.array_equal(served.calf_of_h, [[ai, none, later, none]], equal_nan=True)
    assert not served.is_unfollowed.any()
