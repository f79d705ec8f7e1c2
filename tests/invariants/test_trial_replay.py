"""What a replayed arm counts: heats to the end of their window, the first of each female."""

import ovary  # noqa: F401  keeps the compiled kernel between test files
import pytest
from made_trials import SCORING

from herds import LIBRARY
from sunup.forecast.arms import read_trials
from sunup.forecast.figures import params_from_library
from sunup.forecast.replay import replay

pytestmark = pytest.mark.invariants

PARAMS = params_from_library(LIBRARY).sets[0]
AM_PM = {"do": "watch", "inseminate": "am_pm"}


def run(steps, **figures):
    """Replay 400 cows under steps, with the figures that are asked for."""
    arm = {
        "id": "A/1",
        "trial": "A",
        "source": "made up for this test",
        "read": True,
        "class": "cow",
        "subspecies": "taurus",
        "semen": "conventional",
        "steps": steps,
        **figures,
    }
    file = read_trials({"scoring": SCORING, "arm": [arm]})
    assert not file.left_out, file.problems
    return replay(file.arms[0], params=PARAMS, scoring=file.scoring, n=400, seed=1)


def heats(from_h, to_h):
    return {"pct": 50, "from_h": from_h, "to_h": to_h, "aid": "electronic"}


def test_heats_are_counted_to_the_end_of_a_window_long_after_the_last_step():
    """A bare watch that lasts as long as the window changes nothing, but for 1 of 100.

    Its end is an hour more at which a step of a life ends: a heat at the edge of the window may
    move over it, and four of 400 females are allowed to.
    """
    pgf, late = {"at": 0, "do": "pgf"}, heats(0, 504)
    alone = run([pgf], estrus=late)
    watched = run([pgf, {"at": 0, "do": "watch", "until": 700}], estrus=late)
    assert alone.estrus == pytest.approx(watched.estrus, abs=0.01)


def test_a_female_is_counted_in_the_window_of_her_first_heat_only():
    """So that windows one after the other cannot hold more than all; she comes in heat again."""
    steps = [{"at": 0, "do": "pgf"}, {"at": 0, "do": "watch", "until": 1008}]
    early, late, both = (
        run(steps, estrus=heats(*w)).estrus for w in ((0, 504), (504, 1008), (0, 1008))
    )
    assert early + late == pytest.approx(both)
    assert 0.0 < late < early


def test_a_window_that_begins_before_the_clock_counts_the_heats_before_it():
    steps = [{"at": 240, "do": "pgf"}, {"at": 0, "do": "watch", "until": 240}]
    before = run(steps, estrus=heats(-240, -1)).estrus
    assert before > 0.2
    assert run(steps, estrus=heats(-240, 100)).estrus > before


CLEAN_UP = [
    {"at": 0, "do": "pgf"},
    {"at": 0, "until": 60, **AM_PM},
    {"at": 60, "do": "gnrh", "who": "not_inseminated"},
    {"at": 60, "do": "ai", "who": "not_inseminated"},
]


def test_in_heat_at_timed_ai_leaves_out_those_inseminated_on_heat():
    of = {"pct": 50, "of": "in_heat_at_timed_ai"}
    assert run(CLEAN_UP, estrus=heats(0, 59), conception=of).conception is None
    timed = [{"at": 0, "do": "pgf"}, {"at": 60, "do": "ai"}]
    found = run(timed, estrus=heats(0, 59), conception=of)
    assert found.conception > 0.0
    assert found.named == pytest.approx(found.estrus)


def test_conception_of_a_part_is_of_that_part():
    """The whole is the mean of its parts, each by its females that were inseminated on heat."""
    on_heat, window = {"pct": 60, "of": "inseminated_on_heat"}, {"from_h": 0, "to_h": 48}
    in_heat = run(CLEAN_UP, estrus=heats(0, 48)).estrus
    whole, *parts = (
        run(
            CLEAN_UP,
            estrus={"from_h": 0, "to_h": 48, "aid": "electronic"},
            conception=on_heat,
            **only,
        )
        for only in ({}, *({"only": {"in_heat": flag, **window}} for flag in (True, False)))
    )
    shares = [share * part.named for share, part in zip((in_heat, 1 - in_heat), parts, strict=True)]
    assert sum(shares) == pytest.approx(whole.named)
    assert all(share > 0.0 for share in shares)
    means = sum(s * part.conception for s, part in zip(shares, parts, strict=True)) / sum(shares)
    assert means == pytest.approx(whole.conception)
