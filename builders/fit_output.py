"""What a fit leaves in the library: fitted figures, sets that fit about as well, sets by fold."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sunup.forecast.arms import TrialFile

ROOT = Path(__file__).parents[1]
DATA = ROOT / "src" / "sunup" / "library" / "data"
WHERE = "builders/fit_simulator.py on authorities/trials"
LEAST_LOGIT_SD = 0.05


def model_sds(
    rows: Sequence[Mapping[str, Any]], file: TrialFile, *, without_fold: int | None = None
) -> tuple[float, float]:
    """How far off the model is beside luck, herds, trials and figures, on the logit.

    Parameters
    ----------
    rows : sequence of mappings
        Out-of-fold rows of the fit: arm, what, fold, published, predicted, parameter_sd.
    file : TrialFile
    without_fold : int, optional
        Leave these rows out, so that a fold's intervals rest on the other folds alone.

    Returns
    -------
    tuple of two float
        Bos taurus and Bos indicus; crosses stand between by variance.
    """
    arms = {arm.id: arm for arm in file.arms}
    indicus, excess = [], []
    for row in rows:
        if row["what"] != "pregnancy" or row["fold"] == without_fold:
            continue
        arm = arms[row["arm"]]
        share = min(0.95, max(0.05, row["predicted"]))
        error = 100.0 * (row["predicted"] - row["published"])
        luck = file.scoring.variance(arm, share) + (100.0 * row["parameter_sd"]) ** 2
        excess.append((error**2 - luck) / (100.0 * share * (1.0 - share)) ** 2)
        indicus.append(arm.indicus)
    part, over = np.array(indicus), np.array(excess)
    taurus = max(LEAST_LOGIT_SD**2, float(over[part == 0].mean()))
    zebu = taurus
    if (part > 0).any():
        zebu = float((over - (1.0 - part) * taurus)[part > 0].mean() / part[part > 0].mean())
    return taurus**0.5, max(taurus, zebu) ** 0.5


def write_figures(
    values: Mapping[str, float],
    priors: Mapping[str, tuple[float, float]],
    sds: Mapping[str, float],
) -> None:
    """Put fitted values into the library's file, marked as fitted, with their priors."""
    path = DATA / "physiology.toml"
    name = ""
    out: list[str] = []
    for line in path.read_text("utf-8").splitlines():
        if line.startswith("["):
            name = line.strip("[]")
        key = line.split(" = ", maxsplit=1)[0]
        if name not in values or key not in {"value", "sd", "kind", "where", "note"}:
            out.append(line)
        elif key == "value":
            out.append(f"value = {values[name]:.4g}")
        elif key == "sd":
            out.append(f"sd = {sds[name]:.2g}")
        elif key == "kind":
            out.append('kind = "fitted"')
        elif key == "note":
            mean, sd = priors[name]
            out += [f'where = "{WHERE}; prior {mean:g}, SD {sd:g}"', line]
    path.write_text("\n".join(out) + "\n", "utf-8")


def write_model_sds(taurus: float, indicus: float) -> None:
    """Put the model's own error into the forecast's figures."""
    path = DATA / "forecast.toml"
    name = ""
    out: list[str] = []
    for line in path.read_text("utf-8").splitlines():
        if line.startswith("["):
            name = line.strip("[]")
        if line.startswith("value = ") and name == "model_logit_sd":
            out.append(f"value = {taurus:.3g}")
        elif line.startswith("value = ") and name == "model_logit_sd_indicus":
            out.append(f"value = {indicus:.3g}")
        else:
            out.append(line)
    path.write_text("\n".join(out) + "\n", "utf-8")


def _units() -> dict[str, str]:
    figures = tomllib.loads((DATA / "physiology.toml").read_text("utf-8"))
    return {name: figure["unit"] for name, figure in figures.items()}


def _table(name: str, value: str, unit: str, note: str) -> str:
    return (
        f'[{name}]\nvalue = {value}\nunit = "{unit}"\nkind = "fitted"\nseen = "part_read"\n'
        f'source = ["fitted_to_trials"]\nwhere = "{WHERE}"\nnote = "{note}"\n'
    )


def write_sets(members: Sequence[Mapping[str, float]]) -> None:
    """Write the sets that fit the trials about as well: set k has the k-th number of each."""
    units = _units()
    text = "# Sets of figures that fit about as well; written by builders/fit_simulator.py.\n\n"
    text += "\n".join(
        _table(
            name,
            "[" + ", ".join(f"{m[name]:.4g}" for m in members) + "]",
            units[name],
            f"physiology.{name} in each of {len(members)} sets.",
        )
        for name in members[0]
    )
    (DATA / "ensemble.toml").write_text(text, "utf-8")


def write_held_out(
    sets: Mapping[int, Mapping[str, float]],
    folds: Mapping[str, int],
    sds: Mapping[int, tuple[float, float]],
) -> None:
    """Write the figures fitted without each fold, and which trials each fold left out."""
    units = _units() | {"model_logit_sd": "logit", "model_logit_sd_indicus": "logit"}
    rows = {
        fold: {**sets[fold], "model_logit_sd": sds[fold][0], "model_logit_sd_indicus": sds[fold][1]}
        for fold in sorted(sets)
    }
    text = "# Figures fitted without each fold of trials; written by builders/fit_simulator.py.\n\n"
    for fold in rows:
        trials = ", ".join(f'"{trial}"' for trial in sorted(folds) if folds[trial] == fold)
        text += _table(
            f"trials_of_fold_{fold}", f"[{trials}]", "-", f"Trials that fit {fold} never saw."
        )
        text += "\n"
    text += "\n".join(
        _table(
            name,
            "[" + ", ".join(f"{row[name]:.4g}" for row in rows.values()) + "]",
            units[name],
            f"{name} without fold 0, 1, ...",
        )
        for name in next(iter(rows.values()))
    )
    (DATA / "held_out.toml").write_text(text, "utf-8")
