"""Pounds of feed times mg a pound make 0.5 mg: 21 CFR 558.342(e)(1)(ii), table of 2024.

The rule's ends are exact decimals (0.5 lb at 1.0 mg/lb, 2.0 lb at 0.25 mg/lb), so the tolerance is
that of floating point.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from sunup.planning.feed import FeedStrengthError, carrier_lb_per_day

ROOT = Path(__file__).parents[2]
DATA = ROOT / "src/sunup/library/data"
RULE = tomllib.loads((ROOT / "authorities/cfr_558_342/feed.toml").read_text("utf-8"))
PRACTICE = tomllib.loads((DATA / "practice.toml").read_text("utf-8"))
ACTIVES = tomllib.loads((DATA / "actives.toml").read_text("utf-8"))
US = tomllib.loads((DATA / "regions/US.toml").read_text("utf-8"))


@pytest.mark.parametrize(("lb", "mg_per_lb"), RULE["pairs"])
def test_feed_for_one_heifer_is_that_of_the_rule(lb, mg_per_lb):
    assert lb == pytest.approx(
        carrier_lb_per_day(1, PRACTICE["mga_mg_per_head_day"]["value"], mg_per_lb=mg_per_lb)
    )


@pytest.mark.parametrize(("lb", "mg_per_lb"), RULE["pairs"])
def test_a_group_is_fed_the_rules_pounds_times_its_heads(lb, mg_per_lb):
    assert 120 * lb == pytest.approx(
        carrier_lb_per_day(120, RULE["mg_per_head_day"], mg_per_lb=mg_per_lb)
    )


def test_our_figures_are_those_of_the_rule():
    _, strengths = zip(*RULE["pairs"], strict=True)
    assert RULE["mg_per_head_day"] == PRACTICE["mga_mg_per_head_day"]["value"]
    assert [min(strengths), max(strengths)] == PRACTICE["mga_type_c_mg_per_lb"]["value"]
    (held,) = [text for text in US["held"] if text["does"] == "mga_start"]
    assert (RULE["max_days"], RULE["mg_per_head_day"]) == (held["max_days"], held["mg_per_day"])
    assert held["classes"] == ["heifer"]  # the row names heifers kept for breeding only


def test_every_feed_strength_of_ours_lies_inside_the_rule():
    lbs, strengths = zip(*RULE["pairs"], strict=True)
    fed = [
        strength
        for strength in ACTIVES["melengestrol_acetate"]["strengths"]
        if "synchronisation" in strength["uses"]
    ]
    assert fed
    for strength in fed:
        assert min(strengths) <= strength["amount"] <= max(strengths)
        pounds = carrier_lb_per_day(1, strength["dose"], mg_per_lb=strength["amount"])
        assert min(lbs) <= pounds <= max(lbs)


@pytest.mark.parametrize(
    ("head", "mg_per_head", "mg_per_lb"),
    [(-1, 0.5, 0.5), (10, 0.0, 0.5), (10, 0.5, 0.0), (10, 0.5, -1.0), (10, 0.5, float("nan"))],
)
def test_feed_that_cannot_be_is_refused(head, mg_per_head, mg_per_lb):
    with pytest.raises(FeedStrengthError):
        carrier_lb_per_day(head, mg_per_head, mg_per_lb=mg_per_lb)
