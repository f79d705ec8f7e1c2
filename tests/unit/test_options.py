"""Options change steps, hours and straws, and refuse where there is nothing to change."""

from __future__ import annotations

import pytest

from herds import LIBRARY, cows, heifers, season, step_of
from sunup.base.problems import UsageError
from sunup.planning.choice import without_barred
from sunup.planning.options import (
    CALF_REMOVAL,
    NO_GNRH_RUBBED,
    SEXED,
    OptionError,
    apply_options,
)
from sunup.protocols.protocol import Do, Who
from sunup.protocols.rules import step_hours

COWS = ("cow",)


def change(key, *options, classes=COWS):
    return apply_options(LIBRARY.protocols[key], options, library=LIBRARY, classes=classes)


def test_no_option_changes_nothing():
    assert change("co_synch_insert7_cow") is LIBRARY.protocols["co_synch_insert7_cow"]


def test_sexed_semen_is_put_at_the_late_end_of_the_window_and_never_past_it():
    plain = LIBRARY.protocols["co_synch_insert7_cow"].step("ai")
    sexed = change("co_synch_insert7_cow", SEXED).step("ai")
    assert sexed.hours == plain.hours + plain.late_h
    assert (sexed.hours - sexed.early_h, sexed.hours + sexed.late_h) == (
        plain.hours - plain.early_h,
        plain.hours + plain.late_h,
    )


def test_sexed_semen_on_watched_heats_waits_18_to_24_hours():
    """More than 21 h after onset beat 12.5 to 15.9 (see the option's sources, part read)."""
    watches = [s for s in change("pg1_all", SEXED).steps if s.do is Do.WATCH]
    assert all("18 to 24 h" in s.note for s in watches)


def test_no_gnrh_for_rubbed_needs_a_heat_aid_and_names_who_gets_gnrh():
    changed = change("co_synch_insert7_cow", NO_GNRH_RUBBED)
    assert changed.step("gnrh_2").who is Who.NOT_IN_HEAT
    assert changed.step("aid").with_ == "pgf"
    assert changed.step("gnrh_1").who is None


def test_no_gnrh_for_rubbed_has_nothing_to_do_on_heats():
    with pytest.raises(OptionError, match="nothing to leave out"):
        change("pg1_all", NO_GNRH_RUBBED)


@pytest.mark.parametrize("key", ["co_synch_insert7_cow", "co_synch", "eb8_ecp", "uk_insert7_pg24"])
def test_calves_are_away_for_48_hours_or_from_the_clock_and_back_at_ai(key):
    changed = change(key, CALF_REMOVAL)
    hours = step_hours(changed.steps)
    away_h = hours["calves_on"] - hours["calves_off"]
    assert away_h == min(48, changed.step("ai").hours)
    assert hours["calves_on"] == hours["ai"]


def test_heifers_have_no_calves_to_take_off():
    with pytest.raises(OptionError, match="this group has none"):
        change("co_synch_insert7_heifer", CALF_REMOVAL, classes=("heifer",))


def test_calves_already_taken_off_are_not_taken_off_again():
    with pytest.raises(OptionError, match="off already"):
        change("eb9_bi", CALF_REMOVAL)


@pytest.mark.parametrize("key", ["pg1_all", "natural_heat"])
def test_calf_removal_needs_a_timed_ai(key):
    with pytest.raises(OptionError, match="no single timed AI"):
        change(key, CALF_REMOVAL)


def test_an_option_twice_is_an_error_or_the_same_as_once():
    with pytest.raises(OptionError):
        change("co_synch_insert7_cow", CALF_REMOVAL, CALF_REMOVAL)
    once = change("co_synch_insert7_cow", SEXED)
    assert once.step("ai").hours == change("co_synch_insert7_cow", SEXED, SEXED).step("ai").hours


def test_an_unknown_option_is_named_with_the_known_ones():
    with pytest.raises(UsageError, match=r"'sexd' is not known.*sexed_semen"):
        season(cows(3), options={"cows": ("sexd",)})


def test_options_reach_the_schedule_the_straws_and_the_list():
    plan = season(
        heifers(20),
        options={"heifers": (SEXED, NO_GNRH_RUBBED)},
        protocols={"heifers": "co_synch_insert7_heifer"},
    )
    (group,) = plan.groups
    assert "not seen in heat" in step_of(group, "gnrh_2").who
    assert step_of(group, "aid").head == 20
    assert group.options == (SEXED, NO_GNRH_RUBBED)
    assert any("heat aids" in line.item for line in plan.shopping)


@pytest.mark.parametrize("region", LIBRARY.regions)
def test_what_a_region_bars_leaves_no_step_without_its_hour(region):
    for protocol in LIBRARY.protocols.values():
        kept = without_barred(protocol, LIBRARY.regions[region])
        assert set(step_hours(kept.steps)) == {step.id for step in kept.steps}
