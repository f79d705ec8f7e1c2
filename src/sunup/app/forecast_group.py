"""One group's forecasts: of what is laid out, of another protocol, of bulls alone."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.app.forecast_asked import BULLS_ALONE
from sunup.app.forecast_kernel import count_threads
from sunup.app.forecast_laid import forecast_of, lay_out, run_laid
from sunup.app.forecast_second import find_protocol, find_second
from sunup.app.forecast_timing import first_session_h, planned_timing
from sunup.base.problems import UsageError
from sunup.forecast.bulls import with_bulls
from sunup.forecast.figures import ForecastFigures, params_from_library
from sunup.forecast.herd import find_facts
from sunup.forecast.level_curve import read_curve
from sunup.forecast.orders import NO_SEASON, SeasonRule, bulls_alone, make_orders
from sunup.forecast.past import PastResult, herd_level, level_to_learn_on
from sunup.forecast.run import run_group
from sunup.forecast.slips import OrdersError
from sunup.forecast.steps import inseminates_any
from sunup.forecast.summary import Costs, Titles, summarise
from sunup.forecast.watches import Watches
from sunup.physiology.orders import Aid
from sunup.planning.alternative import cost_of_bull
from sunup.planning.choice import without_barred
from sunup.planning.fit import lead_days
from sunup.planning.heat_aids import wants_aid, with_aids
from sunup.planning.options import OptionError, apply_options
from sunup.planning.request import Request
from sunup.planning.setting import base_name
from sunup.records.female import FemaleClass

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from sunup.app.forecast_asked import Asked
    from sunup.app.forecast_laid import Laid
    from sunup.forecast.bulls import Bulls
    from sunup.forecast.figures import ParamSets
    from sunup.forecast.forecast import Forecast
    from sunup.forecast.herd import HerdFacts
    from sunup.forecast.level_curve import LevelCurve
    from sunup.forecast.orders import Orders
    from sunup.forecast.past import HerdLevel
    from sunup.forecast.run import Run
    from sunup.forecast.timing import Timing
    from sunup.library import Library
    from sunup.planning.plan import GroupPlan, Plan
    from sunup.protocols.protocol import Protocol
    from sunup.records.female import Female

PAST_REPLICATES = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """What every group's forecast needs."""

    plan: Plan
    request: Request
    library: Library
    figures: ForecastFigures
    params: ParamSets
    asked: Asked
    threads: int

    def season(self, females: Sequence[Female]) -> SeasonRule:
        """Bulls and length of season for these females."""
        figures, asked = self.figures, self.asked
        heifers = sum(f.class_ is FemaleClass.HEIFER for f in females)
        usual = (
            figures.season_days_heifers if 2 * heifers > len(females) else figures.season_days_cows
        )
        after = (
            figures.bulls_after_days if asked.bulls_after_days is None else (asked.bulls_after_days)
        )
        return SeasonRule(
            bulls_after_days=None if asked.no_bulls else after,
            season_days=usual if asked.season_days is None else asked.season_days,
        )

    def told_watches(self, group: GroupPlan) -> Watches | None:
        """How the user said heats of a group are watched."""
        return self.request.watched(base_name(group.name, self.request))

    def watches(self, group: GroupPlan, protocol: Protocol) -> Watches:
        """How heats are watched and judged: as told, with the heat aids that a plan buys for it."""
        told = self.told_watches(group)
        usual = told or Watches.of(self.figures)
        if usual.aid is not None or not wants_aid(protocol):
            return usual
        origin = "; ".join(filter(None, (usual.origin, "the plan buys heat aids")))
        return replace(usual, aid=Aid.PATCH, origin=origin)

    def as_watched(self, group: GroupPlan, protocol: Protocol) -> Protocol:
        """Write how heats are watched into a protocol's steps."""
        watches = self.watches(group, protocol)
        return watches.in_steps(protocol, over_all=watches.is_told)

    def asked_for(self, group: GroupPlan) -> str | None:
        """Key of the protocol asked for a group."""
        return self.request.protocols.get(base_name(group.name, self.request))

    def bulls(self, group: GroupPlan) -> Bulls | None:
        """Bulls stated for a group; None: enough of them."""
        return self.asked.bulls.get(base_name(group.name, self.request))

    def with_bulls(self, group: GroupPlan, facts: HerdFacts, orders: Orders) -> Orders:
        """Reckon with the number of a group's bulls, where it is stated."""
        bulls = self.bulls(group)
        if bulls is None:
            return orders
        return with_bulls(
            bulls,
            facts,
            orders,
            figures=self.figures,
            params=self.params,
            seed=self.asked.seed,
        )


def make_bench(plan: Plan, library: Library, *, asked: Asked) -> Bench:
    """Lay out what every group's forecast needs."""
    return Bench(
        plan=plan,
        request=Request.from_json(plan.settings),
        library=library,
        figures=ForecastFigures.from_library(library),
        params=params_from_library(library),
        asked=asked,
        threads=count_threads(),
    )


def treated(females: Sequence[Female], group: GroupPlan) -> list[Female]:
    """Return the females the group's schedule counts on, in treatment order."""
    place = {tag: i for i, tag in enumerate(group.order)}
    base = group.name.rpartition(", start ")[0] or group.name
    found = [f for f in females if f.tag in place and f.group in {group.name, base}]
    return sorted(found, key=lambda f: place[f.tag])


def forecast_chosen(
    bench: Bench,
    group: GroupPlan,
    females: Sequence[Female],
    *,
    tell: Callable[[str, float], None] | None = None,
) -> tuple[Forecast, Run]:
    """Forecast the protocol chosen for a group with its planned hours, to the season's end.

    Raises
    ------
    OrdersError
        If it cannot be forecast, or puts bulls in itself where they were asked for otherwise.
    """
    protocol = chosen_protocol(bench, group)
    asked = bench.asked
    if not inseminates_any(protocol) and (asked.no_bulls or asked.bulls_after_days is not None):
        flag = "--no-bulls" if asked.no_bulls else "--bulls-after"
        message = f"{protocol.name} puts bulls in by itself, against {flag}; leave {flag} out"
        raise OrdersError(message)
    timing, zero_on, first_on = planned_timing(group, protocol, zone_name=bench.plan.zone)
    facts = find_facts(females, zero_on=zero_on, library=bench.library, figures=bench.figures)
    return forecast_protocol(
        bench,
        group,
        females,
        protocol=protocol,
        zero_on=zero_on,
        first_service_on=first_on,
        timing=timing,
        season=replace(bench.season(females), first_session_h=first_session_h(group, protocol)),
        level=level_of(bench, base_name(group.name, bench.request), facts),
        second=find_second(
            bench, group, bench.asked.second.get(base_name(group.name, bench.request)), "--resynch"
        ),
        tell=tell,
    )


def level_of(bench: Bench, group: str, facts: HerdFacts) -> HerdLevel | None:
    """What the group's past results, and who inseminates it, say of its own level.

    None where neither was said: a herd like any other.

    Raises
    ------
    UsageError
        If a past protocol is not known or inseminates nobody.
    """
    figures = bench.figures
    past = bench.asked.past.get(group, ())
    technicians = bench.request.inseminated_by(group)
    if not past and technicians is None:
        return None
    herd_sd = figures.herd_logit_sd
    if technicians is not None:
        herd_sd = technicians.herd_sd(herd_sd, figures.technician_sds)
    wide = level_to_learn_on(herd_sd=herd_sd, lasting_share=figures.herd_lasting_share)
    curves = {
        key: _curve(bench, key, facts, level=wide)
        for key in dict.fromkeys(s.protocol for s in past)
    }
    level = herd_level(
        [
            PastResult(inseminated=s.inseminated, pregnant=s.pregnant, curve=curves[s.protocol])
            for s in past
        ],
        herd_sd=herd_sd,
        lasting_share=figures.herd_lasting_share,
    )
    if technicians is None:
        return level
    return replace(level, words=f"{level.words}; inseminated by {technicians.words}")


def _curve(bench: Bench, key: str, facts: HerdFacts, *, level: HerdLevel) -> LevelCurve:
    """What the simulator expects of a past protocol in females like today's, at all levels."""
    protocol = find_protocol(bench, key, "--past")
    try:
        orders = make_orders(protocol, figures=bench.figures, season=NO_SEASON)
    except OrdersError as error:
        message = f"--past: {error}"
        raise UsageError(message) from None
    run = run_group(
        facts,
        orders,
        figures=bench.figures,
        params=bench.params,
        seed=bench.asked.seed,
        replicates=PAST_REPLICATES,
        level=level,
        threads=bench.threads,
    )
    curve = read_curve(run.tally, mean=level.mean, sd=level.sd)
    if curve is None:
        message = f"--past: {protocol.name} inseminates nobody here; leave it out."
        raise UsageError(message)
    return curve


def forecast_other(
    bench: Bench,
    group: GroupPlan,
    females: Sequence[Female],
    *,
    key: str,
    chosen: Run,
    tell: Callable[[str, float], None] | None = None,
) -> tuple[Forecast, Run]:
    """Forecast a protocol that is not laid out, with the first service on the same day.

    Its published hours are used. Where both it and what is chosen inseminate, its run ends when its
    inseminations are settled; natural service on either side goes on to the season's end, since all
    that conceive in the season is what the two can be compared by.

    Raises
    ------
    OrdersError
        If it cannot be forecast.
    UsageError
        If there is no such protocol.
    """
    laid = lay_out_other(bench, group, females, key=key, chosen=chosen)
    run = run_laid(bench, group, laid, tell=tell)
    return forecast_of(bench, group, laid, run), run


def lay_out_other(
    bench: Bench, group: GroupPlan, females: Sequence[Female], *, key: str, chosen: Run
) -> Laid:
    """Lay out a protocol for `forecast_other`; raises what that raises."""
    first_key, _, second_key = key.partition("+")
    plain = find_protocol(bench, first_key, "--against")
    try:
        protocol = with_options(bench, group, plain)
    except OptionError:
        protocol = bench.as_watched(group, plain)
    laid = chosen_protocol(bench, group)
    _, zero_on, _ = planned_timing(group, laid, zone_name=bench.plan.zone)
    first_on = zero_on + timedelta(days=lead_days(laid, bench.library))
    by_ai = chosen.orders.has_ai and inseminates_any(protocol)
    return lay_out(
        bench,
        group,
        females,
        protocol=protocol,
        zero_on=first_on - timedelta(days=lead_days(protocol, bench.library)),
        first_service_on=None if by_ai else first_on,
        season=NO_SEASON if by_ai else bench.season(females),
        level=chosen.level,
        second=find_second(bench, group, second_key, "--against"),
    )


def forecast_bulls(
    bench: Bench,
    group: GroupPlan,
    females: Sequence[Female],
    *,
    tell: Callable[[str, float], None] | None = None,
) -> tuple[Forecast, Run]:
    """Forecast bulls alone, turned in on the day inseminations would begin."""
    _, _, first_on = planned_timing(group, chosen_protocol(bench, group), zone_name=bench.plan.zone)
    facts = find_facts(females, zero_on=first_on, library=bench.library, figures=bench.figures)
    orders = bench.with_bulls(group, facts, bulls_alone(bench.season(females)))
    bulls = bench.bulls(group)
    cost = group.bulls_alone.cost_per_female
    if bulls is not None:
        cost = bulls.number * cost_of_bull(bench.library).per_year / len(females)
    run = run_group(
        facts,
        orders,
        figures=bench.figures,
        params=bench.params,
        seed=bench.asked.seed,
        replicates=bench.asked.replicates,
        threads=bench.threads,
        tell=None if tell is None else lambda share: tell(group.name, share),
    )
    forecast = summarise(
        run,
        titles=Titles(
            group=group.name,
            protocol=BULLS_ALONE,
            name="bulls alone",
            first_service_on=first_on,
        ),
        figures=bench.figures,
        costs=Costs(per_female=cost),
    )
    return forecast, run


def forecast_protocol(
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
    tell: Callable[[str, float], None] | None = None,
) -> tuple[Forecast, Run]:
    """Forecast one protocol for the treated females of a group.

    Raises
    ------
    OrdersError
        If it cannot be forecast.
    """
    laid = lay_out(
        bench,
        group,
        females,
        protocol=protocol,
        zero_on=zero_on,
        first_service_on=first_service_on,
        timing=timing,
        season=season,
        level=level,
        second=second,
    )
    run = run_laid(bench, group, laid, tell=tell)
    return forecast_of(bench, group, laid, run), run


def chosen_protocol(bench: Bench, group: GroupPlan) -> Protocol:
    """Return the protocol chosen for a group as it is laid out."""
    return with_options(bench, group, bench.library.protocols[group.chosen or ""])


def with_options(bench: Bench, group: GroupPlan, protocol: Protocol) -> Protocol:
    """Return a protocol with the group's options and watches, without what the region bars."""
    lines = [line for line in bench.plan.females if line.group == group.name and line.is_treated]
    classes = tuple(dict.fromkeys(sorted(line.class_ for line in lines)))
    changed = apply_options(protocol, group.options, library=bench.library, classes=classes)
    kept = without_barred(changed, bench.library.regions[bench.request.region])
    return bench.as_watched(group, with_aids(kept, bench.told_watches(group)))
