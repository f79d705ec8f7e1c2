"""Several protocols for one group: those that begin on the same day share lives up to it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.app.forecast_group import lay_out_other
from sunup.app.forecast_laid import forecast_of
from sunup.forecast.run import run_protocols
from sunup.forecast.slips import OrdersError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from sunup.app.forecast_group import Bench
    from sunup.app.forecast_laid import Laid
    from sunup.forecast.forecast import Forecast
    from sunup.forecast.run import Run
    from sunup.planning.plan import GroupPlan
    from sunup.records.female import Female


def forecast_others(
    bench: Bench,
    group: GroupPlan,
    females: Sequence[Female],
    *,
    keys: Sequence[str],
    chosen: Run,
    tell: Callable[[str, float], None] | None = None,
) -> dict[str, tuple[Forecast, Run]]:
    """Forecast protocols that are not laid out; each is what `forecast_other` gives.

    Parameters
    ----------
    keys : sequence of str
        Of the protocols.
    chosen : Run
        Of the protocol that is laid out.
    tell : callable, optional
        Called with what is run and the share of it done.

    Returns
    -------
    dict of str to tuple of (Forecast, Run)
        By protocol, in the order of `keys`; those that cannot be forecast are left out.
    """
    by_day: dict[date, list[tuple[str, Laid]]] = {}
    for key in keys:
        try:
            laid = lay_out_other(bench, group, females, key=key, chosen=chosen)
        except OrdersError:
            continue
        by_day.setdefault(laid.zero_on, []).append((key, laid))
    found: dict[str, tuple[Forecast, Run]] = {}
    for alike in by_day.values():
        runs = run_protocols(
            alike[0][1].facts,
            [laid.orders for _, laid in alike],
            figures=bench.figures,
            params=bench.params,
            seed=bench.asked.seed,
            replicates=bench.asked.replicates,
            level=chosen.level,
            threads=bench.threads,
            tell=_named(tell, f"{group.name}, {_words([key for key, _ in alike])}"),
        )
        for (key, laid), run in zip(alike, runs, strict=True):
            found[key] = forecast_of(bench, group, laid, run), run
    return {key: found[key] for key in keys if key in found}


def _words(keys: Sequence[str]) -> str:
    more = len(keys) - 1
    return keys[0] if more == 0 else f"{keys[0]} and {more} more"


def _named(tell: Callable[[str, float], None] | None, name: str) -> Callable[[float], None] | None:
    return None if tell is None else lambda share: tell(name, share)
