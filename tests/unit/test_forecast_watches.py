"""How heats are watched: written into steps, said, and read at the hour a watch ends."""

from dataclasses import replace
from datetime import timedelta

import ovary  # noqa: F401  keeps the compiled kernel between test files
import pytest

from herds import AI_ON, LIBRARY, heifer
from sunup.base.problems import UsageError
from sunup.forecast.figures import ForecastFigures, params_from_library
from sunup.forecast.herd import find_facts
from sunup.forecast.orders import NO_SEASON, make_orders
from sunup.forecast.run import run_group
from sunup.forecast.timing import nominal_timing
from sunup.forecast.watches import CHECK_H, Watches, read_watch, with_last_checks
from sunup.physiology.checks import check_hours
from sunup.physiology.orders import Act, Aid, Order, Rule, Who
from sunup.physiology.watching import next_check

pytestmark = pytest.mark.unit

FIGURES = ForecastFigures.from_library(LIBRARY)
PARAMS = params_from_library(LIBRARY)


def orders_at(key, zero_clock_h=8.0, **kwargs):
    protocol = LIBRARY.protocols[key]
    timing = replace(nominal_timing(protocol), zero_clock_h=zero_clock_h)
    return make_orders(protocol, figures=FIGURES, season=NO_SEASON, timing=timing, **kwargs)


def run(orders):
    facts = find_facts(
        [heifer(str(i)) for i in range(60)],
        zero_on=AI_ON - timedelta(days=33),
        library=LIBRARY,
        figures=FIGURES,
    )
    return run_group(facts, orders, figures=FIGURES, params=PARAMS, seed=1, replicates=50).tally


def watch(hour, until, **kwargs):
    return Order(hour=hour, act=Act.WATCH, until_h=until, rule=Rule.AM_PM, **kwargs)


@pytest.mark.parametrize("times", [1, 2, 3, 4, 6])
def test_checks_of_the_day_are_those_of_the_simulator(times):
    hours = check_hours(times)
    assert len(hours) == times
    for hour in hours:
        assert next_check(hour - 0.25, times) == pytest.approx(0.25)


def test_an_hour_earlier_at_the_pgf_costs_no_more_than_an_hour_can():
    # the watch of this protocol ends 72 h after the PGF; with PGF at 06:00 that is a check
    six, seven = (run(orders_at("insert14_pg_heat", hour)) for hour in (6.0, 7.0))
    # heats begin at about 1 in 100 an hour in that part; before, the check lost 11 of 100
    assert abs(six.on_heat.mean() - seven.on_heat.mean()) < 0.03 * 60
    assert abs(six.pregnant.mean() - seven.pregnant.mean()) < 0.03 * 60


def test_the_check_at_the_end_counts_where_nothing_follows():
    (made,) = with_last_checks([watch(0.0, 72.0)], zero_clock_h=6.0)
    assert made.until_h == 72.0 + CHECK_H
    # half past six is no check, and a device needs none
    (made,) = with_last_checks([watch(0.0, 72.0)], zero_clock_h=6.5)
    assert made.until_h == 72.0
    (made,) = with_last_checks([watch(0.0, 72.0, aid=Aid.ELECTRONIC)], zero_clock_h=6.0)
    assert made.until_h == 72.0


def test_a_check_is_not_made_twice_nor_keeps_a_female_from_the_timed_ai():
    two = with_last_checks([watch(0.0, 72.0), watch(72.0, 90.0)], zero_clock_h=6.0)
    assert [o.until_h for o in two] == [72.0, 90.0]
    ai = Order(hour=72.0, act=Act.AI, who=Who.NOT_INSEMINATED)
    timed = with_last_checks([watch(0.0, 72.0), ai], zero_clock_h=6.0)
    assert timed[0].until_h == 72.0


def test_what_the_user_says_goes_before_the_protocol_and_its_aids_only_where_it_names_none():
    natural = LIBRARY.protocols["natural_heat"]  # says twice a day
    told = Watches(times_per_day=3, minutes=30, aid=Aid.CHALK)
    (step,) = (s for s in told.in_steps(natural, over_all=True).steps if s.do.value == "watch")
    assert (step.times_per_day, step.minutes, step.aid) == (3, 30, "chalk")
    bought = Watches(times_per_day=3, minutes=30, aid=Aid.PATCH)
    (step,) = (s for s in bought.in_steps(natural, over_all=False).steps if s.do.value == "watch")
    assert (step.times_per_day, step.minutes, step.aid) == (2, None, "patch")


def test_aids_find_no_fewer_heats_than_eyes_and_more_checks_no_fewer_than_few():
    """A patch is rubbed at any hour; an eye sees what it sees (common practice)."""
    once, twice, patch = (
        run(orders_at("insert14_pg_heat", watches=Watches(times_per_day=n, minutes=45, aid=aid)))
        for n, aid in ((1, Aid.EYE), (2, Aid.EYE), (2, Aid.PATCH))
    )
    assert once.on_heat.mean() < twice.on_heat.mean() < patch.on_heat.mean()


def test_the_way_of_watching_is_told_and_where_nobody_watches_that_too():
    timed = orders_at("co_synch_insert7_cow")
    assert timed.seen_if.startswith("if somebody watched by eye")
    told = orders_at("co_synch_insert7_cow", watches=read_watch("cows", "2x20:patch"))
    assert told.seen_if == ""
    assert told.tables[0].aid is Aid.PATCH
    assert "heat patches read 2 times a day (your figures)" in told.notes
    assert orders_at("select_synch_insert_tai_cow").seen_if == ""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2", "GROUP=TIMESxMINUTES"),
        ("2x45:", "GROUP=TIMESxMINUTES"),
        ("0x45", "watch 1 to 6 times a day"),
        ("7x10", "watch 1 to 6 times a day"),
        ("2x0", "at least a minute"),
        ("2x400", "no more than the 12 hours"),
        ("2x45:radar", "Known: eye, patch, chalk, electronic"),
    ],
)
def test_a_way_of_watching_that_cannot_be_is_refused_in_words(text, said):
    with pytest.raises(UsageError, match=said):
        read_watch("cows", text)
