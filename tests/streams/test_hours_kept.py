"""No event of a female is jumped over: she is where she is asked for, when she is asked."""

import numpy as np
import pytest
from ovary import COW, HEIFER, PARAMS, order

from sunup.physiology.females import uniform_group
from sunup.physiology.orders import OrderTable
from sunup.physiology.simulate import simulate

SEVEN_7 = [order(0, "pgf"), order(0, "insert_in"), order(168, "gnrh"), order(336, "pgf"),
           order(336, "insert_out"), order(402, "gnrh"), order(402, "ai")]  # fmt: skip
MELENGESTROL = [order(0, "mga_start"), order(312, "mga_end"), order(768, "pgf"),
                order(840, "gnrh"), order(840, "ai")]  # fmt: skip


@pytest.mark.parametrize("kind", [COW, HEIFER])
@pytest.mark.parametrize("orders", [SEVEN_7, MELENGESTROL], ids=["insert", "melengestrol"])
def test_every_state_is_of_its_hour_and_every_order_is_done_at_its_own(kind, orders):
    # a female may begin to cycle with estradiol above her threshold and falling: the surge comes
    # at once, and nothing is looked for hours or years ahead
    group = uniform_group(6000, kind=kind, share_cycling=0.5)
    asked = [float(h) for h in range(0, 900, 30)]
    out = simulate(group, OrderTable(orders=orders), params=PARAMS, seed=2, ask_h=asked)
    assert np.abs(out.states["now_h"] - np.array(asked)).max() == 0.0
    last = max(o.hour for o in orders)
    assert set(out.females["first_ai_h"].ravel()) == {last}
