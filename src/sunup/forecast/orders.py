"""From a protocol to order tables in hours from zero.

Everything the kernel needs and a protocol does not say is decided here: how heats are watched
where a step is silent, how the judged hour of a step for "in heat" females is taken (its own
hour), when bulls follow, and what a late or missed treatment is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.problems import SunupError
from sunup.forecast.luck import LATE, SEMEN, even_draws
from sunup.physiology.orders import Act, Aid, Order, OrderTable, Rule, Semen, Who
from sunup.protocols.protocol import CHUTE, Do, Inseminate, Protocol, Style, Zero
from sunup.protocols.protocol import Who as StepWho
from sunup.protocols.timing import nominal_hours

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from sunup.forecast.figures import ForecastFigures
    from sunup.protocols.protocol import Step

ACT: dict[Do, Act] = {do: Act[do.name] for do in Do if do is not Do.HEAT_AID_ON}
ZERO_CLOCK_H = 8.0  # where no calendar is given, as in the trials
WEEK_H = 168.0
SETTLED_H = 96.0  # after an insemination: sperm live 72 hours at most
HEAT_TO_AI_H = 36.0  # from the end of a watch to the last insemination by its rule, at most


class OrdersError(SunupError):
    """A protocol that cannot be forecast, in words for the user."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """When the steps fall.

    Parameters
    ----------
    hours : mapping of str to float
        Step id to elapsed hours from zero.
    untils : mapping of str to float
        Watch step id to the hour at which it ends.
    zero_clock_h : float
        Hour of the day at zero, 0 to 24.
    is_planned : bool
        Whether these are the hours of a schedule rather than those published.
    """

    hours: Mapping[str, float]
    untils: Mapping[str, float]
    zero_clock_h: float = ZERO_CLOCK_H
    is_planned: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Compliance:
    """What slips at the chute: shares of females treated late, or missed, at one visit each.

    Parameters
    ----------
    steps : tuple of str
        Ids of the steps that may slip.
    share_late, share_missed : float
        Of the females; each steps' females are drawn by themselves.
    late_h : float
    """

    steps: tuple[str, ...]
    share_late: float = 0.0
    late_h: float = 12.0
    share_missed: float = 0.0

    def __post_init__(self) -> None:
        shares = self.share_late, self.share_missed
        if min(shares) < 0.0 or sum(shares) > 1.0 or not math.isfinite(self.late_h):
            message = "the shares treated late and missed must lie between 0 and 1 together."
            raise OrdersError(message)


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
    """

    bulls_after_days: float | None
    season_days: float


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
        After it no insemination of the protocol happens.
    from_h, until_h : float
        Over which heats are counted.
    end_h : float
        End of the run.
    bulls_in_h, bulls_out_h : float, optional
    has_ai : bool
    season_days : float
    notes : tuple of str
        Sentences: what the orders rest on.
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
        return any(order.act is Act.PGF for order in self.tables[0].orders)


def nominal_timing(protocol: Protocol) -> Timing:
    """Return the published hours of a protocol, zero at 08:00."""
    hours = nominal_hours(protocol)
    untils = {
        step.id: step.until + (hours[step.after] if step.after is not None else 0.0)
        for step in protocol.steps
        if step.until is not None
    }
    return Timing(hours=hours, untils=untils)


def make_orders(
    protocol: Protocol,
    *,
    figures: ForecastFigures,
    season: SeasonRule,
    timing: Timing | None = None,
    compliance: Compliance | None = None,
    share_sexed: float = 0.0,
    sexed_option: bool = False,
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

    Returns
    -------
    Orders

    Raises
    ------
    OrdersError
        If the protocol starts from an insemination already done.
    """
    if protocol.zero is Zero.FIRST_AI:
        message = (
            f"{protocol.name} starts from an insemination already done; a forecast needs the "
            "protocol before it too."
        )
        raise OrdersError(message)
    when = timing or nominal_timing(protocol)
    orders = [
        order
        for step in protocol.steps
        if step.id in when.hours and (order := make_order(step, when, figures)) is not None
    ]
    has_ai = any(_inseminates(order) for order in orders)
    first, last = _services(orders, protocol, when)
    bulls_in, bulls_out = _bulls(orders, season, first=first, last=last, has_ai=has_ai)
    has_aid = any(step.do is Do.HEAT_AID_ON for step in protocol.steps)
    plain = OrderTable(
        orders=tuple(orders),
        aid=Aid.PATCH if has_aid else Aid.EYE,
        per_day=figures.watch_times_per_day,
        minutes=figures.watch_minutes,
        zero_clock_h=when.zero_clock_h,
    )
    tables, shares = _with_slips(plain, protocol, when, compliance)
    sexed = 1.0 if sexed_option and share_sexed == 0.0 else share_sexed
    tables, shares = _with_semen(tables, shares, sexed)
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
        last_ai_h=last + (HEAT_TO_AI_H if has_ai else 0.0),
        from_h=min([clock, *watch_from]),
        until_h=heats_end if has_ai else max(clock, last) + WEEK_H,
        end_h=max(
            last + (HEAT_TO_AI_H if has_ai else 0.0) + SETTLED_H,
            (bulls_out or 0.0) + 48.0,
            first + 24.0 * season.season_days,
        ),
        bulls_in_h=bulls_in,
        bulls_out_h=bulls_out,
        has_ai=has_ai,
        season_days=season.season_days,
        notes=(*_say(protocol, when, figures, has_aid=has_aid), *_say_slips(compliance)),
    )


def last_pgf(protocol: Protocol) -> str | None:
    """Return the id of the last PGF given to all, None where there is none."""
    hours = nominal_hours(protocol)
    given = [s.id for s in protocol.steps if s.do is Do.PGF and s.who in {None, StepWho.ALL}]
    return max(given, key=lambda step_id: hours[step_id], default=None)


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


def make_order(step: Step, when: Timing, figures: ForecastFigures) -> Order | None:
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
        aid=Aid.EYE if step.aid is None else Aid[step.aid.upper()],
        per_day=step.times_per_day or figures.watch_times_per_day,
        minutes=float(step.minutes or figures.watch_minutes),
        rule=Rule.NONE if step.inseminate is None else Rule[step.inseminate.name],
    )


def draw_plans(orders: Orders, *, seed: int, females: int) -> NDArray[np.int64]:
    """Return which table each female follows in one block of replicates, shape (females,).

    Parameters
    ----------
    orders : Orders
    seed : int
        Of the block.
    females : int
    """
    u, _, _, _ = even_draws(seed, LATE, replicates=1, females=females)
    v, _, _, _ = even_draws(seed, SEMEN, replicates=1, females=females)
    shares = np.array(orders.shares)
    if not _is_mixed(orders):
        return _pick(shares, u[0])
    half = len(shares) // 2
    sexed = float(shares[half:].sum())
    plans = _pick(shares[half:] / sexed, u[0])
    plans[v[0] < sexed] += half
    return plans


def _pick(shares: NDArray[np.float64], u: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return the place each draw falls into."""
    plans: NDArray[np.int64] = np.searchsorted(np.cumsum(shares)[:-1], u, side="right").astype(
        np.int64
    )
    return plans


def _is_mixed(orders: Orders) -> bool:
    return len({table.semen for table in orders.tables}) > 1


def _inseminates(order: Order) -> bool:
    return order.act is Act.AI or (order.act is Act.WATCH and order.rule is not Rule.NONE)


def _services(orders: Sequence[Order], protocol: Protocol, when: Timing) -> tuple[float, float]:
    """First and last hour of service: the start of watching to inseminate counts as the first."""
    starts = [o.hour for o in orders if _inseminates(o)]
    ends = [o.until_h if o.until_h is not None else o.hour for o in orders if _inseminates(o)]
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


def _with_slips(
    plain: OrderTable, protocol: Protocol, when: Timing, compliance: Compliance | None
) -> tuple[tuple[OrderTable, ...], tuple[float, ...]]:
    """Add tables for females treated late or missed at the steps named."""
    if compliance is None or not compliance.steps:
        return (plain,), (1.0,)
    known = {step.id: step for step in protocol.steps if step.do in CHUTE}
    for step_id in compliance.steps:
        if step_id not in known:
            message = f"{protocol.name} has no chute step '{step_id}' that could slip."
            raise OrdersError(message)
    slipping = {(when.hours[i], ACT[known[i].do]) for i in compliance.steps if known[i].do in ACT}
    late = replace(
        plain,
        orders=tuple(
            replace(o, hour=o.hour + compliance.late_h) if (o.hour, o.act) in slipping else o
            for o in plain.orders
        ),
    )
    missed = replace(
        plain, orders=tuple(o for o in plain.orders if (o.hour, o.act) not in slipping)
    )
    rest = 1.0 - compliance.share_late - compliance.share_missed
    return (plain, late, missed), (rest, compliance.share_late, compliance.share_missed)


def _with_semen(
    tables: tuple[OrderTable, ...], shares: tuple[float, ...], sexed: float
) -> tuple[tuple[OrderTable, ...], tuple[float, ...]]:
    if sexed <= 0.0:
        return tables, shares
    own = tuple(replace(table, semen=Semen.SEXED) for table in tables)
    if sexed >= 1.0:
        return own, shares
    return (*tables, *own), (
        *(share * (1.0 - sexed) for share in shares),
        *(share * sexed for share in shares),
    )


def _say_slips(compliance: Compliance | None) -> tuple[str, ...]:
    if compliance is None or not compliance.steps:
        return ()
    what = " and ".join(step.replace("_", " ") for step in compliance.steps)
    late, missed = (100.0 * x for x in (compliance.share_late, compliance.share_missed))
    return (
        (
            f"at {what}, {late:g} of 100 treated {compliance.late_h:g} hours late and "
            f"{missed:g} of 100 missed (your figures)"
        ),
    )


def _say(
    protocol: Protocol, when: Timing, figures: ForecastFigures, *, has_aid: bool
) -> tuple[str, ...]:
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
    judged = any(s.who is not None and "in_heat" in s.who.value for s in protocol.steps)
    by_eye = (
        f"heats watched by eye {figures.watch_times_per_day} times a day for "
        f"{figures.watch_minutes:g} minutes"
    )
    if watches:
        said.append(by_eye + " where the protocol does not say otherwise")
    if has_aid:
        said.append("rubbed heat aids read at each session")
    elif judged and not watches:
        said.append(by_eye)
    if protocol.style is Style.NATURAL_SERVICE:
        said.append("bulls that serve as the library's figure says, enough of them")
    return tuple(said)
