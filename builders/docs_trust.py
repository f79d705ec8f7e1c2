"""``docs/science/trust.md`` and the state told in ``docs/science/README.md``."""

from __future__ import annotations

import math
import re
import tomllib
from typing import TYPE_CHECKING, Any

from docs_markdown import bullets, page, table
from docs_science import DIGITS, DOCS, filled
from science_published import ROOT, read_measured
from science_trust import (
    LATER,
    LEVELS,
    PARTS,
    UNSEEN,
    WHATS,
    assumed_plans,
    coverage,
    predictions_of,
    read_trial_file,
    scores_of,
)
from sunup.forecast.score import score
from sunup.physiology.orders import Act

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sunup.forecast.arms import Arm, TrialFile
    from sunup.forecast.score import Prediction, Score
    from sunup.library import Library

SAID = ROOT / "builders" / "trust.toml"
MISSES = ROOT / "authorities" / "feasibility" / "misses.toml"
WORST = 10
# by how much of the guess's misfit is taken away
VERDICTS = (
    (0.3, "much better than that guess"),
    (0.1, "better than that guess"),
    (0.02, "hardly better than that guess"),
    (-math.inf, "no better than that guess"),
)
MET, NOT_MET = "yes", "**no**"
BREED = {0.0: "", 0.5: ", cross", 1.0: ", indicus"}


def render_trust(_library: Library) -> str:
    """Return the page on how far to trust a forecast."""
    measured, file = read_measured(), read_trial_file()
    predictions = predictions_of(measured["trust"]["rows"], file)
    scores = scores_of(predictions, file)
    said = tomllib.loads(SAID.read_text("utf-8"))
    return page(
        "How far to trust a forecast",
        "`builders/results/science.json`, `builders/trust.toml` and `authorities/`",
        _state(scores, measured),
        "## Trials that the figures had not seen\n\n"
        "Whole trials were dealt into five folds before the first fit; each arm below is foretold "
        "with figures fitted without its fold. `sunup validate authorities/trials/trials.toml` "
        "runs it again, and any other file of that form.\n\n"
        "![Foretold and published results of trials](../pictures/science_trust.svg)",
        "## Misfit beside its floor and beside a guess\n\n"
        "Points of percentage. *Floor*: what a perfect forecast of the plan would still miss by, "
        "from the luck of so many females, herds and trials. *Guess*: the mean of the class over "
        "the other trials, which knows nothing of the plan. A claim without these two says "
        "little.\n\n"
        + _score_table(scores)
        + "\n\n"
        + _heaviest(predictions, file)
        + " "
        + _least(predictions, file),
        "## What was asked, and what was reached\n\n" + _asked_table(scores),
        "## Trials that stand in no fit\n\n" + _unseen(measured),
        "## Trials found last\n\n" + _later(measured, said["found_last"]),
        "## Do the intervals hold?\n\n"
        "Share of published figures inside intervals of a nominal width, and the mean width. They "
        "carry luck, herd, trial, the doubt about the figures and the model's own error.\n\n"
        + _coverage_table(predictions, file),
        f"## The {WORST} worst misses\n\n" + _worst_table(predictions, said["reason"]),
        "## What was not blind\n\n"
        + bullets(_with_measured(said["not_blind"], measured["series"])),
        "## The seven misses of the feasibility study\n\n" + _misses(measured["series"]),
    )


def _with_measured(sentences: Sequence[str], series: Mapping[str, Any]) -> list[str]:
    """Sentences with each ``{page.name}`` as it was measured last."""
    return [
        re.sub(r"\{([a-z_]+\.[a-z_]+)\}", lambda key: f"{series[key[1]][0]['value']:.0f}", one)
        for one in sentences
    ]


def render_science_readme(_library: Library) -> str:
    """Return the first page of ``docs/science`` with the state as it is now."""
    measured, file = read_measured(), read_trial_file()
    scores = scores_of(predictions_of(measured["trust"]["rows"], file), file)
    return filled(DOCS / "science" / "README.md", {"state": _state(scores, measured)})


def _state(scores: Mapping[tuple[str, str], Score], measured: Mapping[str, Any]) -> str:
    one, heats = scores["pregnancy", "all"], scores["estrus", "all"]
    later, _, n_trials = _unseen_scores(measured)
    new = later["pregnancy", "all"]
    last, last_file = _later_scores(measured)
    found_last = last["pregnancy", "all"]
    n_last = len({arm.trial for arm in last_file.arms})
    asked = [reached for _, _, _, reached in _asked(scores)]
    skill = 1.0 - one.rmse / one.class_mean_rmse
    verdict = next(words for least, words in VERDICTS if skill >= least)
    side = "low" if one.bias < 0 else "high"
    heat_side = "low" if heats.bias < 0 else "high"
    return (
        f"**In short.** Of {len(asked)} marks set before, {sum(asked)} are reached. Left-out "
        f"trials are foretold with a misfit of {one.rmse:.1f} points of pregnancy, where luck, "
        f"herds and trials alone leave {one.floor:.1f} and the mean of the class guesses within "
        f"{one.class_mean_rmse:.1f}: {verdict}. Pregnancy comes out {abs(one.bias):.1f} points too "
        f"{side} on average, heats {abs(heats.bias):.1f} too {heat_side} with a misfit of "
        f"{heats.rmse:.1f}. The better arm of a trial is named in {one.direction_right} of "
        f"{one.pairs} pairs that differ by 4 points or more. Intervals of 90 % hold "
        f"{100 * one.coverage90:.0f} % and are {one.mean_width90:.0f} points wide. On {n_trials} "
        f"other trials, which stand in no fit, the misfit is {new.rmse:.1f} "
        f"(floor {new.floor:.1f}, guess {new.class_mean_rmse:.1f}), the better arm is named in "
        f"{new.direction_right} of {new.pairs} pairs, and intervals of 90 % hold "
        f"{100 * new.coverage90:.0f} %. On {n_last} more, found last and "
        "taken as they came, most with plans assumed in part, it is "
        f"{found_last.rmse:.1f} (floor {found_last.floor:.1f}, guess "
        f"{found_last.class_mean_rmse:.1f}). So: lean on the "
        "order of plans more than on their level, on the interval rather than on its middle, "
        "and let your own past results shift it. These trials were not fully unseen; see [what was "
        "not blind](trust.md#what-was-not-blind). "
        f"{_capital(measured['trust']['params'])}."
    )


def _unseen_scores(
    measured: Mapping[str, Any],
) -> tuple[dict[tuple[str, str], Score], TrialFile, int]:
    file = read_trial_file(UNSEEN)
    predictions = predictions_of(measured["unseen"], file)
    return scores_of(predictions, file), file, len({p.arm.trial for p in predictions})


def _unseen(measured: Mapping[str, Any]) -> str:
    scores, file, n_trials = _unseen_scores(measured)
    read = sum(arm.read for arm in file.arms)
    run_before = set(tomllib.loads(SAID.read_text("utf-8"))["run_before"])
    rows_new = [
        p
        for p in predictions_of(measured["unseen"], file)
        if p.arm.read and p.arm.trial not in run_before
    ]
    new = scores_of(rows_new, file)
    n_new = len({p.arm.id for p in rows_new})
    marks = zip(_asked(scores), _asked(new), strict=True)
    rows = [
        (what, asked, found, MET if reached else NOT_MET, by_read, MET if ok else NOT_MET)
        for (what, asked, found, reached), (_, _, by_read, ok) in marks
    ]
    head = ("what", "asked", "all", "reached", "read and never run", "reached")
    return (
        f"{len(file.arms)} arms of {n_trials} trials that stand in no fit "
        f"(`authorities/trials/unseen.toml`; {read} arms read in abstracts and reports, the others "
        "from memory). They were looked for after the figures above had been fixed, by somebody "
        "who did not run the simulator, and none was taken in or left out by how well it does. "
        f"The arms from memory and two trials of those read ({_names(run_before)}) had been run "
        "once on the figures before: that heifers came out too low and cows on heat too high there "
        "was known when conception on heat became a target of the fit. The other "
        f"{n_new} with figures, all read, nobody had run; they stand in a column of their own. "
        "Faults of the simulator have been mended since with this table known; no figure was "
        "fitted anew. "
        "Parts of a trial in heat and not in heat stand beside the whole, so that figures are "
        "fewer than they look. These are typical plans in typical herds; the file the figures "
        "were fitted to holds harder ones.\n\n" + _score_table(scores) + "\n\n" + table(head, rows)
    )


def _later_scores(measured: Mapping[str, Any]) -> tuple[dict[tuple[str, str], Score], TrialFile]:
    file, assumed = read_trial_file(LATER), assumed_plans(LATER)
    kept = ("all", "Bos taurus", "Bos indicus and crosses")
    parts = {
        **{name: PARTS[name] for name in kept},
        "plan read": lambda p: p.arm.id not in assumed,
        "plan assumed": lambda p: p.arm.id in assumed,
    }
    return scores_of(predictions_of(measured["later"], file), file, parts), file


def _later(measured: Mapping[str, Any], said: str) -> str:
    scores, file = _later_scores(measured)
    n_trials = len({arm.trial for arm in file.arms})
    n_assumed = len(assumed_plans(LATER))
    return (
        f"{len(file.arms)} arms of {n_trials} trials (`authorities/trials/later.toml`), looked for "
        "when all figures and all of the above stood, by somebody who did not run the simulator, "
        "and told here as they came. All were read, nearly all as abstracts; every trial that "
        "fits the form was taken as it came: small herds and breeds of other regions too, some "
        "with no number of "
        f"females. In {n_assumed} arms the plan, or a part of it, was not in what was read and is "
        "assumed. Where the plan is assumed a misfit says as much of that as of the simulator.\n\n"
        + _score_table(scores)
        + f"\n\n{said}\n"
    )


def _names(trials: set[str]) -> str:
    return ", ".join(sorted(trials))


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _score_table(scores: Mapping[tuple[str, str], Score]) -> str:
    rows = [
        (
            what if part == "all" else f"{what}, {part}",
            str(one.n),
            f"{one.rmse:.1f}",
            f"{one.floor:.1f}",
            f"{one.class_mean_rmse:.1f}",
            f"{one.bias:+.1f}",
            f"{one.direction_right} of {one.pairs}" if one.pairs else "",
            f"{one.log_score:.2f}",
            f"{one.class_mean_log_score:.2f}",
        )
        for (what, part), one in scores.items()
    ]
    head = (
        "figures", "n", "misfit (RMSE)", "floor", "guess", "bias", "better arm named",
        "log score", "of the guess",
    )  # fmt: skip
    return table(head, rows)


def _heaviest(predictions: Sequence[Prediction], file: TrialFile) -> str:
    """Say how much of the misfit one trial carries; it stays in every count above."""
    some = [p for p in predictions if p.what == "pregnancy"]
    by_trial: dict[str, float] = {}
    for p in some:
        error = (p.predicted - p.published) ** 2
        by_trial[p.arm.trial] = by_trial.get(p.arm.trial, 0.0) + error
    trial = max(by_trial, key=lambda name: by_trial[name])
    rest = [p for p in some if p.arm.trial != trial]
    without = score(rest, scoring=file.scoring)
    return (
        f"One trial weighs most: the {len(some) - len(rest)} arms of {trial} carry "
        f"{100 * by_trial[trial] / sum(by_trial.values()):.0f} % of the squared misfit of "
        f"pregnancy. Without it the misfit would be {without.rmse:.1f} (floor {without.floor:.1f}, "
        f"guess {without.class_mean_rmse:.1f}) and the bias {without.bias:+.1f}. It is not left "
        "out of any figure on this page."
    )


def _least(predictions: Sequence[Prediction], file: TrialFile) -> str:
    """Say how near the floor a forecast could come that is right about like trials elsewhere.

    Bos indicus under esters and timed AI, whole arms: those of the file against those of the two
    files that stand in no fit. Every other figure is granted its floor.
    """
    others = [
        arm
        for path in (UNSEEN, LATER)
        for arm in read_trial_file(path).arms
        if _is_zebu_under_esters(arm)
    ]
    shares = [arm.pregnancy_pct or math.nan for arm in others]
    middle = sum(shares) / len(shares)
    spread = math.sqrt(sum((share - middle) ** 2 for share in shares) / (len(shares) - 1))
    some = [p for p in predictions if p.what == "pregnancy"]
    least = variance = 0.0
    odd = [p for p in some if _is_zebu_under_esters(p.arm)]
    for p in some:
        own = file.scoring.variance(p.arm, min(0.98, max(0.02, p.published / 100.0)))
        variance += own
        least += (p.published - middle) ** 2 if p in odd else own
    told = sum(p.published for p in odd) / len(odd)
    return (
        f"{len(others)} whole arms of {len({arm.trial for arm in others})} other trials of Bos "
        "indicus under esters and timed AI (`unseen.toml`, `later.toml`) have "
        f"{middle:.0f} of 100 pregnant (SD {spread:.0f}); the {len(odd)} of "
        f"{_names({p.arm.trial for p in odd})} {told:.0f}. A forecast that gave these {len(odd)} "
        "what the others found, and missed every other figure of the file by no more than luck, "
        f"herds and trials, would stand {math.sqrt(least / variance):.2f} times above the floor."
    )


def _is_zebu_under_esters(arm: Arm) -> bool:
    acts = {order.act for order in arm.orders.orders}
    has_ester = bool(acts & {Act.ESTRADIOL_BENZOATE, Act.ESTRADIOL_CYPIONATE})
    is_whole = arm.part is None and arm.pregnancy_pct is not None
    return arm.indicus == 1.0 and has_ester and Act.AI in acts and is_whole


def _asked(
    scores: Mapping[tuple[str, str], Score], part: str = "all"
) -> list[tuple[str, str, str, bool]]:
    """Marks of the issue that asked for the simulator: what, asked, found, reached."""
    one, heats = scores["pregnancy", part], scores["estrus", part]
    direction = one.direction_right / max(1, one.pairs)
    to_guess = one.rmse / one.class_mean_rmse
    return [
        ("pregnancy, misfit over its floor", "at most 1.10", f"{one.ratio:.3f}", one.ratio <= 1.1),
        ("pregnancy, misfit over the guess", "at most 0.70", f"{to_guess:.2f}", to_guess <= 0.7),
        ("pregnancy, bias", "within 3", f"{one.bias:+.1f}", abs(one.bias) <= 3),
        (
            "better arm of a trial named (pairs 4 points apart)",
            "at least 80 %", f"{100 * direction:.0f} %", direction >= 0.8,
        ),
        (
            "pregnancy, 90 % intervals hold",
            "82 to 98 %", f"{100 * one.coverage90:.0f} %", 0.82 <= one.coverage90 <= 0.98,
        ),
        (
            "pregnancy, log score over the guess",
            "better", f"{one.log_score - one.class_mean_log_score:+.2f}",
            one.log_score > one.class_mean_log_score,
        ),
        ("heats, misfit", "at most 9", f"{heats.rmse:.1f}", heats.rmse <= 9),
        ("heats, bias", "within 4", f"{heats.bias:+.1f}", abs(heats.bias) <= 4),
    ]  # fmt: skip


def _asked_table(scores: Mapping[tuple[str, str], Score]) -> str:
    rows = [
        (what, asked, found, "yes" if reached else "**no**")
        for what, asked, found, reached in _asked(scores)
    ]
    return table(("what", "asked", "found", "reached"), rows)


def _coverage_table(predictions: Sequence[Prediction], file: TrialFile) -> str:
    rows = []
    for what in WHATS:
        some = [p for p in predictions if p.what == what]
        if some:
            found = [coverage(some, file, level) for level in LEVELS]
            rows.append((what, *(f"{100 * c:.0f} % ({w:.0f} points)" for c, w in found)))
    return table(("figures", *(f"{level} %" for level in LEVELS)), rows)


def _worst_table(predictions: Sequence[Prediction], reasons: Sequence[Mapping[str, str]]) -> str:
    worst = sorted(predictions, key=lambda p: -abs(p.predicted - p.published))[:WORST]
    said: set[str] = set()
    rows = [
        (
            f"`{p.arm.id}`",
            p.what,
            p.arm.female.replace("_calf_", "-calf ") + BREED[p.arm.indicus],
            str(p.arm.n or "not told"),
            f"{p.published:.0f} %",
            f"{p.predicted:.0f} %",
            "read" if p.arm.read else "memory",
            _once(_reason(p, reasons), said),
        )
        for p in worst
    ]
    head = ("arm", "figure", "class", "n", "published", "foretold", "seen", "why, where known")
    return table(head, rows)


def _once(text: str, said: set[str]) -> str:
    if text in said:
        return "as above"
    said.add(text)
    return text


def _reason(one: Prediction, reasons: Sequence[Mapping[str, str]]) -> str:
    for key, value in (("arm", one.arm.id), ("trial", one.arm.trial)):
        for reason in reasons:
            if reason.get(key) == value:
                return reason["text"]
    return "Not known."


def _misses(series: Mapping[str, list[dict[str, float]]]) -> str:
    held = tomllib.loads(MISSES.read_text("utf-8"))
    rows = []
    for miss in held["miss"]:
        for line in miss["line"]:
            digits = DIGITS[line["unit"]]
            after = series[line["after"]][0]
            unit = line["unit"]
            rows.append(
                (
                    f"{miss['number']}. {miss['title']}" if line is miss["line"][0] else "",
                    line["what"],
                    _before(line),
                    f"{after['value']:.{digits}f} {unit}",
                    f"{line['expect']} {unit}" if line["expect"][-1:].isdigit() else line["expect"],
                    _met(line, round(after["value"], digits)),
                )
            )
    judged = [row[-1] for row in rows if row[-1] in {MET, NOT_MET}]
    modelled = [(one["what"], one["now"], one["where"]) for one in held["modelled"]]
    return (
        "An earlier simulator of ours, whose code was thrown away, named what it missed. *Before*: "
        f"its own notes ({held['source']}); where they give a direction and no number, the words "
        "stand. *Now*: measured by `builders/science.py`. *Met*: whether that lies where the notes "
        "expected it; a range is taken as it stands, a single number with the 95 in 100 of the "
        "published draw it came from (`authorities/feasibility/misses.toml`). "
        f"Of {len(judged)} expectations with a number {judged.count(MET)} are met.\n\n"
        + table(("miss", "what", "before", "now", "expected", "met"), rows)
        + "\n![Pregnant by hour of timed AI in cows](../pictures/science_ai_hour.svg)\n\n"
        "6. What it did not hold at all:\n\n" + table(("what", "held now", "where"), modelled)
    )


def _met(line: Mapping[str, Any], now: float) -> str:
    """Whether what is printed as measured lies where the notes of the study expected it."""
    if "met_words" in line:
        return str(line["met_words"])
    low, high = float(line["met_from"]), float(line["met_to"])
    return MET if low <= now <= high else NOT_MET


def _before(line: Mapping[str, Any]) -> str:
    if "before" in line:
        return f"{line['before']:g} {line['unit']}"
    if "before_range" in line:
        low, high = line["before_range"]
        return f"{low:g}-{high:g} {line['unit']}"
    return str(line["before_words"])
