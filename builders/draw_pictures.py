"""Draw the example charts of the manual from the demo herd.

Run it as ``.venv/bin/python builders/draw_pictures.py``; it takes a minute or two. Each picture is
a forecast as the program makes it, at the width of a desk screen.
"""

from __future__ import annotations

import sys
from pathlib import Path
from zoneinfo import ZoneInfo

from sunup.app.forecast_asked import Asked
from sunup.app.forecast_kernel import prepare_kernel
from sunup.app.forecast_plan import add_forecasts
from sunup.app.forecast_trace import trace_female
from sunup.app.plan_season import find_today, plan_season
from sunup.app.wishes import Wishes, make_request, read_pairs
from sunup.reports.charts.draw import draw_files
from sunup.reports.charts.followed import trace_of
from sunup.reports.charts.look import DESK
from sunup.reports.charts.of_forecast import charts_of, clock_instant
from sunup.reports.charts.trace import trace_chart

ROOT = Path(__file__).parents[1]
HERE = ROOT / "docs" / "pictures"
HERD = ROOT / "demo" / "herd.csv"
GROUP, ZONE, SEED = "cows", "America/Denver", 1


def main() -> None:
    """Write ``docs/pictures/charts_*.svg`` and say what they rest on."""
    prepare_kernel(lambda words: print(words, file=sys.stderr))
    wishes = Wishes(
        plain={"zone": ZONE, "ranch": "Quiet Gravel Ranch"},
        first_ai="2027-05-25",
        sires=read_pairs(("cows=A31", "heifers=A27"), "--sire"),
    )
    outcome = plan_season(HERD, make_request(wishes, today=find_today()))
    outcome = add_forecasts(outcome, asked=Asked(seed=SEED, replicates=1000))
    group = next(group for group in outcome.plan.groups if group.name == GROUP)
    forecast = outcome.forecasts[GROUP]
    charts = charts_of(
        forecast,
        DESK,
        compared=outcome.compared[GROUP],
        clock_utc=clock_instant(group, forecast),
        zone=ZoneInfo(ZONE),
    )
    followed, words = trace_female(
        "co_synch_insert7_cow",
        class_="cow",
        cycle_day=7.0,
        seed=SEED,
        days_postpartum=70.0,
        condition=5.3,
    )
    title = "A cow on day 7 of her cycle, 7-day CO-Synch + insert"
    charts.append(trace_chart(trace_of(followed, title=title, seed=SEED), DESK))
    for path, body in draw_files(charts, HERE / "charts.svg"):
        path.write_bytes(body)
        print(path.name)
    for chart in charts:
        print(f"\n{chart.key}: {chart.alt}")
    print(f"\n{words}; parameters {forecast.params_version}, library {forecast.library_version}")


if __name__ == "__main__":
    main()
