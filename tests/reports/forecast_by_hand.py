"""A forecast and a trace built by hand, so that charts can be tested without the simulator.

Every number here is invented for the tests; none is a result of anything.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import exp, sin

from sunup.forecast.forecast import (
    CalvingWeek,
    Forecast,
    HeatSpan,
    Interval,
    SeasonPeriod,
    Spread,
    WaterfallStep,
)
from sunup.planning.plan import ForecastSummary
from sunup.reports.charts.trace import FemaleTrace, TraceEvent, TraceLine

Z50, Z80, Z95 = 0.674, 1.282, 1.96  # of the normal curve: 50, 80 and 95 in 100 lie within


def interval(middle, sd, of=150):
    def keep(value):
        return max(0.0, value if of is None else min(float(of), value))

    return Interval(
        mean=middle,
        median=middle,
        low50=keep(middle - Z50 * sd),
        high50=keep(middle + Z50 * sd),
        low80=keep(middle - Z80 * sd),
        high80=keep(middle + Z80 * sd),
        low95=keep(middle - Z95 * sd),
        high95=keep(middle + Z95 * sd),
        of=of,
    )


def dots(middle, least, most):
    """Fifty counts, denser about the middle."""
    out = []
    for i in range(50):
        share = (i + 0.5) / 50 * 2 - 1
        width = (most - middle) if share > 0 else (middle - least)
        out.append(round(middle + width * (0.45 * share + 0.55 * share**3)))
    return tuple(sorted(out))


SEEN = (0.0, 0.6, 3.2, 14.5, 38.1, 27.4, 9.3, 3.1, 1.2, 0.2, 0.0, 0.0)
TRUE = (0.0, 1.1, 4.6, 21.2, 44.0, 31.8, 12.2, 4.9, 2.0, 0.6, 0.2, 0.0)


def half_day(i):
    def low(mean):
        return max(0.0, mean - 1.3 * mean**0.75)

    def high(mean):
        return mean + 1.3 * mean**0.75

    seen, true = SEEN[i], TRUE[i]
    return HeatSpan(
        start_h=12.0 * i,
        true_mean=true,
        true_low80=low(true),
        true_high80=high(true),
        seen_mean=seen,
        seen_low80=low(seen),
        seen_high80=high(seen),
    )


WATERFALL = (
    ("not_cycling", "not cycling", 21.4),
    ("no_luteum", "no corpus luteum at PGF", 9.6),
    ("luteum_held", "corpus luteum that no PGF ended", 0.1),
    ("no_follicle", "inseminated, but no follicle answered or ovulated in time", 7.2),
    ("heat_missed", "heat missed", 6.0),
    ("too_early", "inseminated too early", 4.4),
    ("too_late", "inseminated too late", 5.7),
    ("not_fertilised", "not fertilised", 8.2),
    ("lost", "embryo lost by day 30", 13.1),
    ("pregnant", "pregnant to AI at day 30", 74.3),
)
CALVES = (0.0, 4.0, 38.0, 27.5, 9.0, 6.5, 15.0, 13.0, 6.0, 5.0, 3.0, 1.0)
BY_AI = (0.0, 4.0, 38.0, 26.0, 5.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def build_forecast(**more):
    first_calf = date(2028, 2, 21)
    base = {
        "n": 150,
        "group": "Cows",
        "protocol": "co_synch_7",
        "name": "7-day CO-Synch + insert",
        "options": (),
        "seed": 20270525,
        "replicates": 1000,
        "rests_on": (
            "One mechanism of the ovary, run 1,000 times for each of the 150 cows.",
            "Days since calving and condition of 150 cows as on file.",
        ),
        "assumed": ("Cycling or not: drawn for 112 cows without a scan.",),
        "left_out": ("Bulls that fail between their examination and turning in.",),
        "clock_h": 168.0,
        "clock_words": "PGF on day 7",
        "heats": tuple(half_day(i) for i in range(len(SEEN))),
        "on_heat": interval(0.0, 0.0),
        "on_time": interval(148.0, 1.0),
        "inseminations": interval(148.0, 1.0),
        "pregnant_to_ai": interval(74.3, 12.6),
        "dots": dots(75, 42, 104),
        "sources": Spread(luck=4.1, herd=6.2, parameters=3.9, total=8.4, sets=12),
        "season": tuple(
            SeasonPeriod(
                number=i + 1,
                from_day=21 * i,
                to_day=21 * (i + 1),
                conceived=interval(mean, 6.0),
                by_end=interval(total, 7.0),
            )
            for i, (mean, total) in enumerate(((88.0, 88.0), (30.0, 118.0), (12.0, 130.0)))
        ),
        "calving": tuple(
            CalvingWeek(
                from_day=273 + 7 * i,
                calves=interval(calves, 1.2 * calves**0.6),
                of_ai_mean=by_ai,
                starts_on=first_calf + timedelta(days=7 * i),
                by_end=interval(sum(CALVES[: i + 1]), 1.3 * sum(CALVES[: i + 1]) ** 0.5),
            )
            for i, (calves, by_ai) in enumerate(zip(CALVES, BY_AI, strict=True))
        ),
        "ready_next_year": interval(112.0, 8.0, of=130),
        "cost_per_pregnancy": interval(104.0, 16.0, of=None),
        "waterfall": tuple(
            WaterfallStep(key=key, words=words, count=count, low80=count * 0.7, high80=count * 1.3)
            for key, words, count in WATERFALL
        ),
        "library_version": "3f9a1c77d2e4",
        "params_version": "p1",
        "params_words": "invented for the tests",
    }
    base.update(more)
    return Forecast(**base)


def build_other():
    return build_forecast(
        protocol="select_synch", name="Select Synch + insert and clean-up timed AI",
        dots=dots(81, 50, 112), pregnant_to_ai=interval(81.0, 13.0),
    )  # fmt: skip


def build_bulls():
    return build_forecast(
        protocol="bulls_alone", name="bulls alone", dots=(0,) * 50, heats=(),
        pregnant_to_ai=interval(0.0, 0.0), on_time=interval(0.0, 0.0),
        inseminations=interval(0.0, 0.0), waterfall=(),
    )  # fmt: skip


def hourly(first, last):
    return tuple(float(h) for h in range(first, last + 1, 2))


def build_trace():
    hours = hourly(-48, 312)

    def p4(h):
        falling = 1 / (1 + exp((h - 182) / 6))
        new = 4.5 / (1 + exp(-(h - 318) / 20))
        return 6.2 * falling / (1 + exp(-(h + 60) / 40)) + new

    def wave(start, end, top):
        span = [h for h in hours if start <= h <= end]
        values = [top * (1 - exp(-(h - start) / 70)) for h in span]
        return TraceLine(hours=tuple(span), values=tuple(values))

    def spent(start, turn, end, top):
        span = [h for h in hours if start <= h <= end]
        values = [
            max(1.0, top * sin(min(1.57, 1.57 * (h - start) / (turn - start))))
            * (1.0 if h < turn else max(0.15, 1 - (h - turn) / (end - turn)))
            for h in span
        ]
        return TraceLine(hours=tuple(span), values=tuple(values))

    old = [h for h in hours if h <= 230]
    new = [h for h in hours if h >= 262]
    return FemaleTrace(
        title="A cow on day 7 of her cycle, 7-day CO-Synch + insert",
        progesterone=TraceLine(hours=hours, values=tuple(p4(h) for h in hours)),
        estradiol=TraceLine(
            hours=hours,
            values=tuple(
                1.2 + 7.5 * exp(-(((h - 226) / 22) ** 2)) + 0.6 * sin(h / 60) for h in hours
            ),
        ),
        follicles=(
            spent(-48, 0, 36, 11.5),
            TraceLine(
                hours=wave(36, 262, 14.2).hours, values=wave(36, 262, 14.2).values, name="ovulates"
            ),
            wave(280, 312, 9.0),
            spent(-20, 40, 60, 6.0),
        ),
        lutea=(
            TraceLine(
                hours=tuple(old),
                values=tuple(22.0 / (1 + exp((h - 196) / 10)) for h in old),
                name="",
            ),
            TraceLine(hours=tuple(new), values=tuple(0.3 * (h - 262) for h in new), name="new"),
        ),
        events=(
            TraceEvent(hour=0.0, words="GnRH", given=True),
            TraceEvent(hour=0.0, words="insert in", given=True),
            TraceEvent(hour=36.0, words="new wave", given=False),
            TraceEvent(hour=168.0, words="PGF", given=True),
            TraceEvent(hour=168.0, words="insert out", given=True),
            TraceEvent(hour=226.0, words="LH surge", given=False),
            TraceEvent(hour=227.0, words="in heat", given=False),
            TraceEvent(hour=234.0, words="AI", given=True),
            TraceEvent(hour=234.0, words="GnRH", given=True),
            TraceEvent(hour=258.0, words="ovulation", given=False),
        ),
        outcome="She conceived.",
    )


def with_forecast(group, *, on_heat, on_time):
    """A group whose plan holds a forecast of so many inseminated on heat and by time."""
    told = ForecastSummary(
        n=group.ready, seed=1, replicates=100, pregnant_to_ai=None, on_heat=on_heat,
        on_time=on_time, pregnant_in_season=None, cost_per_pregnancy=None, spread=None,
        better_than_chosen=None, more_than_chosen=None, rests_on=(), assumed=(), left_out=(),
    )  # fmt: skip
    return replace(group, forecast=told)
