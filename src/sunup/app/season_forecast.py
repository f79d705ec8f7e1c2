"""Use-case: the forecast that is kept beside an adopted plan."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.app.forecast_group import forecast_chosen, make_bench, treated
from sunup.app.forecast_season import named_for
from sunup.app.open import open_library
from sunup.forecast.slips import OrdersError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from sunup.app.forecast_asked import Asked
    from sunup.forecast.forecast import Forecast
    from sunup.planning.plan import Plan
    from sunup.records.female import Female


def forecast_adopted(
    plan: Plan,
    females: Sequence[Female],
    *,
    asked: Asked,
    overlay: Path | None = None,
    tell: Callable[[str, float], None] | None = None,
) -> tuple[dict[str, Forecast], str]:
    """Forecast every group of a plan with the hours it has.

    Parameters
    ----------
    plan : Plan
    females : sequence of Female
        The herd list it was made from.
    asked : Asked
    overlay : Path, optional
    tell : callable, optional
        Called with what is run and the share done.

    Returns
    -------
    mapping of group to Forecast, and the simulator's version
        Groups that cannot be forecast are left out.
    """
    library, _ = open_library(overlay)
    bench = make_bench(plan, library, asked=asked)
    told: dict[str, Forecast] = {}
    for group in plan.groups:
        hers = treated(females, group)
        if group.chosen is None or not hers:
            continue
        try:
            forecast, _ = forecast_chosen(bench, group, hers, tell=named_for(tell, group.name))
        except OrdersError:
            continue
        told[group.name] = forecast
    return told, next((f.params_version for f in told.values()), "")
