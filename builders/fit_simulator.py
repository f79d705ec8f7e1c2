"""Fit the simulator to published trials: one command from priors to figures and out-of-fold rows.

    python builders/fit_simulator.py            # five folds, then all arms
    python builders/fit_simulator.py --write    # the same, and put the figures into the library
    python builders/fit_simulator.py --take     # put the last results there without fitting again

What came of it and how blind it was: ``docs/science/trust.md``. Maximum a posteriori by
Gauss-Newton with common random numbers; pregnancy is an expected share, so the misfit is smooth.
Arms of one trial share an error. Whole trials are held out by the committed folds. Insemination
timing (``fit_timing.py``), follicle age and prior progesterone are not in FREE.

Slopes are taken at the priors and once more where the first descent ends, in every fold anew; in
between they are corrected by what each step brings (Broyden 1965). The held-out arms of a fold have
no part in its misfit.
"""

from __future__ import annotations

import argparse
import json
import time
import tomllib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from fit_output import (
    model_sds,
    write_figures,
    write_held_out,
    write_model_sds,
    write_sets,
)
from fit_targets import TARGETS, measure
from sunup.forecast.arms import Arm, TrialFile, read_trials
from sunup.forecast.replay import replay
from sunup.physiology.params import Params, highest

if TYPE_CHECKING:
    from numpy.typing import NDArray

ROOT = Path(__file__).parents[1]
FIGURES = ROOT / "src" / "sunup" / "library" / "data" / "physiology.toml"
PRIORS = ROOT / "authorities" / "physiology" / "priors.toml"
UNITS = {name: v["unit"] for name, v in tomllib.loads(PRIORS.read_text("utf-8")).items()}
TRIALS = ROOT / "authorities" / "trials"
RESULTS = ROOT / "builders" / "results"

FREE = (
    "growth_cow_mm_d",
    "growth_heifer_mm_d",
    "plateau_high_p4_cow_mm",
    "plateau_high_p4_heifer_mm",
    "plateau_gain_mm",
    "growth_half_ng_ml",
    "lh_half_ng_ml",
    "dominance_clock_cow_h",
    "dominance_clock_heifer_h",
    "clock_recovery",
    "estradiol_scale_cow_mm",
    "estradiol_scale_heifer_mm",
    "estradiol_levels_off",
    "estradiol_block_ng_ml",
    "lift_memory_h",
    "surge_threshold_sd",
    "surge_delay_h",
    "gnrh_half_cow_mm",
    "gnrh_half_heifer_mm",
    "gnrh_spent_loss",
    "gnrh_indicus_loss",
    "gnrh_regressing",
    "pgf_mid_days",
    "pgf_second_gain_days",
    "pgf_half_life_h",
    "pgf_half_life_cv",
    "insert_half_life_h",
    "insert_cow",
    "insert_heifer",
    "mga_ng_ml",
    "mga_half_life_h",
    "progestin_reach_cow_days",
    "progestin_reach_heifer_days",
    "calf_off_reach_days",
    "gnrh_reach_more_days",
    "heat_shown_cow",
    "heat_shown_heifer",
    "indicus_heat_hidden",
    "indicus_progesterone",
    "ester_half_mm",
    "ester_heat_before_h",
    "fertile_cow",
    "fertile_heifer",
    "indicus_fertile",
    "cross_fertile",
    "sexed_worth",
    "ovulation_p4_half_ng_ml",
    "began_anestrous_worth",
)
SIGNED = frozenset({"indicus_fertile", "cross_fertile"})
SHARED = 0.7  # of herd and trial variance that arms of one trial have in common
OFFSET = 3.0  # what a trial differs from any forecast for reasons of its own [points], so that its
# arms are fitted more by how they differ from each other than by their level
MEMORY = 2.0  # variance of a figure from memory against one that was read
# of the luck; the middle of the fits under each is taken
SEEDS = (20260101, 20260201, 20260301)
SETS = 32  # that fit about as well, of the ensemble
STEP = 0.5  # of the slopes, in prior standard deviations


@dataclass(frozen=True, slots=True)
class Datum:
    """One reported figure, of one arm or of several together; the first stands for them."""

    arm: int
    others: tuple[int, ...]
    what: str  # estrus | conception | pregnancy
    share: float
    variance: float  # of its own [points squared]
    common: float  # with the rest of its trial


def collect(file: TrialFile) -> list[Datum]:
    """List what is fitted; a figure published for several arms together counts once."""
    data: list[Datum] = []
    scoring = file.scoring
    place = {arm.id: i for i, arm in enumerate(file.arms)}
    for what in ("estrus", "conception", "pregnancy"):
        for arms in file.pooled(what):
            first = arms[0]
            if what == "conception" and first.pregnancy_pct is not None:
                continue  # the same pregnancies over fewer females
            whole = scoring.as_one(arms)
            share = (first.published(what) or 0.0) / 100.0
            luck = 1e4 * max(0.04, share * (1 - share)) / scoring.size(whole)
            places = scoring.locations(whole)
            between = scoring.herd_sd_points**2 / places + scoring.trial_sd_points**2
            factor = 1.0 if whole.read else MEMORY
            common = SHARED * between * factor + OFFSET**2
            own = luck * factor + (1 - SHARED) * between * factor
            here, *others = (place[arm.id] for arm in arms)
            data.append(Datum(here, tuple(others), what, share, own, common))
    return sorted(data, key=lambda datum: datum.arm)


class Misfit:
    """Residuals of a parameter vector: trials, targets of physiology, priors."""

    def __init__(
        self,
        file: TrialFile,
        base: Params,
        priors: dict[str, tuple[float, float]],
        *,
        n: int,
        seed: int,
    ) -> None:
        self.file = file
        self.base = base
        self.mean = np.array([priors[name][0] for name in FREE])
        self.sd = np.array([priors[name][1] for name in FREE])
        self.n = n
        self.seed = seed
        self.data = collect(file)
        self.trials = sorted({arm.trial for arm in file.arms})

    def params(self, z: NDArray[np.float64]) -> Params:
        """Params at `z` prior standard deviations from the prior means, kept in bounds."""
        values = self.mean + z * self.sd
        held = {}
        for i, name in enumerate(FREE):
            low = -0.4 if name in SIGNED else 0.1 * self.mean[i]
            high = highest(name, UNITS[name])
            held[name] = float(min(high, max(low, values[i])))
        return self.base.changed(held)

    def predict(self, z: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Shares of the data, and the targets."""
        params = self.params(z)

        def one(arm: Arm) -> dict[str, float | None]:
            seed = self.seed + self.trials.index(arm.trial)  # luck all trials share would be fitted
            run = replay(arm, params=params, scoring=self.file.scoring, n=self.n, seed=seed)
            return {
                "estrus": run.estrus,
                "conception": run.conception,
                "pregnancy": run.pregnancy,
            }

        with ThreadPoolExecutor(2) as pool:
            runs = list(pool.map(one, self.file.arms))
        shares = []
        for d in self.data:
            told = [(runs[i][d.what] or 0.0, self.size(i)) for i in (d.arm, *d.others)]
            shares.append(np.average([s for s, _ in told], weights=[n for _, n in told]))
        return np.array(shares), measure(params)

    def size(self, arm: int) -> int:
        """Females of an arm."""
        return self.file.scoring.size(self.file.arms[arm])

    def slopes(
        self, z: NDArray[np.float64], shares: NDArray[np.float64], targets: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Slopes of shares and targets per prior standard deviation of every free figure."""
        slope_s = np.zeros((len(shares), len(FREE)))
        slope_t = np.zeros((len(targets), len(FREE)))
        for j in range(len(FREE)):
            step = -STEP if z[j] > 2.5 else STEP
            moved = z.copy()
            moved[j] += step
            s, t = self.predict(moved)
            slope_s[:, j] = (s - shares) / step
            slope_t[:, j] = (t - targets) / step
        return slope_s, slope_t

    def whiten(self, rows: list[int]) -> NDArray[np.float64]:
        """Matrix that makes the errors of the chosen rows independent and of unit size."""
        size = len(rows)
        cov = np.zeros((size, size))
        for i, a in enumerate(rows):
            for j, b in enumerate(rows):
                one, two = self.data[a], self.data[b]
                if i == j:
                    cov[i, i] = one.variance + one.common
                elif self.file.arms[one.arm].trial == self.file.arms[two.arm].trial and (
                    one.what == "estrus"
                ) == (two.what == "estrus"):
                    cov[i, j] = np.sqrt(one.common * two.common)
        return np.linalg.inv(np.linalg.cholesky(cov))


@dataclass
class Point:
    """A place of the search: z, what is predicted there, and slopes."""

    z: NDArray[np.float64]
    shares: NDArray[np.float64]
    targets: NDArray[np.float64]
    slope_s: NDArray[np.float64]
    slope_t: NDArray[np.float64]


def fit(
    misfit: Misfit, rows: list[int], start: Point, *, turns: int
) -> tuple[Point, NDArray[np.float64]]:
    """Descend from `start` on the data in `rows` only; return the place and the covariance of z."""
    target = np.array([value for value, _ in TARGETS.values()])
    target_sd = np.array([sd for _, sd in TARGETS.values()])
    published = 100.0 * np.array([misfit.data[r].share for r in rows])
    white = misfit.whiten(rows)

    def parts(at: Point) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
        r = white @ (100.0 * at.shares[rows] - published)
        rt = (at.targets - target) / target_sd
        cost = r @ r + rt @ rt + at.z @ at.z
        return r, rt, float(cost)

    def curvature(at: Point) -> tuple[Any, Any, Any]:
        slope = white @ (100.0 * at.slope_s[rows])
        st = at.slope_t / target_sd[:, None]
        return slope, st, slope.T @ slope + st.T @ st + np.eye(len(FREE))

    here = start
    r, rt, cost = parts(here)
    damp = 0.1
    for turn in range(turns):
        slope, st, matrix = curvature(here)
        gradient = slope.T @ r + st.T @ rt + here.z
        step: NDArray[np.float64] = -np.linalg.solve(
            matrix + damp * np.diag(np.diag(matrix)), gradient
        )
        largest = float(np.abs(step).max())
        step *= min(1.0, 1.0 / largest)
        z = np.clip(here.z + step, -3.0, 3.0)
        moved = z - here.z
        shares, targets = misfit.predict(z)
        # what the step brought, put into the slopes (Broyden's good update)
        along = moved / max(1e-9, float(moved @ moved))
        slope_s = here.slope_s + np.outer(shares - here.shares - here.slope_s @ moved, along)
        slope_t = here.slope_t + np.outer(targets - here.targets - here.slope_t @ moved, along)
        there = Point(z, shares, targets, slope_s, slope_t)
        r_new, rt_new, cost_new = parts(there)
        print(f"  turn {turn}: {cost:.1f} -> {cost_new:.1f} (damping {damp:.2g})", flush=True)
        if cost_new < cost:
            here, r, rt, cost, damp = there, r_new, rt_new, cost_new, 0.4 * damp
        else:
            here = Point(here.z, here.shares, here.targets, slope_s, slope_t)
            damp = 4.0 * max(damp, 0.05)
    *_, matrix = curvature(here)
    return here, np.asarray(np.linalg.inv(matrix), float)


def fit_twice(
    misfit: Misfit, rows: list[int], first: Point, *, turns: int
) -> tuple[Point, NDArray[np.float64]]:
    """Descend from the priors, take the slopes anew where that ends, and descend again."""
    near, _ = fit(misfit, rows, first, turns=turns)
    again = misfit.slopes(near.z, near.shares, near.targets)
    return fit(misfit, rows, Point(near.z, near.shares, near.targets, *again), turns=turns)


@dataclass
class Middle:
    """What the fits under each luck come to between them."""

    z: NDArray[np.float64]
    shares: NDArray[np.float64]
    targets: NDArray[np.float64]
    slope_s: NDArray[np.float64]
    covariance: NDArray[np.float64]


def fit_middle(lucks: list[Misfit], firsts: list[Point], rows: list[int], *, turns: int) -> Middle:
    """Fit the data in `rows` under each luck from its own start; take the middle."""
    fits = [fit_twice(m, rows, at, turns=turns) for m, at in zip(lucks, firsts, strict=True)]
    z = np.mean([at.z for at, _ in fits], axis=0)
    there = [m.predict(z) for m in lucks]
    return Middle(
        z=z,
        shares=np.mean([shares for shares, _ in there], axis=0),
        targets=np.mean([targets for _, targets in there], axis=0),
        slope_s=np.mean([at.slope_s for at, _ in fits], axis=0),
        covariance=np.mean([spread for _, spread in fits], axis=0),
    )


def recentre(
    misfit: Misfit, z: NDArray[np.float64], off: list[NDArray[np.float64]]
) -> NDArray[np.float64]:
    """Return what to move the sets by so that their mean foretells what the fit at `z` does.

    Forecasts are curved in the figures, so that sets drawn evenly about the fit lie below it in the
    mean. The move is the likeliest mixture of the pairs' own directions that closes the gap.
    """
    shares, targets = misfit.predict(z)
    scale = np.concatenate(
        [
            [(d.variance + d.common) ** -0.5 for d in misfit.data],
            [1.0 / sd for _, sd in TARGETS.values()],
        ]
    )
    here = np.concatenate([shares, targets]) * scale
    ends = [
        [np.concatenate(misfit.predict(np.clip(z + s * one, -3, 3))) * scale for s in (1.0, -1.0)]
        for one in off
    ]
    gap = here - np.mean(ends, axis=(0, 1))
    along = np.array([(plus - minus) / 2.0 for plus, minus in ends]).T
    weights = np.linalg.solve(along.T @ along + np.eye(len(off)), along.T @ gap)
    off_by = np.abs(gap / scale)[: len(shares)].mean()
    print(f"sets: off in the mean by {off_by:.4f}, moved by {weights.round(2)}", flush=True)
    moved: NDArray[np.float64] = np.array(off).T @ weights
    return moved


def fit_folds(
    lucks: list[Misfit], firsts: list[Point], folds: dict[str, int], *, turns: int
) -> tuple[list[dict[str, Any]], dict[int, dict[str, float]]]:
    """Fit without each fold in turn; return what is foretold of it, and the figures by fold."""
    misfit = lucks[0]
    file = misfit.file
    everything = list(range(len(misfit.data)))
    rows_out = []
    sets = {}
    for fold in sorted(set(folds.values())):
        held = [r for r in everything if folds[file.arms[misfit.data[r].arm].trial] == fold]
        kept = [r for r in everything if r not in held]
        print(f"fold {fold}: {len(held)} of {len(everything)} figures held out", flush=True)
        there = fit_middle(lucks, firsts, kept, turns=turns)
        sets[fold] = {name: round(asdict(misfit.params(there.z))[name], 4) for name in FREE}
        doubt = np.sqrt(np.einsum("ij,jk,ik->i", there.slope_s, there.covariance, there.slope_s))
        for r in held:
            datum = misfit.data[r]
            rows_out.append(
                {
                    "arm": file.arms[datum.arm].id,
                    "what": datum.what,
                    "fold": fold,
                    "published": datum.share,
                    "predicted": round(float(there.shares[r]), 4),
                    "parameter_sd": round(float(doubt[r]), 4),
                }
            )
    return rows_out, sets


def write_fit(
    report: dict[str, Any],
    file: TrialFile,
    priors: dict[str, tuple[float, float]],
    folds: dict[str, int],
) -> None:
    """Put what a fit found into the library."""
    rows = report["out_of_fold"]
    fitted = report["fitted"]
    sets = {int(fold): values for fold, values in report["folds"].items()}
    write_figures(
        {name: fitted[name]["value"] for name in FREE},
        priors,
        {name: fitted[name]["sd"] for name in FREE},
    )
    write_sets(report["ensemble"])
    write_model_sds(*model_sds(rows, file))
    write_held_out(sets, folds, {fold: model_sds(rows, file, without_fold=fold) for fold in sets})


def main() -> None:
    """Fit the folds and the whole; print the scores; write on request."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--write", action="store_true", help="put what is found in the library")
    parser.add_argument("--take", action="store_true", help="the same of the last results")
    parser.add_argument("--females", type=int, default=2000)
    parser.add_argument("--turns", type=int, default=6)
    options = parser.parse_args()
    begun = time.perf_counter()
    figures = tomllib.loads(FIGURES.read_text("utf-8"))
    base = Params.from_figures({f"physiology.{k}": v["value"] for k, v in figures.items()})
    priors = {
        k: (float(v["value"]), float(v["sd"]))
        for k, v in tomllib.loads(PRIORS.read_text("utf-8")).items()
    }
    base = base.changed({name: priors[name][0] for name in FREE})
    file = read_trials(tomllib.loads((TRIALS / "trials.toml").read_text("utf-8")))
    folds = tomllib.loads((TRIALS / "folds.toml").read_text("utf-8"))["fold"]
    if options.take:
        last = json.loads((RESULTS / "fit.json").read_text("utf-8"))
        write_fit(last, file, priors, folds)
        return
    lucks = [Misfit(file, base, priors, n=options.females, seed=seed) for seed in SEEDS]
    misfit = lucks[0]
    everything = list(range(len(misfit.data)))
    zero = np.zeros(len(FREE))
    firsts = []
    for one in lucks:
        shares, targets = one.predict(zero)
        firsts.append(Point(zero, shares, targets, *one.slopes(zero, shares, targets)))
    print(f"start: {time.perf_counter() - begun:.0f} s", flush=True)
    best = fit_middle(lucks, firsts, everything, turns=options.turns)
    z, covariance = best.z, best.covariance
    print(f"all arms: {time.perf_counter() - begun:.0f} s", flush=True)

    rows_out, sets = fit_folds(lucks, firsts, folds, turns=options.turns)
    final, measured = best.shares, best.targets
    params = misfit.params(z)
    for name, value in zip(TARGETS, measured, strict=True):
        print(f"  {name}: {value:.3f} (target {TARGETS[name][0]})")
    RESULTS.mkdir(exist_ok=True)
    ensemble = np.linalg.cholesky(covariance)
    rng = np.random.default_rng(SEEDS[0])
    off = [ensemble @ rng.standard_normal(len(FREE)) for _ in range(SETS // 2)]
    middle = z + recentre(misfit, z, off)
    members = [  # in opposite pairs: the luck of the draw moves no forecast's middle
        misfit.params(np.clip(middle + sign * one, -3, 3)) for one in off for sign in (1.0, -1.0)
    ]
    report = {
        "out_of_fold": rows_out,
        "in_sample": [
            {
                "arm": file.arms[d.arm].id,
                "what": d.what,
                "published": d.share,
                "predicted": round(float(final[i]), 4),
            }
            for i, d in enumerate(misfit.data)
        ],
        "fitted": {
            name: {
                "prior": misfit.mean[i],
                "prior_sd": misfit.sd[i],
                "value": round(asdict(params)[name], 4),
                "sd": round(float(np.sqrt(covariance[i, i]) * misfit.sd[i]), 4),
            }
            for i, name in enumerate(FREE)
        },
        "folds": sets,
        "targets": {name: round(float(v), 4) for name, v in zip(TARGETS, measured, strict=True)},
        "ensemble": [{name: round(asdict(member)[name], 4) for name in FREE} for member in members],
    }
    (RESULTS / "fit.json").write_text(json.dumps(report, indent=1) + "\n", "utf-8")
    taurus, indicus = model_sds(rows_out, file)
    print(f"model error on the logit: {taurus:.3f}; Bos indicus {indicus:.3f}")
    if options.write:
        write_fit(report, file, priors, folds)
    print(f"done in {time.perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main()
