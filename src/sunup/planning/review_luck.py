"""What was seen against the forecast kept before the season, and whether it is luck.

The forecast was a distribution. Here the count seen is looked up in it, and the answer is said in
seasons: "one season in 40 comes out this low".
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

from sunup.base.problems import Problem, Severity

if TYPE_CHECKING:
    from collections.abc import Mapping

WELL = 0.25  # of two seasons foreseen one lies as far off, on either side
EDGE = 0.1  # a tail this small is at the edge of luck
RARE = 1 / 40  # and this small is worth a look
RAREST = 200  # seasons: forecasts of some hundred seasons can say no more
_STEEP = 1e-6

# A forecast's own names of its quantiles, and the share of seasons at or below each.
_QUANTILES = (
    ("low95", 0.025), ("low80", 0.1), ("low50", 0.25), ("median", 0.5),
    ("high50", 0.75), ("high80", 0.9), ("high95", 0.975),
)  # fmt: skip
_SUMMARY = (0.1, 0.5, 0.9)  # (low, median, high) of a plan's summary

MEASURES = {
    "on_heat": "inseminated after a heat seen",
    "on_time": "inseminated at a set time",
    "pregnant_to_ai": "pregnant to first insemination",
    "pregnant_in_season": "pregnant in the season, AI and bulls",
}


class Verdict(StrEnum):
    """What luck has to say of a count."""

    WITHIN = "within luck"
    EDGE = "at the edge of luck"
    RARE = "worth a look"


@dataclass(frozen=True, slots=True)
class Predicted:
    """A count foreseen of `n` females: values with the share of seasons at or below each.

    `lasting` is the share of the variance that does not shrink with more females (herd to herd,
    the animal); None where the forecast did not say.
    """

    measure: str
    n: int
    at: tuple[tuple[float, float], ...]  # (share of seasons, count), rising
    lasting: float | None = None

    def scaled(self, n: int) -> Predicted:
        """Return the same for another number of females.

        The middle keeps its share. Of the spread, the luck of the draw shrinks with the square
        root of the females, the rest stays; where the parts are not known all counts as luck.
        """
        if n == self.n or not self.n:
            return self
        ratio = n / self.n
        middle = self.count_at(0.5) * ratio
        lasting = self.lasting or 0.0
        wide = ((1.0 - lasting) / ratio + lasting) ** 0.5 * ratio if n else 0.0
        here = self.count_at(0.5)
        return Predicted(
            self.measure,
            n,
            tuple((q, min(float(n), max(0.0, middle + (x - here) * wide))) for q, x in self.at),
            self.lasting,
        )

    def count_at(self, share: float) -> float:
        """Return the count that this share of seasons does not exceed."""
        normal = NormalDist()
        z = normal.inv_cdf(share)
        points = [(normal.inv_cdf(q), x) for q, x in self.at]
        for (z_low, low), (z_high, high) in pairwise(points):
            if z <= z_high or (z_high, high) == points[-1]:
                return low + (high - low) * (z - z_low) / (z_high - z_low)
        return points[0][1]

    def share_below(self, count: float) -> float:
        """Return the share of seasons at or below a count, between the points on a normal scale."""
        normal = NormalDist()
        points: list[tuple[float, float]] = []
        for q, x in self.at:
            # counts are whole, so that quantiles may coincide: they are set a hair apart
            least = points[-1][0] + _STEEP if points else x
            points.append((max(x, least), normal.inv_cdf(q)))
        for (x_low, z_low), (x_high, z_high) in pairwise(points):
            if count <= x_high or (x_high, z_high) == points[-1]:
                slope = (z_high - z_low) / (x_high - x_low)
                return normal.cdf(max(-9.0, min(9.0, z_low + (count - x_low) * slope)))
        return normal.cdf(points[0][1])


@dataclass(frozen=True, slots=True)
class Against:
    """One count seen beside what was foreseen of as many females.

    `tail` is the share of foreseen seasons that come out as far off on that side, or farther.
    """

    group: str
    measure: str
    seen: int
    of: int
    middle: float
    low80: float
    high80: float
    tail: float
    is_low: bool
    foreseen: Predicted  # of as many females as `of`
    unknown: int = 0  # females without a result; not in `of`
    foreseen_of: int = 0  # females the forecast was made for

    @property
    def is_certain(self) -> bool:
        """Whether every season foreseen comes out as seen: nothing is to be told of it."""
        return {x for _, x in self.foreseen.at} == {float(self.seen)}

    @property
    def verdict(self) -> Verdict:
        """How it is judged."""
        if self.tail > EDGE:
            return Verdict.WITHIN
        return Verdict.EDGE if self.tail > RARE else Verdict.RARE

    @property
    def one_in(self) -> int:
        """One season in so many comes out this far off, at most `RAREST`."""
        return min(RAREST, round(1.0 / max(self.tail, 1.0 / RAREST)))


def set_against(
    group: str, predicted: Predicted, *, seen: int, of: int, unknown: int = 0
) -> Against | None:
    """Look a count up in the forecast kept.

    Parameters
    ----------
    group : str
    predicted : Predicted
    seen, of : int
        So many of so many females with a known result.
    unknown : int
        Females whose result is not known.

    Returns
    -------
    Against or None
        None where nobody's result is known.
    """
    if of < 1:
        return None
    told = predicted.scaled(of)
    # a whole count stands for the half on each side of it
    low, high = told.share_below(seen + 0.5), 1.0 - told.share_below(seen - 0.5)
    return Against(
        group=group,
        measure=predicted.measure,
        seen=seen,
        of=of,
        middle=told.count_at(0.5),
        low80=told.count_at(0.1),
        high80=told.count_at(0.9),
        tail=min(low, high, 1.0),
        is_low=low <= high,
        foreseen=told,
        unknown=unknown,
        foreseen_of=predicted.n,
    )


def against_words(against: Against) -> str:
    """Say in words and counts what luck has to say.

    Examples
    --------
    >>> told = Predicted("pregnant_to_ai", 100, ((0.1, 44.0), (0.5, 52.0), (0.9, 60.0)))
    >>> against_words(Against("cows", told.measure, 38, 100, 52, 44, 60, 0.025, True, told))
    'worth a look: one season in 40 comes out this low'
    """
    verdict = against.verdict
    side = "low" if against.is_low else "high"
    if verdict is Verdict.WITHIN:
        return f"well {verdict}" if against.tail > WELL else f"{side}, {verdict}"
    if against.tail <= 1.0 / RAREST:
        return f"{verdict.value}: rarer than one season in {RAREST}, on the {side} side"
    return f"{verdict.value}: one season in {against.one_in} comes out this {side}"


def read_kept(group: str, told: Mapping[str, Any]) -> tuple[dict[str, Predicted], list[Problem]]:
    """Read a kept forecast: the forecast of a group, or a plan's summary of one.

    Parameters
    ----------
    group : str
    told : mapping
        As the event holds it.

    Returns
    -------
    dict of measure to Predicted, and problems
        A measure the forecast does not hold is absent.
    """
    try:
        found = _read(told)
    except (KeyError, TypeError, ValueError, IndexError) as error:
        return {}, [
            Problem(
                f"forecast kept of {group}",
                f"It cannot be read ({type(error).__name__}: {error}).",
                "Results are shown without it; the ledger may come from another program.",
                Severity.WARNING,
            )
        ]
    return {measure: predicted for measure, predicted in found.items() if predicted.n > 0}, []


def _read(told: Mapping[str, Any]) -> dict[str, Predicted]:
    n = int(told["n"])
    spread = told.get("sources") or told.get("spread")
    luck, herd, animal = (0.0, 0.0, 0.0)
    if isinstance(spread, dict):
        luck, herd, animal = (float(spread[k]) for k in ("luck", "herd", "parameters"))
    elif spread:
        luck, herd, animal = (float(x) for x in spread)
    whole = luck**2 + herd**2 + animal**2
    lasting = (herd**2 + animal**2) / whole if whole else None
    held: dict[str, Any] = {name: told.get(name) for name in MEASURES}
    if told.get("season"):
        held["pregnant_in_season"] = told["season"][-1]["by_end"]
    if "waterfall" in told and not told["waterfall"]:
        held |= {"pregnant_to_ai": None, "on_heat": None, "on_time": None}
    found = {}
    for name, value in held.items():
        points = _points(value)
        if points is not None:
            found[name] = Predicted(
                name, n, points, lasting if name.startswith("pregnant") else None
            )
    return found


def _points(value: Any) -> tuple[tuple[float, float], ...] | None:
    if isinstance(value, dict):
        return tuple((q, float(value[name])) for name, q in _QUANTILES)
    if isinstance(value, list | tuple) and len(value) == len(_SUMMARY):
        return tuple((q, float(x)) for q, x in zip(_SUMMARY, value, strict=True))
    return None  # absent, or a mean without its spread: nothing can be judged by it
