"""What is known of law and market for a drug a plan gives: told wherever the plan is read.

The texts rest on the accounts named in each region's file (all second hand); the tests hold only
that they reach whoever plans, buys and authorises.
"""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest

from herds import LIBRARY, cows, season
from sunup.reports.packet_lists import vet_page

ESTRADIOLS = ("estradiol_benzoate", "estradiol_cypionate")
WITH_ESTRADIOL = ("eb8_ecp", "eb8_eb", "j_synch")
AUCKLAND = ZoneInfo("Pacific/Auckland")


def planned(region, protocol="eb8_ecp"):
    return season(cows(5), region=region, zone="Pacific/Auckland", protocols={"cows": protocol})


def barred(region):
    return {one.active for one in LIBRARY.regions[region].barred}


def test_a_country_without_a_rule_pack_is_told_who_bars_estradiol():
    (group,) = planned("other").groups
    for protocol in WITH_ESTRADIOL:
        fit = next(f for f in group.fits if f.protocol == protocol)
        told = " ".join(fit.notes)
        assert "New Zealand" in told
        assert "Uruguay" in told
        assert "second hand" in told


def test_the_page_for_the_veterinarian_asks_and_warns_of_animals_ever_treated():
    page = vet_page(planned("other"), AUCKLAND)
    assert any("New Zealand" in line and "banned" in line for line in page["asks"])
    assert any("Uruguay" in line and "30 September 2026" in line for line in page["asks"])
    notes = dict(page["drugs"])
    assert "never treated in their life" in notes["estradiol benzoate"]


@pytest.mark.parametrize("region", sorted(LIBRARY.regions))
@pytest.mark.parametrize("active", ESTRADIOLS)
def test_an_estradiol_that_a_region_does_not_bar_has_something_to_ask(region, active):
    assert active in barred(region) or LIBRARY.regions[region].asks_of(active)


def test_what_is_asked_stands_among_the_cautions_of_page_one():
    told = planned("other").cautions
    assert any("Ask first" in line and "New Zealand" in line for line in told)


def test_what_is_asked_stands_once_however_often_the_drug_is_given():
    page = vet_page(planned("BR", "eb8_eb"), AUCKLAND)
    assert len(page["asks"]) == len(set(page["asks"])) == 1


def test_what_is_held_of_the_region_stands_on_the_page_for_the_veterinarian():
    """The rule on use outside the label, for one: it was printed nowhere."""
    page = vet_page(season(cows(5), region="US"), ZoneInfo("America/Denver"))
    told = " ".join(page["region_notes"])
    assert "extra-label use is not allowed for estrous control" in told
    assert page["region"] == "United States"


@pytest.mark.parametrize(("region", "is_asked"), [("UK", True), ("EU", True), ("US", False)])
def test_inserts_are_on_prescription_where_everything_is(region, is_asked):
    """Over the counter in the US (second hand); UK and EU: everything on prescription (memory)."""
    rows = vet_page(season(cows(5), region=region), ZoneInfo("Europe/London"))["rows"]
    (insert,) = [row for row in rows if row["drug"] == "progesterone insert"]
    assert is_asked == insert["standing"].startswith("prescription")


def test_a_plan_without_such_a_drug_asks_nothing():
    assert vet_page(planned("other", "co_synch_insert7_cow"), AUCKLAND)["asks"] == []
