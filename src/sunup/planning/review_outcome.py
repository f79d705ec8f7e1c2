"""Pregnant to AI, with what chance: a female's services settled by her checks and her calving."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.planning.one_heat import heats_served
from sunup.planning.parentage import Way, find_parentage
from sunup.planning.pregnancies import keep_last_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from sunup.planning.conceptions import BullTime, Insemination
    from sunup.planning.parentage import Calving, Check, Dam, Parentage, ParentageFigures

    Heats = tuple[tuple[int, ...], ...]


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
    """Chances of each heat served and of AI at all (None: not known), pregnant at all, and why.

    `heats` holds, heat by heat, the places of its inseminations among the services given: two of
    one heat are one service. A pregnancy that was found and lost later counts for its service, and
    not as `pregnant`.
    """

    heats: tuple[tuple[int, ...], ...]
    services: tuple[float | None, ...]  # one a heat
    chance: float | None
    pregnant: bool | None
    why: str


def settle(told: Pregnancy, *, asked_on: date, figures: ParentageFigures) -> Settled:
    """Settle the services of one female.

    Parameters
    ----------
    told : Pregnancy
        Services and checks in time order.
    asked_on : date
    figures : ParentageFigures

    Returns
    -------
    Settled

    Notes
    -----
    A heat served and followed by another failed, where nothing says otherwise: she came back. An
    open finding is believed from the day on which its method is sure. Of two findings of one day
    that differ the later holds.
    """
    heats = heats_served(
        [(service.on, service.at) for service in told.services],
        same_service_h=figures.conception.same_service.number,
    )
    found = [c for c in keep_last_words(told.checks) if c.on <= asked_on]
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
        return _of_parentage(heats, parentage, is_lost=is_lost)
    return _of_open(told, heats, found, figures)


def _of_parentage(heats: Heats, parentage: Parentage, *, is_lost: bool) -> Settled:
    if not parentage.candidates or not parentage.fits:
        none = (None,) * len(heats)
        why = "; ".join(parentage.remarks) or parentage.words
        return Settled(heats, none, None if heats else 0.0, pregnant=not is_lost, why=why)
    # services after the finding are left out there: heats count from the first all the same
    chances = [0.0] * len(heats)
    for one in parentage.candidates:
        if one.way is Way.AI and one.heat is not None:
            chances[one.heat] += one.chance
    return Settled(
        heats,
        tuple(chances),
        parentage.chance(Way.AI),
        pregnant=not is_lost,
        why=f"lost after: {parentage.words}" if is_lost else parentage.words,
    )


def _of_open(
    told: Pregnancy, heats: Heats, found: Sequence[Check], figures: ParentageFigures
) -> Settled:
    if told.lost:
        none = (None,) * len(heats)
        why = "lost a calf that nobody had checked for"
        return Settled(heats, none, None, pregnant=False, why=why)
    negative = [c for c in found if c.result == "not_pregnant"]
    days = [told.services[heat[-1]].on for heat in heats]
    ends: list[float | None] = [
        0.0
        if day != days[-1] or any(_is_believed(c, (c.on - day).days, figures) for c in negative)
        else None
        for day in days
    ]
    if not ends:
        chance = 0.0 if negative else None
        why = "not inseminated"
    else:
        chance = ends[-1]
        why = "no result recorded"
        if negative:
            why = "found open" if chance is not None else "found open, too early to be believed"
    pregnant = False if chance is not None else None
    return Settled(heats, tuple(ends), chance, pregnant=pregnant, why=why)


def _is_believed(check: Check, age_d: int, figures: ParentageFigures) -> bool:
    method = check.method if check.method in figures.sure_from else "palpation"
    return age_d >= figures.sure_from[method].number
