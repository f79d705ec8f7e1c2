"""Published results are shown beside a group only where they were got in females of its class."""

from __future__ import annotations

from zoneinfo import ZoneInfo

import pytest

from herds import LIBRARY, cows, heifers, season
from sunup.reports.packet_season import season_page


def shown(plan, protocol):
    """The results beside a protocol, for the plan's only group."""
    (group,) = plan.groups
    return [p.text for fit in group.fits if fit.protocol == protocol for p in fit.published]


def test_results_in_heifers_do_not_stand_beside_cows():
    """Leitman and others 2009 (part read): 66 % of heifers; no result in cows is held."""
    assert any("66 % pregnancy" in text for text in shown(season(heifers(20)), "insert14_pg_heat"))
    assert not shown(season(cows(20)), "insert14_pg_heat")


def test_a_group_of_both_is_shown_the_results_of_both():
    mixed = season([*cows(10, group="all"), *heifers(10, group="all")])
    assert any("heifers" in text for text in shown(mixed, "insert14_pg_heat"))


@pytest.mark.parametrize(
    ("words", "classes"),
    [
        ("cows inseminated at 66 h", {"cow", "first_calf_cow"}),
        ("suckled cows, 2 locations", {"cow", "first_calf_cow"}),
        ("mature cows inseminated at 70 h", {"cow"}),
        ("two-year-old cows inseminated at 70 h", {"first_calf_cow"}),
        ("first-calf cows given a new insert", {"first_calf_cow"}),
        ("heifers treated", {"heifer"}),
        (
            "heifers and suckled cows inseminated at 70 and 88 h, 34 herds",
            {"heifer", "cow", "first_calf_cow"},
        ),
        ("cattle inseminated on heat", {"heifer", "cow", "first_calf_cow"}),
    ],
)
def test_the_class_is_read_from_the_words_of_the_result(words, classes):
    found = [r for p in LIBRARY.protocols.values() for r in p.results if r.of == words]
    assert found, "these are words of the library"
    assert all(set(r.classes) == classes for r in found)


def test_pregnancy_of_all_treated_stands_first_with_how_it_was_got():
    """Larson and others 2006 (part read): 14 locations; the 312 after it."""
    (group,) = season(cows(20)).groups
    (fit,) = [f for f in group.fits if f.protocol == "select_synch_insert_tai_cow"]
    first, *rest = fit.published
    assert "58 % pregnancy to AI: suckled cows treated, 14 locations" in first.text
    assert first.note == "Watched to 84 h, the rest inseminated then."
    assert "From a trial of 312 cattle." in {p.note for p in rest}
    card = season_page(season(cows(20), protocols={"cows": fit.protocol}), ZoneInfo("UTC"))
    assert "Watched to 84 h" in card["groups"][0]["published"][0]
