"""Counting days against the worked examples of Clemson Extension BC-1001 (June 2006).

Dates are whole days: they agree or they do not, so there is no tolerance.
"""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import pytest

from sunup.base.days import GestationDaysError, days_between, due_on

ROOT = Path(__file__).parents[2]
CLEMSON = tomllib.loads((ROOT / "authorities/clemson_bc1001/examples.toml").read_text("utf-8"))
GESTATION = tomllib.loads((ROOT / "src/sunup/library/data/gestation.toml").read_text("utf-8"))


@pytest.mark.parametrize("printed", CLEMSON["gestation"], ids=lambda p: str(p["service"]))
def test_due_date_is_the_printed_one(printed):
    assert printed["due"] == due_on(printed["service"], printed["days"])


@pytest.mark.parametrize("printed", CLEMSON["interval"], ids=lambda p: p["note"].split(";")[0])
def test_interval_is_the_printed_one(printed):
    assert printed["days"] == days_between(printed["from"], printed["to"])


def test_our_default_gestation_is_the_one_of_the_examples():
    assert {GESTATION["default"]["value"]} == {one["days"] for one in CLEMSON["gestation"]}


def test_day_of_service_is_day_zero_not_day_one():
    # The trap of many printed tables, which give 10 October: that is 282 elapsed days.
    assert due_on(date(2026, 1, 1), 283) == date(2026, 10, 11)


@pytest.mark.parametrize(
    ("breed", "days"),
    [
        ("angus", 281.7),  # abstract on three breeds, authors not shown
        ("shorthorn", 284.3),  # the same
        ("hereford", 286.1),  # the same
        ("simmental", 284.3),  # Beef Improvement Federation guidelines, SD 5.5
        ("charolais", 289),  # Torell, Nevada extension
        ("limousin", 289),  # the same
        ("brahman", 292),  # the same
        ("blonde_daquitaine", 294),  # Irish inseminations and calvings, 2020
        ("holstein", 279),  # the same
    ],
)
def test_breed_figures_are_those_read(breed, days):
    assert days == GESTATION[breed]["value"]
    assert GESTATION[breed]["seen"] == "part_read"


@pytest.mark.parametrize("days", [0, -283])
def test_a_gestation_of_no_days_is_refused(days):
    with pytest.raises(GestationDaysError):
        due_on(date(2026, 6, 1), days)
