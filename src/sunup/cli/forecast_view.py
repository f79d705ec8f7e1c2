"""How a forecast reads on a terminal: counts of females, never a bare percentage."""

from __future__ import annotations

import math
import sys
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from sunup.cli.show import console, print_table
from sunup.forecast.forecast import FEW, TO_AI

if TYPE_CHECKING:
    from sunup.app.forecast_season import GroupForecast, SeasonForecast
    from sunup.forecast.follow import Followed, Happening
    from sunup.forecast.forecast import Comparison, Forecast, Interval, Spread
    from sunup.planning.plan import ForecastSummary, GroupPlan

SCHEMA_VERSION = 1
SURER = (
    "What is not known of the animal is not in it yet (one set of parameters): protocols differ "
    "less surely than it looks."
)
NARROW = (
    "this range is too narrow: herds differ in heats shown and seen too, by how much no "
    "source held here tells"
)


class Progress:
    """Says on standard error how far a forecast is; one line a task where nobody sits there."""

    def __init__(self) -> None:
        self._told: set[str] = set()

    def __call__(self, what: str, share: float) -> None:
        """Show the share done of one task."""
        if sys.stderr.isatty():
            end = "\n" if share >= 1.0 else ""
            print(f"\r{what}: {share * 100:3.0f} of 100 done", end=end, file=sys.stderr, flush=True)
        elif what not in self._told:
            self._told.add(what)
            print(f"simulating {what}", file=sys.stderr)


def forecast_to_json(season: SeasonForecast) -> dict[str, Any]:
    """Return the forecasts as plain values."""
    return {
        "schema_version": SCHEMA_VERSION,
        "problems": [p.to_json() for p in season.problems],
        "groups": [_plain(asdict(group)) for group in season.groups],
    }


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value.isoformat() if hasattr(value, "isoformat") else value


def count_words(interval: Interval, noun: str = "") -> str:
    """Say a count as people do.

    Examples
    --------
    "62 of 100 cows; in 8 of 10 seasons between 52 and 71"; of a single female "a chance of 62 in
    100", since a count of her is 0 or 1
    """
    if interval.of == 1:
        return f"a chance of {100.0 * interval.mean:.0f} in 100"
    of = f" of {interval.of}" if interval.of is not None else ""
    head = f"{interval.median:.0f}{of}{' ' + noun if noun else ''}"
    return f"{head}; in 8 of 10 seasons between {interval.low80:.0f} and {interval.high80:.0f}"


def _mean(females: float, n: int) -> str:
    """Say a mean of `n` females: of a single one as of 100 like her, of a few to the tenth."""
    if n == 1:
        return f"{100.0 * females:.0f}"
    return f"{females:.{1 if n < FEW else 0}f}"


def _limits(low: float, high: float, n: int) -> str:
    """Say a range of counts; a single female has none."""
    return "-" if n == 1 else f"{low:.0f} to {high:.0f}"


def _like_her(n: int) -> str:
    """Of whom the means of a single female are told."""
    return ", of 100 females like her" if n == 1 else ""


def spread_words(spread: Spread) -> str:
    """Say where the spread comes from."""
    animal = (
        f"what is not known of the animal {spread.parameters:.1f}"
        if spread.sets > 1
        else "what is not known of the animal is not in it yet (one set of parameters)"
    )
    return (
        f"spread, as females of 100 (one standard deviation): luck of the draw {spread.luck:.1f}, "
        f"herds differ {spread.herd:.1f}, {animal}"
    )


def print_forecasts(season: SeasonForecast) -> None:
    """Print every group's forecast."""
    for group in season.groups:
        print_forecast(group.chosen, currency=season.outcome.plan.currency)
        _print_against(group)
    console().print("\nThe label in hand and your veterinarian decide.")


def print_forecast(forecast: Forecast, *, currency: str) -> None:
    """Print one forecast."""
    out = console()
    females = "1 female" if forecast.n == 1 else f"{forecast.n} females"
    out.print(f"\n{forecast.group.upper()}: {forecast.name}, {females}")
    if forecast.waterfall:
        _print_ai(forecast)
        _print_heats(forecast)
    else:
        out.print("  no insemination; bulls serve")
    _print_season(forecast)
    if forecast.cost_per_pregnancy is not None:
        cost = forecast.cost_per_pregnancy
        what = "pregnancy to AI" if forecast.waterfall else "pregnancy"
        spread = (
            f"; in 8 of 10 seasons between {cost.low80:.0f} and {cost.high80:.0f}"
            if cost.has_range
            else ", what all seasons pay over all their pregnancies"
        )
        out.print(
            f"  cost per {what}: {cost.median:.0f} {currency}{spread} (example prices where you "
            "gave none)"
        )
        if forecast.without_pregnancy > 0.0:
            none = 100.0 * forecast.without_pregnancy
            out.print(
                f"    {none:.{0 if none >= 1 else 1}f} of 100 seasons end without a pregnancy; "
                "what is paid in them is in it"
            )
    _print_waterfall(forecast)
    _print_list(
        "Rests on",
        (
            *forecast.rests_on,
            f"library {forecast.library_version}, parameters {forecast.params_version}",
        ),
    )
    _print_list("Assumed", forecast.assumed)
    _print_list("Left out", forecast.left_out)


def _print_against(group: GroupForecast) -> None:
    """Print the protocols run beside what is chosen."""
    beaten = {comparison.a: comparison for comparison in group.comparisons}
    rows = []
    for other in group.others:
        versus = beaten.get(other.protocol)
        by_ai = bool(other.waterfall) if versus is None else versus.counted == TO_AI
        counted = other.pregnant_to_ai if by_ai else other.season[-1].by_end
        rows.append(
            (
                other.full_name,
                "AI" if by_ai else "season",
                *_counted(counted),
                "-" if versus is None else f"{versus.chance_a_better * 50:.0f} of 50",
                "-" if versus is None else _more(versus, group.chosen.n),
            )
        )
    if not rows:
        return
    print_table(
        [
            ("protocol", "left"),
            ("counted", "left"),
            (f"of {group.chosen.n}" if group.chosen.n > 1 else "of 100", "right"),
            ("8 in 10", "right"),
            ("beats", "right"),
            ("more", "right"),
        ],
        rows,
        title=f"Beside it, on the same {group.group} with the same luck (counted: pregnant to AI, "
        "or, where one of the two has no AI, all that conceive in the season; in 8 of 10 "
        "seasons; beats the chosen in how many of 50 seasons; how many more)",
    )
    names = {other.protocol: other.name for other in group.others}
    out = console()
    for key, why in group.objections:
        out.print(f"  {names[key]}: {why}")
    if group.chosen.sources.sets == 1:
        out.print(SURER)


def _counted(interval: Interval) -> tuple[str, str]:
    """A count and its range; of a single female her chance in 100, which has none."""
    if interval.of == 1:
        return f"{100.0 * interval.mean:.0f}", "-"
    return f"{interval.median:.0f}", f"{interval.low80:.0f} to {interval.high80:.0f}"


def _more(versus: Comparison, n: int) -> str:
    if n == 1:
        return _signed(100.0 * versus.more_mean)
    middle, low, high = map(_signed, (versus.more_median, versus.more_low80, versus.more_high80))
    return "no difference" if middle == low == high == "0" else f"{middle} ({low} to {high})"


def _signed(more: float) -> str:
    """A whole difference with its sign; none has no sign."""
    said = f"{more:+.0f}"
    return "0" if said in {"+0", "-0"} else said


def _print_ai(forecast: Forecast) -> None:
    out = console()
    if forecast.second is not None:
        out.print(f"  then, for those not pregnant: {forecast.second.name}")
    out.print(f"  pregnant to AI at day 30: {count_words(forecast.pregnant_to_ai)}")
    if forecast.second is not None:
        second = forecast.second
        out.print(f"    to the first AI: {count_words(second.pregnant_to_first)}")
        out.print(f"    inseminated again: {count_words(second.inseminated)}")
        out.print(f"    to the second AI: {count_words(second.pregnant)}")
    out.print(f"  inseminated after a heat seen: {count_words(forecast.on_heat)}")
    out.print(f"  inseminated at a set time: {count_words(forecast.on_time)}")
    out.print(f"  {spread_words(forecast.sources)}")
    if forecast.rests_on_heats:
        out.print(f"    {NARROW}")


def _print_heats(forecast: Forecast) -> None:
    n = forecast.n
    rows = [
        (
            f"{half.start_h:.0f} to {half.start_h + half.hours:.0f}",
            _mean(half.true_mean, n),
            _mean(half.seen_mean, n),
            _limits(half.seen_low80, half.seen_high80, n),
        )
        for half in forecast.heats_to_show
        if half.larger >= forecast.small
    ]
    begun, seen = forecast.other_heats
    if max(begun, seen) >= forecast.small:
        rest = f"other {forecast.heats_to_show[0].span}s together" if rows else "all together"
        rows.append((rest, _mean(begun, n), _mean(seen, n), "-" if n == 1 else ""))
    if rows:
        span = forecast.heats_to_show[0].span
        print_table(
            [
                ("hours", "right"),
                ("heats begun", "right"),
                ("first seen", "right"),
                ("seen in 8 of 10 seasons", "right"),
            ],
            rows,
            title=f"Heats by {span}, in hours from {forecast.clock_words}{_like_her(n)}"
            f"\n(first seen: {forecast.seen_words})",
        )


def _print_season(forecast: Forecast) -> None:
    out = console()
    for period in forecast.season:
        out.print(f"  conceived by day {period.to_day} of the season: {count_words(period.by_end)}")
    if forecast.after_season is not None:
        out.print(f"  conceived after the season, to AI: {count_words(forecast.after_season)}")
    if forecast.calving:
        peak = max(forecast.calving, key=lambda week: week.calves.mean)
        when = f" from {peak.starts_on}" if peak.starts_on else f" from day {peak.from_day}"
        first = forecast.calving[0]
        begins = first.starts_on or f"day {first.from_day}"
        out.print(
            f"  calving: from the week of {begins}; most in the week{when}, about "
            f"{_mean(peak.calves.mean, forecast.n)} calves{_like_her(forecast.n)}"
        )
    if forecast.ready_next_year is not None:
        out.print(
            "  calved in time to be ready on the same day next year: "
            f"{count_words(forecast.ready_next_year)}"
        )


def _print_waterfall(forecast: Forecast) -> None:
    rows = [
        (
            step.words,
            _mean(step.count, forecast.n),
            "" if math.isnan(step.low80) else _limits(step.low80, step.high80, forecast.n),
        )
        for step in forecast.waterfall_to_show
    ]
    if rows:
        print_table(
            [("what becomes of them", "left"), ("mean", "right"), ("8 of 10 seasons", "right")],
            rows,
            title="From 100 females like her to pregnant (simulated: means, which add up)"
            if forecast.n == 1
            else f"From all {forecast.n} to pregnant (simulated: means, which add up; the counts "
            "above are those of the middle season)",
        )


def _print_list(title: str, lines: tuple[str, ...]) -> None:
    if lines:
        out = console()
        out.print(f"{title}:")
        for line in lines:
            out.print(f"  - {line}")


def print_choices(group: GroupPlan) -> None:
    """Print the forecasts of what fits a group side by side, and bulls alone."""
    by_ai = group.forecast is None or group.forecast.pregnant_to_ai is not None
    rows = [
        _choice(fit.protocol, fit.forecast, by_ai=by_ai)
        for fit in group.fits
        if fit.forecast is not None
    ]
    if group.forecast is not None and group.chosen not in {fit.protocol for fit in group.fits}:
        rows.insert(0, _choice(group.chosen or "", group.forecast, by_ai=by_ai))
    if group.bulls_alone.forecast is not None:
        rows.append(_choice("bulls alone", group.bulls_alone.forecast, by_ai=by_ai))
    print_table(
        [
            ("protocol", "left"),
            ("counted", "left"),
            ("of 100", "right"),
            ("8 in 10", "right"),
            ("beats", "right"),
            ("cost", "right"),
        ],
        rows,
        title=f"What each would do to {group.name}, simulated (of 100 females; counted: pregnant "
        "to AI, or, where it or the chosen has no AI, all that conceive in the season; in "
        "8 of 10 seasons; beats the chosen in how many of 50 seasons; cost per pregnancy "
        "to AI, bulls after it not in it, straws and technician for those inseminated only; "
        "without AI per pregnancy of the season, bulls in it)",
    )
    out = console()
    summary = group.forecast
    if summary is None:
        return
    if summary.n == 1:
        out.print("Of one female no count can be told, only a chance: sunup forecast says it.")
    if summary.spread is not None and summary.spread[2] == 0.0:
        out.print(SURER)
    if summary.pregnant_in_season is not None and summary.n > 1:
        low, middle, high = summary.pregnant_in_season
        out.print(
            f"With the protocol chosen and bulls after it, {middle:.0f} of {summary.n} conceive in "
            f"the season; in 8 of 10 seasons between {low:.0f} and {high:.0f}."
        )
    out.print(f"Rests on: {'; '.join(summary.rests_on)}.")
    out.print(f"Assumed: {'; '.join(summary.assumed)}.")
    out.print(f"Left out: {'; '.join(summary.left_out)}.")


def _choice(
    name: str, summary: ForecastSummary, *, by_ai: bool
) -> tuple[str, str, str, str, str, str]:
    season, to_ai = summary.pregnant_in_season, summary.pregnant_to_ai
    is_season = season is not None and (to_ai is None or not by_ai)
    counted = (season if is_season else to_ai) or (0.0, 0.0, 0.0)
    low, middle, high = (100.0 * count / summary.n for count in counted)
    cost = summary.cost_per_pregnancy
    better = summary.better_than_chosen
    return (
        name,
        "season" if is_season else "AI",
        "-" if summary.n == 1 else f"{middle:.0f}",
        "-" if summary.n == 1 else f"{low:.0f} to {high:.0f}",
        "-" if better is None else f"{better * 50:.0f} of 50",
        "-" if cost is None else f"{cost[1]:.0f}",
    )


def print_trace(followed: Followed, words: str) -> None:
    """Print what happens to one female, with her state twice a day."""
    out = console()
    events: dict[int, list[Happening]] = {}
    for happening in followed.happenings:
        events.setdefault(int(happening.hour // 12), []).append(happening)
    state = {hour.hour: hour for hour in followed.hours}
    rows = []
    for half in sorted({*events, *(int(hour // 12) for hour in state if hour % 12 == 0)}):
        hour = state.get(12.0 * half)
        rows.append(
            (
                f"{12 * half}",
                f"{half / 2:.1f}",
                "-" if hour is None else f"{hour.progesterone:.1f}",
                "-" if hour is None else f"{hour.follicle_mm:.1f}",
                "; ".join(f"{h.words} ({h.hour:.0f} h)" for h in events.get(half, [])),
            )
        )
    print_table(
        [
            ("hour", "right"),
            ("day", "right"),
            ("P4 ng/mL", "right"),
            ("follicle mm", "right"),
            ("what happens in the half-day", "left"),
        ],
        rows,
        title="One female, in hours and days from the first step",
    )
    if followed.chance > 0:
        out.print(
            f"Of 100 females exactly like her, about {followed.chance * 100:.0f} would be pregnant "
            f"at day 30; this one is{'' if followed.is_pregnant else ' not'}."
        )
    elif followed.is_inseminated:
        out.print(
            "Of 100 females exactly like her, none would be pregnant at day 30 to the first "
            f"insemination: {followed.because}."
        )
    else:
        out.print("She is not inseminated.")
    out.print(f"Rests on: {words}. Another seed is another female.")
    out.print("The label in hand and your veterinarian decide.")
