"""Insemination, loss and the females that do not cycle, against reported herds."""

import math

import numpy as np
import pytest
from ovary import COW, FIRST_CALF, HEIFER, PARAMS, order, run, watched_by_device

from sunup.physiology.females import uniform_group
from sunup.physiology.orders import Aid, OrderTable, Rule
from sunup.physiology.simulate import simulate


def inseminated_after_onset(hours, *, n=700):
    """Chance of pregnancy of heifers inseminated each at her own onset of heat plus `hours`."""
    female = {"share_cycling": 1.0, "cycle_day": 14.0}
    before, _ = run(HEIFER, [], n=n, end_h=24.0 * 14, **female)
    onset = before["heat_on"][:, 0]
    is_in = np.isfinite(onset)
    plans = [
        watched_by_device(order(t + hours if ok else 1.0, "ai"))
        for t, ok in zip(onset, is_in, strict=True)
    ]
    group = uniform_group(n, kind=HEIFER, **female)
    out = simulate(
        group, plans, params=PARAMS, seed=11, plan_of=np.arange(n), end_h=24.0 * 18
    ).females[0]
    return float(out["chance_first"][is_in].mean())


@pytest.mark.parametrize(
    ("hours", "published"), [((0, 4), 48.1), ((4, 24), 63.7), ((24, 36), 55.9)]
)
def test_insemination_by_hours_after_onset_in_heifers(hours, published):
    # Dorsey 2011, 1,205 heifers by device; +- 8 points (issue 3); n = 79 in the first class
    at = np.linspace(*hours, 6)[1:-1] if hours[0] else np.array([0.5, 2.0, 3.5])
    found = 100 * np.mean([inseminated_after_onset(float(h)) for h in at])
    assert abs(found - published) <= 8.0


def watched(until_h, *, per_day, minutes, aid):
    seen = {"per_day": per_day, "minutes": minutes, "aid": aid}
    watch = order(0.0, "watch", until_h=until_h, rule=Rule.AM_PM, **seen)
    return OrderTable(orders=[watch], **seen)


def share_seen(aid, per_day, minutes, *, params=PARAMS):
    table = watched(600.0, per_day=per_day, minutes=minutes, aid=aid)
    out, _ = run(HEIFER, table, n=2000, end_h=700.0, params=params, share_cycling=1.0)
    shown = (out["heat_on"] > 24) & (out["heat_on"] < 500)
    return float(np.isfinite(out["heat_seen"][shown]).mean()), out


def test_watching_round_the_clock_finds_about_95_in_100_heats():
    # Colorado State study as told by Michigan State: 95 %; band 4 points
    assert abs(share_seen(Aid.ELECTRONIC, 2, 45)[0] - 0.95) <= 0.04


def test_two_checks_of_45_minutes_find_most_heats_and_fewer_checks_find_fewer():
    # Stevenson 1996: 30 of 41 proven heats (73 %, SE 7), at the checks themselves; Hall 1959: a
    # third check finds more
    at_checks = PARAMS.changed({"seen_late": 0.0})  # none known afterwards by its marks
    one, two, three = (
        share_seen(Aid.EYE, per_day, minutes, params=at_checks)[0]
        for per_day, minutes in ((1, 30), (2, 45), (3, 45))
    )
    assert one < two < three
    assert 0.59 <= two <= 0.87  # two standard errors


@pytest.mark.parametrize("kind", [COW, HEIFER])
def test_a_persistent_follicle_gives_at_most_six_tenths_of_the_pregnancies(kind):
    # Ahmad 1996: 14.0 against 54.2 % in cows, 35.9 against 62.0 in heifers, by the follicle that
    # ovulated: ratios 0.26 and 0.58; at most 0.6 (issue 3). Here by her own days of dominance after
    # inserts without a luteum: a follicle is called persistent from day 9 (memory of reviews)
    found = {True: [], False: []}
    for days_in in (5, 14):
        end_h = 24.0 * (days_in + 10)
        table = OrderTable(
            orders=[
                order(0, "pgf"), order(0, "insert_in"), order(24 * days_in, "insert_out"),
                order(24 * days_in, "watch", until_h=24 * days_in + 120.0, rule=Rule.AFTER_12H,
                      aid=Aid.ELECTRONIC),
            ],
            aid=Aid.ELECTRONIC,
        )  # fmt: skip
        out, states = run(
            kind, table, n=1500, end_h=end_h, share_cycling=1.0, cycle_day=8.0, ask_h=[end_h - 1.0]
        )
        served = out["first_on_heat"] == 1
        is_old = states[:, 0]["dominance_days"] >= 9.0
        for flag in (True, False):
            found[flag].append(out["chance_first"][served & (is_old == flag)])
    old, growing = (np.concatenate(found[flag]) for flag in (True, False))
    assert min(old.size, growing.size) > 300
    assert old.mean() / growing.mean() <= 0.6


def test_the_first_heat_after_melengestrol_is_much_less_fertile_than_a_later_one():
    # J Anim Sci 37:116 (1973): 40 against 67 % pregnant, ratio 0.6; band 0.45-0.75 (issue 3)
    def chance(start, until):
        table = OrderTable(
            orders=[
                order(0, "mga_start"), order(312, "mga_end"),
                order(start, "watch", until_h=until, rule=Rule.AFTER_12H, aid=Aid.ELECTRONIC),
            ],
            aid=Aid.ELECTRONIC,
        )  # fmt: skip
        out, _ = run(HEIFER, table, n=1500, end_h=until + 140, share_cycling=1.0)
        return out["chance_first"][out["first_on_heat"] == 1].mean()

    ratio = chance(312, 312 + 240) / chance(312 + 24 * 16, 312 + 24 * 32)
    assert 0.45 <= ratio <= 0.75


def postpartum(days=20.0, *, condition=5.3, kind=COW, n=1500):
    out, _ = run(kind, [], n=n, end_h=24.0 * 120, days_postpartum=days, condition=condition)
    return out[out["was_cycling"] == 0]


def test_the_first_ovulation_after_calving_is_mostly_silent():
    # Murphy 1990: 16 of 18; at least 80 % (issue 3)
    out = postpartum()
    first = out["ovulation"][:, 0]
    has = np.isfinite(first)
    on = out["heat_on"]
    with_heat = ((on > first[:, None] - 40) & (on < first[:, None])).any(axis=1)
    assert 1 - with_heat[has].mean() >= 0.80


def test_the_first_cycle_after_calving_is_mostly_short():
    # Murphy 1990: 14 of 18 short, 9.7 d (8-15); 65-90 % (issue 3)
    ovulation = postpartum()["ovulation"]
    first = (ovulation[:, 1] - ovulation[:, 0]) / 24.0
    first = first[np.isfinite(first)]
    assert 0.65 <= (first < 16).mean() <= 0.90
    assert 8.0 <= first[first < 16].mean() <= 12.0


def share_cycling(days, *, condition=5.3, kind=COW):
    out, _ = run(kind, [], n=4000, end_h=1.0, days_postpartum=days, condition=condition)
    return 100.0 * (out["was_cycling"] == 1).mean()


def test_share_cycling_by_days_since_calving():
    # Kansas, over 3,000 cows: about 70 % at 81-90 d, under 10 % under 30 d; bands of issue 3
    mixed = 0.8 * share_cycling(85.0) + 0.2 * share_cycling(85.0, kind=FIRST_CALF)
    assert 60.0 <= mixed <= 80.0
    assert share_cycling(25.0) < 15.0


def test_condition_brings_10_to_25_points_a_unit():
    # Kansas, 2,200 cows: 18 points a unit
    for days in (55.0, 75.0):
        gain = share_cycling(days, condition=5.5) - share_cycling(days, condition=4.5)
        assert 10.0 <= gain <= 25.0, days


def test_first_calf_cows_cycle_less():
    # Kansas: 10 points fewer in two-year-olds; band 5 to 20
    gap = share_cycling(75.0) - share_cycling(75.0, kind=FIRST_CALF)
    assert 5.0 <= gap <= 20.0


@pytest.mark.parametrize(("share", "published"), [(0.50, 12), (0.55, 47), (0.60, 91), (0.65, 97)])
def test_puberty_by_share_of_mature_weight(share, published):
    # Oklahoma State, 34 heifers; +- 8 points (issue 3)
    out, _ = run(HEIFER, [], n=4000, end_h=1.0, mature_share=share)
    assert abs(100 * (out["was_cycling"] == 1).mean() - published) <= 8.0


def test_a_stated_share_cycling_is_what_the_run_holds():
    out, _ = run(COW, [], n=4000, end_h=1.0, share_cycling=0.62)
    assert abs((out["was_cycling"] == 1).mean() - 0.62) < 3 * math.sqrt(0.62 * 0.38 / 4000)


def test_three_to_five_of_a_hundred_pregnant_cows_show_heat_and_keep_their_calf():
    # 3 to 5 % in beef cattle (memory; no beef study found); in dairy cattle 14 % of animals and
    # 3.4 % of heats (Louisiana study, read). Two points are allowed for 2,500 cows and the window.
    watch = order(0.0, "watch", until_h=24.0 * 130, rule=Rule.AM_PM, aid=Aid.ELECTRONIC)
    table = OrderTable(orders=[watch], aid=Aid.ELECTRONIC)
    out, _ = run(COW, table, n=4000, end_h=24.0 * 140, share_cycling=1.0)
    first = out[out["pregnant_first"] == 1]
    early = first[first["conceived_h"] < 24.0 * 15]
    again = (early["heat_on"] > early["conceived_h"][:, None] + 24.0 * 16).any(axis=1)
    lost = (early["ovulation"] > early["conceived_h"][:, None] + 24.0).any(axis=1)
    shown = again & ~lost
    assert 1.0 <= 100.0 * shown[~lost].mean() <= 7.0
    # those inseminated again are still in calf to the first
    assert (early["n_ai"][shown] >= 2).mean() >= 0.8
    assert (early["pregnant_first"][shown] == 1).all()
