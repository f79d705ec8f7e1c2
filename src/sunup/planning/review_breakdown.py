"""Results broken down: response, conception and pregnancy by what may have made a difference."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.planning.review_rows import Outcome
from sunup.planning.review_share import Share, share_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from sunup.planning.review_rows import FemaleResult, Service

NOT_KNOWN = "not known"
SHARED = "more than one in a heat"
COMPARED = frozenset({"sire", "technician"})  # partially pooled, each allowed for the other
# Bounds are ours: they only show; the pooled model does not use them.
_CONDITION = ((5.0, "under 5"), (6.0, "5 to 5.5"), (7.0, "6 to 6.5"), (99.0, "7 and more"))
_DAYS = ((50, "under 50"), (70, "50 to 69"), (90, "70 to 89"), (9999, "90 and more"))


@dataclass(frozen=True, slots=True)
class Line:
    """One level of a subject.

    `response` is in heat of those treated and looked at, `conception` pregnant of the heats served
    with a known end, `pregnancy` pregnant to AI of the females treated with a known end. A share
    that has no meaning for the subject is None.
    """

    level: str
    conception: Share
    response: Share | None = None
    pregnancy: Share | None = None


@dataclass(frozen=True, slots=True)
class Breakdown:
    """One subject: its levels, and how many heats served (or females) have no known end.

    A heat of two technicians (sires, semen) is no one's: it stands under `SHARED`.
    """

    key: str
    title: str
    lines: tuple[Line, ...]
    unknown: int

    @property
    def is_telling(self) -> bool:
        """Whether there are two levels to compare."""
        return len(self.known) > 1

    @property
    def known(self) -> tuple[Line, ...]:
        """The levels that can be compared."""
        return tuple(line for line in self.lines if line.level not in {NOT_KNOWN, SHARED})


def break_down(results: Sequence[FemaleResult]) -> tuple[Breakdown, ...]:
    """Break a season's results down by every subject.

    Parameters
    ----------
    results : sequence of FemaleResult
        Females treated or inseminated.

    Returns
    -------
    tuple of Breakdown
        Those of females first; a subject with one level stands too, its `is_telling` false.
    """
    return (
        _by_female("protocol", "By protocol", results, lambda f: f.protocol),
        _by_female("group", "By group", results, lambda f: f.group),
        _by_female("class", "By class", results, lambda f: f.class_.replace("_calf_", "-calf ")),
        _by_female(
            "condition", "By body condition", results, lambda f: _bin(f.condition, _CONDITION)
        ),
        _by_female(
            "days_since_calving", "By days since calving", results,
            lambda f: "heifer" if f.class_ == "heifer" else _bin(f.days_since_calving, _DAYS),
        ),
        _by_female(
            "on_time", "By treatment", results,
            lambda f: _yes_no(f.on_time, "all treatments in time", "something late or missed"),
        ),
        _by_service("sire", "By sire", results, lambda s: s.sire),
        _by_service("technician", "By technician", results, lambda s: s.technician),
        _by_service("semen", "By semen", results, lambda s: s.semen),
        _by_service("half", "By time of day", results, lambda s: s.half),
        _by_service(
            "in_heat", "By heat", results,
            lambda s: _yes_no(s.in_heat, "in heat by then", "no heat seen"),
        ),
        _by_service(
            "timed", "By kind", results, lambda s: _yes_no(s.timed, "at a set time", "on heat")
        ),
        _by_service(
            "number", "By insemination", results,
            lambda s: "first" if s.number == 1 else "second or later",
        ),
    )  # fmt: skip


def tell_once(breakdowns: Iterable[Breakdown]) -> tuple[Breakdown, ...]:
    """Leave out what has nothing to compare, and what parts the females as one before it does.

    Groups are often classes and protocols too; sires and technicians are compared otherwise.
    """
    told: list[Breakdown] = []
    seen: set[frozenset[tuple[Share, Share | None]]] = set()
    for one in breakdowns:
        counts = frozenset((line.conception, line.pregnancy) for line in one.lines)
        if one.is_telling and one.key not in COMPARED and counts not in seen:
            seen.add(counts)
            told.append(one)
    return tuple(told)


def conception_of(services: Iterable[Service]) -> Share:
    """Pregnant to AI of the heats served with a known end; those unsure count by their chance."""
    return _counted([s.chance for s in services])


def response_of(results: Iterable[FemaleResult]) -> Share:
    """Seen in heat of those treated and looked at."""
    seen = [f.seen_in_heat for f in results if f.treated and f.seen_in_heat is not None]
    return share_of(sum(seen), len(seen))


def pregnancy_of(results: Iterable[FemaleResult]) -> Share:
    """Pregnant to AI of the females treated with a known end, inseminated or not."""
    return _counted([f.chance for f in results if f.treated])


def first_service_of(results: Iterable[FemaleResult]) -> Share:
    """Pregnant to the first insemination, of the females treated with a known end."""
    chances = [
        None if f.chance is None else (f.services[0].chance if f.services else 0.0)
        for f in results
        if f.treated
    ]
    return _counted(chances)


def _counted(chances: Iterable[float | None]) -> Share:
    """Sum chances to whole females.

    Leaving out those of whom AI and bull are both possible would leave out pregnant ones only, and
    make AI look worse than it was.
    """
    known = [chance for chance in chances if chance is not None]
    return share_of(int(sum(known) + 0.5), len(known))


def _by_female(
    key: str,
    title: str,
    results: Sequence[FemaleResult],
    level_of: Callable[[FemaleResult], str],
) -> Breakdown:
    levels: dict[str, list[FemaleResult]] = defaultdict(list)
    for result in results:
        levels[level_of(result) or NOT_KNOWN].append(result)
    return Breakdown(
        key,
        title,
        tuple(
            Line(
                level,
                conception_of(s for f in levels[level] for s in f.services),
                response_of(levels[level]),
                pregnancy_of(levels[level]),
            )
            for level in _ordered(levels)
        ),
        sum(f.treated and f.outcome is Outcome.UNKNOWN for f in results),
    )


def _by_service(
    key: str,
    title: str,
    results: Sequence[FemaleResult],
    level_of: Callable[[Service], str],
) -> Breakdown:
    levels: dict[str, list[Service]] = defaultdict(list)
    services = [s for f in results for s in f.services]
    for service in services:
        level = SHARED if key in service.shared else level_of(service)
        levels[level or NOT_KNOWN].append(service)
    return Breakdown(
        key,
        title,
        tuple(Line(level, conception_of(levels[level])) for level in _ordered(levels)),
        sum(s.outcome is Outcome.UNKNOWN for s in services),
    )


def _ordered(levels: Iterable[str]) -> list[str]:
    """Levels by name, bins from the least on, what is not known last."""
    binned = [name for _, name in (*_CONDITION, *_DAYS)]
    return sorted(
        levels,
        key=lambda name: (
            name == NOT_KNOWN,
            binned.index(name) if name in binned else -1,
            name,
        ),
    )


def _bin(value: float | None, bounds: Sequence[tuple[float, str]]) -> str:
    return "" if value is None else next(name for below, name in bounds if value < below)


def _yes_no(value: bool | None, yes: str, no: str) -> str:  # noqa: FBT001  # a fact, no switch
    if value is None:
        return ""
    return yes if value else no
