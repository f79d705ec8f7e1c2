"""Measure the processes of ``docs/science`` with the present figures, and draw them.

    python builders/science.py           # measure, write results/science.json and the pictures
    python builders/science.py --draw    # only draw again what was measured last

Run by ``make science`` (which then writes the pages with ``docs.py``) after every change of the
simulator or of its figures. About a minute on two cores, most of it the replay of trials. The luck
is fixed, so the same figures give the same numbers; each carries the error of its draw of females.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path
from typing import Any

from science_chart import page_chart
from science_cycle import measure_heat, measure_luteum, measure_waves
from science_herd import measure_herd
from science_panels import PAGES
from science_plans import (
    measure_drugs,
    measure_fertility,
    measure_misses,
    measure_not_cycling,
)
from science_published import MEASURED, read_measured, read_published
from science_runs import Measured, Runs
from science_trust import LATER, UNSEEN, find_rows, find_trust_rows, trust_charts
from sunup.app.forecast_kernel import prepare_kernel
from sunup.app.open import open_library
from sunup.forecast.figures import param_sets
from sunup.physiology.params import STEM, Params
from sunup.reports.charts.draw import draw_svg

PICTURES = Path(__file__).parents[1] / "docs" / "pictures"
MEASURES = (
    measure_waves,
    measure_luteum,
    measure_heat,
    measure_not_cycling,
    measure_drugs,
    measure_fertility,
    measure_herd,
    measure_misses,
)


def present_params() -> Params:
    """Return the one set of figures in use, as the library holds it now."""
    library, problems = open_library()
    if problems:
        message = f"the library has problems; run sunup check. First: {problems[0]}"
        raise SystemExit(message)
    return Params.from_figures(
        {key: f.number for key, f in library.figures.items() if key.startswith(STEM)}
    )


def version_of(params: Params) -> str:
    """Return a short hash of the figures, by which stale numbers are known."""
    return param_sets([params], words="").version


def measure(runs: Runs) -> Measured:
    """Measure all that is drawn, in the order of the pages."""
    found: Measured = {}
    for one in MEASURES:
        found |= one(runs)
    return found


def pictures(measured: dict[str, Any]) -> dict[str, str]:
    """Return every picture as SVG by the name of its file."""
    published = read_published()
    charts = [
        page_chart(page, title, panels, measured["series"], published)
        for page, (title, panels) in PAGES.items()
    ]
    charts += trust_charts(measured)
    return {f"{chart.key}.svg": draw_svg(chart) for chart in charts}


def main() -> None:
    """Measure unless told not to, and draw."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--draw", action="store_true", help="draw what was measured last")
    parser.add_argument("--females", type=int, default=2000)
    options = parser.parse_args()
    begun = time.perf_counter()
    if not options.draw:
        prepare_kernel(lambda words: print(words, file=sys.stderr))
        params = present_params()
        runs = Runs(params=params, n=options.females)
        series = {key: [point.to_json() for point in line] for key, line in measure(runs).items()}
        print(f"measured {len(series)} lines in {time.perf_counter() - begun:.0f} s", flush=True)
        found = {
            "seed": runs.seed,
            "females": runs.n,
            "params": version_of(params),
            "series": series,
            "trust": find_trust_rows(),
            "unseen": find_rows(UNSEEN),
            "later": find_rows(LATER),
        }
        MEASURED.write_text(json.dumps(found, indent=1) + "\n", "utf-8")
    for name, svg in pictures(read_measured()).items():
        (PICTURES / name).write_text(svg, encoding="utf-8", newline="\n")
        print(name)
    print(f"done in {time.perf_counter() - begun:.0f} s; now run: make docs")


if __name__ == "__main__":
    main()
