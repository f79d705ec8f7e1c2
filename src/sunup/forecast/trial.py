"""Arms of published trials as values: who was treated, what was done, what was reported."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sunup.base.problems import Problem
    from sunup.physiology.orders import OrderTable

CLASSES = ("heifer", "first_calf_cow", "cow", "mixed")
INDICUS = {"taurus": 0.0, "cross": 0.5, "indicus": 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Hours after the clock PGF in which a heat counts."""

    from_h: float
    to_h: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """The part of an arm that was, or was not, seen in heat in a window."""

    in_heat: bool
    window: Window


@dataclass(frozen=True, slots=True, kw_only=True)
class Arm:
    """One arm.

    Parameters
    ----------
    id, trial, source : str
    read : bool
        Whether the outcome figure was read; false: from memory.
    female : str
        heifer, first_calf_cow, cow or mixed.
    indicus : float
        Share of Bos indicus.
    orders : OrderTable
    n, n_locations : int or None
    cyclic_pct, cycle_day : float or None
    estrus_pct, estrus_window, conception_pct, conception_of, pregnancy_pct, pregnancy_to
        What was reported; None where it was not.
    part : Part or None
    pooled_with : mapping of str to str
        By kind of figure, the arm it was published together with.
    """

    id: str
    trial: str
    source: str
    read: bool
    female: str
    indicus: float
    orders: OrderTable
    n: int | None = None
    n_locations: int | None = None
    cyclic_pct: float | None = None
    cycle_day: float | None = None
    estrus_pct: float | None = None
    estrus_window: Window | None = None
    conception_pct: float | None = None
    conception_of: str = ""
    pregnancy_pct: float | None = None
    pregnancy_to: str = ""
    part: Part | None = None
    pooled_with: Mapping[str, str] = field(default_factory=dict)

    def may_share(self, other: Arm, what: str) -> bool:
        """Whether a figure of a kind can have been published for this arm and another together."""
        return self.trial == other.trial and self.published(what) == other.published(what)

    def published(self, what: str) -> float | None:
        """The reported figure of a kind [percent]; None where there is none."""
        return {
            "estrus": self.estrus_pct,
            "conception": self.conception_pct,
            "pregnancy": self.pregnancy_pct,
        }[what]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scoring:
    """The constants of a file's ``[scoring]`` table."""

    herd_sd_points: float
    trial_sd_points: float
    n_missing: int
    females_per_location_missing: int
    mixed_is: Mapping[str, float]
    cyclic_pct_missing: Mapping[str, float]
    days_postpartum: tuple[float, float]
    body_condition: tuple[float, float]

    def size(self, arm: Arm) -> int:
        """Females of an arm, or the figure held where the source does not say."""
        return arm.n or self.n_missing

    def locations(self, arm: Arm) -> int:
        """Locations of an arm, or one for every so many females."""
        if arm.n_locations is not None:
            return arm.n_locations
        return max(1, round(self.size(arm) / self.females_per_location_missing))

    def as_one(self, arms: Sequence[Arm]) -> Arm:
        """Arms whose figure was published as one, as one arm: all their females, the same herds."""
        classes = {arm.female for arm in arms}
        return replace(
            arms[0],
            n=sum(self.size(arm) for arm in arms),
            n_locations=max(self.locations(arm) for arm in arms),
            female=classes.pop() if len(classes) == 1 else "mixed",
            read=all(arm.read for arm in arms),
        )

    def variance(self, arm: Arm, share: float) -> float:
        """Variance of a reported share about the truth of its plan, in points squared."""
        luck = 1e4 * share * (1.0 - share) / self.size(arm)
        return luck + self.herd_sd_points**2 / self.locations(arm) + self.trial_sd_points**2


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialFile:
    """A file of trials, read; `left_out` names the arms that have a fault."""

    scoring: Scoring
    arms: tuple[Arm, ...]
    problems: tuple[Problem, ...] = ()
    left_out: tuple[str, ...] = ()

    def pooled(self, what: str) -> list[tuple[Arm, ...]]:
        """Arms that report a figure of a kind, those of one figure together, in file order.

        Arms are of one figure if one names the other, or both name a third, and trial and figure
        are the same.
        """
        groups: list[tuple[set[str], list[Arm]]] = []
        for arm in self.arms:
            if arm.published(what) is None:
                continue
            names, members = {arm.id, arm.pooled_with.get(what, arm.id)}, [arm]
            for group in [*groups]:
                if group[0] & names and group[1][0].may_share(arm, what):
                    groups.remove(group)
                    names, members = names | group[0], group[1] + members
            groups.append((names, members))
        place = {arm.id: i for i, arm in enumerate(self.arms)}
        tuples = [tuple(sorted(arms, key=lambda arm: place[arm.id])) for _, arms in groups]
        return sorted(tuples, key=lambda arms: place[arms[0].id])
