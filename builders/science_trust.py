"""How far to trust a forecast: trials that the figures had not seen, scored and drawn."""

from __future__ import annotations

import json
import math
import tomllib
from dataclasses import replace
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

from science_chart import FMT, page_chart, told_apart
from science_panels import Panel
from science_published import ROOT, read_published
from sunup.app.validate_trials import validate_trials
from sunup.forecast.arms import TrialFile, read_trials
from sunup.forecast.score import Prediction, Score, score
from sunup.reports.charts import look
from sunup.reports.charts.chart import Chart

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

TRIALS = ROOT / "authorities" / "trials" / "trials.toml"
UNSEEN = ROOT / "authorities" / "trials" / "unseen.toml"
LATER = ROOT / "authorities" / "trials" / "later.toml"
FIT = ROOT / "builders" / "results" / "fit.json"
WHATS = ("pregnancy", "estrus", "conception")
LEVELS = (50, 80, 90, 95)
FEMALES = 400
PARTS: dict[str, Callable[[Prediction], bool]] = {
    "all": lambda _: True,
    "read": lambda p: p.arm.read,
    "from memory": lambda p: not p.arm.read,
    "Bos taurus": lambda p: p.arm.indicus == 0.0,
    "Bos indicus and crosses": lambda p: p.arm.indicus > 0.0,
}


def find_trust_rows() -> dict[str, Any]:
    """Return what is foretold of each reported figure by figures that had not seen its trial.

    As ``sunup validate`` does it. Where the library holds no figures by fold, the rows are those
    the last fit left in ``results/fit.json``, whose own doubt about the model is left out.
    """
    found = validate_trials(TRIALS, females=FEMALES)
    rows = [_row_of(p) for p in found.predictions]
    if found.held_out == 0:
        fit = json.loads(FIT.read_text("utf-8"))["out_of_fold"]
        rows = [
            _row(
                row["arm"], row["what"], 100.0 * row["published"], 100.0 * row["predicted"],
                100.0 * row.get("parameter_sd", 0.0),
            )
            for row in fit
        ]  # fmt: skip
    return {
        "from": "sunup validate" if found.held_out else "builders/results/fit.json",
        "arms": len({row["arm"] for row in rows}),
        "held_out": found.held_out,
        "params": found.words,
        "params_version": found.params_version,
        "rows": rows,
    }


def find_rows(trials: Path) -> list[dict[str, Any]]:
    """Return what the figures as they are shipped foretell of a file that no fit has seen."""
    found = validate_trials(trials, females=FEMALES)
    return [_row_of(p) for p in found.predictions]


def _row_of(p: Prediction) -> dict[str, Any]:
    """Row of a prediction, with the arms its figure was published for and how many it is of."""
    row = _row(p.arm.id, p.what, p.published, p.predicted, p.sd)
    return row | {"told_for": [arm.id for arm in p.told_for], "n": p.arm.n}


def _row(arm: str, what: str, published: float, predicted: float, sd: float) -> dict[str, Any]:
    return {
        "arm": arm,
        "what": what,
        "published": round(published, 2),
        "predicted": round(predicted, 2),
        "sd": round(sd, 2),
    }


def read_trial_file(path: Path = TRIALS) -> TrialFile:
    """Read the published trials."""
    return read_trials(tomllib.loads(path.read_text("utf-8")))


def predictions_of(rows: Sequence[Mapping[str, Any]], file: TrialFile) -> list[Prediction]:
    """Return rows as predictions of the arms of a file of trials."""
    arms = {arm.id: arm for arm in file.arms}
    found = []
    for row in rows:
        told_for = tuple(arms[name] for name in row.get("told_for", [row["arm"]]))
        whole = file.scoring.as_one(told_for)
        found.append(
            Prediction(
                arm=replace(whole, n=row.get("n", whole.n)),
                what=row["what"],
                published=row["published"],
                predicted=row["predicted"],
                sd=row["sd"],
                told_for=told_for,
            )
        )
    return found


def assumed_plans(path: Path) -> set[str]:
    """Arms of a file whose plan was not read whole."""
    arms = tomllib.loads(path.read_text("utf-8"))["arm"]
    return {arm["id"] for arm in arms if arm.get("steps_assumed", False)}


def scores_of(
    predictions: Sequence[Prediction],
    file: TrialFile,
    parts: Mapping[str, Callable[[Prediction], bool]] = PARTS,
) -> dict[tuple[str, str], Score]:
    """Score each kind of figure: of all, and of its parts."""
    found: dict[tuple[str, str], Score] = {}
    for what in WHATS:
        for part, is_in in parts.items():
            some = [p for p in predictions if p.what == what and is_in(p)]
            if len(some) > 1:
                found[what, part] = score(some, scoring=file.scoring)
    return found


def coverage(
    predictions: Sequence[Prediction], file: TrialFile, percent: int
) -> tuple[float, float]:
    """Share of reports inside intervals of a nominal percent, and their mean width in points."""
    z = NormalDist().inv_cdf(0.5 + percent / 200.0)
    inside, widths = [], []
    for p in predictions:
        share = min(0.98, max(0.02, p.predicted / 100.0))
        half = z * math.sqrt(file.scoring.variance(p.arm, share) + p.sd**2)
        low, high = max(0.0, p.predicted - half), min(100.0, p.predicted + half)
        inside.append(low <= p.published <= high)
        widths.append(high - low)
    return sum(inside) / len(inside), sum(widths) / len(widths)


def trust_charts(measured: Mapping[str, Any]) -> list[Chart]:
    """Return the pictures of the page: foretold against published, and the hour of timed AI."""
    file = read_trial_file()
    predictions = predictions_of(measured["trust"]["rows"], file)
    hour = Panel(
        title="Pregnant to timed AI in cows, 7-day insert plan, % (62 in 100 cycling)",
        unit="%",
        axis="hours from PGF and insert removal to AI with GnRH",
        series=(("misses.ai_hour", "cows"),),
        span=(20.0, 70.0),
    )
    return [
        _scatter(predictions, file),
        page_chart(
            "ai_hour", "The hour of timed AI in cows", (hour,), measured["series"], read_published()
        ),
    ]


def _scatter(predictions: Sequence[Prediction], file: TrialFile) -> Chart:
    title = "Trials that the figures had not seen: foretold and published"
    found = scores_of(predictions, file)
    said = "; ".join(
        f"{what}: misfit {found[what, 'all'].rmse:.1f} points over {found[what, 'all'].n} figures"
        for what in ("pregnancy", "estrus")
        if (what, "all") in found
    )
    side = (FMT.width - 3.2 * look.axis_room(FMT)) / 2
    return Chart(
        key="science_trust",
        title=title,
        alt=f"{title}, two plots of dots about a line where both are equal. {said}.",
        spec=look.configured(FMT)
        | {
            "title": look.heading(
                FMT,
                title,
                "A dot is an arm of a trial; its area goes with the number of females. Filled "
                "round: the figure was read; hollow diamond: from memory. On the line, both agree.",
            ),
            "hconcat": told_apart(
                [
                    {"width": side, "height": side}
                    | _cloud([p for p in predictions if p.what in whats], file, name)
                    for whats, name in (
                        (("pregnancy", "conception"), "Pregnancy or conception, %"),
                        (("estrus",), "Seen in heat, %"),
                    )
                ]
            ),
            "spacing": FMT.text,
        },
        head=("published", "foretold", "females"),
        rows=tuple((p.published, p.predicted, file.scoring.size(p.arm)) for p in predictions),
    )


def _cloud(predictions: Sequence[Prediction], file: TrialFile, name: str) -> look.Spec:
    ends = {"domain": [0, 100], "nice": False}
    axis = {"tickCount": 5, "gridOpacity": 0.6}
    x = {"field": "foretold", "type": "quantitative", "scale": ends,
         "axis": axis | {"title": "foretold"}}  # fmt: skip
    y = {"field": "published", "type": "quantitative", "scale": ends,
         "axis": axis | {"title": "published"}}  # fmt: skip
    area = {"field": "n", "type": "quantitative", "legend": None,
            "scale": {"domain": [0, 1500], "range": [12, 420], "clamp": True}}  # fmt: skip
    layers = [
        look.layer_of(
            "equal", [{"foretold": 0, "published": 0, "x2": 100, "y2": 100}],
            {"type": "rule", "color": look.LINE, "strokeWidth": 1.2},
            x=x, y=y, x2={"field": "x2"}, y2={"field": "y2"},
        )
    ]  # fmt: skip
    for is_read, shape, colour in ((False, "diamond", look.OCHRE), (True, "circle", look.BLUE)):
        rows = [
            {"foretold": p.predicted, "published": p.published, "n": file.scoring.size(p.arm)}
            for p in predictions
            if p.arm.read is is_read
        ]
        fill = (
            {"fill": colour, "fillOpacity": 0.55}
            if is_read
            else {"fillOpacity": 0, "fill": FMT.ground}
        )
        layers.append(
            look.layer_of(
                "read" if is_read else "memory", rows,
                {"type": "point", "shape": shape, "stroke": colour, "strokeWidth": 1.6,
                 "opacity": 1} | fill,
                x=x, y=y, size=area,
            )
        )  # fmt: skip
    return {"title": look.panel_title(FMT, name), "layer": layers}
