"""Luck belongs to a female and a purpose: nothing else may move it."""

import numpy as np
import pytest
from ovary import COW, HEIFER, PARAMS, order, run, shipped_params, watched_by_device

from sunup.physiology.females import FemaleError, FemaleTable, uniform_group
from sunup.physiology.kernel_cache import kernel_fingerprint, kernel_sources
from sunup.physiology.orders import Act, Order, OrderError, OrderTable
from sunup.physiology.params import Params, ParamsError
from sunup.physiology.simulate import RunError, simulate
from sunup.physiology.trace import trace

PLAN = watched_by_device(order(0, "gnrh"), order(168, "pgf"), order(228, "gnrh"), order(228, "ai"))


def group(n, **kwargs):
    return uniform_group(n, kind=COW, share_cycling=0.6, **kwargs)


def outcomes(n=200, *, seed=4, threads=1, replicates=1, plan=PLAN):
    return simulate(
        group(n), plan, params=PARAMS, seed=seed, threads=threads, replicates=replicates
    ).females


def same(a, b):
    return a.tobytes() == b.tobytes()


def test_the_same_seed_gives_the_same_numbers_and_another_seed_does_not():
    assert same(outcomes(), outcomes())
    assert not same(outcomes(), outcomes(seed=5))


def test_the_number_of_threads_changes_nothing():
    assert same(outcomes(replicates=3), outcomes(replicates=3, threads=2))
    assert same(outcomes(replicates=3), outcomes(replicates=3, threads=5))


def test_more_females_or_replicates_leave_the_others_as_they_were():
    few, many = outcomes(50), outcomes(200, replicates=2)
    assert same(few[0], many[0, :50])


def test_a_drug_that_does_nothing_changes_no_female():
    # a PGF of no dose draws its own luck and must leave all other luck alone
    idle = watched_by_device(*PLAN.orders, order(100, "pgf", amount=0.0))
    plain, with_idle = outcomes(400)[0], outcomes(400, plan=idle)[0]
    assert np.mean(plain["pregnant_first"] == with_idle["pregnant_first"]) > 0.99
    both = np.isfinite(plain["heat_on"][:, 0]) & np.isfinite(with_idle["heat_on"][:, 0])
    # steps end at another hour, so heats may move by the error of a step, not by luck
    assert np.median(np.abs(plain["heat_on"] - with_idle["heat_on"])[both, 0]) < 0.05


def test_two_plans_meet_the_same_cows():
    other = watched_by_device(order(24, "pgf"))
    a, b = outcomes(500)[0], outcomes(500, plan=other)[0]
    assert same(a["was_cycling"], b["was_cycling"])


def test_a_trace_is_the_female_of_the_run():
    for female in (0, 17, 63):
        one = trace(group(64), PLAN, params=PARAMS, seed=4, female=female, end_h=228.0 + 960)
        many = outcomes(64)[0][female]
        assert np.allclose(one.outcome["heat_on"], many["heat_on"], equal_nan=True)
        assert one.outcome["pregnant_first"] == many["pregnant_first"]


def test_a_run_may_go_on_from_reported_states():
    table = watched_by_device()
    whole = simulate(group(100), table, params=PARAMS, seed=4, end_h=1200.0, ask_h=[480.0])
    rest = simulate(
        group(100), table, params=PARAMS, seed=4, end_h=1200.0, starts=whole.states[0, :, 0]
    )
    later = whole.females[0]["ovulation"]
    for one, two in zip(later, rest.females[0]["ovulation"], strict=True):
        expected = one[one > 480.0]
        assert np.allclose(expected, two[np.isfinite(two)], atol=0.2)


def test_replicates_use_their_own_parameters():
    sets = [PARAMS, shipped_params(fertile_cow=0.05)]
    run_of = simulate(group(400), PLAN, params=sets, seed=4, replicates=2).females
    assert run_of["chance_first"][1].mean() < 0.2 * run_of["chance_first"][0].mean()


def test_nothing_is_absurd_under_a_crowd_of_drugs():
    acts = [act for act in Act if act is not Act.WATCH]
    crowd = [
        Order(hour=float(13 * i), act=acts[i % len(acts)], amount=0.5 + (i % 3)) for i in range(90)
    ]
    found, states = run(
        HEIFER, OrderTable(orders=crowd), n=300, ask_h=[100.0, 700.0], share_cycling=0.5
    )
    assert (states["diameter"] >= 0).all()
    assert (states["diameter"] < 30).all()
    assert (states["n_cl"] <= 6).all()
    assert ((found["chance_first"] >= 0) & (found["chance_first"] <= 1)).all()
    assert (found["pregnant_first"] <= (found["n_services"] > 0)).all()
    assert set(np.unique(found["cause_first"])) <= set(range(10))


def test_a_heifer_without_luteum_ignores_pgf():
    plain, _ = run(HEIFER, [], n=300, end_h=240.0, share_cycling=1.0, cycle_day=1.5)
    given, _ = run(HEIFER, [order(1, "pgf")], n=300, end_h=240.0, share_cycling=1.0, cycle_day=1.5)
    assert (given["n_luteolysis"] > 0).mean() < 0.05
    assert np.array_equal(np.isnan(plain["heat_on"][:, 0]), np.isnan(given["heat_on"][:, 0]))


@pytest.mark.parametrize(
    ("column", "value"), [("indicus", 1.5), ("condition", 0.0), ("cycle_day", -1.0)]
)
def test_a_female_that_cannot_be_is_refused_by_name(column, value):
    with pytest.raises(FemaleError, match=column):
        uniform_group(3, kind=COW, **{column: value})


def test_orders_and_runs_that_cannot_be_carried_out_are_refused():
    with pytest.raises(OrderError, match="watch must end"):
        Order(hour=5.0, act=Act.WATCH)
    with pytest.raises(OrderError, match="amount"):
        Order(hour=5.0, act=Act.PGF, amount=-1.0)
    with pytest.raises(RunError, match="seed"):
        simulate(group(3), PLAN, params=PARAMS, seed=-1)
    with pytest.raises(RunError, match="rise"):
        simulate(group(3), PLAN, params=PARAMS, seed=1, ask_h=[5.0, 2.0])
    with pytest.raises(RunError, match="plan_of"):
        simulate(group(3), PLAN, params=PARAMS, seed=1, plan_of=np.array([0, 0, 1]))
    with pytest.raises(ParamsError, match=r"physiology\.luteum_mid_days is missing"):
        Params.from_figures({})
    with pytest.raises(RunError, match="no female 3"):
        trace(group(3), PLAN, params=PARAMS, seed=1, female=3)


def test_a_table_of_unequal_columns_is_refused():
    good = group(3)
    columns = {name: getattr(good, name) for name in FemaleTable.__slots__}
    columns["condition"] = columns["condition"][:2]
    with pytest.raises(FemaleError, match="condition"):
        FemaleTable(**columns)


def test_the_fingerprint_covers_every_module_of_the_kernel():
    names = set(kernel_sources())
    assert {"sunup.physiology.luteum", "sunup.physiology.life", "sunup.base.streams"} <= names
    assert len(kernel_fingerprint()) == 16
