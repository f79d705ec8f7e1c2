"""Arms of published trials as values: who was treated, what was done, what was reported."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sunup.base.problems import Problem
from sunup.physiology.orders import Act, Aid, Order, OrderTable, Rule, Semen, Who

if TYPE_CHECKING:
    from collections.abc import Mapping

DOSED = frozenset({"gnrh", "pgf", "insert_in", "estradiol_benzoate", "estradiol_cypionate", "ecg"})
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
    pooled : tuple of str
        Arms the estrus figure was published together with.
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
    pooled: tuple[str, ...] = ()


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

    def variance(self, arm: Arm, share: float) -> float:
        """Variance of a reported share about the truth of its plan, in points squared."""
        luck = 1e4 * share * (1.0 - share) / self.size(arm)
        return luck + self.herd_sd_points**2 / self.locations(arm) + self.trial_sd_points**2


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialFile:
    """A file of trials, read."""

    scoring: Scoring
    arms: tuple[Arm, ...]
    problems: tuple[Problem, ...] = field(default=())


def read_trials(values: Mapping[str, Any], *, file: str = "trials.toml") -> TrialFile:
    """Read the parsed text of a file of trials.

    An arm with a fault is left out and reported; the others are read.

    Raises
    ------
    KeyError
        If the file has no ``[scoring]`` table: nothing could be scored.
    """
    scoring = _read_scoring(values["scoring"])
    watch = values.get("defaults", {}).get("watch", {})
    arms: list[Arm] = []
    problems: list[Problem] = []
    for table in values.get("arm", []):
        name = str(table.get("id", "an arm without id"))
        try:
            arms.append(_read_arm(table, watch))
        except (KeyError, ValueError) as error:
            problems.append(
                Problem(
                    where=f"{file}: {name}",
                    what=f"the arm cannot be read: {error}.",
                    fix="Write it as the header of the file says.",
                )
            )
    return TrialFile(scoring=scoring, arms=tuple(arms), problems=tuple(problems))


def _read_scoring(table: Mapping[str, Any]) -> Scoring:
    days, condition = table["days_postpartum_missing"], table["body_condition_missing"]
    return Scoring(
        herd_sd_points=float(table["herd_sd_points"]),
        trial_sd_points=float(table["trial_sd_points"]),
        n_missing=int(table["n_missing"]),
        females_per_location_missing=int(table["females_per_location_missing"]),
        mixed_is=dict(table["mixed_is"]),
        cyclic_pct_missing=dict(table["cyclic_pct_missing"]),
        days_postpartum=(float(days["mean"]), float(days["sd"])),
        body_condition=(float(condition["mean"]), float(condition["sd"])),
    )


def _read_arm(table: Mapping[str, Any], watch: Mapping[str, Any]) -> Arm:
    female = str(table["class"])
    if female not in CLASSES:
        message = f"class '{female}' is none of {', '.join(CLASSES)}"
        raise ValueError(message)
    estrus = table.get("estrus", {})
    conception = table.get("conception", {})
    pregnancy = table.get("pregnancy", {})
    only = table.get("only")
    seen_by = {**watch, **({"aid": estrus["aid"]} if "aid" in estrus else {})}
    return Arm(
        id=str(table["id"]),
        trial=str(table["trial"]),
        source=str(table["source"]),
        read=bool(table["read"]),
        female=female,
        indicus=INDICUS[str(table["subspecies"])],
        orders=OrderTable(
            orders=[_read_step(step, seen_by) for step in table["steps"]],
            aid=Aid[str(seen_by.get("aid", "eye")).upper()],
            per_day=int(seen_by.get("times_per_day", 2)),
            minutes=float(seen_by.get("minutes", 45)),
            semen=Semen[str(table["semen"]).upper()],
        ),
        n=table.get("n"),
        n_locations=table.get("n_locations"),
        cyclic_pct=table.get("cyclic_pct"),
        cycle_day=table.get("cycle_day_at_zero"),
        estrus_pct=estrus.get("pct"),
        estrus_window=_read_window(estrus) if estrus else None,
        conception_pct=conception.get("pct"),
        conception_of=str(conception.get("of", "")),
        pregnancy_pct=pregnancy.get("pct"),
        pregnancy_to=str(pregnancy.get("to", "")),
        part=None if only is None else Part(in_heat=only["in_heat"], window=_read_window(only)),
        pooled=tuple([table["estrus_pooled_with"]] if "estrus_pooled_with" in table else []),
    )


def _read_window(table: Mapping[str, Any]) -> Window:
    return Window(from_h=float(table["from_h"]), to_h=float(table["to_h"]))


def _read_step(step: Mapping[str, Any], seen_by: Mapping[str, Any]) -> Order:
    act = str(step["do"])
    own = {**seen_by, **step}
    return Order(
        hour=float(step["at"]),
        act=Act[act.upper()],
        amount=float(step.get("dose", 1.0)) if act in DOSED else 1.0,
        who=Who[str(step.get("who", "all")).upper()],
        judged_h=step.get("judged_at"),
        until_h=step.get("until"),
        aid=Aid[str(own.get("aid", "eye")).upper()],
        per_day=int(own.get("times_per_day", 2)),
        minutes=float(own.get("minutes", 45)),
        rule=Rule[str(step.get("inseminate", "none")).upper()],
    )
