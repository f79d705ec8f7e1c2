"""Technicians and sires compared: partially pooled, and what it takes to tell them apart."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sunup.planning.mixed_model import RandomFactor, fit_mixed
from sunup.planning.review_breakdown import COMPARED
from sunup.planning.review_power import power_of, records_each, smallest_seen
from sunup.planning.review_share import Share, share_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from sunup.library.library import Library
    from sunup.planning.mixed_model import MixedFit, PooledLevel, Spread
    from sunup.planning.review_rows import FemaleResult, Service

_MIDDLE = 0.6745  # quantile of a half-normal's scale at its median
_UNLIKELY = 0.02  # shares are kept off 0 and 1 where a power is asked


@dataclass(frozen=True, slots=True)
class Figures:
    """Spreads believed before any record, on the logit, and a difference worth knowing."""

    technician_sd: float
    sire_sd: float
    group_sd: float
    worth_knowing: float
    least: float  # inseminations with a known end: under it nothing is fitted

    @classmethod
    def from_library(cls, library: Library) -> Figures:
        """Take them out of the library."""
        number = library.number
        return cls(
            technician_sd=number("review.technician_logit_sd"),
            sire_sd=number("review.sire_logit_sd"),
            group_sd=number("review.group_logit_sd"),
            worth_knowing=number("review.difference_worth_knowing"),
            least=number("review.compared_from_inseminations"),
        )


@dataclass(frozen=True, slots=True)
class PooledLine:
    """One technician or sire: the raw count, and the pooled share on everybody's females."""

    raw: Share
    pooled: PooledLevel


@dataclass(frozen=True, slots=True)
class Pair:
    """The two that lie farthest apart, and what the records can tell of them.

    Parameters
    ----------
    better, worse : PooledLine
    chance : float
        That the better one truly is better.
    needed_as_seen : int or None
        Records of each that would tell apart a true difference as large as the raw one.
    needed_pooled : int or None
        The same for the pooled one, our best guess of the true difference.
    needed_worth : int or None
        The same for the difference worth knowing.
    power_worth : float
        How often the records at hand would show the difference worth knowing, were it there.
    smallest : float or None
        Smallest true difference the records at hand show four times in five.
    """

    better: PooledLine
    worse: PooledLine
    chance: float
    needed_as_seen: int | None
    needed_pooled: int | None
    needed_worth: int | None
    power_worth: float
    smallest: float | None
    worth_knowing: float

    def more(self, needed: int | None) -> int | None:
        """Records still missing of the one that has fewer."""
        held = min(self.better.raw.of, self.worse.raw.of)
        return None if needed is None else max(0, needed - held)


@dataclass(frozen=True, slots=True)
class Comparison:
    """All technicians, or all sires."""

    key: str
    title: str
    spread: Spread
    lines: tuple[PooledLine, ...]
    pair: Pair | None


def compare_pooled(
    results: Sequence[FemaleResult], figures: Figures
) -> tuple[tuple[Comparison, ...], str]:
    """Compare sires and technicians, each allowed for the other, for class, heat and group.

    Parameters
    ----------
    results : sequence of FemaleResult
        A heat that two sires or technicians share is left out: it is no one's.
    figures : Figures

    Returns
    -------
    tuple of (comparisons, words)
        Without any where there is nothing to compare; the words say why, or what was allowed for.
    """
    ended = [s for f in results for s in f.services if s.chance is not None]
    services = [s for s in ended if not COMPARED & set(s.shared)]
    left_out = _say_left_out(len(ended) - len(services))
    if len(services) < figures.least:
        return (), (
            f"{len(services)} inseminations have a known end; under {figures.least:g} nothing can "
            f"be told of sires or technicians.{left_out}"
        )
    wanted = (
        ("sire", "Sires", [s.sire or "not known" for s in services], figures.sire_sd),
        (
            "technician", "Technicians", [s.technician or "not known" for s in services],
            figures.technician_sd,
        ),
        ("group", "Groups", [s.group for s in services], figures.group_sd),
    )  # fmt: skip
    used = [entry for entry in wanted if len(set(entry[2])) > 1]
    if not any(key != "group" for key, *_ in used):
        return (), f"One sire and one technician: there is nobody to compare.{left_out}"
    fit, allowed = _fit(services, used)
    compared = tuple(
        _comparison(fit, i, key=key, title=title, counted=(labels, services), figures=figures)
        for i, (key, title, labels, _) in enumerate(used)
        if key != "group"
    )
    words = f"Allowed for: {', '.join([*allowed, *(key for key, *_ in used)])}.{left_out}"
    return compared, words


def _say_left_out(n: int) -> str:
    """Say how many heats two technicians or sires shared; nothing where none."""
    if not n:
        return ""
    heats = "1 heat" if n == 1 else f"{n} heats"
    return f" Left out: {heats} of two sires or technicians; which straw told is not known."


def _fit(
    services: Sequence[Service], used: Sequence[tuple[str, str, list[str], float]]
) -> tuple[MixedFit, list[str]]:
    design, allowed = _fixed(services)
    levels = [sorted(set(labels)) for _, _, labels, _ in used]
    places = [
        [names.index(label) for label in labels]
        for names, (_, _, labels, _) in zip(levels, used, strict=True)
    ]
    counts: dict[tuple[float, ...], list[float]] = defaultdict(lambda: [0.0, 0.0])
    for i, service in enumerate(services):
        cell = counts[(*design[i], *(place[i] for place in places))]
        cell[0] += service.chance or 0.0
        cell[1] += 1
    cells = np.array(list(counts))
    ends = np.array(list(counts.values()))
    width = design.shape[1]
    factors = [
        RandomFactor(
            name=key,
            levels=tuple(names),
            level_of=cells[:, width + i].astype(np.int64),
            prior_sd=middle / _MIDDLE,
        )
        for i, ((key, _, _, middle), names) in enumerate(zip(used, levels, strict=True))
    ]
    fit = fit_mixed(
        ends[:, 0].tolist(), ends[:, 1].tolist(), fixed=cells[:, :width], factors=factors
    )
    return fit, allowed


def _fixed(services: Sequence[Service]) -> tuple[NDArray[np.float64], list[str]]:
    """Intercept and what is allowed for; a heat not known stands between yes and no."""
    columns, names = [np.ones(len(services))], []
    for name, values in (
        ("class", [1.0 if s.class_ == "heifer" else 0.0 for s in services]),
        ("heat", [0.5 if s.in_heat is None else float(s.in_heat) for s in services]),
        ("semen", [1.0 if s.semen == "sexed" else 0.0 for s in services]),
    ):
        if len(set(values)) > 1:
            columns.append(np.array(values) - np.mean(values))
            names.append(name)
    return np.stack(columns, axis=1), names


def _comparison(
    fit: MixedFit,
    factor: int,
    *,
    key: str,
    title: str,
    counted: tuple[Sequence[str], Sequence[Service]],
    figures: Figures,
) -> Comparison:
    labels, services = counted
    raw: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
    for label, service in zip(labels, services, strict=True):
        raw[label][0] += service.chance or 0.0
        raw[label][1] += 1
    pooled = fit.pooled(factor)
    lines = [
        PooledLine(share_of(int(sums[0] + 0.5), int(sums[1])), level)
        for level in pooled
        for sums in [raw[level.level]]
    ]
    ordered = sorted(lines, key=lambda line: -line.pooled.share)
    known = [line for line in ordered if line.pooled.level not in {"not known", "unknown"}]
    names = [level.level for level in pooled]
    pair = None
    if len(known) > 1:
        better, worse = known[0], known[-1]
        chance = fit.chance_above(
            factor, a=names.index(better.pooled.level), b=names.index(worse.pooled.level)
        )
        pair = _pair(better, worse, chance, figures.worth_knowing)
    return Comparison(key, title, fit.spreads[factor], tuple(ordered), pair)


def _pair(better: PooledLine, worse: PooledLine, chance: float, worth: float) -> Pair:
    n_a, n_b = better.raw.of, worse.raw.of
    middle = (better.raw.count + worse.raw.count) / (n_a + n_b)
    middle = min(1.0 - worth, max(worth, middle))
    high, low = _inside(middle + worth / 2), _inside(middle - worth / 2)
    return Pair(
        better=better,
        worse=worse,
        chance=chance,
        needed_as_seen=records_each(
            _inside(better.raw.share or 0.0), _inside(worse.raw.share or 0.0)
        ),
        needed_pooled=records_each(_inside(better.pooled.share), _inside(worse.pooled.share)),
        needed_worth=records_each(high, low),
        power_worth=power_of(high, low, n_a=n_a, n_b=n_b),
        smallest=smallest_seen(middle, n_a=n_a, n_b=n_b),
        worth_knowing=worth,
    )


def _inside(share: float) -> float:
    return min(1.0 - _UNLIKELY, max(_UNLIKELY, share))
