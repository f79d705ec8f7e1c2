"""Fit the simulator to published trials: one command from priors to figures and out-of-fold rows.

    python builders/fit_simulator.py            # five folds, then all arms
    python builders/fit_simulator.py --write    # the same, and put the figures into the library

What came of it and how blind it was: ``docs/science/README.md``. Maximum a posteriori by
Gauss-Newton with common random numbers; pregnancy is an expected share, so the misfit is smooth.
Arms of one trial share an error. Whole trials are held out by the committed folds. Insemination
timing, follicle age and prior progesterone are not in FREE; the timing curve was nevertheless
re-set by hand once after a fit had been seen (see ``late_half_h`` in the figures).
"""

from __future__ import annotations

import argparse
import json
import time
import tomllib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fit_targets import TARGETS, measure
from sunup.forecast.arms import Arm, TrialFile, read_trials
from sunup.forecast.replay import replay
from sunup.physiology.params import Params

if TYPE_CHECKING:
    from numpy.typing import NDArray

ROOT = Path(__file__).parents[1]
FIGURES = ROOT / "src" / "sunup" / "library" / "data" / "physiology.toml"
PRIORS = ROOT / "authorities" / "physiology" / "priors.toml"
TRIALS = ROOT / "authorities" / "trials"
RESULTS = ROOT / "builders" / "results"

FREE = (
    "growth_cow_mm_d",
    "growth_heifer_mm_d",
    "plateau_high_p4_cow_mm",
    "plateau_high_p4_heifer_mm",
    "lh_half_ng_ml",
    "dominance_clock_cow_h",
    "dominance_clock_heifer_h",
    "estradiol_scale_cow_mm",
    "estradiol_scale_heifer_mm",
    "estradiol_block_ng_ml",
    "surge_threshold_sd",
    "surge_delay_h",
    "gnrh_half_cow_mm",
    "gnrh_half_heifer_mm",
    "gnrh_regressing",
    "pgf_mid_days",
    "pgf_second_gain_days",
    "pgf_half_life_h",
    "insert_cow",
    "insert_heifer",
    "mga_ng_ml",
    "mga_half_life_h",
    "progestin_reach_cow_days",
    "progestin_reach_heifer_days",
    "gnrh_starts",
    "heat_shown_cow",
    "heat_shown_heifer",
    "ester_half_mm",
    "ester_heat_before_h",
    "fertile_cow",
    "fertile_heifer",
    "indicus_fertile",
    "sexed_worth",
    "no_exposure_worth",
    "exposure_power",
    "began_anestrous_worth",
)
FERTILITY = FREE[FREE.index("fertile_cow") :]
SIGNED = frozenset({"indicus_fertile"})
LAST_ROUNDS = 4  # of the figures of fertility alone, once the heats stand
SHARED = 0.7  # of herd and trial variance that arms of one trial have in common
MEMORY = 2.0  # variance of a figure from memory against one that was read
TAIL = 6.0  # degrees of freedom of the misfit: one odd arm may not steer
SEED = 20260101


@dataclass(frozen=True, slots=True)
class Datum:
    """One reported figure of one arm."""

    arm: int
    what: str  # estrus | conception | pregnancy
    share: float
    variance: float  # of its own [points squared]
    common: float  # with the rest of its trial


def collect(file: TrialFile) -> list[Datum]:
    """List what is fitted; a figure published for two arms together counts once."""
    data: list[Datum] = []
    pooled: set[str] = set()
    scoring = file.scoring
    for place, arm in enumerate(file.arms):
        for what, pct in (
            ("estrus", arm.estrus_pct),
            ("conception", arm.conception_pct),
            ("pregnancy", arm.pregnancy_pct),
        ):
            if pct is None or (what == "estrus" and arm.id in pooled):
                continue
            if what == "conception" and arm.pregnancy_pct is not None:
                continue  # the same pregnancies over fewer females
            if what == "estrus":
                pooled.update(arm.pooled)
            share = pct / 100.0
            size = scoring.size(arm) * (1 + len(arm.pooled) * (what == "estrus"))
            luck = 1e4 * max(0.04, share * (1 - share)) / size
            places = scoring.locations(arm)
            between = scoring.herd_sd_points**2 / places + scoring.trial_sd_points**2
            factor = 1.0 if arm.read else MEMORY
            common = SHARED * between * factor
            data.append(
                Datum(place, what, share, luck * factor + (1 - SHARED) * between * factor, common)
            )
    return data


class Misfit:
    """Residuals of a parameter vector: trials, targets of physiology, priors."""

    def __init__(
        self, file: TrialFile, base: Params, priors: dict[str, tuple[float, float]], n: int
    ) -> None:
        self.file = file
        self.base = base
        self.mean = np.array([priors[name][0] for name in FREE])
        self.sd = np.array([priors[name][1] for name in FREE])
        self.n = n
        self.data = collect(file)

    def params(self, z: NDArray[np.float64]) -> Params:
        """Params at `z` prior standard deviations from the prior means, kept in bounds."""
        values = self.mean + z * self.sd
        held = {}
        for i, name in enumerate(FREE):
            low = -0.4 if name in SIGNED else 0.05
            high = 0.995 if self.mean[i] < 1.0 and not name.endswith("_mm") else np.inf
            held[name] = float(min(high, max(low, values[i])))
        return self.base.changed(held)

    def predict(self, z: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Shares of the data, and the targets."""
        params = self.params(z)

        def one(arm: Arm) -> dict[str, float | None]:
            run = replay(arm, params=params, scoring=self.file.scoring, n=self.n, seed=SEED)
            return {
                "estrus": run.estrus,
                "conception": run.conception,
                "pregnancy": run.pregnancy,
            }

        with ThreadPoolExecutor(2) as pool:
            runs = list(pool.map(one, self.file.arms))
        shares = [runs[d.arm][d.what] for d in self.data]
        return np.array([0.0 if s is None else s for s in shares]), measure(params)

    def jacobian(
        self,
        z: NDArray[np.float64],
        shares: NDArray[np.float64],
        targets: NDArray[np.float64],
        moving: tuple[str, ...] = FREE,
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Slopes of shares and targets per prior standard deviation of the `moving` figures."""
        slope_s = np.zeros((len(shares), len(FREE)))
        slope_t = np.zeros((len(targets), len(FREE)))
        step = 0.5
        for j, name in enumerate(FREE):
            if name not in moving:
                continue
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


def fit(
    misfit: Misfit, rows: list[int], *, rounds: int, start: tuple[NDArray[np.float64], ...] | None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the fitted z and its covariance, using only the data in `rows`."""
    target = np.array([value for value, _ in TARGETS.values()])
    target_sd = np.array([sd for _, sd in TARGETS.values()])
    published = 100.0 * np.array([misfit.data[r].share for r in rows])
    white = misfit.whiten(rows)
    z = np.zeros(len(FREE))
    information = np.eye(len(FREE))
    for turn in range(rounds + LAST_ROUNDS):
        moving = FREE if turn < rounds else FERTILITY
        if turn == 0 and start is not None:
            shares, targets, slope_s, slope_t = start
        else:
            shares, targets = misfit.predict(z)
            slope_s, slope_t = misfit.jacobian(z, shares, targets, moving)
        r = white @ (100.0 * shares[rows] - published)
        slope = white @ (100.0 * slope_s[rows])
        weight = (TAIL + 1.0) / (TAIL + r**2)
        if turn == 0:
            weight = np.ones_like(r)  # far from the data every arm is odd; none is set aside yet
        rt = (targets - target) / target_sd
        st = slope_t / target_sd[:, None]
        curvature = slope.T @ (weight[:, None] * slope) + st.T @ st + np.eye(len(FREE))
        gradient = slope.T @ (weight * r) + st.T @ rt + z
        step = np.zeros(len(FREE))
        free = np.array([name in moving for name in FREE])
        step[free] = -np.linalg.solve(curvature[np.ix_(free, free)], gradient[free])
        if turn < rounds:
            information = curvature
        largest = np.abs(step).max()
        z = np.clip(z + step * min(1.0, 1.5 / largest), -3.0, 3.0)
        cost = float((weight * r**2).sum() + rt @ rt + z @ z)
        print(f"  turn {turn}: weighted misfit before the step {cost:.0f}", flush=True)
    return z, np.asarray(np.linalg.inv(information), float)


def main() -> None:
    """Fit the folds and the whole; print the scores; write on request."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--females", type=int, default=700)
    parser.add_argument("--rounds", type=int, default=2)
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
    misfit = Misfit(file, base, priors, options.females)
    everything = list(range(len(misfit.data)))
    zero = np.zeros(len(FREE))
    shares, targets = misfit.predict(zero)
    start = (shares, targets, *misfit.jacobian(zero, shares, targets))
    print(f"start: {time.perf_counter() - begun:.0f} s", flush=True)

    rows_out = []
    for fold in sorted(set(folds.values())):
        held = [r for r in everything if folds[file.arms[misfit.data[r].arm].trial] == fold]
        kept = [r for r in everything if r not in held]
        print(f"fold {fold}: {len(held)} of {len(everything)} figures held out", flush=True)
        z, covariance = fit(misfit, kept, rounds=options.rounds, start=start)
        predicted, _ = misfit.predict(z)
        root = np.linalg.cholesky(covariance)
        rng = np.random.default_rng(SEED + fold)
        draws = np.array(
            [
                misfit.predict(np.clip(z + root @ rng.standard_normal(len(FREE)), -3, 3))[0]
                for _ in range(8)
            ]
        )
        for r in held:
            datum = misfit.data[r]
            rows_out.append(
                {
                    "arm": file.arms[datum.arm].id,
                    "what": datum.what,
                    "fold": fold,
                    "published": datum.share,
                    "predicted": round(float(predicted[r]), 4),
                    "parameter_sd": round(float(draws[:, r].std(ddof=1)), 4),
                }
            )
    print("all arms", flush=True)
    z, covariance = fit(misfit, everything, rounds=options.rounds, start=start)
    params = misfit.params(z)
    final, measured = misfit.predict(z)
    for name, value in zip(TARGETS, measured, strict=True):
        print(f"  {name}: {value:.3f} (target {TARGETS[name][0]})")
    RESULTS.mkdir(exist_ok=True)
    ensemble = np.linalg.cholesky(covariance)
    rng = np.random.default_rng(SEED)
    members = [
        misfit.params(np.clip(z + ensemble @ rng.standard_normal(len(FREE)), -3, 3))
        for _ in range(32)
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
        "ensemble": [{name: round(asdict(member)[name], 4) for name in FREE} for member in members],
    }
    (RESULTS / "fit.json").write_text(json.dumps(report, indent=1) + "\n", "utf-8")
    if options.write:
        write_figures({name: asdict(params)[name] for name in FREE}, priors)
    print(f"done in {time.perf_counter() - begun:.0f} s")


def write_figures(values: dict[str, float], priors: dict[str, tuple[float, float]]) -> None:
    """Put fitted values into the library's file, marked as fitted, with their priors."""
    name = ""
    out: list[str] = []
    for line in FIGURES.read_text("utf-8").splitlines():
        if line.startswith("["):
            name = line.strip("[]")
        key = line.split(" = ", maxsplit=1)[0]
        if name not in values or key not in {"value", "kind", "where", "note"}:
            out.append(line)
        elif key == "value":
            out.append(f"value = {values[name]:.4g}")
        elif key == "kind":
            out.append('kind = "fitted"')
        elif key == "note":
            mean, sd = priors[name]
            out.append(
                'where = "builders/fit_simulator.py on authorities/trials; '
                f'prior {mean:g}, SD {sd:g}"'
            )
            out.append(line)
    FIGURES.write_text("\n".join(out) + "\n", "utf-8")


if __name__ == "__main__":
    main()
