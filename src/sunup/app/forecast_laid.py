"""One protocol laid out for a group: its orders and females, its run, what it comes to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sunup.app.forecast_second import with_second
from sunup.app.forecast_timing import clock_words, split_costs
from sunup.forecast.herd import find_facts
from sunup.forecast.orders import NO_SEASON, make_orders
from sunup.forecast.run import run_group
from sunup.forecast.slips import Compliance, last_pgf
from sunup.forecast.summary import Titles, summarise
from sunup.planning.alternative import with_bulls_paid
from sunup.planning.cost import cost_lines
from sunup.planning.options import SEXED
from sunup.planning.schedule import straws_per_female
from sunup.planning.setting import base_name

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from sunup.app.forecast_group import Bench
    from sunup.forecast.forecast import Forecast
    from sunup.forecast.herd import HerdFacts
    from sunup.forecast.orders import Orders, SeasonRule
    from sunup.forecast.past import HerdLevel
    from sunup.forecast.run import Run
    from sunup.forecast.timing import Timing
    from sunup.planning.plan import GroupPlan
    from sunup.planning.request import Sire
    from sunup.protocols.protocol import Protocol
    from sunup.records.female import Female


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """A protocol laid out for a group's treated females, ready to be run."""

    protocol: Protocol
    orders: Orders
    zero_on: date
    facts: HerdFacts
    level: HerdLevel | None
    second: Protocol | None
    first_service_on: date | None


def lay_out(
    bench: Bench,
    group: GroupPlan,
    females: Sequence[Female],
    *,
    protocol: Protocol,
    zero_on: date,
    first_service_on: date | None = None,
    timing: Timing | None = None,
    season: SeasonRule = NO_SEASON,
    level: HerdLevel | None = None,
    second: Protocol | None = None,
) -> Laid:
    """Lay out one protocol for `forecast_protocol`; raises what that raises."""
    asked = bench.asked
    sires = _sires(bench, group)
    slipping = last_pgf(protocol)
    compliance = (
        Compliance(
            steps=(slipping,),
            share_late=asked.share_late,
            late_h=asked.late_h,
            share_missed=asked.share_missed,
        )
        if slipping is not None and (asked.share_late or asked.share_missed)
        else None
    )
    orders = make_orders(
        protocol,
        figures=bench.figures,
        season=season,
        timing=timing,
        compliance=compliance,
        share_sexed=sum(s.share for s in sires if s.semen == "sexed"),
        sexed_option=SEXED in group.options and not sires,
        second=None if second is None else _second_watched(bench, group, second),
        watches=bench.watches(group, protocol),
    )
    facts = find_facts(females, zero_on=zero_on, library=bench.library, figures=bench.figures)
    return Laid(
        protocol=protocol,
        orders=bench.with_bulls(group, facts, orders),
        zero_on=zero_on,
        facts=facts,
        level=level,
        second=second,
        first_service_on=first_service_on,
    )


def _second_watched(bench: Bench, group: GroupPlan, second: Protocol) -> Protocol:
    """Watch for returns as the user said; the aids of the first AI are worn off by then."""
    told = bench.told_watches(group)
    return second if told is None else told.in_steps(second, over_all=True)


def run_laid(
    bench: Bench,
    group: GroupPlan,
    laid: Laid,
    *,
    tell: Callable[[str, float], None] | None = None,
) -> Run:
    """Run what is laid out."""
    return run_group(
        laid.facts,
        laid.orders,
        figures=bench.figures,
        params=bench.params,
        seed=bench.asked.seed,
        replicates=bench.asked.replicates,
        level=laid.level,
        threads=bench.threads,
        tell=None if tell is None else lambda share: tell(group.name, share),
    )


def forecast_of(bench: Bench, group: GroupPlan, laid: Laid, run: Run) -> Forecast:
    """Say what a run of what is laid out comes to, with its costs."""
    protocol, second, head = laid.protocol, laid.second, len(laid.facts)
    bulls = bench.bulls(group)
    lines = with_bulls_paid(
        cost_lines(
            protocol,
            head=head,
            library=bench.library,
            chutes=bench.request.chutes,
            options=group.options,
            sires=[replace(s, group=group.name) for s in _sires(bench, group)],
            watches=bench.told_watches(group),
        ),
        protocol,
        head=head,
        library=bench.library,
        bulls=None if bulls is None else bulls.number,
    )
    costs = split_costs(lines, straws=straws_per_female(protocol))
    if second is not None:
        costs = with_second(costs, second, head=head, bench=bench)
    return summarise(
        run,
        titles=Titles(
            group=group.name,
            protocol=protocol.key if second is None else f"{protocol.key}+{second.key}",
            name=protocol.name,
            options=group.options,
            clock_words=clock_words(protocol),
            first_service_on=laid.first_service_on,
        ),
        figures=bench.figures,
        costs=costs,
    )


def _sires(bench: Bench, group: GroupPlan) -> list[Sire]:
    base = base_name(group.name, bench.request)
    return [sire for sire in bench.request.sires if sire.group == base]
