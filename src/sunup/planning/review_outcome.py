"""Pregnant to AI, with what chance: a female's services settled by her checks and her calving."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.planning.parentage import Way, find_parentage

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from sunup.planning.conceptions import BullTime, Insemination
    from sunup.planning.parentage import Calving, Check, Dam, Parentage, ParentageFigures


@dataclass(frozen=True, slots=True, kw_only=True)
class Pregnancy:
    """What is on file of one female's season: services, bulls, findings, calving.

    `lost` says that an abortion was seen and no finding came before it.
    """

    services: Sequence[Insemination]
    bulls: Sequence[BullTime]
    dam: Dam
    checks: Sequence[Check] = ()
    calving: Calving | None = None
    lost: bool = False


@dataclass(frozen=True, slots=True)
class Settled:
    """Chances of each service and of AI at all (None: not known), pregnant at all, and why.

    A pregnancy that was found and lost later counts for its service, and not as `pregnant`.
    """

    services: tuple[float | None, ...]
    chance: float | None
    pregnant: bool | None
    why: str


def settle(told: Pregnancy, *, asked_on: date, figures: ParentageFigures) -> Settled:
    """Settle the services of one female.

    Parameters
    ----------
    told : Pregnancy
        Services in time order.
    asked_on : date
    figures : ParentageFigures

    Returns
    -------
    Settled

    Notes
    -----
    An insemination followed by another failed, where nothing says otherwise: she came back in
    heat. An open finding is believed from the day on which its method is sure.
    """
    found = [c for c in told.checks if c.on <= asked_on]
    positive = [c.on for c in found if c.result == "pregnant"]
    if told.calving is not None or positive:
        # an open finding after a pregnant one is a loss; it says nothing of the service
        early = [
            c for c in found if c.result != "not_pregnant" or not positive or c.on < positive[0]
        ]
        is_lost = told.calving is None and (told.lost or len(early) < len(found))
        parentage = find_parentage(
            told.services,
            told.bulls,
            dam=told.dam,
            checks=early,
            calving=told.calving,
            asked_on=asked_on,
            figures=figures,
        )
        return _of_parentage(told, parentage, is_lost=is_lost)
    return _of_open(told, found, figures)


def _of_parentage(told: Pregnancy, parentage: Parentage, *, is_lost: bool) -> Settled:
    if not parentage.candidates or not parentage.fits:
        none = (None,) * len(told.services)
        why = "; ".join(parentage.remarks) or parentage.words
        return Settled(none, None if told.services else 0.0, pregnant=not is_lost, why=why)
    by_day: dict[date, float] = {}
    for one in parentage.candidates:
        if one.way is Way.AI:
            by_day[one.from_on] = by_day.get(one.from_on, 0.0) + one.chance
    return Settled(
        tuple(by_day.get(service.on, 0.0) for service in told.services),
        parentage.chance(Way.AI),
        pregnant=not is_lost,
        why=f"lost after: {parentage.words}" if is_lost else parentage.words,
    )


def _of_open(told: Pregnancy, found: Sequence[Check], figures: ParentageFigures) -> Settled:
    if told.lost:
        none = (None,) * len(told.services)
        return Settled(none, None, pregnant=False, why="lost a calf that nobody had checked for")
    negative = [c for c in found if c.result == "not_pregnant"]
    last = len(told.services) - 1
    ends: list[float | None] = [
        0.0
        if i < last or any(_is_believed(c, (c.on - service.on).days, figures) for c in negative)
        else None
        for i, service in enumerate(told.services)
    ]
    if not ends:
        chance = 0.0 if negative else None
        why = "not inseminated"
    else:
        chance = ends[-1]
        why = "no result recorded"
        if negative:
            why = "found open" if chance is not None else "found open, too early to be believed"
    return Settled(tuple(ends), chance, pregnant=False if chance is not None else None, why=why)


def _is_believed(check: Check, age_d: int, figures: ParentageFigures) -> bool:
    method = check.method if check.method in figures.sure_from else "palpation"
    return age_d >= figures.sure_from[method].number
