"""The forecast of a group on paper: what to expect, in pictures and counts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.reports import words
from sunup.reports.charts.counts import LIKELY, span, whole
from sunup.reports.charts.draw import draw_svg
from sunup.reports.charts.look import PAPER
from sunup.reports.charts.of_forecast import charts_of, clock_instant
from sunup.reports.printable import printable

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from zoneinfo import ZoneInfo

    from sunup.forecast.forecast import Forecast, Interval
    from sunup.planning.plan import GroupPlan, Plan
    from sunup.reports.charts.chart import Chart


_NOT_RUN = "not run"


def forecast_pages(
    plan: Plan,
    zone: ZoneInfo,
    forecasts: Mapping[str, Forecast],
    compared: Mapping[str, Sequence[Forecast]],
) -> list[dict[str, Any]]:
    """Return the forecast of each group that has one, in the order of the plan's groups.

    Parameters
    ----------
    plan : Plan
    zone : ZoneInfo
    forecasts : mapping of group name to Forecast
        Of the chosen protocol.
    compared : mapping of group name to forecasts
        Of other protocols and of bulls alone, drawn beside it.

    Returns
    -------
    list of dict
        Pictures are SVG text.
    """
    currency = words.currency_of(plan)
    return [
        _page(group, forecasts[group.name], compared.get(group.name, ()), zone, currency)
        for group in plan.groups
        if group.name in forecasts
    ]


def natural_count(forecast: Forecast) -> str:
    """Return the one line of the season summary: a count, its range and how likely that is."""
    if not forecast.waterfall:
        by_end = forecast.season[-1].by_end if forecast.season else forecast.pregnant_to_ai
        what = "pregnant by the end of the season"
    else:
        by_end, what = forecast.pregnant_to_ai, "pregnant to AI"
    if forecast.n == 1:
        return f"A chance of {_chance(by_end)} that she is {what}"
    return (
        f"{whole(by_end.median)} of {forecast.n:,} females {what} in the middle season; "
        f"{span(by_end.low80, by_end.high80)} {LIKELY}"
    )


def _page(
    group: GroupPlan,
    forecast: Forecast,
    compared: Sequence[Forecast],
    zone: ZoneInfo,
    currency: str,
) -> dict[str, Any]:
    charts = charts_of(
        forecast, PAPER, compared=compared, clock_utc=clock_instant(group, forecast), zone=zone
    )
    return {
        "group": forecast.group,
        "name": forecast.full_name,
        "options": words.joined([option.replace("_", " ") for option in forecast.options]),
        "headline": f"{natural_count(forecast)}.",
        "table": _table(forecast, currency),
        # with others beside it the first is as tall as a page: the second fills the page before
        "pictures": [_picture(chart) for chart in (*charts[1:2], *charts[:1], *charts[2:])],
        "compared": _compared(forecast, compared),
        "cost_head": f"Cost, {currency}" if currency else "Cost",
        "sources": _sources(forecast),
        "lists": [
            (title, [_sentence(text) for text in texts])
            for title, texts in (
                ("What it rests on", forecast.rests_on),
                ("What was not on file and had to be assumed", forecast.assumed),
                ("What it leaves out", forecast.left_out),
            )
            if texts
        ],
        "made_with": (
            f"Seed {forecast.seed}, {words.count(forecast.replicates, 'season')} simulated. "
            f"Library {forecast.library_version}, parameters {forecast.params_version}. "
            "The same seed gives the same numbers."
        ),
    }


def _picture(chart: Chart) -> dict[str, str]:
    svg, _ = printable(draw_svg(chart))
    return {"svg": svg, "alt": chart.alt}


def _table(forecast: Forecast, currency: str) -> list[tuple[str, ...]]:
    counts: list[tuple[str, Interval]] = []
    if forecast.waterfall:
        counts += [
            ("inseminated after a heat seen", forecast.on_heat),
            ("inseminated at a set time", forecast.on_time),
            ("pregnant to AI", forecast.pregnant_to_ai),
        ]
    counts += [
        (f"pregnant by day {period.to_day} of the season", period.by_end)
        for period in forecast.season
    ]
    if forecast.after_season is not None:
        counts.append(("pregnant to AI after the season", forecast.after_season))
    if forecast.ready_next_year is not None:
        counts.append(("calving in time to be ready next year", forecast.ready_next_year))
    rows: list[tuple[str, ...]] = [
        (what, _of(interval), *_ranges(interval)) for what, interval in counts
    ]
    cost = forecast.cost_per_pregnancy
    if cost is not None:
        what = "cost of a pregnancy to AI" if forecast.waterfall else "cost of a pregnancy"
        unit = f", {currency}" if currency else ""
        all_of_them = "" if cost.has_range else ", over all seasons"
        rows.append((what + unit + all_of_them, whole(cost.median), *_ranges(cost)))
    return rows


def _compared(forecast: Forecast, compared: Sequence[Forecast]) -> list[tuple[str, ...]]:
    """Return every protocol compared, the chosen first: pregnant to AI, in the season, cost."""
    if not compared:
        return []
    return [
        (
            f"{told.full_name} (chosen)" if told is forecast else told.full_name,
            _middle_and_span(told.pregnant_to_ai) if told.waterfall else "no AI",
            _middle_and_span(told.season[0].by_end) if told.season else _NOT_RUN,
            _middle_and_span(told.season[-1].by_end) if told.season else _NOT_RUN,
            _NOT_RUN
            if told.cost_per_pregnancy is None
            else _middle_and_span(told.cost_per_pregnancy),
        )
        for told in (forecast, *compared)
    ]


def _middle_and_span(interval: Interval) -> str:
    if interval.of == 1:
        return _chance(interval)
    middle = whole(interval.median)
    return f"{middle} ({span(interval.low80, interval.high80)})" if interval.has_range else middle


def _ranges(interval: Interval) -> list[str]:
    """Return the ranges of 50, 80 and 95 of 100 seasons; what is one number has none."""
    is_one = interval.of == 1 or (interval.of is None and not interval.has_range)
    return [
        "-" if is_one else span(low, high)
        for low, high in (
            (interval.low50, interval.high50),
            (interval.low80, interval.high80),
            (interval.low95, interval.high95),
        )
    ]


def _chance(interval: Interval) -> str:
    """Return what a count of a single female comes to."""
    return f"{whole(100.0 * interval.mean)} in 100"


def _of(interval: Interval) -> str:
    if interval.of == 1:
        return _chance(interval)
    of = "" if interval.of is None else f" of {interval.of:,}"
    return f"{whole(interval.median)}{of}"


def _sources(forecast: Forecast) -> list[tuple[str, str]]:
    """Return the three sources of spread apart, in females of 100, as standard deviations."""
    spread = forecast.sources
    known = (
        f"what is not known of the animal ({spread.sets} parameter sets)"
        if spread.sets > 1
        else "what is not known of the animal: not counted, only one parameter set is held"
    )
    females = words.count(forecast.n, "female")
    return [
        (f"luck of the draw among {females}", words.number(spread.luck, 1)),
        (
            "how herds differ from each other"
            + (
                " (in conception; how they differ in heats is not in it)"
                if forecast.rests_on_heats
                else ""
            ),
            words.number(spread.herd, 1),
        ),
        (known, words.number(spread.parameters, 1) if spread.sets > 1 else "none"),
        ("all together", words.number(spread.total, 1)),
    ]


def _sentence(text: str) -> str:
    return words.upper_first(text.rstrip(".")) + "."
