"""Use-case: how far the simulator foretells published trials it is given."""

from __future__ import annotations

import math
import tomllib
from dataclasses import asdict, dataclass
from statistics import fmean, pstdev
from typing import TYPE_CHECKING, Any

from sunup.app.open import open_library, read_bytes
from sunup.base.problems import Problem, UsageError
from sunup.forecast.arms import read_trials
from sunup.forecast.figures import held_out_params, params_from_library
from sunup.forecast.replay import replay
from sunup.forecast.score import Prediction, Score, score, split_by_reading

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from sunup.forecast.arms import Arm, Scoring
    from sunup.forecast.figures import ParamSets

FEMALES = 400
SEED = 1
WHATS = ("pregnancy", "estrus", "conception")


class TrialFileError(UsageError):
    """A file of trials that cannot be read at all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Validation:
    """What was predicted for each arm, and the scores.

    `words` says what the parameters are. An arm of a trial the figures were fitted to is predicted
    with the figures fitted without that trial; `held_out` counts those arms.
    """

    predictions: tuple[Prediction, ...]
    scoring: Scoring
    problems: tuple[Problem, ...]
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
        If the file is not TOML or holds no arm that can be read.
    """
    library, _ = open_library(overlay)
    try:
        values = tomllib.loads(read_bytes(file).decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        message = f"{file} is not a file of trials: {error}."
        raise TrialFileError(message) from None
    try:
        trials = read_trials(values, file=file.name)
    except (KeyError, TypeError, ValueError) as error:
        message = f"{file} is not a file of trials: {error} is missing or of another kind."
        raise TrialFileError(message) from None
    if not trials.arms:
        message = f"{file} holds no arm that can be run."
        raise TrialFileError(message)
    shipped = params_from_library(library)
    held_out = held_out_params(library)
    predictions: list[Prediction] = []
    counted: set[str] = set()  # arms whose share in heat was published together with another's
    for done, arm in enumerate(trials.arms):
        if progress is not None:
            progress(done, len(trials.arms))
        sets = held_out.get(arm.trial, shipped)
        found = _predict(arm, sets, scoring=trials.scoring, seed=seed, females=females)
        predictions += [p for p in found if p.what != "estrus" or arm.id not in counted]
        counted.update(arm.pooled)
    return Validation(
        predictions=tuple(predictions),
        scoring=trials.scoring,
        problems=trials.problems,
        words=shipped.words,
        held_out=sum(arm.trial in held_out for arm in trials.arms),
        params_version=shipped.version,
        library_version=library.version,
    )


def _predict(
    arm: Arm, sets: ParamSets, *, scoring: Scoring, seed: int, females: int
) -> list[Prediction]:
    """Predict an arm with every parameter set; their spread is the doubt about the animal.

    Each set meets females and luck of its own, the same in every arm: the luck of the simulation
    is averaged over the sets and cancels between arms.
    """
    runs = [
        replay(arm, params=one, scoring=scoring, n=females, seed=seed + k)
        for k, one in enumerate(sets.sets)
    ]
    model_sd = float(sets.model_sd(arm.indicus))
    published = {
        "pregnancy": arm.pregnancy_pct,
        "estrus": arm.estrus_pct,
        "conception": arm.conception_pct,
    }
    found: list[Prediction] = []
    for what in WHATS:
        told = published[what]
        shares = [share for run in runs if (share := getattr(run, what)) is not None]
        if told is None or not shares:
            continue
        middle = fmean(shares)
        own = model_sd * middle * (1.0 - middle)  # from the logit to the share
        found.append(
            Prediction(
                arm=arm,
                what=what,
                published=told,
                predicted=100.0 * middle,
                sd=100.0 * math.hypot(pstdev(shares), own),
            )
        )
    return found


def validation_to_json(found: Validation) -> dict[str, Any]:
    """Return the validation in the form of the command's JSON."""
    arms: dict[str, dict[str, Any]] = {}
    for p in found.predictions:
        line = arms.setdefault(p.arm.id, {"id": p.arm.id, "trial": p.arm.trial, "read": p.arm.read})
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


def _rounded(value: float) -> float:
    return round(value, 3)
