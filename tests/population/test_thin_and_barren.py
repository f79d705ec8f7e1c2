"""Condition, days since calving, breed and the females that never conceive, against herds."""

import numpy as np
import pytest
from ovary import COW, FIRST_CALF, HEIFER, PARAMS, order, run, watched_by_device

from sunup.physiology.orders import Aid, OrderTable, Rule, Semen


def with_bulls(days, *, kind=COW, n=2000, more=(), **female):
    """Share in calf when bulls have run for `days`."""
    orders = [order(0, "bulls_in"), order(24 * days, "bulls_out"), *more]
    out, _ = run(kind, orders, n=n, end_h=24.0 * (days + 40), **female)
    return out


def test_a_season_leaves_thin_cows_open():
    # Rae 1993, 3,734 cows of 8 herds (abstract): in calf at condition 4 or less 66 % of older and
    # 51 % of younger cows, at 5 or more 93 and 88 %; herds 62 to 92 %, so 12 points either side.
    # They were scored at the pregnancy test. Mean 4.7, SD 0.6: those at 4 or less were about 3.9
    days = {"days_postpartum": 70.0}
    for kind, thin, fit in ((COW, 0.66, 0.93), (FIRST_CALF, 0.51, 0.88)):
        low = with_bulls(90, kind=kind, condition=3.9, **days)["pregnant"].mean()
        high = with_bulls(90, kind=kind, condition=5.7, **days)["pregnant"].mean()
        assert abs(low - thin) <= 0.12, kind
        assert abs(high - fit) <= 0.12, kind
        assert high - low >= 0.15, kind


@pytest.mark.parametrize(("condition", "published"), [(4.0, 131.0), (5.0, 103.0), (5.5, 89.0)])
def test_first_heat_of_two_year_olds_by_condition(condition, published):
    # Lalman 1997, as an extension service tells it: days from calving to first heat. Half a unit of
    # condition gained or lost moves it by 10 to 15 d, and their cows' is known no better
    out, _ = run(FIRST_CALF, [], end_h=24.0 * 250, days_postpartum=15.0, condition=condition)
    first = out["heat_on"][:, 0] / 24.0 + 15.0
    assert abs(np.nanmedian(first) - published) <= 20.0


def test_heifers_open_after_a_season_are_poor_the_next():
    # 266 open of 1,589 in Montana had 55 calves a year of 100 later; 58 % of some 800 open after
    # 90 d in Texas conceived in the next season (trade press account). The share of barren heifers
    # is set by them: this shows that the simulator gives them back, within 12 points. How long the
    # Montana season was is not told: the mean of 60 and 90 days
    later = []
    for days in (60, 90):
        again = [order(24 * 240, "bulls_in"), order(24 * 330, "bulls_out")]
        orders = [order(0, "bulls_in"), order(24 * days, "bulls_out"), *again]
        out, _ = run(HEIFER, orders, n=4000, end_h=24.0 * 370, mature_share=0.62)
        was_open = ~(out["conceived_h"] < 24.0 * (days + 1))
        assert 0.03 <= was_open.mean() <= 0.20
        later.append(out["pregnant"][was_open].mean())
    assert abs(np.mean(later) - 0.565) <= 0.12


def test_even_a_long_season_leaves_some_open():
    # common practice, no source: a few in a hundred stay open however long the bulls stay
    share = with_bulls(200, days_postpartum=80.0)["pregnant"].mean()
    assert 0.93 <= share <= 0.985


def test_worth_of_a_service_rises_smoothly_after_calving():
    # hardly any before day 25 (from memory), and no day's difference is worth 4 points
    days = np.arange(14.0, 70.0)
    worth = []
    for day in days:
        orders = [
            order(0, "gnrh"), order(0, "insert_in"), order(168, "pgf"), order(168, "insert_out"),
            order(234, "gnrh"), order(234, "ai"),
        ]  # fmt: skip
        out, _ = run(COW, orders, n=1000, end_h=24.0 * 14, days_postpartum=day - 9.75)
        worth.append(100.0 * out["chance_first"].mean())
    assert np.all(np.array(worth)[days <= 20.0] <= 5.0)
    assert np.diff(worth).max() <= 4.0
    assert np.diff(worth).min() >= -2.0  # luck of the next thousand


def on_heat(**female):
    watch = order(0.0, "watch", until_h=504.0, aid=Aid.ELECTRONIC, rule=Rule.AFTER_12H)
    table = OrderTable(orders=[watch], aid=Aid.ELECTRONIC, **female.pop("table", {}))
    out, _ = run(COW, table, n=4000, end_h=640.0, share_cycling=1.0, **female)
    return out[out["first_on_heat"] == 1]


def test_sexed_semen_fails_at_fertilisation_and_not_later():
    # common practice, no source: what sexing costs is sperm; embryos made are lost as others are
    def later_loss(semen):
        cause = on_heat(table={"semen": semen})["cause_first"]
        made = np.isin(cause, (0, 6, 7, 8))  # fertilised
        return np.isin(cause[made], (6, 7, 8)).mean(), made.mean()

    (plain, made), (sexed, fewer) = (later_loss(s) for s in (Semen.CONVENTIONAL, Semen.SEXED))
    assert sexed == pytest.approx(plain, abs=0.03)  # 1.5 standard errors of some 3,000
    assert fewer < made - 0.10


def test_gnrh_too_soon_after_pgf_leaves_few_pregnancies():
    # Mussard and Bridges from memory: a few in 100 after 1.25 d of proestrus, half after 2.25 d.
    # The simulator has more (said in the Limits of docs/science/fertility.md): under half of the
    # rest after 1.25 d, under a quarter after half a day
    def chance(hours):
        orders = [
            order(0, "gnrh"), order(0, "insert_in"), order(168, "pgf"), order(168, "insert_out"),
            order(168 + hours, "gnrh"), order(180 + hours, "ai"),
        ]  # fmt: skip
        out, _ = run(COW, watched_by_device(*orders), n=3000, share_cycling=1.0)
        return out["chance_first"][out["gnrh_ovulated"][:, 1] == 1].mean()

    assert chance(30) / chance(54) <= 0.50
    assert chance(12) / chance(54) <= 0.25
    # 48 and 72 h made no difference in 699 dairy females (abstract, 20 % pregnant: SE of the
    # difference about a sixth of that)
    assert chance(72) >= 0.75 * chance(48)


def test_a_last_heat_that_is_known_was_her_last():
    # heifers not seen since 20 d come in heat within days: cycles last 18 to 24 d (common practice,
    # no source); "most" is read as three in four
    for day in (18.0, 20.0, 22.0):
        out, states = run(HEIFER, [], end_h=24.0 * 7, cycle_day=day, share_cycling=1.0, ask_h=[0.0])
        at_zero = states[:, 0]
        stood = (at_zero["heat_h"] > 48.0 - 24.0 * day) & (at_zero["is_silent"] == 0)
        assert stood.mean() < 0.01
        soon = (out["heat_on"] < 24.0 * (25.0 - day)).any(axis=1)
        assert soon.mean() >= 0.75
    assert PARAMS.no_heat_since_days >= 22.0
