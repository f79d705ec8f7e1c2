"""Rows of the warning rules that nothing held: on whom they speak and on whom they are silent."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from herds import LIBRARY, cow, heifer
from sunup.planning.warning_rules import find_flags
from sunup.planning.warnings import LEAVES, Her, Intent, RunningWithdrawal, WarningFigures, Weight

FIGURES = WarningFigures.of(LIBRARY)
AT = datetime(2027, 5, 22, 20, tzinfo=UTC)  # 14:00 in Denver
ON = date(2027, 5, 22)


def flags(facts, do, *, said=None, **known):
    intent = Intent(do=do, at=AT, zone=ZoneInfo("America/Denver"), **(said or {}))
    found = find_flags(Her(facts=facts, group=facts.group, **known), intent, FIGURES)
    return {flag.rule: flag for flag in found}


@pytest.mark.parametrize("turned", [1, -1])
def test_of_two_withdrawals_that_run_the_later_end_is_told(turned):
    """22 May + 28 days = 19 June; the other ends on 23 May. In either order of entry."""
    running = [
        RunningWithdrawal("GnRH", ON, ON + timedelta(days=1)),
        RunningWithdrawal("oxytetracycline", ON, ON + timedelta(days=28)),
    ]
    told = flags(cow("2001"), LEAVES, withdrawals=tuple(running[::turned]))["withdrawal"]
    text = str(told)
    assert "19 Jun" in text
    assert "23 May" not in text


def test_the_last_feeding_of_melengestrol_is_for_heifers_only_as_well():
    """21 CFR 558.342: heifers kept for breeding."""
    assert flags(cow("2001"), "mga_end")["melengestrol_cow"].weight is Weight.REFUSE
    assert "melengestrol_cow" not in flags(heifer(), "mga_end")


@pytest.mark.parametrize("do", ["gnrh", "pgf", "insert_in"])
def test_a_cow_just_calved_is_told_of_before_any_treatment(do):
    """75 days calved on 25 May are 72 on the 22nd; 18 on 25 May are 15. Limits: the library's."""
    assert flags(cow("2001", days=18), do)["calved_too_lately"].weight is Weight.WARN
    assert "calved_too_lately" not in flags(cow("2001", days=75), do)


@pytest.mark.parametrize(("timed", "speaks"), [(True, False), (False, True)])
def test_only_an_insemination_on_heat_soon_after_a_long_progestin_is_passed_over(timed, speaks):
    """14 days of progestin that ended 3 days ago: the first heat is poor (common practice)."""
    ended = AT - timedelta(days=3)
    told = flags(heifer(), "ai", said={"timed": timed}, progestin_ended=ended, progestin_days=14)
    assert ("first_heat_after_progestin" in told) is speaks
