"""Score the out-of-fold rows that ``fit_simulator.py`` wrote, as ``[scoring]`` of the trials says.

python builders/score_fit.py
"""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

from sunup.forecast.arms import read_trials
from sunup.forecast.score import Prediction, Score, score, split_by_reading

ROOT = Path(__file__).parents[1]
MODEL_SD = 4.0  # points a model may be wrong by beside its figures; stated, not fitted


def show(name: str, found: Score) -> None:
    """Print one line of figures."""
    print(
        f"{name:22} n {found.n:3} rmse {found.rmse:5.2f} floor {found.floor:5.2f} "
        f"ratio {found.ratio:4.2f} bias {found.bias:+5.2f} class mean {found.class_mean_rmse:5.2f} "
        f"cover {100 * found.coverage90:3.0f} % width {found.mean_width90:4.1f} "
        f"log {found.log_score:5.2f} ({found.class_mean_log_score:5.2f}) "
        f"direction {found.direction_right}/{found.pairs}"
    )


def main() -> None:
    """Print the scores in sample and out of fold, of read figures and of all."""
    trials = ROOT / "authorities" / "trials" / "trials.toml"
    file = read_trials(tomllib.loads(trials.read_text("utf-8")))
    arms = {arm.id: arm for arm in file.arms}
    report = json.loads((ROOT / "builders" / "results" / "fit.json").read_text("utf-8"))
    for part in ("in_sample", "out_of_fold"):
        for what in ("pregnancy", "estrus", "conception"):
            rows = [
                Prediction(
                    arm=arms[row["arm"]],
                    what=what,
                    published=100 * row["published"],
                    predicted=100 * row["predicted"],
                    sd=((100 * row.get("parameter_sd", 0.0)) ** 2 + MODEL_SD**2) ** 0.5,
                )
                for row in report[part]
                if row["what"] == what
            ]
            show(f"{part} {what}", score(rows, scoring=file.scoring))
            for is_read, some in split_by_reading(rows).items():
                if some:
                    name = "read" if is_read else "memory"
                    show(f"  {name}", score(some, scoring=file.scoring))
    worst = sorted(report["out_of_fold"], key=lambda r: -abs(r["predicted"] - r["published"]))
    for row in worst[:12]:
        print(row["arm"], row["what"], row["published"], row["predicted"])


if __name__ == "__main__":
    main()
