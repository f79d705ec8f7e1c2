"""The figures a forecast is made with, taken out of the library once."""

from __future__ import annotations

import hashlib
from dataclasses import astuple, dataclass
from typing import TYPE_CHECKING

from sunup.base.figures import Kind
from sunup.physiology.params import STEM, Params, ParamsError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.library.library import Library

ENSEMBLE = "ensemble."
PRIOR = (
    "parameters: prior, not yet fitted to trials; no better yet than the mean of published "
    "results, so do not decide on it alone"
)


def _middle(library: Library, key: str) -> float:
    low, high = library.figure(key).span
    return (low + high) / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastFigures:
    """Figures of the library that a forecast needs beside those of the animal; days, hours."""

    herd_logit_sd: float
    herd_lasting_share: float
    condition_mean: float
    condition_sd: float
    days_since_calving_mean: float
    days_since_calving_sd: float
    calving_day_unsure_d: float
    heifers_cycling: float
    cycling_by_tract_score: tuple[float, ...]
    watch_times_per_day: int
    watch_minutes: float
    bulls_after_days: float
    season_days_cows: float
    season_days_heifers: float
    ready_days_since_calving: float
    library_version: str

    @classmethod
    def from_library(cls, library: Library) -> ForecastFigures:
        """Take the figures out of the library; KeyError if one is missing."""
        number = library.number
        tract = library.figure("forecast.cycling_by_tract_score").value
        return cls(
            herd_logit_sd=number("forecast.herd_logit_sd"),
            herd_lasting_share=number("forecast.herd_lasting_share"),
            condition_mean=number("forecast.condition_mean"),
            condition_sd=number("forecast.condition_sd"),
            days_since_calving_mean=number("forecast.days_since_calving_mean"),
            days_since_calving_sd=number("forecast.days_since_calving_sd"),
            calving_day_unsure_d=number("forecast.calving_day_unsure_d"),
            heifers_cycling=number("forecast.heifers_cycling"),
            cycling_by_tract_score=tuple(float(x) for x in tract)
            if isinstance(tract, tuple)
            else (),
            watch_times_per_day=round(number("practice.watch_times_per_day")),
            watch_minutes=number("practice.watch_minutes"),
            bulls_after_days=_middle(library, "practice.cleanup_bulls_after_days"),
            season_days_cows=_middle(library, "practice.season_days_cows"),
            season_days_heifers=_middle(library, "practice.season_days_heifers"),
            ready_days_since_calving=number("readiness.days_since_calving_at_ai"),
            library_version=library.version,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ParamSets:
    """The parameter sets of the animal with what must be said of them."""

    sets: tuple[Params, ...]
    version: str
    words: str

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
    members = _members(library)
    if not members:
        return param_sets([base], words=words)
    return param_sets(
        [base.changed(member) for member in members],
        words=f"{words}; {len(members)} sets of them that fit about as well",
    )


def _members(library: Library) -> list[dict[str, float]]:
    lists = {
        key.removeprefix(ENSEMBLE): figure.value
        for key, figure in library.figures.items()
        if key.startswith(ENSEMBLE) and isinstance(figure.value, tuple)
    }
    sizes = {len(numbers) for numbers in lists.values()}
    if len(sizes) > 1:
        raise ParamsError(ENSEMBLE, f"holds lists of {', '.join(map(str, sorted(sizes)))} numbers")
    return [
        {name: float(numbers[k]) for name, numbers in lists.items()}
        for k in range(sizes.pop() if sizes else 0)
    ]


def param_sets(sets: Sequence[Params], *, words: str) -> ParamSets:
    """Join parameter sets; their version is a hash of all their values."""
    text = ";".join(",".join(f"{value!r}" for value in astuple(params)) for params in sets)
    return ParamSets(
        sets=tuple(sets), version=hashlib.sha256(text.encode()).hexdigest()[:12], words=words
    )
