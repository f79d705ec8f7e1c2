"""Use-case: put forecasts into a plan: what is chosen, what else fits, bulls alone."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.app.forecast_asked import BULLS_ALONE
from sunup.app.forecast_group import (
    forecast_bulls,
    forecast_chosen,
    make_bench,
    treated,
)
from sunup.app.forecast_problems import no_forecast, old_cows, season_problems
from sunup.app.forecast_season import named_for
from sunup.app.forecast_together import forecast_others
from sunup.app.open import open_library
from sunup.forecast.compare import compare
from sunup.forecast.slips import OrdersError
from sunup.planning.plan import ForecastSummary
from sunup.protocols.protocol import Standing

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from sunup.app.forecast_asked import Asked
    from sunup.app.forecast_group import Bench
    from sunup.app.plan_season import Outcome
    from sunup.base.problems import Problem
    from sunup.forecast.forecast import Comparison, Forecast, Interval
    from sunup.planning.plan import Fit, GroupPlan
    from sunup.records.female import Female


def add_forecasts(
    outcome: Outcome,
    *,
    asked: Asked,
    overlay: Path | None = None,
    tell: Callable[[str, float], None] | None = None,
) -> Outcome:
    """Forecast every group's choices and put summaries into the plan.

    The protocol chosen is run with its planned hours to the season's end; the other recommended
    protocols that fit with their published hours, until their inseminations are settled (to the
    season's end where bulls serve); all on the same females with the same luck.

    Parameters
    ----------
    outcome : Outcome
    asked : Asked
    overlay : Path, optional
        The one the plan was made with.
    tell : callable, optional
        Called with what is run and the share done.

    Returns
    -------
    Outcome
        Groups that cannot be forecast stay as they are, with a problem that says why.
    """
    library, _ = open_library(overlay)
    bench = make_bench(outcome.plan, library, asked=asked)
    groups: list[GroupPlan] = []
    problems: list[Problem] = []
    forecasts: dict[str, Forecast] = {}
    compared: dict[str, tuple[Forecast, ...]] = {}
    for group in outcome.plan.groups:
        females = treated(outcome.females, group)
        if group.chosen is None or not females:
            groups.append(group)
            problems.append(no_forecast(group, asked=bench.asked_for(group)))
            continue
        try:
            told, chosen, others, found = _forecast_group(bench, group, females, tell=tell)
        except OrdersError as error:
            groups.append(group)
            problems.append(no_forecast(group, str(error).rstrip(".")))
            continue
        groups.append(told)
        problems += found
        forecasts[group.name], compared[group.name] = chosen, others
    return replace(
        outcome,
        plan=replace(outcome.plan, groups=tuple(groups)),
        problems=(*outcome.problems, *problems),
        forecasts=forecasts,
        compared=compared,
    )


def _forecast_group(
    bench: Bench,
    group: GroupPlan,
    females: Sequence[Female],
    *,
    tell: Callable[[str, float], None] | None,
) -> tuple[GroupPlan, Forecast, tuple[Forecast, ...], tuple[Problem, ...]]:
    """Return the group with its summaries, its forecast, those of the others, and problems."""
    forecast, run = forecast_chosen(
        bench, group, females, tell=named_for(tell, f"{group.name}, {group.chosen}")
    )
    summary = summary_of(forecast)
    found = forecast_others(
        bench,
        group,
        females,
        keys=[fit.protocol for fit in group.fits if fit.protocol != group.chosen and _is_told(fit)],
        chosen=run,
        tell=tell,
    )
    fits: list[Fit] = []
    for fit in group.fits:
        told = summary if fit.protocol == group.chosen else None
        if fit.protocol in found:
            other, its_run = found[fit.protocol]
            against = compare(group.name, (fit.protocol, its_run), (group.chosen or "", run))
            told = summary_of(other, against=against)
        fits.append(fit if told is None else replace(fit, forecast=told))
    alone, its_run = forecast_bulls(
        bench, group, females, tell=named_for(tell, f"{group.name}, bulls alone")
    )
    against = compare(group.name, (BULLS_ALONE, its_run), (group.chosen or "", run))
    whole = replace(
        group,
        forecast=summary,
        fits=tuple(fits),
        bulls_alone=replace(group.bulls_alone, forecast=summary_of(alone, against=against)),
    )
    beside = (*(other for other, _ in found.values()), alone)
    problems = season_problems(bench, forecast, run) + old_cows(bench, group, females)
    return whole, forecast, beside, problems


def _is_told(fit: Fit) -> bool:
    """Whether a protocol that fits is forecast beside the one chosen: a recommended one."""
    return fit.standing == Standing.RECOMMENDED.value


def summary_of(forecast: Forecast, *, against: Comparison | None = None) -> ForecastSummary:
    """Return what a plan keeps of a forecast."""
    has_ai = bool(forecast.waterfall)
    sources = forecast.sources
    return ForecastSummary(
        n=forecast.n,
        seed=forecast.seed,
        replicates=forecast.replicates,
        pregnant_to_ai=_range(forecast.pregnant_to_ai) if has_ai else None,
        on_heat=forecast.on_heat.mean,
        on_time=forecast.on_time.mean,
        pregnant_in_season=_range(forecast.season[-1].by_end) if forecast.season else None,
        cost_per_pregnancy=None
        if forecast.cost_per_pregnancy is None
        else _range(forecast.cost_per_pregnancy),
        spread=(sources.luck, sources.herd, sources.parameters) if has_ai else None,
        better_than_chosen=None if against is None else against.chance_a_better,
        more_than_chosen=None
        if against is None
        else (against.more_low80, against.more_median, against.more_high80),
        rests_on=forecast.rests_on,
        assumed=forecast.assumed,
        left_out=forecast.left_out,
    )


def _range(interval: Interval) -> tuple[float, float, float]:
    return interval.low80, interval.median, interval.high80
