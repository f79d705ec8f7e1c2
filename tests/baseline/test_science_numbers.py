"""The numbers of docs/science against a fresh draw of females. A regression, never validation.

A failure says that the simulator has moved since ``make science`` was run: run it again, look at
the pictures, and say in the changelog what moved.
"""

import importlib
import math
import sys
from pathlib import Path

import ovary  # noqa: F401  keeps the kernel where the other tests keep it
import pytest

BUILDERS = str(Path(__file__).parents[2] / "builders")
if BUILDERS not in sys.path:
    sys.path.insert(0, BUILDERS)
science = importlib.import_module("science")
science_runs = importlib.import_module("science_runs")
science_published = importlib.import_module("science_published")

OTHER_SEED = 987
FEMALES = 1000
# 400 values are compared. Printed errors hold the draw of females. Where a female gives two cycles
# both count in them, so true errors of some 30 values are up to 1.4 times as large: five printed
# errors are 3.5 true ones there, and 5 elsewhere, which fair draws pass in 98 of 100 seeds; four
# other seeds had at most 3.7. The hour of the best AI is a place on a grid and carries half a step.
MOST_ERRORS = 5.0


@pytest.fixture(scope="module")
def fresh():
    runs = science_runs.Runs(params=science.present_params(), seed=OTHER_SEED, n=FEMALES)
    return science.measure(runs)


def test_committed_numbers_are_what_the_present_simulator_gives(fresh):
    held = science_published.read_measured()["series"]
    assert set(fresh) == set(held)
    moved = []
    for key, line in fresh.items():
        assert len(line) == len(held[key]), key
        for one, two in zip(line, held[key], strict=True):
            error = math.hypot(one.se, two["se"]) + 1e-3
            if abs(one.value - two["value"]) > MOST_ERRORS * error:
                moved.append(f"{key} at {one.at}: {two['value']} was told, {one.value:.3f} is now")
    assert moved == []


def test_another_biology_would_be_found(fresh):
    # two days more of PGF-refractory luteum, two hours from heat to ovulation: slips worth finding
    params = science.present_params()
    other = params.changed(
        {
            "pgf_mid_days": params.pgf_mid_days + 2.0,
            "heat_to_ovulation_h": params.heat_to_ovulation_h + 2.0,
        }
    )
    runs = science_runs.Runs(params=other, seed=OTHER_SEED, n=FEMALES)
    found = science.measure_luteum(runs) | science.measure_heat(runs)
    for key in ("luteum.pgf", "heat.to_ovulation"):
        apart = [
            abs(one.value - two.value) / math.hypot(one.se, two.se)
            for one, two in zip(fresh[key], found[key], strict=True)
        ]
        assert max(apart) > MOST_ERRORS, key
