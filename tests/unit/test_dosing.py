"""Which drug and strength may stand in a plan, and how much is drawn up."""

from __future__ import annotations

import pytest

from herds import LIBRARY, cows, season, step_of
from sunup.base.problems import UsageError
from sunup.planning.dosing import DrugChoiceError, choose_drug, dose_line
from sunup.protocols.protocol import Do, Step


def choose(does, asked=None, region="US"):
    drugs = {does: asked} if asked else {}
    return choose_drug(does, library=LIBRARY, pack=LIBRARY.regions[region], asked=drugs)


def test_the_weak_cloprostenol_for_feedlots_is_refused():
    """125 ug/mL is held for another use; at 2 mL it would be half a dose."""
    with pytest.raises(DrugChoiceError, match=r"125 ug/mL.*not for synchronisation"):
        choose("pgf", "cloprostenol/125")


def test_the_us_diacetate_is_refused_for_the_uk_where_the_same_number_counts_another_thing():
    with pytest.raises(DrugChoiceError, match="may count another thing"):
        choose("gnrh", "gonadorelin_diacetate/50", region="UK")
    assert choose("gnrh", "gonadorelin_diacetate/50_as_gonadorelin", region="UK") is not None


@pytest.mark.parametrize(
    ("does", "asked", "words"),
    [
        ("pgf", "gonadorelin_acetate/100", "does not serve a pgf step"),
        ("pgf", "water/5", "Choose one of: .*dinoprost/5"),
        ("pgf", "dinoprost/7", "not held in strength '7'. Held: 5, 12.5"),
        ("mga_start", "melengestrol_acetate/type_a_100", "not for synchronisation"),
    ],
)
def test_a_drug_that_cannot_serve_is_refused_with_what_can(does, asked, words):
    with pytest.raises(DrugChoiceError, match=words):
        choose(does, asked)


@pytest.mark.parametrize(
    "drugs",
    [
        {"pgf": "cloprostenol/125"},
        {"pgf": "nothing/1"},
        {"gnrh": "gonadorelin_diacetate/50_as_gonadorelin"},
        {"pfg": "dinoprost/5"},
    ],
)
def test_a_plan_is_not_made_with_a_drug_that_cannot_be_used(drugs):
    with pytest.raises(UsageError):
        season(cows(3), drugs=drugs)


def test_nothing_is_chosen_where_the_region_names_nothing():
    assert choose("estradiol_benzoate") is None


@pytest.mark.parametrize(
    ("asked", "share", "ml"),
    [
        # 21 CFR 522.690 and 522.460: 25 mg at 5 and 12.5 mg/mL, 500 ug at 250 ug/mL
        ("dinoprost/5", 1.0, 5.0),
        ("dinoprost/12.5", 1.0, 2.0),
        ("cloprostenol/250", 1.0, 2.0),
        ("cloprostenol/250", 0.5, 1.0),
    ],
)
def test_volumes_follow_dose_strength_and_share(asked, share, ml):
    line = dose_line(Step("pgf", Do.PGF, day=0, dose=share), choose("pgf", asked), head=40)
    assert ml == pytest.approx(line.ml_each)
    assert 40 * ml == pytest.approx(line.ml_total)


def test_inserts_and_feed_have_no_volume():
    for do, does in ((Do.INSERT_IN, "insert_in"), (Do.MGA_START, "mga_start")):
        line = dose_line(Step("x", do, day=0), choose(does), head=10)
        assert line.ml_each is None
        assert line.ml_total is None


def test_the_drug_asked_for_is_the_drug_of_the_schedule():
    plan = season(
        cows(10), drugs={"pgf": "dinoprost/12.5"}, protocols={"cows": "co_synch_insert7_cow"}
    )
    pgf = step_of(plan.groups[0], "pgf")
    assert pgf.dose.active == "dinoprost/12.5"
    assert pgf.dose.ml_total == pytest.approx(20)


def test_every_pgf_carries_a_caution_for_people():
    plan = season(cows(2), protocols={"cows": "co_synch_insert7_cow"})
    assert step_of(plan.groups[0], "pgf").dose.cautions
    assert any("skin" in line for line in plan.cautions)
