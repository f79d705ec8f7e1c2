"""The rule from heat to insemination is written twice: for people and in the simulator."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from herds import LIBRARY
from sunup.base.hours import hours_between
from sunup.physiology import watching
from sunup.planning.heats import Heat, Sighting
from sunup.planning.insemination_times import Rule, TimeFigures, insemination_time
from sunup.protocols.protocol import Inseminate

MIDNIGHT = datetime(2027, 5, 4, tzinfo=UTC)
FIGURES = TimeFigures.of(LIBRARY)
PAIRS = [
    (Inseminate.AM_PM, watching.AM_PM),
    (Inseminate.AFTER_12H, watching.AFTER_12H),
    (Inseminate.ONCE_DAILY, watching.ONCE_DAILY),
]
HALF_HOURS = [half / 2 for half in range(48)]


def by_hand(how, clock):
    """Trimberger's morning/evening rule at 06:00 and 18:00; once a day at 11:00; 12 h later.

    The first and the last as extension sheets tell them; 11:00 is common practice, no source.
    """
    if how is Inseminate.AFTER_12H:
        return clock + 12
    if how is Inseminate.ONCE_DAILY:
        return 11.0 if clock < 11 else 35.0
    return 18.0 if clock < 12 else 30.0


@pytest.mark.parametrize(("how", "kernel_rule"), PAIRS)
@pytest.mark.parametrize("zero_clock", [0.0, 6.5])
def test_the_simulator_inseminates_when_the_rule_says(how, kernel_rule, zero_clock):
    told = [
        zero_clock + watching.hour_of_ai.py_func(clock + 24 - zero_clock, kernel_rule, zero_clock)
        for clock in HALF_HOURS
    ]
    assert told == [24 + by_hand(how, clock) for clock in HALF_HOURS]


@pytest.mark.parametrize(("how", "kernel_rule"), PAIRS)
def test_the_list_for_people_and_the_simulator_say_one_hour(how, kernel_rule):
    rule = Rule(how, ZoneInfo("UTC"))
    for clock in HALF_HOURS:
        seen = MIDNIGHT + timedelta(hours=clock)
        heat = Heat(seen, seen, seen - timedelta(hours=12), None, (Sighting(seen, "standing"),))
        told = hours_between(MIDNIGHT, insemination_time(heat, rule, figures=FIGURES).at)
        assert told == watching.hour_of_ai.py_func(clock, kernel_rule, 0.0), clock
        assert told == by_hand(how, clock), clock
