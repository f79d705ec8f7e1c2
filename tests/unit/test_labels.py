"""Label notes of steps, worked out by hand from the words of the texts held for a region.

Each case reads the text in the region's file (its edition and how it was seen stand there) and
says which words of it a step does not meet. A note never says that anything is legal.
"""

from __future__ import annotations

import pytest

from herds import LIBRARY, cows, season, step_of
from sunup.planning.fit import choose_drugs
from sunup.planning.labels import find_label_note, find_refusal

COWS, HEIFERS = ("cow",), ("heifer",)


def notes(key, *, classes=COWS, region="US", drugs=None):
    protocol, pack = LIBRARY.protocols[key], LIBRARY.regions[region]
    chosen = choose_drugs(protocol, library=LIBRARY, pack=pack, asked=drugs or {})
    found = {
        step.id: find_label_note(protocol, step, pack=pack, chosen=chosen, classes=classes)
        for step in protocol.steps
    }
    return {step_id: note for step_id, note in found.items() if note}


def test_cows_on_gonadorelin_and_cloprostenol_a_week_apart_meet_the_gnrh_text():
    """Cloprostenol 6 to 8 days after gonadorelin, gonadorelin again 30 to 72 h later: 7 d, 63 h.

    The insert text pairs the insert with dinoprost a day before removal; the cloprostenol texts do
    not speak of an insert.
    """
    found = notes("co_synch_insert7_cow")
    assert set(found) == {"in", "pgf"}
    assert "pairs it with dinoprost" in found["in"]
    assert "does not speak of an insert" in found["pgf"]


def test_the_same_without_an_insert_meets_every_text():
    assert notes("co_synch", drugs={"pgf": "cloprostenol/250"}) == {}


def test_gnrh_for_heifers_differs_since_no_text_names_heifers():
    found = notes("co_synch_insert7_heifer", classes=HEIFERS)
    assert "not heifers" in found["gnrh_1"]
    assert "not heifers" in found["gnrh_2"]


def test_pgf_five_days_after_gnrh_differs_from_six_to_eight():
    assert "PGF 5 days after GnRH, text 6 to 8" in notes("co_synch_insert5_cow")["gnrh_1"]


def test_gnrh_90_hours_after_pgf_differs_from_30_to_72():
    assert "90 h after PGF, text 30 to 72 h" in notes("split_insert7_cow_66_90")["gnrh_2"]


@pytest.mark.parametrize("classes", [COWS, HEIFERS])
def test_an_insert_for_14_days_differs_from_7(classes):
    assert "14 days, text 7" in notes("insert14_pg_heat", classes=classes)["in"]


@pytest.mark.parametrize("classes", [COWS, HEIFERS, ("cow", "first_calf_cow", "heifer")])
@pytest.mark.parametrize("strength", ["5", "12.5"])
def test_the_day_6_programme_with_dinoprost_meets_its_label(classes, strength):
    """One insert for 7 days with 25 mg dinoprost on day 6, in beef cows and heifers."""
    drugs = {"pgf": f"dinoprost/{strength}"}
    assert notes("insert7_pg_day6_label", classes=classes, drugs=drugs) == {}


def test_the_day_6_programme_with_cloprostenol_differs():
    found = notes("insert7_pg_day6_label", drugs={"pgf": "cloprostenol/250"})
    assert set(found) == {"in", "pgf"}


@pytest.mark.parametrize(
    "key", [k for k, p in LIBRARY.protocols.items() if any(s.id == "mga_start" for s in p.steps)]
)
def test_melengestrol_always_differs_since_its_text_is_for_suppression_of_estrus(key):
    assert "suppression of estrus" in notes(key, classes=HEIFERS)["mga_start"]


def test_two_cloprostenol_11_days_apart_meet_the_text_and_14_do_not():
    eleven, fourteen = notes("pg2_11"), notes("pg2_14")
    assert eleven == {}
    assert "second PGF after 14 days, text 11" in " ".join(fourteen.values())


def test_two_dinoprost_10_to_12_days_apart_meet_the_text():
    assert notes("pg2_11", drugs={"pgf": "dinoprost/5"}) == {}


def test_uk_insert_for_7_days_with_pgf_a_day_before_removal_meets_the_sheet():
    """UK sheet of 2024: 7 to 9 days in, PGF 24 h before removal, timed AI 56 h after removal."""
    for key in ("uk_insert7_pg24", "uk_insert9_ecg"):
        assert notes(key, region="UK") == {}, key


def test_pgf_at_removal_differs_from_the_uk_sheet_which_wants_a_day_before():
    assert "at removal" in notes("co_synch_insert7_cow", region="UK")["pgf"]


def test_where_no_text_is_held_the_step_says_so():
    for note in notes("co_synch_insert7_cow", region="BR").values():
        assert "No label text is held" in note
        assert "veterinarian" in note


@pytest.mark.parametrize("region", sorted(LIBRARY.regions))
def test_no_note_of_any_protocol_says_that_something_is_legal(region):
    for key, protocol in LIBRARY.protocols.items():
        for note in notes(key, region=region, classes=protocol.classes).values():
            words = note.lower()
            assert "legal" not in words
            assert "approved" not in words
            assert "veterinarian" in words


def refusal(key, *, classes=COWS, region="US"):
    protocol, pack = LIBRARY.protocols[key], LIBRARY.regions[region]
    chosen = choose_drugs(protocol, library=LIBRARY, pack=pack, asked={})
    return find_refusal(protocol, pack=pack, classes=classes, chosen=chosen)


@pytest.mark.parametrize("region", sorted(LIBRARY.regions))
@pytest.mark.parametrize("classes", [COWS, ("heifer", "cow"), ("first_calf_cow",)])
def test_melengestrol_is_refused_for_cows_and_groups_with_cows_everywhere(region, classes):
    for key in ("mga_pg_tai", "ns_mga14", "split_mga_heifer"):
        assert refusal(key, classes=classes, region=region)


@pytest.mark.parametrize(
    ("region", "is_refused"),
    [("US", True), ("UK", True), ("EU", True), ("BR", False), ("AR", False)],
)
def test_estradiol_is_refused_where_the_rule_pack_bars_it(region, is_refused):
    for key in ("eb8_ecp", "eb8_eb", "heatsynch"):
        assert is_refused == (refusal(key, region=region) is not None), key


def test_melengestrol_for_heifers_is_refused_in_the_uk_and_not_in_the_us():
    assert refusal("mga_pg_tai", classes=HEIFERS) is None
    assert refusal("mga_pg_tai", classes=HEIFERS, region="UK")


def test_a_difference_names_the_hours_of_the_schedule_not_those_of_the_protocol():
    """The timed AI of 174 cows starts 77.5 h after PGF, where the protocol says 78."""
    plan = season(cows(174), protocols={"cows": "select_synch_insert_tai_cow"})
    step = step_of(plan.groups[0], "gnrh_2")
    assert step.hours_after != 78
    assert f"GnRH {step.hours_after:g} h after PGF" in step.label_note


@pytest.mark.parametrize(
    "drugs",
    [
        {"gnrh": "gonadorelin_acetate/43"},
        {"gnrh": "gonadorelin_hydrochloride/50", "pgf": "dinoprost/5"},
    ],
)
@pytest.mark.parametrize("classes", [COWS, HEIFERS])
def test_gonadorelin_whose_text_names_dairy_cows_only_is_told_as_such(drugs, classes):
    """86 ug of the acetate (2018-19) and the hydrochloride (2014): lactating dairy cows."""
    found = notes("co_synch_insert7_cow", classes=classes, drugs=drugs)
    for step in ("gnrh_1", "gnrh_2"):
        assert "lactating dairy cows only" in found[step]
        assert "strength" not in found[step]


def test_canadian_cypionate_differs_since_its_labels_are_for_disease_of_the_womb():
    note = notes("eb8_ecp", region="CA")["ecp"]
    assert "pyometra" in note
    assert "not for synchronisation" in note
    assert "No label text" not in note


def test_a_second_dose_the_uk_sheet_gives_no_interval_for_is_not_taken_as_met():
    """The interval between two doses of cloprostenol was not seen on the sheet."""
    note = notes("co_synch_insert5_cow", region="UK")["pgf_2"]
    assert "does not tell the days between two doses" in note
    assert "Differs" not in note


@pytest.mark.parametrize("key", ["insert14_pg_heat", "co_synch_insert5_cow"])
def test_days_in_that_were_not_seen_on_the_european_summary_are_not_taken_as_met(key):
    note = notes(key, region="EU")["in"]
    assert "does not tell how many days the insert stays in" in note


def test_hours_to_gnrh_count_from_the_first_of_two_doses_for_one_luteolysis():
    """UK: about 60 h after PGF (56 to 64); here 72 h after the first dose, 64 after the second."""
    note = notes("co_synch_insert5_cow", region="UK")["gnrh_2"]
    assert "GnRH 72 h after PGF, text 56 to 64 h" in note
    assert "gnrh_2" not in notes("co_synch_insert5_cow")  # US: 30 to 72 h


def test_the_uk_sheet_gives_gnrh_when_the_insert_goes_in_and_36_h_after_it_comes_out():
    assert "after the insert went in" in notes("seven_and_seven_cow", region="UK")["gnrh_1"]
    heifers = notes("co_synch_insert5_heifer", classes=HEIFERS, region="UK")
    assert "60 h after the insert came out, text 32 to 40 h" in heifers["gnrh_2"]
    assert notes("uk_insert_gnrh", region="UK") == {}


def test_a_second_dose_of_dinoprost_after_8_h_is_held_against_10_to_12_days():
    note = notes("co_synch_insert5_cow", drugs={"pgf": "dinoprost/5"})["pgf_2"]
    assert "second PGF after 8 h, text 10 to 12 days" in note
    assert "for use with an insert" not in note


@pytest.mark.parametrize("region", ["US", "UK", "EU", "CA", "BR", "other"])
def test_more_than_one_dose_of_pgf_within_a_day_is_told_to_leave_residues(region):
    found = notes("co_synch_insert5_cow", region=region)
    assert "2 doses within 24 h" in found["pgf_2"]
    assert "residues" in found["pgf_2"]
    assert "residues" not in found["pgf_1"]


def test_half_a_dose_differs_from_a_text_that_gives_one():
    assert "0.5 of a full dose" in notes("eb9_bi", drugs={"pgf": "dinoprost/5"})["pgf"]


def test_the_gnrh_of_7_and_7_is_the_first_of_its_text_and_meets_it():
    """GnRH on day 7, PGF 7 days later, GnRH 66 h after that: 6 to 8 days, 30 to 72 h."""
    assert not {"gnrh_1", "gnrh_2"} & set(notes("seven_and_seven_cow"))


@pytest.mark.parametrize("key", ["select_synch", "heatsynch"])
def test_a_gnrh_with_no_second_one_differs_from_the_text_of_two(key):
    assert "GnRH-PGF-GnRH" in notes(key)["gnrh"]


def test_texts_equally_near_in_use_are_both_named_and_none_that_only_repeats_another():
    found = notes("split_insert7_cow_66_90")
    assert "Another text" not in found["pgf"]
    uk = notes("split_insert7_cow_66_90", region="UK")["gnrh_2"]
    assert "90 h after PGF, text 56 to 64 h" in uk
    assert "Another text: it does not tell the hours from PGF to GnRH" in uk
