"""Steps between events against finer steps and an independent solver, neighbours held."""

import math

import numpy as np
import pytest
from ovary import COW, HEIFER, PARAMS, order, watched_by_device
from scipy.integrate import solve_ivp

from sunup.physiology.females import uniform_group
from sunup.physiology.follicle import step
from sunup.physiology.params import pack_params
from sunup.physiology.simulate import simulate
from sunup.physiology.state import STATE

PLANS = {
    "nothing": watched_by_device(),
    "insert and pgf": watched_by_device(
        order(0, "gnrh"), order(0, "insert_in"), order(168, "pgf"), order(168, "insert_out")
    ),
    "fed progestin": watched_by_device(
        order(0, "mga_start"), order(312, "mga_end"), order(768, "pgf")
    ),
}


@pytest.mark.parametrize("name", PLANS)
@pytest.mark.parametrize("kind", [HEIFER, COW])
def test_heats_do_not_depend_on_the_length_of_steps(name, kind):
    # a tenth of the step in use. An hour is the grain of everything people do here: half of all
    # heats may move by a tenth of it and 95 in 100 by one; a heat may flip where a wave turns
    # over in the very hour of a treatment, in at most 2 in 100 females
    group = uniform_group(400, kind=kind, share_cycling=0.8)
    coarse, fine = (
        simulate(group, PLANS[name], params=PARAMS, seed=3, end_h=24.0 * 45, finest=scale).females[
            0
        ]["heat_on"][:, 0]
        for scale in (1.0, 0.1)
    )
    both = np.isfinite(coarse) & np.isfinite(fine)
    moved = np.abs(coarse - fine)[both]
    assert (np.isfinite(coarse) == np.isfinite(fine)).mean() > 0.98
    assert np.median(moved) < 0.1
    assert (moved < 1.0).mean() > 0.95


def a_female():
    f = uniform_group(1, kind=COW).pack()[0]
    p = pack_params([PARAMS])[0]
    s = np.zeros(1, STATE)[0]
    s["is_cycling"] = 1
    s["has_follicle"] = 1
    s["growth_mm_h"] = 1.7 / 24.0
    s["diameter"] = 8.6
    s["clock_h"] = 40.0
    s["clock_limit_h"] = 1e9
    for name in ("insert_out_h", "mga_end_h", "ecg_until_h"):
        s[name] = -math.inf
    s["n_cl"] = 1
    s["cl_birth"][0] = -24.0 * 13
    s["cl_peak"][0] = 6.0
    s["cl_fall"][0] = 2.0
    s["cl_half"][0] = 7.0
    mature = 1.0 + math.exp(
        -(13.0 + 2.0 / 24.0 - PARAMS.luteum_mid_days) / PARAMS.luteum_slope_days
    )
    s["cl_top"][0] = 6.0 / mature
    return s, f, p


def test_diameter_clock_and_exposure_agree_with_an_independent_solver():
    # LSODA-class accuracy (rtol 1e-9) of the equations of docs/science/waves.md, written anew here
    s, f, p = a_female()

    def p4(t):
        age = (min(t, 2.0) + 24.0 * 13) / 24.0
        top = 6.0 / (1.0 + math.exp(-(age - PARAMS.luteum_mid_days) / PARAMS.luteum_slope_days))
        return top * (0.5 ** (max(0.0, t - 2.0) / 7.0))

    def slopes(t, y):
        d, _, lifted, e = y
        drive = 1.0 / (1.0 + (p4(t) / PARAMS.lh_half_ng_ml) ** 3)
        less = 1.0 + p4(t) / PARAMS.growth_half_ng_ml
        top = PARAMS.plateau_high_p4_cow_mm + PARAMS.plateau_gain_mm / less
        growth = 1.7 / 24.0 * (top - d) / (top - PARAMS.deviation_mm)
        clock = 1.0 - drive - PARAMS.clock_recovery * drive
        over = max(0.0, (d - PARAMS.estradiol_from_mm) / PARAMS.estradiol_scale_cow_mm)
        free = 1.0 / (1.0 + (p4(t) / PARAMS.estradiol_block_ng_ml) ** 3)
        out = lifted * over / (1.0 + PARAMS.estradiol_levels_off * over)
        return (
            growth,
            clock,
            (free - lifted) / PARAMS.lift_memory_h,
            (out - e) / PARAMS.exposure_memory_h,
        )

    exact = solve_ivp(
        slopes, (0.0, 60.0), (8.6, 40.0, 0.0, 0.0), rtol=1e-9, atol=1e-9, max_step=0.5
    )
    t = 0.0
    while t < 60.0 - 1e-9:
        d, c, lifted, e, _ = step(s, t, 3.0, f, p)
        s["diameter"], s["clock_h"], s["lifted"], s["exposure"] = d, c, lifted, e
        t += 3.0
    found = np.array([s["diameter"], s["clock_h"], s["exposure"]])
    # 0.02 mm is an hour's growth in four; 0.1 h of clock; a hundredth of the threshold
    assert np.abs(found - exact.y[[0, 1, 3], -1]) == pytest.approx(0.0, abs=0.1)
    assert abs(found[0] - exact.y[0, -1]) < 0.02
    assert abs(found[2] - exact.y[3, -1]) < 0.01 * PARAMS.surge_threshold
