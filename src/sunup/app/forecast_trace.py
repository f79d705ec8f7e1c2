"""Use-case: one female under one protocol, hour by hour."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

from sunup.app.forecast_problems import refused_in
from sunup.app.open import open_library, tells_faults
from sunup.base.problems import Problem, Severity, UsageError
from sunup.forecast.figures import ForecastFigures, params_from_library
from sunup.forecast.follow import follow_female
from sunup.forecast.orders import NO_SEASON, make_orders
from sunup.forecast.slips import OrdersError
from sunup.physiology.females import FemaleError, FemaleKind
from sunup.planning.season import UnknownRegionError

if TYPE_CHECKING:
    from pathlib import Path

    from sunup.forecast.follow import Followed

USUAL_REGION = "US"
_LONGEST_OPEN_DAYS = 730.0  # after two years she is open for reasons of her own


@tells_faults
def trace_female(
    protocol: str,
    *,
    class_: str,
    cycle_day: float | None,
    seed: int,
    days_postpartum: float | None,
    condition: float | None = None,
    overlay: Path | None = None,
) -> tuple[Followed, str]:
    """Follow one female under a protocol's published hours.

    Parameters
    ----------
    protocol : str
        Its key.
    class_ : str
        heifer, first_calf_cow or cow.
    cycle_day : float, optional
        At the first treatment; None: not cycling.
    seed : int
    days_postpartum : float, optional
        At the first treatment; 70 if absent. Of a cow only.
    condition : float, optional
        `forecast.condition_mean` if absent.
    overlay : Path, optional

    Returns
    -------
    Followed
    words : str
        How far the parameters are from a fit.

    Raises
    ------
    UsageError
        If the protocol or class is not known, or she cannot be.
    """
    library, _ = open_library(overlay)
    if protocol not in library.protocols:
        near = difflib.get_close_matches(protocol, library.protocols, n=3)
        hint = f" Did you mean {', '.join(near)}?" if near else ""
        message = f"No protocol '{protocol}'.{hint} See: sunup protocol list --all."
        raise UsageError(message)
    if class_ not in set(FemaleKind):
        message = f"--class '{class_}' is not known. Known: {', '.join(FemaleKind)}."
        raise UsageError(message)
    params = params_from_library(library)
    longest = params.sets[0].no_heat_since_days
    if cycle_day is not None and not 0.0 <= cycle_day <= longest:
        message = (
            f"--cycle-day {cycle_day:g}: give the days since her last heat, 0 to {longest:.0f}; "
            "after more a cow that cycles has been in heat again."
        )
        raise UsageError(message)
    _check_calved(class_, days_postpartum, cycle_day)
    figures = ForecastFigures.from_library(library)
    usual = figures.days_since_calving_mean
    try:
        orders = make_orders(
            library.protocols[protocol],
            figures=figures,
            season=NO_SEASON,
        )
        followed = follow_female(
            orders,
            params=params.sets[0],
            kind=FemaleKind(class_),
            seed=seed,
            cycle_day=cycle_day,
            days_postpartum=usual if days_postpartum is None else days_postpartum,
            condition=figures.condition_mean if condition is None else condition,
        )
    except (OrdersError, FemaleError) as error:
        raise UsageError(str(error)) from None
    return followed, params.words


@tells_faults
def trace_problems(
    protocol: str, *, class_: str, region: str | None = None, overlay: Path | None = None
) -> tuple[Problem, ...]:
    """Say why a plan would not lay a protocol out for a female of a class, and an overlay's faults.

    Parameters
    ----------
    protocol : str
        A key of the library.
    class_ : str
        heifer, first_calf_cow or cow.
    region : str, optional
        Rule pack; US if absent.
    overlay : Path, optional

    Raises
    ------
    UnknownRegionError
        If there is no rule pack of that name.
    """
    library, problems = open_library(overlay)
    known = {key.casefold(): key for key in library.regions}
    pack = known.get((region or USUAL_REGION).strip().casefold())
    if pack is None:
        raise UnknownRegionError(region or "", sorted(library.regions))
    traced = library.protocols[protocol]
    refusal = refused_in(pack, traced, (class_,), library=library)
    whys = [] if refusal is None else [refusal]
    if class_ not in traced.classes:
        whys.append(f"not for {class_.replace('_calf_', '-calf ')}s")
    return (
        *problems,
        *(
            Problem(
                traced.name,
                f"A plan does not lay this out for her: {why.rstrip('.')}.",
                "It is traced to be understood, not to be done.",
                Severity.WARNING,
            )
            for why in whys
        ),
    )


def _check_calved(class_: str, days: float | None, cycle_day: float | None) -> None:
    """Refuse days since calving that she cannot have."""
    if days is None:
        return
    if class_ == FemaleKind.HEIFER:
        message = "--days-calved is for cows: a heifer has not calved. Leave it out."
        raise UsageError(message)
    if not 0.0 <= days <= _LONGEST_OPEN_DAYS:
        message = (
            f"--days-calved {days:g}: give the days since she calved, 0 to {_LONGEST_OPEN_DAYS:g}."
        )
        raise UsageError(message)
    if cycle_day is not None and cycle_day > days:
        message = (
            f"--cycle-day {cycle_day:g} and --days-calved {days:g}: her last heat would be before "
            "she calved. Give a smaller --cycle-day, or --not-cycling."
        )
        raise UsageError(message)
