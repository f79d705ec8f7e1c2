"""One step of a protocol as a row of an order table."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.forecast.slips import ACT
from sunup.physiology.orders import Act, Aid, Order, Rule, Who
from sunup.protocols.protocol import Do, Inseminate

if TYPE_CHECKING:
    from sunup.forecast.timing import Timing
    from sunup.forecast.watches import Watches
    from sunup.protocols.protocol import Protocol, Step

HEAT_TO_AI_H = 36.0  # from the end of a watch to the last insemination by its rule, at most


def make_order(step: Step, when: Timing, usual: Watches) -> Order | None:
    """Return the row of one step; None for a step the ovary does not feel."""
    act = ACT.get(step.do)
    if act is None:
        return None
    until = when.untils.get(step.id)
    if act is Act.WATCH and (until is None or until <= when.hours[step.id]):
        return None
    return Order(
        hour=when.hours[step.id],
        act=act,
        amount=step.dose,
        who=Who.ALL if step.who is None else Who[step.who.name],
        until_h=until if act is Act.WATCH else None,
        aid=usual.aid or Aid.EYE if step.aid is None else Aid[step.aid.upper()],
        per_day=step.times_per_day or usual.times_per_day,
        minutes=float(step.minutes or usual.minutes),
        rule=Rule.NONE if step.inseminate is None else Rule[step.inseminate.name],
    )


def inseminates_any(protocol: Protocol) -> bool:
    """Whether a protocol leads to inseminations at all; natural service does not."""
    return any(
        step.do is Do.AI or (step.do is Do.WATCH and step.inseminate not in {None, Inseminate.NONE})
        for step in protocol.steps
    )


def inseminates(order: Order) -> bool:
    """Whether an order leads to inseminations."""
    return order.act is Act.AI or (order.act is Act.WATCH and order.rule is not Rule.NONE)
