"""Standard performance measures against a worked example and the printed definitions."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from herds import LIBRARY
from sunup.planning.review_performance import (
    Performance,
    PerformanceError,
    SpreadFigures,
    Start,
    spread_calvings,
)

FIGURES = SpreadFigures.of(LIBRARY)


def test_worked_example_of_300_exposed_weans_85_of_100():
    """A published worked example (calf crop percentage, farm press, opening read): 300 cows
    exposed, 37 without a calving record, 6 lost at calving, 2 later, so 255 weaned: 85 %.
    Derived from it: calving 263/300 = 87.67 %; live calving 257/300 = 85.67 % if the 6 were born
    dead. Exact arithmetic, so no tolerance."""
    herd = Performance(
        exposed=300, checked=300, pregnant=263, calved=300 - 37, born_alive=300 - 37 - 6,
        born_dead=6, weaned=300 - 37 - 6 - 2, weighed=255, weaned_weight_kg=255 * 240.0,
    )  # fmt: skip
    assert herd.weaning == pytest.approx(0.85)
    assert herd.calving == pytest.approx(0.8767, abs=5e-5)
    assert herd.live_calving == pytest.approx(0.8567, abs=5e-5)
    assert herd.death_loss == pytest.approx(8 / 263)
    assert herd.kg_weaned_per_exposed == pytest.approx(0.85 * 240.0)


def test_none_exposed_gives_no_figure_rather_than_nought():
    nobody = Performance(exposed=0)
    assert (nobody.pregnancy, nobody.calving, nobody.weaning) == (None, None, None)


def test_a_season_not_yet_calved_or_weaned_shows_neither():
    running = Performance(
        exposed=40, checked=40, pregnant=33, has_calved=False, has_weaned=False
    )  # fmt: skip
    assert running.pregnancy == pytest.approx(33 / 40)
    assert (running.calving, running.live_calving, running.weaning) == (None, None, None)


def test_a_calf_not_weighed_leaves_the_weight_unsaid():
    herd = Performance(exposed=10, weaned=8, weighed=7, weaned_weight_kg=1700)
    assert herd.kg_weaned_per_exposed is None


def test_impossible_counts_are_refused():
    with pytest.raises(PerformanceError):
        Performance(exposed=10, checked=5, pregnant=6)


FIRST = date(2028, 3, 1)


def on(*days, mature=True):
    return [(FIRST + timedelta(days=day), mature) for day in days]


def test_windows_open_when_the_third_mature_cow_calves():
    """Extension definition (seen in part): 21-day windows from the day the third mature cow
    calves; calvings before it count in the first."""
    told = spread_calvings(
        on(-9, -8, mature=False) + on(0, 2, 5, 25, 26, 47, 68, 90),
        start=Start.THIRD_MATURE_COW,
        figures=FIGURES,
    )
    assert told.opens_on == FIRST + timedelta(days=5)
    assert told.before == 4
    # 26 is day 21 of the windows, 47 day 42, 68 day 63
    assert told.by_window == (6, 1, 1, 2)
    assert [told.by_end(i) for i in range(4)] == [6, 7, 8, 10]
    assert "third mature cow" in told.words


def test_windows_open_285_days_after_breeding_began():
    """The other extension definition; day 20 is the last of the first window, day 21 the next."""
    told = spread_calvings(
        on(0, 20, 21),
        start=Start.BREEDING_START,
        figures=FIGURES,
        breeding_on=FIRST - timedelta(days=285),
    )
    assert told.opens_on == FIRST
    assert told.by_window == (2, 1, 0, 0)


def test_heifers_alone_open_no_window_by_the_third_mature_cow():
    assert (
        spread_calvings(on(0, 1, 2, 3, mature=False), start=Start.THIRD_MATURE_COW, figures=FIGURES)
        is None
    )
    assert (
        spread_calvings([], start=Start.BREEDING_START, figures=FIGURES, breeding_on=FIRST) is None
    )
