"""Use-case: from a herd file to what the plan will do, group by group."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sunup.app.forecast_asked import BULLS_ALONE
from sunup.app.forecast_group import (
    forecast_bulls,
    forecast_chosen,
    forecast_other,
    make_bench,
    treated,
)
from sunup.app.open import open_library
from sunup.app.plan_season import plan_season
from sunup.base.problems import Problem, Severity
from sunup.forecast.compare import compare
from sunup.forecast.slips import OrdersError
from sunup.planning.season import UnknownGroupError
from sunup.planning.setting import base_name

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from sunup.app.forecast_asked import Asked
    from sunup.app.forecast_group import Bench
    from sunup.app.plan_season import Outcome
    from sunup.exchange.herd_file import HerdReading
    from sunup.forecast.forecast import Comparison, Forecast
    from sunup.planning.plan import GroupPlan
    from sunup.planning.request import Request
    from sunup.records.female import Female


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupForecast:
    """One group's forecast: of the protocol chosen, and of others beside it."""

    group: str
    chosen: Forecast
    others: tuple[Forecast, ...] = ()
    comparisons: tuple[Comparison, ...] = ()  # the other protocols (a) against what is chosen (b)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonForecast:
    """Forecasts of all groups with the plan they rest on and what was wrong on the way."""

    outcome: Outcome
    groups: tuple[GroupForecast, ...]
    problems: tuple[Problem, ...]


def forecast_season(
    herd_file: Path,
    request: Request,
    *,
    asked: Asked,
    reading: HerdReading | None = None,
    overlay: Path | None = None,
    as_of_given: bool = False,
    tell: Callable[[str, float], None] | None = None,
) -> SeasonForecast:
    """Plan a season and forecast the protocol chosen for each group, with the planned hours.

    Parameters
    ----------
    herd_file : Path
    request : Request
    asked : Asked
    reading, overlay, as_of_given
        As `plan_season` takes them.
    tell : callable, optional
        Called with what is run and the share done.

    Returns
    -------
    SeasonForecast

    Raises
    ------
    UsageError
        As `plan_season` does; also if past results or protocols to compare name a group or a
        protocol that does not exist.
    """
    outcome = plan_season(
        herd_file, request, reading=reading, overlay=overlay, as_of_given=as_of_given
    )
    library, _ = open_library(overlay)
    bench = make_bench(outcome.plan, library, asked=asked)
    known = list(dict.fromkeys(base_name(g.name, request) for g in outcome.plan.groups))
    for name in (*asked.past, *asked.against, *asked.second, *asked.bulls):
        if name not in known:
            raise UnknownGroupError(name, known)
    groups: list[GroupForecast] = []
    problems: list[Problem] = list(outcome.problems)
    for group in outcome.plan.groups:
        females = treated(outcome.females, group)
        if group.chosen is None or not females:
            problems.append(no_forecast(group.name, "no protocol is laid out for it"))
            continue
        try:
            groups.append(_forecast_group(bench, group, females, tell=tell))
        except OrdersError as error:
            problems.append(no_forecast(group.name, str(error).rstrip(".")))
    return SeasonForecast(
        outcome=replace(outcome, forecasts={g.group: g.chosen for g in groups}),
        groups=tuple(groups),
        problems=tuple(problems),
    )


def _forecast_group(
    bench: Bench,
    group: GroupPlan,
    females: Sequence[Female],
    *,
    tell: Callable[[str, float], None] | None,
) -> GroupForecast:
    forecast, chosen = forecast_chosen(bench, group, females, tell=tell)
    others: list[Forecast] = []
    comparisons: list[Comparison] = []
    for key in bench.asked.against.get(base_name(group.name, bench.request), ()):
        named = named_for(tell, f"{group.name}, {key}")
        if key == BULLS_ALONE:
            others.append(forecast_bulls(bench, group, females, tell=named)[0])
            continue
        other, run = forecast_other(bench, group, females, key=key, chosen=chosen, tell=named)
        others.append(other)
        comparisons.append(compare(group.name, (key, run), (group.chosen or "", chosen)))
    return GroupForecast(
        group=group.name,
        chosen=forecast,
        others=tuple(others),
        comparisons=tuple(comparisons),
    )


def named_for(
    tell: Callable[[str, float], None] | None, name: str
) -> Callable[[str, float], None] | None:
    """Tell under another name than the group's."""
    if tell is None:
        return None
    return lambda _group, share: tell(name, share)


def no_forecast(group: str, why: str) -> Problem:
    """Say that a group has no forecast."""
    return Problem(group, f"No forecast: {why}.", "Choose a protocol that fits.", Severity.WARNING)
