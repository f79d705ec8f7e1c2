"""Score replayed trials: misfit beside its floor, beside a trivial guess, and its intervals."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sunup.forecast.arms import Arm, Scoring

Z90 = 1.6448536269514722
PAIR_POINTS = 4.0  # pairs of one trial that differ by less say nothing about direction


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """One reported share and what was predicted for it.

    Parameters
    ----------
    arm : Arm
        As it is scored: of a figure published for several arms, all of them as one; with the
        females that the figure is of.
    what : str
        estrus, conception or pregnancy.
    published, predicted : float
        Percent.
    sd : float
        Of the prediction beside the luck, herd and trial of the report: figures and model [points].
    told_for : tuple of Arm
        The arms it was published for.
    """

    arm: Arm
    what: str
    published: float
    predicted: float
    sd: float = 0.0
    told_for: tuple[Arm, ...] = ()

    def interval(self, scoring: Scoring) -> tuple[float, float]:
        """The 90 % interval of the reported figure [percent]."""
        share = min(0.98, max(0.02, self.predicted / 100.0))
        half = Z90 * math.sqrt(scoring.variance(self.arm, share) + self.sd**2)
        return max(0.0, self.predicted - half), min(100.0, self.predicted + half)


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """Figures of ``sunup validate``; points are percentage points.

    Parameters
    ----------
    n : int
    rmse, weighted_rmse, bias : float
    floor : float
        Root of the mean variance of the reports about the truth: what a perfect forecast gets.
    ratio : float
        rmse over floor.
    coverage90, mean_width90 : float
    class_mean_rmse : float
        Of guessing the mean of the class over the other trials, see `class_means`. NaN where all
        reports are of one trial: there is nothing to guess from, for any of them. So the guess is
        scored over the same reports as the forecast, or not at all.
    log_score, class_mean_log_score : float
        Mean log density of the reports; higher is better. The guess is as wide as its misfit was,
        but no narrower than the floor. NaN as above.
    direction_right, pairs : int
        Pairs of one trial whose reports differ by 4 points or more.
    """

    n: int
    rmse: float
    weighted_rmse: float
    bias: float
    floor: float
    ratio: float
    coverage90: float
    mean_width90: float
    class_mean_rmse: float
    log_score: float
    class_mean_log_score: float
    direction_right: int
    pairs: int


def class_means(predictions: Sequence[Prediction]) -> dict[str, float]:
    """Guess each report by the mean of its class over the other trials.

    Where no other trial reports on its class, by the mean over the other trials of any class;
    where there is no other trial, there is no guess and the report is left out.

    Returns
    -------
    dict of str to float
        Percent, by id of the arm and kind of figure.
    """
    means: dict[str, float] = {}
    for one in predictions:
        others = [p for p in predictions if p.arm.trial != one.arm.trial]
        alike = [p for p in others if p.arm.female == one.arm.female] or others
        if alike:
            means[_key(one)] = sum(p.published for p in alike) / len(alike)
    return means


def score(predictions: Sequence[Prediction], *, scoring: Scoring) -> Score:
    """Score predictions of one kind of figure.

    Raises
    ------
    ValueError
        If there is nothing to score.
    """
    if not predictions:
        message = "no arm reports this figure; there is nothing to score."
        raise ValueError(message)
    errors = [p.predicted - p.published for p in predictions]
    variances = [scoring.variance(p.arm, _share(p.published)) for p in predictions]
    sizes = [scoring.size(p.arm) for p in predictions]
    means = class_means(predictions)
    guesses = [means[_key(p)] - p.published for p in predictions if _key(p) in means]
    guess_misfit = _rms(guesses)
    inside = [
        low <= p.published <= high for p in predictions for low, high in [p.interval(scoring)]
    ]
    widths = [high - low for p in predictions for low, high in [p.interval(scoring)]]
    floor = math.sqrt(sum(variances) / len(variances))
    right, pairs = _directions(predictions)
    rmse = _rms(errors)
    return Score(
        n=len(predictions),
        rmse=rmse,
        weighted_rmse=math.sqrt(
            sum(n * e * e for n, e in zip(sizes, errors, strict=True)) / sum(sizes)
        ),
        bias=sum(errors) / len(errors),
        floor=floor,
        ratio=rmse / floor,
        coverage90=sum(inside) / len(inside),
        mean_width90=sum(widths) / len(widths),
        class_mean_rmse=guess_misfit,
        log_score=sum(
            _log_density(e, scoring.variance(p.arm, _share(p.predicted)) + p.sd**2)
            for e, p in zip(errors, predictions, strict=True)
        )
        / len(errors),
        class_mean_log_score=_mean(
            [_log_density(e, max(guess_misfit, floor) ** 2) for e in guesses]
        ),
        direction_right=right,
        pairs=pairs,
    )


def _directions(predictions: Sequence[Prediction]) -> tuple[int, int]:
    by_trial: dict[str, list[Prediction]] = {}
    for p in predictions:
        by_trial.setdefault(p.arm.trial, []).append(p)
    right = pairs = 0
    for group in by_trial.values():
        for i, one in enumerate(group):
            for two in group[i + 1 :]:
                gap = one.published - two.published
                if abs(gap) >= PAIR_POINTS:
                    pairs += 1
                    right += gap * (one.predicted - two.predicted) > 0
    return right, pairs


def split_by_reading(
    predictions: Sequence[Prediction],
) -> Mapping[bool, list[Prediction]]:
    """Predictions of figures that were read (True) and that are from memory (False)."""
    return {flag: [p for p in predictions if p.arm.read is flag] for flag in (True, False)}


def _key(p: Prediction) -> str:
    return f"{p.arm.id} {p.what}"


def _share(percent: float) -> float:
    return min(0.98, max(0.02, percent / 100.0))


def _rms(values: Sequence[float]) -> float:
    return math.sqrt(_mean([v * v for v in values]))


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values) if values else math.nan


def _log_density(error: float, variance: float) -> float:
    return -0.5 * (math.log(2.0 * math.pi * variance) + error * error / variance)
