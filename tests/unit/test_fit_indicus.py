"""What is proposed first to a group of Bos indicus."""

from __future__ import annotations

import pytest

from herds import cows, season


def chosen(breed, region):
    (group,) = season(cows(20, breed_shares=((breed, 1.0),)), region=region).groups
    return group.chosen


def test_suckled_cows_of_bos_indicus_get_the_ester_plan_where_esters_are_allowed():
    """Meneghetti 2009 (part read): the standard in Brazil for suckled Bos indicus cows."""
    assert chosen("Nelore", "BR") == "eb9_bi"


@pytest.mark.parametrize("region", ["US", "EU"])
def test_esters_are_not_proposed_where_they_are_barred(region):
    """Estradiol is barred in food animals in the European Union and not approved in the US."""
    assert not chosen("Nelore", region).startswith("eb")


def test_cows_of_bos_taurus_keep_the_librarys_order():
    assert chosen("Angus", "BR") == chosen("Angus", "US")
