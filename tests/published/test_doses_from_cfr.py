"""Doses and volumes of our actives against the US federal rules, transcribed in authorities/.

Source: 21 CFR 522.460, 522.690 and 522.1077 with its forerunners, in the editions named at each
entry; some are older editions and none is today's text. Doses are exact numbers, so no tolerance is
allowed beyond that of floating point.
"""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from sunup.base.quantities import Quantity, UnitError, volume_ml

ROOT = Path(__file__).parents[2]
ACTIVES = tomllib.loads((ROOT / "src/sunup/library/data/actives.toml").read_text("utf-8"))
DOSES = tomllib.loads((ROOT / "authorities/cfr_doses/doses.toml").read_text("utf-8"))["dose"]


def ours(printed):
    """The strength of ours that the entry speaks of: same amount and known in the US."""
    found = [
        strength
        for strength in ACTIVES[printed["active"]]["strengths"]
        if (strength["amount"], strength["unit"]) == (printed["strength"], printed["strength_unit"])
        and (not strength["regions"] or "US" in strength["regions"])
    ]
    assert len(found) == 1, f"{len(found)} strengths of {printed['active']} fit"
    return found[0]


def name(printed):
    return f"{printed['active']}-{printed['strength']:g}-{printed['dose']:g}"


@pytest.mark.parametrize("printed", DOSES, ids=name)
def test_volume_of_the_printed_dose_in_our_strength_is_the_volume_of_the_rule(printed):
    strength = ours(printed)
    drawn = volume_ml(
        Quantity(printed["dose"], printed["dose_unit"]),
        Quantity(strength["amount"], strength["unit"]),
    )
    assert printed["ml"] == pytest.approx(drawn, rel=1e-12)


@pytest.mark.parametrize("printed", [d for d in DOSES if not d.get("upper_end")], ids=name)
def test_our_full_dose_is_the_dose_of_the_rule(printed):
    strength = ours(printed)
    assert (printed["dose"], printed["dose_unit"]) == (strength["dose"], strength["dose_unit"])


@pytest.mark.parametrize(
    ("active", "amount", "routes"),
    [
        ("dinoprost", 5, ["IM"]),  # 21 CFR 522.690, October 2024
        ("dinoprost", 12.5, ["IM", "SC"]),  # the same
        ("cloprostenol", 250, ["IM"]),  # 21 CFR 522.460, late 2024
    ],
)
def test_routes_are_those_of_the_rule(active, amount, routes):
    found = [s["routes"] for s in ACTIVES[active]["strengths"] if s["amount"] == amount]
    assert [routes] == found


def test_cloprostenol_of_125_is_not_for_synchronisation():
    # 21 CFR 522.460, late 2024: 375 ug of the 125 ug/mL strength ends pregnancy in feedlot heifers
    found = [s["uses"] for s in ACTIVES["cloprostenol"]["strengths"] if s["amount"] == 125]
    assert found == [["feedlot abortion"]]


def test_us_diacetate_counts_the_salt_and_uk_diacetate_the_hormone():
    # 21 CFR 522.1077: 50 ug of the diacetate = 43 ug gonadorelin; UK data sheet: 50 ug gonadorelin
    by_region = {
        region: strength["basis"]
        for strength in ACTIVES["gonadorelin_diacetate"]["strengths"]
        for region in strength["regions"]
    }
    assert "43 ug gonadorelin" in by_region["US"]
    assert by_region["UK"] == "gonadorelin"


def test_a_dose_in_international_units_is_never_drawn_from_a_strength_by_mass():
    strength = ACTIVES["dinoprost"]["strengths"][0]
    with pytest.raises(UnitError):
        volume_ml(Quantity(25, "IU"), Quantity(strength["amount"], strength["unit"]))
