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
from sunup.app.forecast_problems import (
    clash_problems,
    no_forecast,
    not_run_beside,
    nothing_slips,
    objection,
    old_cows,
    past_problems,
    season_problems,
    unknown_keys,
)
from sunup.app.forecast_second import find_protocol
from sunup.app.open import open_library, tells_faults
from sunup.app.plan_season import plan_season
from sunup.base.problems import UsageError
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
    from sunup.base.problems import Problem
    from sunup.exchange.herd_file import HerdReading
    from sunup.forecast.forecast import Comparison, Forecast
    from sunup.planning.plan import GroupPlan
    from sunup.planning.request import Request
    from sunup.records.female import Female


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupForecast:
    """One group's forecast: of the protocol chosen, and of others beside it.

    `comparisons` set the others (a) against what is chosen (b); `objections` say of others why a
    plan would not lay them out for the group: (protocol, why).
    """

    group: str
    chosen: Forecast
    others: tuple[Forecast, ...] = ()
    comparisons: tuple[Comparison, ...] = ()
    objections: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonForecast:
    """Forecasts of all groups with the plan they rest on and what was wrong on the way."""

    outcome: Outcome
    groups: tuple[GroupForecast, ...]
    problems: tuple[Problem, ...]


@tells_faults
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
        protocol that does not exist, or there are more bulls than females.
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
    for keys in asked.against.values():
        for key in unknown_keys(keys, (*library.protocols, BULLS_ALONE)):
            find_protocol(bench, key, "--against")
    _check_bulls(bench, outcome)
    groups: list[GroupForecast] = []
    problems: list[Problem] = [*outcome.problems, *clash_problems(outcome.plan)]
    for group in outcome.plan.groups:
        females = treated(outcome.females, group)
        if group.chosen is None or not females:
            problems.append(no_forecast(group, asked=bench.asked_for(group)))
            continue
        try:
            told, found = _forecast_group(bench, group, females, tell=tell)
        except OrdersError as error:
            problems.append(no_forecast(group, str(error).rstrip(".")))
            continue
        groups.append(told)
        problems += found
    return SeasonForecast(
        outcome=replace(outcome, forecasts={g.group: g.chosen for g in groups}),
        groups=tuple(groups),
        problems=tuple(problems),
    )


def _check_bulls(bench: Bench, outcome: Outcome) -> None:
    for name, bulls in bench.asked.bulls.items():
        own = [g for g in outcome.plan.groups if base_name(g.name, bench.request) == name]
        females = sum(len(treated(outcome.females, group)) for group in own)
        if bulls.number > females > 0:
            message = f"--bulls {name}={bulls.number}: more bulls than females ({females})."
            raise UsageError(message)


def _forecast_group(
    bench: Bench,
    group: GroupPlan,
    females: Sequence[Female],
    *,
    tell: Callable[[str, float], None] | None,
) -> tuple[GroupForecast, list[Problem]]:
    forecast, chosen = forecast_chosen(bench, group, females, tell=tell)
    problems = [
        *season_problems(bench, forecast, chosen),
        *nothing_slips(bench, forecast, chosen),
        *past_problems(bench, group),
        *old_cows(bench, group, females),
    ]
    others: list[Forecast] = []
    comparisons: list[Comparison] = []
    objections: list[tuple[str, str]] = []
    for key in bench.asked.against.get(base_name(group.name, bench.request), ()):
        named = named_for(tell, f"{group.name}, {key}")
        try:
            if key == BULLS_ALONE:
                other, run = forecast_bulls(bench, group, females, tell=named)
            else:
                other, run = forecast_other(
                    bench, group, females, key=key, chosen=chosen, tell=named
                )
                problems += nothing_slips(bench, other, run)
        except (OrdersError, UsageError) as error:
            problems.append(not_run_beside(group.name, key, str(error)))
            continue
        others.append(other)
        comparisons.append(compare(group.name, (key, run), (group.chosen or "", chosen)))
        why = objection(bench, group, key)
        if why is not None:
            objections.append((key, why))
    told = GroupForecast(
        group=group.name,
        chosen=forecast,
        others=tuple(others),
        comparisons=tuple(comparisons),
        objections=tuple(objections),
    )
    return told, problems


def named_for(
    tell: Callable[[str, float], None] | None, name: str
) -> Callable[[str, float], None] | None:
    """Tell under another name than the group's."""
    if tell is None:
        return None
    return lambda _group, share: tell(name, share)
