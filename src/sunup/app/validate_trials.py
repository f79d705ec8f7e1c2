"""Use-case: how far the simulator foretells published trials it is given."""

from __future__ import annotations

import math
import tomllib
from dataclasses import asdict, dataclass, replace
from statistics import fmean, pstdev
from typing import TYPE_CHECKING, Any

from sunup.app.open import open_library, read_bytes
from sunup.base.problems import Problem, UsageError
from sunup.forecast.arms import TrialsError, read_trials
from sunup.forecast.figures import held_out_params, params_from_library
from sunup.forecast.replay import replay
from sunup.forecast.score import Prediction, Score, score, split_by_reading

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from sunup.forecast.arms import Arm, Scoring
    from sunup.forecast.figures import ParamSets
    from sunup.forecast.replay import Replay

FEMALES = 400
SEED = 1
WHATS = ("pregnancy", "estrus", "conception")
REASONS_TOLD = 10  # in the message that no arm is left


class TrialFileError(UsageError):
    """A file of trials that cannot be read at all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Validation:
    """What was predicted for each arm, and the scores.

    `words` says what the parameters are. An arm of a trial the figures were fitted to is predicted
    with the figures fitted without that trial; `held_out` counts those arms. `left_out` names the
    arms that have a fault; `problems` says which.
    """

    arms: tuple[Arm, ...]
    predictions: tuple[Prediction, ...]
    scoring: Scoring
    problems: tuple[Problem, ...]
    left_out: tuple[str, ...]
    words: str
    held_out: int
    params_version: str
    library_version: str


def validate_trials(
    file: Path,
    *,
    overlay: Path | None = None,
    seed: int = SEED,
    females: int = FEMALES,
    progress: Callable[[int, int], None] | None = None,
) -> Validation:
    """Replay every arm of a file of trials and compare with what was published.

    Parameters
    ----------
    file : Path
        TOML in the form of ``authorities/trials/trials.toml``.
    overlay : Path, optional
        A ranch's own figures.
    seed, females : int
        Luck, and females simulated an arm and parameter set.
    progress : callable, optional
        Told (arms done, arms in all).

    Returns
    -------
    Validation

    Raises
    ------
    TrialFileError
        If the file is not TOML, says nothing to score by, or holds no arm that can be read; the
        message says why each arm was left out.
    """
    library, _ = open_library(overlay)
    try:
        values = tomllib.loads(read_bytes(file).decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:  # no text, no TOML, or nested too deep
        message = f"{file} is not a file of trials: {error}."
        raise TrialFileError(message) from None
    try:
        trials = read_trials(values, file=file.name)
    except TrialsError as error:
        message = f"{file} is not a file of trials that can be scored. {error}"
        raise TrialFileError(message) from None
    if not trials.arms:
        message = f"{file} holds no arm that can be run.{_reasons(trials.problems)}"
        raise TrialFileError(message)
    shipped = params_from_library(library)
    held_out = held_out_params(library)
    runs: dict[str, list[Replay]] = {}
    for done, arm in enumerate(trials.arms):
        if progress is not None:
            progress(done, len(trials.arms))
        # each set meets females and luck of its own, the same in every arm: the luck of the
        # simulation is averaged over the sets and cancels between arms
        runs[arm.id] = [
            replay(arm, params=one, scoring=trials.scoring, n=females, seed=seed + k)
            for k, one in enumerate(held_out.get(arm.trial, shipped).sets)
        ]
    predictions: list[Prediction] = []
    problems = list(trials.problems)
    for what in WHATS:
        for arms in trials.pooled(what):
            sets = held_out.get(arms[0].trial, shipped)
            found = _predict(arms, what, runs, sets=sets, scoring=trials.scoring)
            if found is None:
                problems.append(_unforetold(file.name, arms[0], what))
            else:
                predictions.append(found)
    return Validation(
        arms=trials.arms,
        predictions=tuple(predictions),
        scoring=trials.scoring,
        problems=tuple(problems),
        left_out=trials.left_out,
        words=shipped.words,
        held_out=sum(arm.trial in held_out for arm in trials.arms),
        params_version=shipped.version,
        library_version=library.version,
    )


def _reasons(problems: Sequence[Problem]) -> str:
    if not problems:
        return " Each arm begins with [[arm]]."
    lines = [f"\n  {problem}" for problem in problems[:REASONS_TOLD]]
    left = len(problems) - len(lines)
    return "".join(lines) + (f"\n  ... and {left} more." if left else "")


def _unforetold(file: str, arm: Arm, what: str) -> Problem:
    return Problem(
        f"{file}: arm.{arm.id}.{what}",
        f"no simulated female came to be one of those the {what} figure is of; it is not compared.",
        "Look at the steps, the estrus window and 'only'; or raise --females.",
    )


def _predict(
    arms: tuple[Arm, ...],
    what: str,
    runs: Mapping[str, Sequence[Replay]],
    *,
    sets: ParamSets,
    scoring: Scoring,
) -> Prediction | None:
    """Foretell the one figure of some arms: the mean of their females under every parameter set.

    The spread over the sets is the doubt about the animal. None if nobody is named by the figure.
    """
    shares, sizes = [], []
    for found in zip(*(runs[arm.id] for arm in arms), strict=True):
        told = [getattr(run, what) for run in found]
        weights = [
            scoring.size(arm) * (run.named if what == "conception" else 1.0)
            for arm, run in zip(arms, found, strict=True)
        ]
        named = [(share, n) for share, n in zip(told, weights, strict=True) if share is not None]
        sizes.append(sum(n for _, n in named))
        if named:
            shares.append(fmean(*zip(*named, strict=True)))
    published = arms[0].published(what)
    if published is None or not shares:
        return None
    whole = scoring.as_one(arms)
    middle = fmean(shares)
    own = float(sets.model_sd(whole.indicus)) * middle * (1.0 - middle)  # from logit to share
    return Prediction(
        arm=replace(whole, n=max(1, round(fmean(sizes)))),
        what=what,
        published=published,
        predicted=100.0 * middle,
        sd=100.0 * math.hypot(pstdev(shares), own),
        told_for=arms,
    )


def validation_to_json(found: Validation) -> dict[str, Any]:
    """Return the validation in the form of the command's JSON."""
    arms: dict[str, dict[str, Any]] = {
        arm.id: {"id": arm.id, "trial": arm.trial, "read": arm.read} for arm in found.arms
    }
    for p in found.predictions:
        first, *others = p.told_for
        for arm in others:
            arms[arm.id].setdefault("counted_with", {})[p.what] = first.id
        line = arms[first.id]
        low, high = p.interval(found.scoring)
        line[p.what] = {
            "predicted": round(p.predicted, 2),
            "published": p.published,
            "lo90": round(low, 2),
            "hi90": round(high, 2),
            "inside": low <= p.published <= high,
        }
    return {
        "schema_version": 1,
        "params": found.words,
        "held_out_arms": found.held_out,
        "params_version": found.params_version,
        "library_version": found.library_version,
        "arms": list(arms.values()),
        "overall": _scores(found.predictions, found.scoring),
        "read_only": _scores(split_by_reading(found.predictions)[True], found.scoring),
        "memory_only": _scores(split_by_reading(found.predictions)[False], found.scoring),
        "left_out": list(found.left_out),
        "problems": [problem.to_json() for problem in found.problems],
    }


def score_each(predictions: Sequence[Prediction], scoring: Scoring) -> dict[str, Score]:
    """Score each kind of figure that is reported at all."""
    found: dict[str, Score] = {}
    for what in WHATS:
        these = [p for p in predictions if p.what == what]
        if these:
            found[what] = score(these, scoring=scoring)
    return found


def _scores(predictions: Sequence[Prediction], scoring: Scoring) -> dict[str, Any]:
    return {
        what: {key: _rounded(value) for key, value in asdict(one).items()}
        for what, one in score_each(predictions, scoring).items()
    }


def _rounded(value: float) -> float | None:
    return round(value, 3) if math.isfinite(value) else None
