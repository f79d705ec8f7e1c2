"""The figures a forecast is made with, taken out of the library once."""

from __future__ import annotations

import hashlib
from dataclasses import astuple, dataclass
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.figures import Kind
from sunup.forecast.technicians import Training
from sunup.physiology.chance import normal
from sunup.physiology.params import STEM, Params, ParamsError, highest

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from sunup.library.library import Library

ENSEMBLE = "ensemble."
HELD_OUT = "held_out."
TRIALS_OF_FOLD = HELD_OUT + "trials_of_fold_"
GOLDEN = 0.6180339887498949  # its multiples fill an interval evenly in any number
MODEL_SDS = ("model_logit_sd", "model_logit_sd_indicus")
PRIOR = (
    "parameters: prior, not yet fitted to trials; no better yet than the mean of published "
    "results, so do not decide on it alone"
)


TRUST = (
    "on trials left out of the fit the simulation misses by 12 points where the mean of published "
    "results misses by 14, on others that stand in no fit by 7 where it misses by 13, on trials "
    "found last, most with plans assumed in part, by 17 where it misses by 17: lean on ranges and "
    "on the order of plans, not on the middle; your own past results help most"
)


def _middle(library: Library, key: str) -> float:
    low, high = library.figure(key).span
    return (low + high) / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastFigures:
    """Figures of the library that a forecast needs beside those of the animal; days, hours."""

    herd_logit_sd: float
    herd_lasting_share: float
    technician_sds: Mapping[Training, float]
    condition_mean: float
    condition_sd: float
    days_since_calving_mean: float
    days_since_calving_sd: float
    calving_day_unsure_d: float
    heifers_cycling: float
    heat_known_days: float
    puberty_age_months: float
    puberty_age_sd_months: float
    puberty_age_cross_months: float
    puberty_age_indicus_months: float
    cycling_by_tract_score: tuple[float, ...]
    watch_times_per_day: int
    watch_minutes: float
    stands_alone: float
    stands_with_one: float
    bulls_after_days: float
    season_days_cows: float
    season_days_heifers: float
    ready_days_since_calving: float
    check_from_days: float
    served_per_day: float
    served_per_21_d: float
    mature_most: float
    yearling_most: float
    cleanup_most: float
    yearling_worth: float
    library_version: str

    @classmethod
    def from_library(cls, library: Library) -> ForecastFigures:
        """Take the figures out of the library; KeyError if one is missing."""
        number = library.number
        tract = library.figure("forecast.cycling_by_tract_score").value
        return cls(
            herd_logit_sd=number("forecast.herd_logit_sd"),
            herd_lasting_share=number("forecast.herd_lasting_share"),
            technician_sds={
                training: number(f"forecast.technician_logit_sd_{training}")
                for training in Training
            },
            condition_mean=number("forecast.condition_mean"),
            condition_sd=number("forecast.condition_sd"),
            days_since_calving_mean=number("forecast.days_since_calving_mean"),
            days_since_calving_sd=number("forecast.days_since_calving_sd"),
            calving_day_unsure_d=number("forecast.calving_day_unsure_d"),
            heifers_cycling=number("forecast.heifers_cycling"),
            heat_known_days=number("forecast.heat_known_days"),
            puberty_age_months=number("forecast.puberty_age_months"),
            puberty_age_sd_months=number("forecast.puberty_age_sd_months"),
            puberty_age_cross_months=number("forecast.puberty_age_cross_months"),
            puberty_age_indicus_months=number("forecast.puberty_age_indicus_months"),
            cycling_by_tract_score=tuple(float(x) for x in tract)
            if isinstance(tract, tuple)
            else (),
            watch_times_per_day=round(number("practice.watch_times_per_day")),
            watch_minutes=number("practice.watch_minutes"),
            stands_alone=number("forecast.stands_alone"),
            stands_with_one=number("forecast.stands_with_one"),
            bulls_after_days=_middle(library, "practice.cleanup_bulls_after_days"),
            season_days_cows=_middle(library, "practice.season_days_cows"),
            season_days_heifers=_middle(library, "practice.season_days_heifers"),
            ready_days_since_calving=number("readiness.days_since_calving_at_ai"),
            check_from_days=number("physiology.check_from_days"),
            served_per_day=number("bulls.served_per_day"),
            served_per_21_d=number("bulls.served_per_21_d"),
            mature_most=library.figure("bulls.ratio_24_months_up").span[1],
            yearling_most=library.figure("bulls.ratio_15_18_months").span[1],
            cleanup_most=library.figure("bulls.cleanup_ratio").span[1],
            yearling_worth=_middle(library, "bulls.ratio_15_18_months")
            / _middle(library, "bulls.ratio_24_months_up"),
            library_version=library.version,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ParamSets:
    """The parameter sets of the animal with what must be said of them."""

    sets: tuple[Params, ...]
    version: str
    words: str
    model_logit_sd: float = 0.0
    model_logit_sd_indicus: float = 0.0

    def shifts(self) -> NDArray[np.float64]:
        """How far off the model itself may be in each set, in its standard deviations, shape (k,).

        Even quantiles of a normal, in an order that has nothing to do with the figures.
        """
        k = len(self.sets)
        order = np.argsort(np.argsort(np.mod(np.arange(1, k + 1) * GOLDEN, 1.0)))
        return np.array([normal((int(j) + 0.5) / k) for j in order])

    def model_sd(self, indicus: float | NDArray[np.float64]) -> NDArray[np.float64]:
        """Standard deviation of the model's own error on the logit, by share of Bos indicus."""
        taurus = self.model_logit_sd**2
        return np.sqrt(taurus + indicus * (self.model_logit_sd_indicus**2 - taurus))

    def turned(self, replicate: int, *, at_most: int) -> list[Params]:
        """Return the sets in their turn from a replicate on, at most so many."""
        first = replicate % len(self.sets)
        return [*self.sets[first:], *self.sets[:first]][:at_most]


def params_from_library(library: Library) -> ParamSets:
    """Return the parameter sets the library's figures make.

    Figures ``physiology.NAME`` make the one set in use. Where figures ``ensemble.NAME`` are held,
    each a list of as many numbers, set k takes the k-th of each in place of the figure of that
    name: sets that fit published trials about as well. Whether anything was fitted is read from
    the kinds of the figures.

    Raises
    ------
    ParamsError
        If a figure is missing, or the lists differ in length.
    """
    values = {k: f.number for k, f in library.figures.items() if k.startswith(STEM)}
    fitted = sum(f.kind is Kind.FITTED for k, f in library.figures.items() if k.startswith(STEM))
    words = (
        f"parameters: {fitted} of {len(values)} figures of the animal fitted to trials, "
        "the others held at what their sources give"
        if fitted
        else PRIOR
    )
    base = Params.from_figures(values)
    members = _members(library, ENSEMBLE)
    if members:
        words = f"{words}; {len(members)} sets of them that fit about as well; {TRUST}"
    sets = [base.changed(member) for member in members] or [base]
    return param_sets(
        sets,
        words=words,
        model_logit_sd=library.number("forecast.model_logit_sd"),
        model_logit_sd_indicus=library.number("forecast.model_logit_sd_indicus"),
    )


def held_out_params(library: Library) -> dict[str, ParamSets]:
    """Return, for each trial the figures were fitted to, the sets fitted without its fold.

    Figures ``held_out.NAME`` are lists, one number a fold; ``held_out.trials_of_fold_K`` names the
    trials left out of fit K. The doubt about the figures is that of the fit to all trials, carried
    over to each fold's own middle. Empty where the library holds no such figures.
    """
    folds = _members(library, HELD_OUT)
    found: dict[str, ParamSets] = {}
    if not folds:
        return found
    whole = params_from_library(library)
    values = {k: f.number for k, f in library.figures.items() if k.startswith(STEM)}
    base = Params.from_figures(values)
    names = [name for name in folds[0] if name not in MODEL_SDS]
    units = {name: library.figure(STEM + name).unit for name in names}
    for k, fold in enumerate(folds):
        moved = [
            base.changed(
                {name: _beside(fold[name], one, base, name, unit=units[name]) for name in names}
            )
            for one in whole.sets
        ]
        sets = param_sets(
            moved,
            words=f"figures fitted without fold {k}",
            model_logit_sd=fold["model_logit_sd"],
            model_logit_sd_indicus=fold["model_logit_sd_indicus"],
        )
        trials = library.figure(f"{TRIALS_OF_FOLD}{k}").value
        for trial in trials if isinstance(trials, tuple) else ():
            found[str(trial)] = sets
    return found


def _beside(middle: float, one: Params, base: Params, name: str, *, unit: str) -> float:
    """A fold's figure moved as far as `one` stands from the fit to all trials, kept in bounds."""
    value = middle + float(getattr(one, name)) - float(getattr(base, name))
    if middle > 0.0:
        value = max(value, 0.1 * middle)
    return min(value, highest(name, unit))


def _members(library: Library, stem: str) -> list[dict[str, float]]:
    lists = {
        key.removeprefix(stem): figure.value
        for key, figure in library.figures.items()
        if key.startswith(stem)
        and isinstance(figure.value, tuple)
        and not key.startswith(TRIALS_OF_FOLD)
    }
    sizes = {len(numbers) for numbers in lists.values()}
    if len(sizes) > 1:
        raise ParamsError(stem, f"holds lists of {', '.join(map(str, sorted(sizes)))} numbers")
    return [
        {name: float(numbers[k]) for name, numbers in lists.items()}
        for k in range(sizes.pop() if sizes else 0)
    ]


def param_sets(
    sets: Sequence[Params],
    *,
    words: str,
    model_logit_sd: float = 0.0,
    model_logit_sd_indicus: float = 0.0,
) -> ParamSets:
    """Join parameter sets; their version is a hash of all their values."""
    text = ";".join(",".join(f"{value!r}" for value in astuple(params)) for params in sets)
    text += f";{model_logit_sd!r};{model_logit_sd_indicus!r}"
    return ParamSets(
        sets=tuple(sets),
        version=hashlib.sha256(text.encode()).hexdigest()[:12],
        words=words,
        model_logit_sd=model_logit_sd,
        model_logit_sd_indicus=model_logit_sd_indicus,
    )
