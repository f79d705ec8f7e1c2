"""Cautions of the data sheets reach whoever gives the drug: on the day sheet of its visit.

From UK data sheets of dinoprost and cloprostenol (passages read): infection where it was injected,
illnesses in which it is not given, not into a vein.
"""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest

from herds import LIBRARY, cows, season
from sunup.reports.day_sheets import day_sheets
from sunup.reports.packet_lists import vet_page

DENVER = ZoneInfo("America/Denver")


def pgf_sheet(plan):
    return next(
        sheet for sheet in day_sheets(plan, DENVER) if any(step.do == "pgf" for step in sheet.steps)
    )


@pytest.mark.parametrize("drug", ["dinoprost/5", "dinoprost/12.5", "cloprostenol/250"])
@pytest.mark.parametrize("words", ["infection", "Not for a female", "Not into a vein"])
def test_what_pgf_may_do_to_the_animal_stands_on_its_sheet(drug, words):
    plan = season(cows(30), drugs={"pgf": drug})
    told = " ".join(pgf_sheet(plan).cautions)
    assert words in told
    assert words in dict(vet_page(plan, DENVER)["cautions"])[drug.partition("/")[0]]


def test_that_more_than_the_label_dose_leaves_residues_stands_where_two_are_given():
    plan = season(
        cows(30), drugs={"pgf": "dinoprost/5"}, protocols={"cows": "co_synch_insert5_cow"}
    )
    told = " ".join(pgf_sheet(plan).cautions)
    assert "More than the label dose may leave residues" in told
    assert any("2 doses within 24 h" in line for line in plan.label_differences)


@pytest.mark.parametrize("key", ["dinoprost", "cloprostenol", "buserelin"])
def test_who_is_allergic_to_benzyl_alcohol_is_warned_by_what_was_read(key):
    (caution,) = [c for c in LIBRARY.actives[key].cautions if "benzyl alcohol" in c.text]
    assert caution.seen != "memory"


def injection_lines(plan):
    return [line for line in plan.cautions if line.startswith("Injections")]


def test_where_injections_go_and_how_far_apart_is_told_with_the_plan():
    # beef quality programmes of Texas and Georgia, Idaho bulletin 923
    (told,) = injection_lines(season(cows(3), drugs={"pgf": "dinoprost/5"}))
    for words in ("neck", "never the rump", "4 in (10 cm) apart", "10 mL at one site", "label"):
        assert words in told
    assert injection_lines(season(cows(3), protocols={"cows": "natural_heat"})) == []


def test_oxytetracycline_is_kept_out_of_liquid_melengestrol():
    told = " ".join(c.text for c in LIBRARY.actives["melengestrol_acetate"].cautions)
    assert "oxytetracycline" in told
