"""Measures of a herd: tract scores, returns after an insemination, clean-up bulls, bulls alone."""

from __future__ import annotations

import math
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from science_runs import COW, HEIFER, Measured, Point, Runs, mean, order, ratio, share
from sunup.app.open import open_library
from sunup.forecast.bulls import Bulls, with_bulls
from sunup.forecast.figures import ForecastFigures, param_sets
from sunup.forecast.herd import find_facts
from sunup.forecast.luck import BLOCK
from sunup.forecast.orders import SeasonRule, bulls_alone, make_orders
from sunup.forecast.run import run_group
from sunup.physiology.orders import Aid, OrderTable, Rule
from sunup.records.female import Female, FemaleClass

if TYPE_CHECKING:
    from sunup.forecast.orders import Orders
    from sunup.library import Library

INSERT_54 = ((0, "gnrh"), (0, "insert_in"), (168, "pgf"), (168, "insert_out"), (222, "gnrh"),
             (222, "ai"))  # fmt: skip
TRACT_SCORES = (1, 2, 3, 4, 5)
SERVED_H = 96.0
RETURNS = ((9, 17), (18, 24), (25, 35), (36, 48), (49, 63))
RATIOS = ((25, 8), (40, 5), (55, 4))  # females a bull, bulls
ALONE = (25, 8)
CALVED_BEFORE = 75  # days, at the first service of either: the middle of trial herds
AI_AFTER = 10  # days from the first treatment to timed AI
CLEAN_UP = "co_synch_insert7_cow"


def measure_herd(runs: Runs) -> Measured:
    """Measure what stands on the pages of the herd's hidden states and of the season."""
    library = open_library()[0]
    return _tract_scores(runs, library) | _returns(runs) | _bulls(runs, library)


def _tract_scores(runs: Runs, library: Library) -> Measured:
    """Pregnancies of heifers to timed AI by tract score, over those of score 5."""
    figures = ForecastFigures.from_library(library)
    table = OrderTable(orders=[order(*one) for one in INSERT_54], aid=Aid.PATCH)
    found = []
    for score in TRACT_SCORES:
        cycling = figures.cycling_by_tract_score[score - 1]
        out, _ = runs.run(HEIFER, table, n=2 * runs.n, end_h=330.0, share_cycling=cycling)
        found.append(mean(np.where(out["n_services"] > 0, out["chance_first"], 0.0)))
    over = [ratio(one, found[-1]) for one in found]
    return {
        "herd.tract": [
            Point(at=float(score), value=p.value, se=p.se, n=p.n)
            for score, p in zip(TRACT_SCORES, over, strict=True)
        ]
    }


def _returns(runs: Runs) -> Measured:
    """Days to the first heat seen by eye after an insemination on heat that failed, by class."""
    watches = (
        order(0, "watch", until_h=SERVED_H, rule=Rule.AFTER_12H, aid=Aid.ELECTRONIC),
        order(SERVED_H + 48.0, "watch", until_h=24.0 * 72, aid=Aid.EYE),
    )
    table = OrderTable(orders=watches, aid=Aid.EYE)
    out, _ = runs.run(
        COW, table, n=4 * runs.n, end_h=24.0 * 72, share_cycling=1.0, cycle_day=19.0,
        days_postpartum=70.0,
    )  # fmt: skip
    out = out[(out["first_on_heat"] == 1) & (out["pregnant_first"] == 0)]
    true = np.isfinite(out["heat_on"]) & np.isfinite(out["heat_seen"])
    hours = np.where(true, out["heat_seen"], np.inf) - out["first_ai_h"][:, None]
    day = np.rint(np.where(hours > 48.0, hours, np.inf).min(axis=1) / 24.0)
    day = day[(day >= RETURNS[0][0]) & (day <= RETURNS[-1][1])]
    return {f"season.return_{low}": [share((day >= low) & (day <= high))] for low, high in RETURNS}


def _bulls(runs: Runs, library: Library) -> Measured:
    """In calf at the end of a season by females a bull, after AI and with bulls alone."""
    figures = ForecastFigures.from_library(library)
    season = SeasonRule(
        bulls_after_days=figures.bulls_after_days, season_days=figures.season_days_cows
    )
    after_ai = make_orders(library.protocols[CLEAN_UP], figures=figures, season=season)
    alone = bulls_alone(season)
    return {
        "season.in_calf_ai": [
            _in_calf(runs, library, after_ai, *pair, calved_before=CALVED_BEFORE - AI_AFTER)
            for pair in RATIOS
        ],
        "season.in_calf_bulls": [
            _in_calf(runs, library, alone, *ALONE, calved_before=CALVED_BEFORE)
        ],
    }


def _in_calf(
    runs: Runs, library: Library, orders: Orders, females: int, bulls: int, *, calved_before: int
) -> Point:
    figures = ForecastFigures.from_library(library)
    sets = param_sets([runs.params], words="")
    zero_on = date(2026, 5, 1)
    herd = [
        Female(tag=str(i), class_=FemaleClass.COW, group="cows",
               calved_on=zero_on - timedelta(days=calved_before))
        for i in range(females * bulls)
    ]  # fmt: skip
    facts = find_facts(herd, zero_on=zero_on, library=library, figures=figures)
    told = with_bulls(
        Bulls(number=bulls), facts, orders, figures=figures, params=sets, seed=runs.seed
    )
    done = run_group(
        facts, told, figures=figures, params=sets, seed=runs.seed, replicates=2 * BLOCK, threads=2
    )
    pct = 100.0 * done.tally.conceived.sum(axis=1) / len(herd)
    se = float(pct.std() / math.sqrt(pct.size))
    return Point(at=float(females), value=float(pct.mean()), se=se, n=pct.size * len(herd))
