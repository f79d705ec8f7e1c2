"""A second insemination for those not pregnant: steps counted from the first one, in one run."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sunup.forecast.slips import OrdersError
from sunup.forecast.steps import HEAT_TO_AI_H, inseminates, make_order
from sunup.forecast.timing import Timing, nominal_timing
from sunup.forecast.watches import Watches, say_watch, with_last_checks
from sunup.physiology.orders import Act
from sunup.protocols.protocol import Do, Protocol, Zero

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.forecast.figures import ForecastFigures
    from sunup.physiology.orders import Order

FOUND_SOONER_DAYS = 3.0  # an ovulation follows its insemination by three days at most


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondAi:
    """The orders of a second AI.

    Parameters
    ----------
    key, name : str
        Of its protocol.
    orders : tuple of Order
        In hours of the whole run.
    first_until_h : float
        Up to it an insemination belongs to the first AI.
    last_h : float
        End of the inseminations of the second, or of its watching.
    notes : tuple of str
    """

    key: str
    name: str
    orders: tuple[Order, ...]
    first_until_h: float
    last_h: float
    notes: tuple[str, ...]


def make_second(
    protocol: Protocol,
    *,
    figures: ForecastFigures,
    first_h: float,
    last_h: float,
    zero_clock_h: float,
    watches: Watches | None = None,
) -> SecondAi:
    """Lay out a protocol that follows an insemination.

    Its days count from the last insemination of the first AI, so that nobody is scanned sooner
    after hers than it says; watching that begins on a day begins as much sooner as the first AI
    took. A scan finds every pregnancy to the first AI and nothing else.

    Parameters
    ----------
    protocol : Protocol
        With its zero at the first AI.
    figures : ForecastFigures
    first_h, last_h : float
        Of the inseminations of the first AI, hours from the run's zero.
    zero_clock_h : float
        Hour of the day at the run's zero.
    watches : Watches, optional
        How heats are watched where a step is silent; the library's usual way if absent.

    Raises
    ------
    OrdersError
        If the protocol does not follow an insemination, or inseminates nobody.
    """
    if protocol.zero is not Zero.FIRST_AI:
        message = f"{protocol.name} does not follow an insemination; it cannot be a second AI."
        raise OrdersError(message)
    nominal = nominal_timing(protocol)
    sooner = last_h - first_h
    early = {s.id: sooner for s in protocol.steps if s.do is Do.WATCH and s.day is not None}
    when = Timing(
        hours={i: last_h + hour - early.get(i, 0.0) for i, hour in nominal.hours.items()},
        untils={i: last_h + hour for i, hour in nominal.untils.items()},
        zero_clock_h=zero_clock_h,
    )
    usual = watches or Watches.of(figures)
    if not usual.is_told:  # aids put on for the first AI are worn off by the second
        usual = replace(usual, aid=None)
    orders = tuple(
        _with_age(order, last_h, figures)
        for step in protocol.steps
        if (order := make_order(step, when, usual)) is not None
    )
    ends = [o.until_h if o.until_h is not None else o.hour for o in orders if inseminates(o)]
    if not ends:
        message = f"{protocol.name} inseminates nobody."
        raise OrdersError(message)
    return SecondAi(
        key=protocol.key,
        name=protocol.name,
        orders=with_last_checks(orders, zero_clock_h=zero_clock_h),
        first_until_h=last_h + HEAT_TO_AI_H,
        last_h=max(ends),
        notes=_say(protocol, orders, sooner_days=sooner / 24.0, hours=when.hours, last_h=last_h),
    )


def _with_age(order: Order, last_h: float, figures: ForecastFigures) -> Order:
    """Let a scan find the pregnancies of the first AI at the age they have by then."""
    if order.act is not Act.PREG_CHECK:
        return order
    age = (order.hour - last_h) / 24.0 - FOUND_SOONER_DAYS
    return replace(order, amount=min(1.0, max(0.0, age / figures.check_from_days)))


def _say(
    protocol: Protocol,
    orders: tuple[Order, ...],
    *,
    sooner_days: float,
    hours: Mapping[str, float],
    last_h: float,
) -> tuple[str, ...]:
    begins = (min(hours.values()) - last_h) / 24.0
    said = [
        (
            f"second AI: {protocol.name}, at its published hours, from day {begins:.0f} after the "
            "last insemination of the first, which is the day its days count from"
        )
    ]
    if sooner_days > 0.5 and any(o.act is Act.WATCH for o in orders):
        said.append(
            f"first inseminations spread over {sooner_days:.0f} days: watching for returns "
            "begins as much sooner"
        )
    said += dict.fromkeys(
        f"returns: {say_watch(o.aid, o.per_day, o.minutes)}" for o in orders if o.act is Act.WATCH
    )
    if any(o.act is Act.PREG_CHECK for o in orders):
        said.append(
            "the scan before the second AI is taken to be right about everyone; a wrong finding "
            "of not pregnant, followed by PGF, would end a pregnancy"
        )
    return tuple(said)
