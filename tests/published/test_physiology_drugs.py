"""PGF, GnRH and inserts given on known days, against the studies named.

Heats by hour after PGF on days 7, 11 and 15, luteolysis on days 4 and 5, and ovulation to GnRH at
random and on days 5 to 8 are also targets of the fit (`builders/fit_targets.py`): here they hold
that it kept them. The rest of this file no fit has seen.
"""

import numpy as np
import pytest
from ovary import COW, HEIFER, OVULATION_DAY, first_heat_after, order, run


def pgf_on(day, *, kind=HEIFER, dose=1.0, **female):
    orders = [order(0, "pgf", amount=dose)]
    outcomes, _ = run(
        kind, orders, end_h=24.0 * 12, share_cycling=1.0, cycle_day=float(day), **female
    )
    return outcomes


@pytest.mark.parametrize("day", [1, 2, 3, 4])
def test_a_luteum_before_day_5_is_refractory(day):
    # 0-5 % luteolysis on days 1-4 from estrus (memory of the textbooks); at most 10 % (issue 3)
    assert (pgf_on(day)["n_luteolysis"] > 0).mean() <= 0.10


@pytest.mark.parametrize("day", [7, 9, 12, 15])
def test_a_luteum_from_day_7_answers(day):
    # 40 of 43 complete on day 7, Savio; at least 85 % (issue 3)
    assert (pgf_on(day)["n_luteolysis"] > 0).mean() >= 0.85


@pytest.mark.parametrize(("day", "published"), [(7, 0.884), (11, 0.133), (15, 0.735)])
def test_heats_after_pgf_fall_in_32_to_56_hours_by_day_of_cycle(day, published):
    # Tanabe and Hann 1984, 50 heifers a day, of those in heat within 24-104 h; +- 15 points
    hours = first_heat_after(pgf_on(day), 0.0)
    in_heat = (hours >= 24) & (hours <= 104)
    share = ((hours >= 32) & (hours <= 56))[in_heat].mean()
    assert abs(share - published) <= 0.15


def test_pgf_on_day_8_lets_the_first_dominant_follicle_ovulate_in_most():
    # 14 of 17 heifers, Kastelic and Ginther 1991, day 8 after ovulation: a share under which
    # 14 or fewer, and 14 or more, both keep a chance of 2.5 % or more lies in 0.566-0.962
    outcomes = pgf_on(8 + OVULATION_DAY)
    first_wave = ~(outcomes["emergence"][:, 0] < outcomes["ovulation"][:, 0])
    assert 0.566 <= first_wave.mean() <= 0.962


def test_two_doses_within_a_day_end_young_lutea():
    # 93 % on day 5 with two doses 8-12 h apart against 40 % with one (memory)
    once = pgf_on(5)
    twice, _ = run(
        HEIFER,
        [order(0, "pgf"), order(10, "pgf")],
        end_h=24.0 * 12,
        share_cycling=1.0,
        cycle_day=5.0,
    )
    assert 0.25 <= (once["n_luteolysis"] > 0).mean() <= 0.55
    assert (twice["n_luteolysis"] > 0).mean() >= 0.85


def test_dose_of_pgf_matters_in_bos_indicus():
    # Nellore on days 5 and 7: 39, 52 and 70 % to half, full and double dose; band 15 points
    for dose, published in ((0.5, 0.39), (1.0, 0.52), (2.0, 0.70)):
        found = np.mean(
            [
                (pgf_on(day, kind=COW, dose=dose, indicus=1.0)["n_luteolysis"] > 0).mean()
                for day in (5, 7)
            ]
        )
        assert abs(found - published) <= 0.15, dose


def gnrh_on(day, kind):
    outcomes, _ = run(kind, [order(0, "gnrh")], end_h=72.0, share_cycling=1.0, cycle_day=float(day))
    return (outcomes["gnrh_ovulated"][:, 0] == 1).mean()


@pytest.mark.parametrize("kind", [HEIFER, COW])
def test_gnrh_at_a_random_stage_ovulates_43_to_65_in_100(kind):
    # 43 % dairy (J Dairy Sci 90:5542); 52 % beef heifers, 62 % beef cows (memory); issue 3: 43-65
    outcomes, _ = run(kind, [order(0, "gnrh")], n=4000, end_h=72.0, share_cycling=1.0)
    assert 0.43 <= (outcomes["gnrh_ovulated"][:, 0] == 1).mean() <= 0.65


@pytest.mark.parametrize("kind", [HEIFER, COW])
def test_gnrh_does_next_to_nothing_on_day_1_to_3(kind):
    # day 2: 0 % in heifers (Moreira 2000) and beef cows (Atkins 2010), memory
    assert np.mean([gnrh_on(day, kind) for day in (1.5, 2, 3)]) <= 0.05


@pytest.mark.parametrize("kind", [HEIFER, COW])
def test_gnrh_ovulates_at_least_80_in_100_on_day_5_to_8(kind):
    # 96 % on days 5-9 (Vasconcelos 1999), 100 % on day 5 (Moreira 2000), memory
    assert np.mean([gnrh_on(day, kind) for day in (5, 6, 7, 8)]) >= 0.80


def test_half_the_gnrh_ovulates_fewer():
    # direction only; how much is assumed in the library
    full, half = (
        run(COW, [order(0, "gnrh", amount=amount)], end_h=72.0, share_cycling=1.0, cycle_day=5.0)[0]
        for amount in (1.0, 0.5)
    )
    lost = (full["gnrh_ovulated"][:, 0] == 1).mean() - (half["gnrh_ovulated"][:, 0] == 1).mean()
    assert 0.0 < lost < 0.3


def test_no_heat_while_an_insert_is_in():
    # an insert always holds back heat and surge (reviews, memory)
    outcomes, _ = run(
        COW,
        [order(0, "insert_in", amount=1.0), order(168, "insert_out")],
        end_h=168.0,
        share_cycling=1.0,
    )
    on = outcomes["heat_on"]
    # one insert in forty falls out within the week; a heat of the first hours was under way
    held = (on > 24) & (on < 168)
    assert held.any(axis=1).mean() <= 0.03
