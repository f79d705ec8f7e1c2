"""Bulls alone: the choice every AI plan stands beside."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sunup.base.quantities import KG_PER_LB
from sunup.planning.bulls import BullCost, bull_cost, per_pregnancy
from sunup.planning.cost import middle
from sunup.planning.plan import BullsAlone, Money
from sunup.protocols.protocol import Style

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.library.library import Library
    from sunup.protocols.protocol import Protocol


def cost_of_bull(library: Library) -> BullCost:
    """What one bull costs a year with the library's figures (or the ranch's own)."""
    number = library.number
    return bull_cost(
        price=number("bulls.price"),
        salvage=number("bulls.salvage"),
        seasons=number("bulls.seasons"),
        cows=number("bulls.cows_per_bull"),
        feed_per_year=number("bulls.feed_per_year"),
        exam_cost=number("bulls.exam_cost"),
        exams=number("bulls.exams_per_life"),
        interest_share=number("bulls.interest_share"),
        death_share=number("bulls.death_share"),
    )


def bull_line(library: Library, *, head: int, bulls: int | None = None) -> Money:
    """Bulls for females synchronised to be served by them, a female.

    Parameters
    ----------
    library : Library
    head : int
        Females to be served; 0 where nobody is yet. Whole bulls are counted, as for bulls alone.
    bulls : int, optional
        How many go in; by the library's ratio where it is not said.
    """
    ratio = middle(library.figure("bulls.after_synchronised_ratio"))
    price = library.figure("bulls.price")
    number = bulls or math.ceil(head / ratio)
    share, note = 1.0 / ratio, f"one to {ratio:g} females"
    if head:
        share = number / head
        note = f"{number} bull{'' if number == 1 else 's'} for {head} females"
        note += "" if bulls else f", one to {ratio:g} at most"
    return Money(
        "bulls",
        "female",
        share * cost_of_bull(library).per_year,
        price.example,
        "bulls.after_synchronised_ratio",
        note,
    )


def with_bulls_paid(
    lines: Sequence[Money],
    protocol: Protocol,
    *,
    head: int,
    library: Library,
    bulls: int | None = None,
) -> tuple[Money, ...]:
    """Add the bulls of a natural service protocol to its costs; others are left as they are."""
    if protocol.style is not Style.NATURAL_SERVICE:
        return tuple(lines)
    return (*lines, bull_line(library, head=head, bulls=bulls))


def find_bulls_alone(
    head: int, *, library: Library, earlier_days: float | None = None, unit: str = "lb"
) -> BullsAlone:
    """Lay bulls alone out as a choice for a group.

    Parameters
    ----------
    head : int
        Females to be bred.
    library : Library
    earlier_days : float, optional
        How many days earlier the user thinks AI calves come on average. Nothing is assumed when it
        is not given: the value of one day is shown instead.
    unit : str
        "lb" or "kg": what weights are told in.

    Returns
    -------
    BullsAlone
        Costs of one season. Whole bulls are counted, so a small group pays more a female than the
        figure a bull's full share of cows gives.
    """
    each = cost_of_bull(library)
    bulls = math.ceil(head / each.cows) if head else 0
    price = library.figure("bulls.price")
    lines = tuple(
        Money(words, "bull and year", amount, price.example, "bulls.price")
        for words, amount in each.lines
    )
    pounds = library.number("bulls.calf_lb_per_day_later")
    value = library.figure("prices.calf_value_per_lb")
    per_day = pounds * middle(value)
    factor = KG_PER_LB if unit == "kg" else 1.0
    note = (
        f"A calf a day later weighs {pounds * factor:.2g} {unit} less at weaning; at "
        f"{middle(value) / factor:.3g} a {unit} "
        f"(example) that is {per_day:.2f} a calf and day."
    )
    if earlier_days is not None:
        note += (
            f" If AI calves come {earlier_days:g} days earlier (your figure), each is worth "
            f"{earlier_days * per_day:.0f} more."
        )
    else:
        note += " How many days earlier your AI calves come was not said: none are counted."
    per_female = bulls * each.per_year / head if head else each.per_cow
    share = library.number("bulls.pregnancy_share")
    ratio = library.figure("bulls.cleanup_ratio")
    cleanup = each.per_year / middle(ratio)
    note += (
        f" Bulls after AI cost about {cleanup:.0f} a female more, at one to {middle(ratio):g} "
        "females; no protocol's cost counts them. Of 100 females with bulls alone "
        f"{100 * share:.0f} are taken to be in calf, as published; a forecast counts them in your "
        "own group, and its cost is by that."
    )
    return BullsAlone(
        bulls=bulls,
        cost_per_female=per_female,
        cost_per_pregnancy=per_pregnancy(per_female, pregnancy_share=share),
        lines=lines,
        earlier_calf_value_per_day=per_day,
        note=note,
        cleanup_per_female=cleanup,
    )
