"""How fast progesterone falls after PGF, and how much females differ in it."""

import numpy as np
from ovary import COW, PARAMS, order, run

from sunup.physiology.simulate import progesterone_of


def test_progesterone_is_below_1_a_day_after_pgf_and_12_to_36_hours_in_single_females():
    # about 24 h, 12-36 h in single females (from memory). We allow the mean a quarter of a day,
    # and call the range that of nine females in ten
    ask = [24.0 * 4 + h for h in np.arange(0.0, 60.0, 1.0)]
    outcomes, states = run(
        COW, [order(96, "pgf")], n=2000, end_h=24.0 * 8, share_cycling=1.0, cycle_day=6.0, ask_h=ask
    )
    p4 = progesterone_of(states, params=PARAMS)
    answered = outcomes["n_luteolysis"] > 0
    hours = (p4[answered] >= 1.0).sum(axis=1)
    assert 18.0 <= hours.mean() <= 30.0
    low, high = np.quantile(hours, (0.05, 0.95))
    assert low >= 12.0
    assert high <= 36.0
    assert high - low >= 6.0  # no two are alike: a quarter of the remembered range at least
