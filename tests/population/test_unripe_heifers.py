"""Heifers a drug makes ovulate before their puberty."""

import numpy as np
import pytest
from ovary import HEIFER, order, run

from sunup.physiology.orders import Aid, OrderTable

INSERT_54 = [order(0, "gnrh"), order(0, "insert_in"), order(168, "pgf"), order(168, "insert_out"),
             order(222, "gnrh"), order(222, "ai")]  # fmt: skip
# share cycling at tract score 1, 2, 3 and 5: figure forecast.cycling_by_tract_score (memory)
CYCLING = {1: 0.01, 2: 0.1, 3: 0.4, 5: 0.99}
PUBLISHED = {1: 2.6, 2: 22.6, 3: 39.5, 5: 55.0}  # Hall 1998 (read): pregnant to synchronised AI


def pregnant(**female):
    out, _ = run(HEIFER, OrderTable(orders=INSERT_54, aid=Aid.PATCH), n=4000, end_h=330.0, **female)
    return 100.0 * np.where(out["n_services"] > 0, out["chance_first"], 0.0).mean()


@pytest.mark.parametrize("score", [1, 2, 3])
def test_pregnancies_by_tract_score_fall_as_published(score):
    # Relative to score 5, for the two programmes differ. `unripe_days` was set by these three
    # ratios and may not hide it: what is checked is that the shipped figures together still give
    # them. Margin 0.12: 7 points of the 55, less than two herds differ by (SD 8 to 10 points)
    ratio = pregnant(share_cycling=CYCLING[score]) / pregnant(share_cycling=CYCLING[5])
    assert ratio == pytest.approx(PUBLISHED[score] / PUBLISHED[5], abs=0.12)


def test_light_heifers_seldom_conceive_to_timed_insemination():
    # 12, 47, 91 and 97 % pubertal at 50, 55, 60 and 65 % of mature weight (Oklahoma State): the
    # rise is steepest where puberty is, and above 60 % little is left to gain
    light, lighter, middle, grown = (pregnant(mature_share=s) for s in (0.45, 0.50, 0.55, 0.62))
    assert light < 0.35 * grown
    assert lighter < middle < grown
    assert middle - lighter > 10.0
