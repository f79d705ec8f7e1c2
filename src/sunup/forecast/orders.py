"""From a protocol to order tables in hours from zero.

Everything the kernel needs and a protocol does not say is decided here: how heats are watched
where a step is silent, how the judged hour of a step for "in heat" females is taken (its own
hour), when bulls follow. Late and missed treatments are in ``slips``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sunup.forecast.second import make_second
from sunup.forecast.slips import OrdersError, say_slips, with_semen, with_slips
from sunup.forecast.steps import HEAT_TO_AI_H, inseminates, make_order
from sunup.forecast.timing import ZERO_CLOCK_H, nominal_timing
from sunup.forecast.watches import Watches, say_watch, with_last_checks
from sunup.physiology.orders import Act, Aid, Order, OrderTable
from sunup.protocols.protocol import Do, Inseminate, Protocol, Style, Zero

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.forecast.figures import ForecastFigures
    from sunup.forecast.second import SecondAi
    from sunup.forecast.slips import Compliance
    from sunup.forecast.timing import Timing

WEEK_H = 168.0
SETTLED_H = 96.0  # after an insemination: sperm live 72 hours at most


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonRule:
    """What follows the inseminations.

    Parameters
    ----------
    bulls_after_days : float, optional
        Days from the last insemination of the protocol to bulls in; None: no bulls.
    season_days : float
        Days from the first insemination (bulls in, for bulls alone) to bulls out; 0: the run ends
        when the inseminations of the protocol are settled, which is quicker and changes nothing
        in them.
    first_session_h : float, optional
        Hour from zero of the first session laid out for those seen in heat: before it a watch
        serves nobody. None: a watch serves from its start.
    """

    bulls_after_days: float | None
    season_days: float
    first_session_h: float | None = None


NO_SEASON = SeasonRule(bulls_after_days=None, season_days=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Orders:
    """Order tables of one protocol and what the summary must know of them.

    Parameters
    ----------
    tables : tuple of OrderTable
        `shares` of the females follow each.
    shares : tuple of float
    first_service_h : float
        Hour from which the season is counted.
    last_ai_h : float
        After it no insemination of the protocol, or of the second AI after it, happens.
    from_h, until_h : float
        Over which heats are counted.
    end_h : float
        End of the run.
    bulls_in_h, bulls_out_h : float, optional
    has_ai : bool
    season_days : float
    notes : tuple of str
        Sentences: what the orders rest on.
    second : SecondAi, optional
        What follows for those not pregnant, before any bulls.
    has_bull_number : bool
        Whether the number of bulls is stated and reckoned with.
    turnout_from_h : float
        End of the inseminations, from which the days to bulls in count.
    seen_if : str
        On what condition heats are seen at all, where the plan has nobody watch; else empty.
    """

    tables: tuple[OrderTable, ...]
    shares: tuple[float, ...]
    first_service_h: float
    last_ai_h: float
    from_h: float
    until_h: float
    end_h: float
    bulls_in_h: float | None
    bulls_out_h: float | None
    has_ai: bool
    season_days: float
    notes: tuple[str, ...]
    second: SecondAi | None = None
    has_bull_number: bool = False
    turnout_from_h: float = 0.0
    seen_if: str = ""

    @property
    def clock_h(self) -> float:
        """Hour heats are counted from."""
        return self.tables[0].clock_h

    @property
    def has_season(self) -> bool:
        """Whether the run goes on to the season's end."""
        return self.season_days > 0.0

    @property
    def has_pgf(self) -> bool:
        """Whether that hour is one of PGF."""
        clock = self.clock_h
        return any(order.act is Act.PGF and order.hour == clock for order in self.tables[0].orders)

    @property
    def first_until_h(self) -> float:
        """Up to it an insemination belongs to the first AI."""
        return self.last_ai_h if self.second is None else self.second.first_until_h


def make_orders(
    protocol: Protocol,
    *,
    figures: ForecastFigures,
    season: SeasonRule,
    timing: Timing | None = None,
    compliance: Compliance | None = None,
    share_sexed: float = 0.0,
    sexed_option: bool = False,
    second: Protocol | None = None,
    watches: Watches | None = None,
) -> Orders:
    """Turn a protocol into order tables.

    Parameters
    ----------
    protocol : Protocol
        With its options applied.
    figures : ForecastFigures
    season : SeasonRule
    timing : Timing, optional
        The published hours if absent.
    compliance : Compliance, optional
    share_sexed : float
        Of the females, inseminated with sexed semen throughout.
    sexed_option : bool
        All of them, as the option says.
    second : Protocol, optional
        Follows for those not pregnant; its hours count from the last insemination.
    watches : Watches, optional
        How heats are watched where a step is silent, and judged at timed AI; the library's usual
        way if absent.

    Returns
    -------
    Orders

    Raises
    ------
    OrdersError
        If the protocol starts from an insemination already done, or `second` does not, or the
        protocol puts bulls in by itself or inseminates nobody, so that no second AI can follow.
    """
    if protocol.zero is Zero.FIRST_AI:
        message = (
            f"{protocol.name} starts from an insemination already done; a forecast needs the "
            "protocol before it too."
        )
        raise OrdersError(message)
    when = timing or nominal_timing(protocol)
    usual = watches or Watches.of(figures)
    orders = [
        order
        for step in protocol.steps
        if step.id in when.hours and (order := make_order(step, when, usual)) is not None
    ]
    has_ai = any(inseminates(order) for order in orders)
    first, last = _services(orders, protocol, when, first_session_h=season.first_session_h)
    again = None
    if second is not None:
        if not has_ai or any(o.act is Act.BULLS_IN for o in orders):
            message = f"{protocol.name} puts bulls in by itself: no second AI can follow it."
            raise OrdersError(message)
        again = make_second(
            second,
            figures=figures,
            first_h=first,
            last_h=last,
            zero_clock_h=when.zero_clock_h,
            watches=usual,
        )
    end = last if again is None else again.last_h
    bulls_in, bulls_out = _bulls(orders, season, first=first, last=end, has_ai=has_ai)
    has_aid = any(step.do is Do.HEAT_AID_ON for step in protocol.steps)
    plain = OrderTable(
        orders=with_last_checks(orders, zero_clock_h=when.zero_clock_h),
        aid=usual.aid or (Aid.PATCH if has_aid else Aid.EYE),
        per_day=usual.times_per_day,
        minutes=usual.minutes,
        zero_clock_h=when.zero_clock_h,
    )
    tables, shares = with_slips(plain, protocol, when, compliance)
    if again is not None:
        tables = tuple(
            replace(table, orders=(*table.orders, *again.orders), counted_from_h=table.clock_h)
            for table in tables
        )
    sexed = 1.0 if sexed_option and share_sexed == 0.0 else share_sexed
    tables, shares = with_semen(tables, shares, sexed)
    clock = plain.clock_h
    ends = [when.untils[s.id] for s in protocol.steps if s.until is not None and s.id in when.hours]
    heats_end = max([last, *ends, clock + 24.0])
    watch_from = [
        when.hours[s.id] for s in protocol.steps if s.do is Do.WATCH and s.id in when.hours
    ]
    return Orders(
        tables=tables,
        shares=shares,
        first_service_h=first,
        last_ai_h=end + (HEAT_TO_AI_H if has_ai else 0.0),
        from_h=min([clock, *watch_from]),
        until_h=heats_end if has_ai else max(clock, last) + WEEK_H,
        end_h=max(
            end + (HEAT_TO_AI_H if has_ai else 0.0) + SETTLED_H,
            (bulls_out or 0.0) + 48.0,
            first + 24.0 * season.season_days,
        ),
        bulls_in_h=bulls_in,
        bulls_out_h=bulls_out,
        has_ai=has_ai,
        season_days=season.season_days,
        notes=(
            *_say(protocol, when, usual, has_aid=has_aid),
            *say_slips(compliance),
            *(() if again is None else again.notes),
        ),
        second=again,
        turnout_from_h=end,
        seen_if=_seen_if(protocol, usual, has_aid=has_aid),
    )


def bulls_alone(season: SeasonRule, *, zero_clock_h: float = ZERO_CLOCK_H) -> Orders:
    """Return the orders of bulls alone: in at zero, out at the season's end."""
    out = 24.0 * season.season_days
    table = OrderTable(
        orders=(Order(hour=0.0, act=Act.BULLS_IN), Order(hour=out, act=Act.BULLS_OUT)),
        zero_clock_h=zero_clock_h,
    )
    return Orders(
        tables=(table,),
        shares=(1.0,),
        first_service_h=0.0,
        last_ai_h=0.0,
        from_h=0.0,
        until_h=21.0 * 24.0,
        end_h=out + 48.0,
        bulls_in_h=0.0,
        bulls_out_h=out,
        has_ai=False,
        season_days=season.season_days,
        notes=("bulls alone, in on the day inseminations would begin",),
    )


def _services(
    orders: Sequence[Order], protocol: Protocol, when: Timing, *, first_session_h: float | None
) -> tuple[float, float]:
    """First and last hour of service.

    Of a watch the first is its first session, where one is laid out, else its start.
    """
    session = first_session_h or 0.0
    starts = [
        max(o.hour, session) if o.act is Act.WATCH else o.hour for o in orders if inseminates(o)
    ]
    ends = [o.until_h if o.until_h is not None else o.hour for o in orders if inseminates(o)]
    if not starts:
        starts = [o.hour for o in orders if o.act is Act.BULLS_IN]
        ends = list(starts)
    if not starts:
        last = max(when.hours.values(), default=0.0)
        message = f"{protocol.name} serves no female in its {last:g} hours."
        raise OrdersError(message)
    return min(starts), max(ends)


def _bulls(
    orders: list[Order], season: SeasonRule, *, first: float, last: float, has_ai: bool
) -> tuple[float | None, float | None]:
    """Add bulls to the orders; return when they go in and out."""
    own = [o.hour for o in orders if o.act is Act.BULLS_IN]
    out = first + 24.0 * season.season_days
    if own:
        if not any(o.act is Act.BULLS_OUT for o in orders):
            orders.append(Order(hour=max(out, max(own) + 24.0), act=Act.BULLS_OUT))
        return min(own), max(o.hour for o in orders if o.act is Act.BULLS_OUT)
    if season.bulls_after_days is None or not has_ai:
        return None, None
    into = last + 24.0 * season.bulls_after_days
    if into >= out:
        return None, None
    orders += [Order(hour=into, act=Act.BULLS_IN), Order(hour=out, act=Act.BULLS_OUT)]
    return into, out


def _is_judged(protocol: Protocol) -> bool:
    return any(s.who is not None and "in_heat" in s.who.value for s in protocol.steps)


def _seen_if(protocol: Protocol, usual: Watches, *, has_aid: bool) -> str:
    """On what condition heats are seen; nothing where the plan or the user has them watched."""
    is_watched = any(s.do is Do.WATCH for s in protocol.steps) or _is_judged(protocol)
    if is_watched or has_aid or usual.is_told:
        return ""
    often = "once" if usual.times_per_day == 1 else f"{usual.times_per_day} times"
    return f"if somebody watched by eye {often} a day for {usual.minutes:g} minutes"


def _say(protocol: Protocol, when: Timing, usual: Watches, *, has_aid: bool) -> tuple[str, ...]:
    said = [
        "the hours of the schedule, the first female of each run"
        if when.is_planned
        else "the published hours of the protocol, first treatment at 08:00"
    ]
    watches = [
        s
        for s in protocol.steps
        if s.do is Do.WATCH and s.inseminate not in {None, Inseminate.NONE}
    ]
    origin = f" ({usual.origin})" if usual.origin else ""
    said += dict.fromkeys(
        say_watch(
            Aid[s.aid.upper()] if s.aid else usual.aid or Aid.EYE,
            s.times_per_day or usual.times_per_day,
            s.minutes or usual.minutes,
        )
        + origin
        for s in watches
    )
    if has_aid and usual.aid in {None, Aid.PATCH}:
        said.append("rubbed heat aids read at each session")
    elif (_is_judged(protocol) or usual.is_told) and not watches:
        said.append(usual.words)
    if protocol.style is Style.NATURAL_SERVICE:
        said.append("bulls that serve as the library's figure says, enough of them")
    return tuple(said)


__all__ = [
    "NO_SEASON",
    "Orders",
    "OrdersError",
    "SeasonRule",
    "bulls_alone",
    "make_order",
    "make_orders",
]
