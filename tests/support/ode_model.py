"""The published differential-equation model of the estrous cycle, typed anew for tests only.

Stoetzel and others 2012, Theriogenology 78(7), derived from Boer and others 2011: 15 equations as
deposited in a public model archive (two machine exports read, identical). Units relative, days.
"""

import numpy as np
from scipy.integrate import solve_ivp

START = (
    0.740638780629751, 0.219992404098564, 2.25000957482152, 0.00633682772990623,
    0.00579108659591004, 0.0168604631992291, 0.0286570978235457, 0.314393628471893,
    0.163690728507925, 0.120192549532403, 0.493710210684922, 0.111730059223483,
    5.83626691122778e-5, 3.62064120302475e-4, 0.133415086647186,
)  # fmt: skip
LH, FOLLICLE, LUTEUM, ESTRADIOL, PROGESTERONE = 3, 6, 7, 8, 9


def up(x, threshold, power):
    x = max(x, 0.0)
    return x**power / (x**power + threshold**power)


def down(x, threshold, power):
    return 1.0 - up(x, threshold, power)


def slopes(_, y):
    gh, gp, lp, lh, fp, f, fo, c, e, p, inh, o, z, g, a_ = y
    a, b = down(p, 0.35, 2), down(e, 0.0972, 2)
    release = (2.05 * (a + b - a * b) + 1.91 * down(p, 0.252, 2)) * gh
    r_l = (0.0141 + 2.22 * up(gp, 0.69, 5)) * lp
    r_f = (
        0.948 + 0.293 * up(p, 0.152, 2) + 0.396 * down(e, 0.312, 2) + 1.23 * gp / (0.0708 + gp)
    ) * fp
    theta = 0.57 * down(fo, 0.22, 2)
    surge = 3.49 * up(lh, 0.171, 2)
    return (
        2.75 * (1 - gh / 16) - release,
        0.99 * up(e, 0.648, 5) * release - 1.63 * gp,
        0.376 * up(e, 0.243, 2) + 2.71 * down(p, 0.0269, 2) - r_l,
        r_l - 12.0 * lh,
        4.21 * down(inh, 0.118, 5) - r_f,
        r_f - 2.73 * f,
        0.562 * f**2 / (theta**2 + f**2) - (1.10 * up(p, 0.126, 5) + surge) * fo,
        0.2 * surge * fo + 0.0353 * up(c, 0.1, 2) - 41.39 * up(a_, 1.32, 5) * c,
        2.19 * fo**2 - 1.23 * e,
        2.25 * c**2 - 1.41 * p,
        1.41 * fo**2 - 0.475 * inh,
        1.59 * up(e, 0.143, 2) * c**2 - 0.644 * o,
        3.58 * up(p, 0.77, 5) - 2.98 * z,
        53.91 * up(z, 1.43, 5) * up(o, 1.087, 2) - 1.23 * g,
        39.68 * up(g, 1.22, 5) * up(c, 0.6, 10) - 0.298 * a_,
    )


def run(days=110.0):
    """Hours of the model: times [d] and states, every 0.02 d."""
    t = np.arange(0.0, days, 0.02)
    found = solve_ivp(
        slopes, (0.0, days), START, method="LSODA", t_eval=t, rtol=1e-8, atol=1e-10, max_step=0.05
    )
    return found.t, found.y


def peaks(t, x, least):
    """Times of local maxima above `least`."""
    top = (x[1:-1] > x[:-2]) & (x[1:-1] >= x[2:]) & (x[1:-1] > least)
    return t[1:-1][top]
