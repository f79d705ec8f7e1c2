"""A calving that shows a pregnancy was never lost: two stretches of a female become one again."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.planning.calving_book import Outcome
from sunup.planning.parentage import Dam, find_parentage
from sunup.planning.pregnancies import calving_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sunup.forecast.gestation import Shares
    from sunup.planning.conceptions import BullTime
    from sunup.planning.parentage import ParentageFigures
    from sunup.planning.pregnancies import Stretch


def join_lost(
    stretches: Iterable[Stretch], *, breeds: Shares, figures: ParentageFigures
) -> tuple[Stretch, ...]:
    """Join a stretch that an open finding ended with the next, where its calving says so.

    A female found pregnant and later open counts as having lost it. Where she calves at a day that
    no service after that finding gives, and one before it does, the open finding was wrong.

    Parameters
    ----------
    stretches : iterable of Stretch
        Of one female, oldest first.
    breeds : tuple of (breed, share)
        Hers.
    figures : ParentageFigures
    """
    joined: list[Stretch] = []
    for stretch in stretches:
        if joined and joined[-1].outcome is Outcome.LOST and stretch.outcome is Outcome.CALVED:
            whole = _whole(joined[-1], stretch)
            if not _fits(stretch, breeds, figures) and _fits(whole, breeds, figures):
                joined[-1] = whole
                continue
        joined.append(stretch)
    return tuple(joined)


def _fits(stretch: Stretch, breeds: Shares, figures: ParentageFigures) -> bool:
    """Whether the calving fits a service of the stretch."""
    if stretch.ended_on is None:
        return False
    found = find_parentage(
        stretch.inseminations,
        stretch.bulls,
        dam=Dam(breeds, stretch.is_heifer),
        checks=stretch.checks,
        calving=calving_of(stretch),
        asked_on=stretch.ended_on,
        figures=figures,
    )
    return bool(found.candidates) and found.fits


def _whole(before: Stretch, after: Stretch) -> Stretch:
    return replace(
        after,
        calved_on=before.calved_on,
        is_heifer=before.is_heifer,
        inseminations=(*before.inseminations, *after.inseminations),
        bulls=_together(before.bulls, after.bulls),
        checks=(*before.checks, *after.checks),
    )


def _together(before: Sequence[BullTime], after: Sequence[BullTime]) -> tuple[BullTime, ...]:
    """Times with bulls; one that went on over the cut is whole again."""
    rest = list(after)
    whole = []
    for time in before:
        ends = time.until_on
        on = [b for b in rest if b.bulls == time.bulls and (ends is None or b.from_on <= ends)]
        if on:
            rest.remove(on[0])
            whole.append(replace(time, until_on=on[0].until_on))
        else:
            whole.append(time)
    return (*whole, *rest)
