"""Order tables made of protocols, against arms of published trials and by rule."""

import tomllib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from herds import LIBRARY
from sunup.forecast.arms import read_trials
from sunup.forecast.figures import ForecastFigures
from sunup.forecast.orders import NO_SEASON, SeasonRule, bulls_alone, make_orders
from sunup.forecast.slips import Compliance, OrdersError, draw_plans, last_pgf, say_slips
from sunup.forecast.timing import nominal_timing
from sunup.physiology.orders import Act, Aid, Semen

pytestmark = pytest.mark.unit

TRIALS = Path(__file__).parents[2] / "authorities/trials/trials.toml"
ARMS = {arm.id: arm for arm in read_trials(tomllib.loads(TRIALS.read_text("utf-8"))).arms}
FIGURES = ForecastFigures.from_library(LIBRARY)
SEASON = SeasonRule(bulls_after_days=12.0, season_days=63.0)
# Protocol, arm of a published trial (authorities/trials/trials.toml names paper and journal), and
# the steps whose hour the trial set otherwise, inside the published window: then the table is made
# with the trial's hour and must agree in everything else. Tolerance: none.
SAME = [
    ("co_synch_insert7_heifer", "BUSCH2007/2", {}, {}),
    ("insert14_pg_ftai", "THOMAS2014/1a", {}, {}),
    ("mga_pg_ftai", "BRIDGES2005/1-ne", {}, {}),
    ("natural_heat", "PG34HERDS/3", {}, {}),
    ("pg1_all", "PGDAY1984/7", {}, {}),
    ("pg2_tai", "KINKIE1976/1", {}, {}),
    ("presync_pg7_insert7_heifer_54", "PRESYNCHSD/1", {}, {}),
    ("presync_pg7_insert7_heifer_72", "OOSTH2021/3", {}, {}),
    ("seven_and_seven_cow", "ANDERSEN2021/1", {}, {}),
    ("seven_and_seven_heifer", "PRESYNCHSD/3", {}, {}),
    ("co_synch", "LARSON2006C/2", {234.0: 228.0}, {}),
    ("co_synch_insert7_cow", "SCHAFER2007/2", {231.0: 234.0}, {}),
    ("co_synch_insert5_cow", "WHITTIER2013/1", {128.0: 126.0}, {}),
    ("select_synch_insert_tai_cow", "LARSON2006C/5", {246.0: 252.0}, {240.0: 252.0}),
]


def rows(table):
    return sorted(
        (o.hour, o.act.name, o.amount, o.who.name, o.until_h or 0.0, o.rule.name)
        for o in table.orders
    )


def orders_of(key, **kwargs):
    return make_orders(LIBRARY.protocols[key], figures=FIGURES, **({"season": NO_SEASON} | kwargs))


@pytest.mark.parametrize(("key", "arm", "hours", "untils"), SAME, ids=[s[0] for s in SAME])
def test_a_protocol_gives_the_orders_of_the_trial_arm_it_stands_for(key, arm, hours, untils):
    nominal = nominal_timing(LIBRARY.protocols[key])
    timing = replace(
        nominal,
        hours={step: hours.get(hour, hour) for step, hour in nominal.hours.items()},
        untils={step: untils.get(hour, hour) for step, hour in nominal.untils.items()},
    )
    table = orders_of(key, timing=timing).tables[0]
    assert rows(table) == rows(ARMS[arm].orders)
    assert table.clock_h == ARMS[arm].orders.clock_h
    assert table.zero_clock_h == ARMS[arm].orders.zero_clock_h


def test_every_protocol_of_the_library_but_those_that_follow_an_insemination_has_orders():
    refused = set()
    for key, protocol in LIBRARY.protocols.items():
        try:
            made = orders_of(key, season=SEASON)
        except OrdersError:
            refused.add(key)
            continue
        felt = [s for s in protocol.steps if s.do.value != "heat_aid_on"]
        own = [o for o in made.tables[0].orders if o.act not in {Act.BULLS_IN, Act.BULLS_OUT}]
        bulls = [s for s in felt if s.do.value.startswith("bulls")]
        assert len(own) == len(felt) - len(bulls), key
    assert refused == {k for k, p in LIBRARY.protocols.items() if p.zero.value == "first_ai"}


def test_heat_aids_are_read_where_the_protocol_puts_them_on():
    assert orders_of("split_insert14_heifer").tables[0].aid is Aid.PATCH
    assert orders_of("co_synch").tables[0].aid is Aid.EYE


def test_bulls_follow_the_last_insemination_and_leave_with_the_season():
    made = orders_of("co_synch_insert7_cow", season=SEASON)
    assert made.bulls_in_h == 231.0 + 12 * 24
    assert made.bulls_out_h == 231.0 + 63 * 24
    assert made.end_h >= made.bulls_out_h
    assert orders_of("co_synch_insert7_cow").bulls_in_h is None
    alone = bulls_alone(SEASON)
    assert [o.act for o in alone.tables[0].orders] == [Act.BULLS_IN, Act.BULLS_OUT]
    assert not alone.has_ai


def test_bulls_of_a_natural_service_protocol_are_its_own():
    made = orders_of("ns_insert7", season=SEASON)
    own = [s for s in LIBRARY.protocols["ns_insert7"].steps if s.do.value == "bulls_in"]
    assert made.bulls_in_h == nominal_timing(LIBRARY.protocols["ns_insert7"]).hours[own[0].id]
    assert not made.has_ai


def test_planned_hours_replace_the_published_ones():
    nominal = nominal_timing(LIBRARY.protocols["co_synch"])
    timing = replace(
        nominal, hours=nominal.hours | {"ai": 236.5}, zero_clock_h=9.5, is_planned=True
    )
    made = orders_of("co_synch", timing=timing)
    assert max(o.hour for o in made.tables[0].orders) == 236.5
    assert made.tables[0].zero_clock_h == 9.5
    assert "schedule" in made.notes[0]


def test_females_treated_late_or_missed_follow_tables_of_their_own():
    slips = Compliance(steps=("pgf",), share_late=0.05, late_h=12.0, share_missed=0.02)
    made = orders_of("co_synch_insert7_cow", compliance=slips)
    plain, late, missed = made.tables
    assert made.shares == pytest.approx((0.93, 0.05, 0.02))
    assert [o.hour for o in late.orders if o.act is Act.PGF] == [180.0]
    # the dose is not given, yet the crew counts from that hour
    assert [(o.hour, o.amount) for o in missed.orders if o.act is Act.PGF] == [(168.0, 0.0)]
    assert missed.clock_h == plain.clock_h
    others = [(o.hour, o.act) for o in plain.orders if o.act is not Act.PGF]
    assert [(o.hour, o.act) for o in late.orders if o.act is not Act.PGF] == others
    assert [(o.hour, o.act) for o in missed.orders if o.act is not Act.PGF] == others


def test_the_last_pgf_is_the_one_that_slips_to_whomever_it_is_given():
    """By the steps of the protocol files: in three the last PGF is for those not inseminated."""
    keys = ("co_synch", "natural_heat", "select_synch", "select_synch_tai", "pg2_ai_both")
    found = {key: last_pgf(LIBRARY.protocols[key]) for key in keys}
    assert found == {
        "co_synch": "pgf", "natural_heat": None, "select_synch": "pgf", "select_synch_tai": "pgf",
        "pg2_ai_both": "pgf_2",
    }  # fmt: skip
    two = LIBRARY.protocols["co_synch_insert5_cow"]
    assert nominal_timing(two).hours[last_pgf(two)] == 128.0
    slips = Compliance(steps=("pgf",), share_late=0.05, share_missed=0.02)
    said = orders_of("co_synch", compliance=slips).notes[-1]
    assert "5 of 100 treated 12 hours late and 2 of 100 missed" in said
    (said,) = say_slips(Compliance(steps=("pgf",), share_missed=1.0))
    assert said == "at pgf, 100 of 100 missed (your figures)"


def test_a_step_that_is_not_there_cannot_slip():
    with pytest.raises(OrdersError, match="no chute step 'nothing'"):
        orders_of("co_synch", compliance=Compliance(steps=("nothing",), share_late=0.1))
    with pytest.raises(OrdersError, match="between 0 and 1"):
        Compliance(steps=("pgf",), share_late=0.7, share_missed=0.7)


def test_females_are_shared_out_as_asked_and_by_luck_of_their_own():
    slips = Compliance(steps=("pgf",), share_late=0.2, share_missed=0.1)
    made = orders_of("co_synch", compliance=slips, share_sexed=0.4)
    assert [t.semen for t in made.tables] == [Semen.CONVENTIONAL] * 3 + [Semen.SEXED] * 3
    n = 20_000
    plans = draw_plans(made.tables, made.shares, seed=5, females=n)
    for table, share in enumerate(made.shares):
        # a binomial share: four standard deviations, one false alarm in some 16,000 runs
        assert abs((plans == table).mean() - share) < 4 * (share * (1 - share) / n) ** 0.5
    plain = orders_of("co_synch", compliance=slips)
    again = draw_plans(plain.tables, plain.shares, seed=5, females=n)
    assert np.array_equal(plans % 3, again)  # who is late does not hang on the semen


def test_the_sexed_option_without_sires_means_all():
    made = orders_of("co_synch", sexed_option=True)
    assert [t.semen for t in made.tables] == [Semen.SEXED]
