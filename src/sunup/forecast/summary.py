"""From a run to a forecast: intervals, half-days, periods, calving weeks, what it rests on."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from sunup.forecast.explain import make_waterfall
from sunup.forecast.forecast import (
    DOTS,
    CalvingWeek,
    Forecast,
    HeatSpan,
    Interval,
    SeasonPeriod,
    SecondRound,
    small_of,
)
from sunup.forecast.spread import split_spread
from sunup.forecast.tally import (
    FIRST_CALVING_DAY,
    HALF_DAY_H,
    PERIOD_DAYS,
    WEEK_DAYS,
    half_days,
)

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from sunup.forecast.figures import ForecastFigures
    from sunup.forecast.orders import Orders
    from sunup.forecast.run import Run

QUANTILES = (0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975)
MOST_SPANS = 14  # half-days of heats that are told one by one
MOST_DAYS = 28
DAY, WEEK = 2, 14  # half-days
RARE = 0.02  # of the seasons: so few do not reach beyond the outermost of `QUANTILES`
LIKELY = 0.05  # of the seasons: where fewer have a pregnancy, its cost hangs on a handful
LEFT_OUT = (
    "technicians, semen and sires one by one (they are part of herd-to-herd differences)",
    "disease, weather, hauling and changes of feed",
    "weight and condition gained or lost after the list was made",
    "the age of cows: the library holds no figure of how far conception falls in old ones",
    "herd-to-herd differences in heats shown and seen; they touch conception only",
    "mistakes in giving drugs, but for those it says it rests on",
)
LEFT_OUT_BULLS = (
    "bulls that are lame, unsound or fighting, and herd-to-herd differences in what they get in "
    "calf: counts of bulls are steadier here than on ranches. In the mean bulls alone get fewer "
    "cows in calf here than is published (86 of 100 in 63 days, 90 to 94), bulls after AI more "
    "(91, 83 to 89): that flatters AI"
)
LEFT_OUT_NUMBER = "the number and age of the bulls: there are enough of them for every heat"


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What is paid: for each female treated, for each insemination, for each not pregnant.

    In the currency of the prices; a share of an insemination counted with every female is not
    counted again. `per_open` is paid for each female that is not pregnant to the first AI, where
    a second follows.
    """

    per_female: float
    per_insemination: float = 0.0
    per_open: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Titles:
    """How a forecast is named.

    Parameters
    ----------
    group, protocol, name : str
    options : tuple of str
    clock_words : str
    first_service_on : date, optional
        Day the season is counted from, for the dates of calving weeks.
    """

    group: str
    protocol: str
    name: str
    options: tuple[str, ...] = ()
    clock_words: str = "the first treatment"
    first_service_on: date | None = None


def interval(values: NDArray[np.number], *, of: int | None) -> Interval:
    """Summarise equally likely seasons.

    Parameters
    ----------
    values : ndarray, shape (replicates,)
    of : int, optional
        Females the counts are of.
    """
    numbers = np.asarray(values, float)
    q = [float(x) for x in np.quantile(numbers, QUANTILES)]
    return Interval(
        mean=float(numbers.mean()),
        median=q[3],
        low50=q[2],
        high50=q[4],
        low80=q[1],
        high80=q[5],
        low95=q[0],
        high95=q[6],
        of=of,
    )


def find_dots(values: NDArray[np.number]) -> tuple[int, ...]:
    """Return `DOTS` equally likely seasons as whole counts, from the least on."""
    places = (np.arange(DOTS) + 0.5) / DOTS
    return tuple(int(x) for x in np.quantile(values, places, method="inverted_cdf"))


def summarise(
    run: Run, *, titles: Titles, figures: ForecastFigures, costs: Costs | None = None
) -> Forecast:
    """Make a forecast of a run.

    Parameters
    ----------
    run : Run
    titles : Titles
    figures : ForecastFigures
    costs : Costs, optional

    Returns
    -------
    Forecast
    """
    n = len(run.facts)
    tally, orders = run.tally, run.orders
    return Forecast(
        n=n,
        group=titles.group,
        protocol=titles.protocol,
        name=titles.name,
        options=titles.options,
        seed=run.seed,
        replicates=run.replicates,
        rests_on=_rests_on(run),
        assumed=run.facts.assumed,
        left_out=_left_out(orders),
        clock_h=orders.clock_h,
        clock_words=titles.clock_words,
        heats=_heats(run),
        heats_summed=_heats_summed(run),
        on_heat=interval(tally.on_heat, of=n),
        on_time=interval(tally.on_time, of=n),
        inseminations=interval(tally.inseminations, of=None),
        pregnant_to_ai=interval(tally.pregnant, of=n),
        dots=find_dots(_pregnancies(run)),
        sources=split_spread(tally.split, females=n),
        season=_season(run) if orders.has_season else (),
        calving=_calving(run, titles.first_service_on) if orders.has_season else (),
        ready_next_year=interval(tally.ready, of=n) if orders.has_season else None,
        cost_per_pregnancy=None if costs is None else cost_per_pregnancy(run, costs),
        waterfall=make_waterfall(tally.reasons) if orders.has_ai else (),
        library_version=figures.library_version,
        params_version=run.params.version,
        params_words=run.params.words,
        second=_second(run),
        after_season=_after_season(run),
        seen_if=orders.seen_if,
        without_pregnancy=0.0 if costs is None else float((_pregnancies(run) == 0).mean()),
    )


def _pregnancies(run: Run) -> NDArray[np.int64]:
    """To AI; in the season where there is no AI."""
    return run.tally.pregnant if run.orders.has_ai else run.tally.conceived.sum(axis=1)


def _after_season(run: Run) -> Interval | None:
    late = run.tally.after_season
    return interval(late, of=len(run.facts)) if late.any() else None


def cost_per_pregnancy(run: Run, costs: Costs) -> Interval | None:
    """Cost per pregnancy to AI (of the season where there is no AI); None where none is likely.

    A season without a single pregnancy has no such cost, and what is paid in it still is. Where
    more than `RARE` of them end so, one number stands for all: what all seasons pay over all
    their pregnancies. Else theirs counts as the dearest.
    """
    counts = _pregnancies(run)
    none = float((counts == 0).mean())
    if none > 1.0 - LIKELY:
        return None
    tally, n = run.tally, len(run.facts)
    paid = costs.per_female * n + costs.per_insemination * tally.inseminations
    if run.orders.second is not None:
        paid = paid + costs.per_open * (n - tally.pregnant + tally.pregnant_again)
    paid = np.broadcast_to(paid, counts.shape)
    if none > RARE:
        return interval(np.full(1, paid.sum() / counts.sum()), of=None)
    return interval(paid / np.maximum(counts, 1), of=None)


def _left_out(orders: Orders) -> tuple[str, ...]:
    if orders.bulls_in_h is None:
        return LEFT_OUT
    if orders.has_bull_number:
        return (*LEFT_OUT, LEFT_OUT_BULLS)
    return (*LEFT_OUT, LEFT_OUT_NUMBER, LEFT_OUT_BULLS)


def _second(run: Run) -> SecondRound | None:
    second, tally, n = run.orders.second, run.tally, len(run.facts)
    if second is None:
        return None
    return SecondRound(
        protocol=second.key,
        name=second.name,
        pregnant_to_first=interval(tally.pregnant - tally.pregnant_again, of=n),
        inseminated=interval(tally.again, of=n),
        pregnant=interval(tally.pregnant_again, of=n),
    )


def _heats(run: Run, together: int = 1) -> tuple[HeatSpan, ...]:
    """Heats of so many half-days `together`."""
    low, number = half_days(run.orders)
    starts = np.arange(0, number, together)
    true, seen = (
        np.add.reduceat(counts, starts, axis=1)
        for counts in (run.tally.true_heats, run.tally.seen_heats)
    )
    return tuple(
        HeatSpan(
            start_h=low + HALF_DAY_H * float(start),
            true_mean=float(true[:, i].mean()),
            true_low80=float(np.quantile(true[:, i], 0.1)),
            true_high80=float(np.quantile(true[:, i], 0.9)),
            seen_mean=float(seen[:, i].mean()),
            seen_low80=float(np.quantile(seen[:, i], 0.1)),
            seen_high80=float(np.quantile(seen[:, i], 0.9)),
            hours=HALF_DAY_H * together,
        )
        for i, start in enumerate(starts)
    )


def _heats_summed(run: Run) -> tuple[HeatSpan, ...]:
    """The heats by day or week, where half-days are more than a reader takes in, or too empty.

    Of the spans that are few enough, the shortest of which those large enough to be shown hold
    half of the heats; the shortest where none does.
    """
    _, number = half_days(run.orders)
    shortest = 1 if number <= MOST_SPANS else DAY if number <= DAY * MOST_DAYS else WEEK
    longer = [span for span in (DAY, WEEK) if shortest < span < number]
    by_span = {span: _heats(run, span) for span in (shortest, *longer)}
    small = small_of(len(run.facts))
    chosen = next((k for k, heats in by_span.items() if _tells_half(heats, small)), shortest)
    return () if chosen == 1 else by_span[chosen]


def _tells_half(heats: tuple[HeatSpan, ...], small: float) -> bool:
    told = sum(span.larger for span in heats if span.larger >= small)
    return told >= 0.5 * sum(span.larger for span in heats)


def _season(run: Run) -> tuple[SeasonPeriod, ...]:
    n = len(run.facts)
    conceived = run.tally.conceived
    sums = conceived.cumsum(axis=1)
    return tuple(
        SeasonPeriod(
            number=i + 1,
            from_day=i * PERIOD_DAYS,
            to_day=min((i + 1) * PERIOD_DAYS, round(run.orders.season_days)),
            conceived=interval(conceived[:, i], of=n),
            by_end=interval(sums[:, i], of=n),
        )
        for i in range(conceived.shape[1])
    )


def _calving(run: Run, first_on: date | None) -> tuple[CalvingWeek, ...]:
    """Calving weeks from the first to the last in which calves are likely at all."""
    calves, by_ai = run.tally.calves, run.tally.calves_ai
    sums = calves.cumsum(axis=1)
    some = np.flatnonzero(calves.mean(axis=0) >= 0.05)
    if some.size == 0:
        return ()
    return tuple(
        CalvingWeek(
            from_day=FIRST_CALVING_DAY + WEEK_DAYS * i,
            calves=interval(calves[:, i], of=len(run.facts)),
            of_ai_mean=float(by_ai[:, i].mean()),
            by_end=interval(sums[:, i], of=len(run.facts)),
            starts_on=None
            if first_on is None
            else first_on + timedelta(days=FIRST_CALVING_DAY + WEEK_DAYS * i),
        )
        for i in range(int(some[0]), int(some[-1]) + 1)
    )


def _sets_run(run: Run) -> tuple[str, ...]:
    """Say how many sets of parameters were run, where the seasons are too few for all."""
    held = len(run.params.sets)
    if run.replicates >= held:
        return ()
    return (f"{run.replicates} of the {held} sets of parameters, a season each",)


def _rests_on(run: Run) -> tuple[str, ...]:
    orders = run.orders
    said = [
        f"a simulation of each female's ovary, {run.replicates} seasons, seed {run.seed}",
        run.params.words,
        *_sets_run(run),
        run.level.words,
        *orders.notes,
    ]
    if orders.bulls_in_h is not None and orders.bulls_out_h is not None:
        into = (orders.bulls_in_h - orders.first_service_h) / 24.0
        out = (orders.bulls_out_h - orders.first_service_h) / 24.0
        said.append(f"bulls from day {into:.0f} to day {out:.0f} after the first service")
    elif orders.has_ai and orders.has_season:
        said.append("no bulls after the inseminations")
    return tuple(said)
