"""What the number and the training of those who inseminate do to the spread between herds."""

import math

import numpy as np
import pytest

from sunup.base.problems import UsageError
from sunup.forecast.figures import ForecastFigures
from sunup.forecast.technicians import Technicians, Training, read_technicians


@pytest.fixture(scope="module")
def figures(library) -> ForecastFigures:
    return ForecastFigures.from_library(library)


def test_untrained_technicians_differ_as_in_711_crossbred_females(figures):
    """Odds of 3.35, 4.62 and 1.94 against the fourth (study of 711 females, part read).

    To 0.02: the odds are printed to two digits.
    """
    found = np.std(np.log([1.0, 3.35, 4.62, 1.94]), ddof=1)
    assert figures.technician_sds[Training.UNTRAINED] == pytest.approx(found, abs=0.02)


def test_fourteen_technicians_lie_between_usual_and_untrained(figures):
    """Fourteen who inseminated zebu had 43 to 76 % (part read), luck in it.

    A normal sample of 14 ranges over 3.41 standard deviations on average (Tippett 1925, from
    memory of his table).
    """
    low, high = 0.43, 0.76
    on_logit = math.log(high / (1 - high)) - math.log(low / (1 - low))
    between = on_logit / 3.41
    sds = figures.technician_sds
    assert sds[Training.TRAINED] < sds[Training.USUAL] < between < sds[Training.UNTRAINED]


def test_one_usual_technician_is_what_herds_already_hold(figures):
    herd_sd = Technicians().herd_sd(figures.herd_logit_sd, figures.technician_sds)
    assert herd_sd == pytest.approx(figures.herd_logit_sd)


@pytest.mark.parametrize(("number", "training"), [(1, "untrained"), (4, "untrained"), (3, "usual")])
def test_the_spread_is_that_of_seasons_drawn_technician_by_technician(figures, number, training):
    """40,000 seasons drawn with numpy; their standard deviation is known to 0.35 %, 2 % asked."""
    draw = np.random.default_rng(4)
    sds = figures.technician_sds
    others = (figures.herd_logit_sd**2 - sds[Training.USUAL] ** 2) ** 0.5
    seasons = draw.normal(0.0, others, 40_000)
    people = draw.normal(0.0, sds[Training(training)], (40_000, number))
    drawn = np.std(seasons + people.mean(axis=1))
    told = Technicians(number=number, training=Training(training))
    assert told.herd_sd(figures.herd_logit_sd, sds) == pytest.approx(drawn, rel=0.02)


def test_herds_that_differ_less_than_technicians_leave_the_technicians():
    sds = {Training.TRAINED: 0.0, Training.USUAL: 0.6, Training.UNTRAINED: 0.9}
    assert Technicians(number=4, training=Training.USUAL).herd_sd(0.4, sds) == pytest.approx(0.3)


@pytest.mark.parametrize("text", ["0", "51", "two", "2:", "2:vet", "-1", "2:trained:usual"])
def test_what_cannot_be_read_is_refused_by_name(text):
    with pytest.raises(UsageError, match="--technicians cows="):
        read_technicians("cows", text)
