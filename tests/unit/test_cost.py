"""Cost a female: each line by hand from the prices file, and sums that add up."""

from __future__ import annotations

import pytest

from herds import LIBRARY, cows, season
from sunup.forecast.watches import read_watch
from sunup.planning.cost import cost_lines, total
from sunup.planning.options import SEXED
from sunup.planning.request import Sire


def middle(key):
    low, high = LIBRARY.figure(key).span
    return (low + high) / 2


def lines_of(key, **wishes):
    wishes = {"head": 50, "chutes": 1} | wishes
    lines = cost_lines(LIBRARY.protocols[key], library=LIBRARY, **wishes)
    return {line.item: line.amount for line in lines}


def test_an_insert_programme_costs_two_gnrh_one_pgf_one_insert_one_straw():
    lines = lines_of("co_synch_insert7_cow")
    assert lines["GnRH"] == pytest.approx(2 * middle("prices.gnrh_dose"))
    assert lines["PGF"] == pytest.approx(middle("prices.pgf_dose"))
    assert lines["progesterone inserts"] == pytest.approx(middle("prices.insert"))
    assert lines["semen"] == pytest.approx(middle("prices.semen_conventional"))
    assert lines["technician"] == pytest.approx(middle("prices.technician"))


def test_chute_labour_is_crew_times_wage_over_pace():
    """Two passes of treatment at 40 an hour with 4 people, one of AI at 25 with 6 (from memory)."""
    hours = 2 * 4 / 40 + 6 / 25
    labour = lines_of("co_synch_insert7_cow")["chute labour"]
    assert labour == pytest.approx(hours * middle("prices.chute_wage_h"))


def test_fourteen_days_of_melengestrol_are_paid_by_the_day():
    assert lines_of("mga_pg_ftai")["melengestrol"] == pytest.approx(14 * middle("prices.mga_day"))


def test_watching_is_shared_by_the_group():
    few, many = (lines_of("pg1_all", head=head)["watching"] for head in (10, 100))
    assert few == pytest.approx(10 * many)


def test_watching_costs_the_hours_the_user_watches():
    """An hour a day instead of the usual minutes and times; the wage and the days stay."""
    usual = lines_of("pg1_all")["watching"]
    told = lines_of("pg1_all", watches=read_watch("cows", "2x30"))["watching"]
    times, minutes = (LIBRARY.number(f"practice.watch_{x}") for x in ("times_per_day", "minutes"))
    assert told == pytest.approx(usual * 2 * 30 / (times * minutes))


@pytest.mark.parametrize("options", [(SEXED,), ()])
def test_sexed_semen_is_paid_where_it_is_used(options):
    lines = lines_of("co_synch_insert7_cow", options=options)
    assert ("sexed semen" in lines) == bool(options)
    assert ("semen" in lines) != bool(options)


def test_half_the_straws_sexed_pays_half_of_each():
    sires = [Sire("cows", "B1", share=0.5), Sire("cows", "B2", "sexed", 0.5)]
    lines = lines_of("co_synch_insert7_cow", sires=sires)
    assert lines["semen"] == pytest.approx(middle("prices.semen_conventional") / 2)
    assert lines["sexed semen"] == pytest.approx(middle("prices.semen_sexed") / 2)


@pytest.mark.parametrize("key", sorted(LIBRARY.protocols))
def test_every_protocol_costs_the_sum_of_its_lines_and_none_is_under_nothing(key):
    lines = cost_lines(LIBRARY.protocols[key], head=20, library=LIBRARY, chutes=1)
    assert total(lines) == pytest.approx(sum(line.amount for line in lines))
    assert all(line.amount > 0 and line.figure in LIBRARY.figures for line in lines)


@pytest.mark.parametrize("key", ["co_synch_insert7_cow", "ns_pg_day5", "select_synch"])
def test_the_fit_beside_the_group_and_the_group_agree_on_the_cost(key):
    (group,) = season(cows(40), protocols={"cows": key}, watches={"cows": "1x20"}).groups
    (fit,) = [f for f in group.fits if f.protocol == group.chosen]
    assert fit.cost_per_female == pytest.approx(sum(m.amount for m in fit.costs))
    assert group.cost_per_female == pytest.approx(fit.cost_per_female)
    assert group.cost_total == pytest.approx(40 * group.cost_per_female)
