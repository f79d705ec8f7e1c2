"""Reading a file of trials: each arm checked, the faulty ones left out and told in words."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from sunup.base.problems import Problem, Severity, SunupError
from sunup.forecast.trial import CLASSES, INDICUS, Arm, Part, Scoring, TrialFile, Window
from sunup.forecast.trial_sense import check_figures, check_missing, check_steps
from sunup.forecast.trial_steps import DEFAULT_LOOK, read_look, read_steps
from sunup.forecast.trial_tables import (
    ARM_KEYS,
    EXAMPLES,
    FIGURE_KEYS,
    FILE_KEYS,
    HOURS_BEFORE,
    HOURS_LONGEST,
    name_unread,
    read_inner,
    read_truth,
    warn,
)
from sunup.library.toml_tables import Table
from sunup.library.toml_text import Reading, listed, nearest
from sunup.physiology.orders import OrderError, OrderTable, Semen

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from sunup.forecast.trial_steps import Look

__all__ = ["Arm", "Part", "Scoring", "TrialFile", "TrialsError", "Window", "read_trials"]

POSTPARTUM = {"mean": (15.0, 200.0), "sd": (0.0, 100.0)}  # [d] as far as ``replay`` spreads them
CONDITION = {"mean": (2.0, 8.5), "sd": (0.0, 3.0)}  # [1-9 score] same
CYCLE_DAY = 60.0  # [d] what the simulator takes
TO = ("first_ai", "period")
OF = ("inseminated_on_heat", "in_heat_at_timed_ai")
WHATS = ("estrus", "conception", "pregnancy")


class TrialsError(SunupError):
    """What stands for every arm of a file cannot be read, so that none could be scored."""

    def __init__(self, problems: Collection[Problem]) -> None:
        super().__init__(" ".join(str(problem) for problem in problems))


def read_trials(values: Mapping[str, Any], *, file: str = "trials.toml") -> TrialFile:
    """Read the parsed text of a file of trials.

    An arm with a fault is left out and every fault of it is reported; the others are read.

    Raises
    ------
    TrialsError
        If ``[scoring]``, ``[defaults]`` or the list of arms cannot be read.
    """
    reading = Reading(file)
    warnings: list[Problem] = []
    top = Table(reading, dict(values), path="")
    scoring = _read_scoring(top)
    look = _read_defaults(top, warnings)
    raw = top.raw("arm")
    if raw is not None and not isinstance(raw, list):
        top.wrong("arm", "it is not a list of arms.", "Begin each arm with [[arm]].")
    if reading.count or scoring is None:
        raise TrialsError(reading.problems)
    name_unread(top, FILE_KEYS, warnings)
    tables = raw or []
    named = [_id_of(table) for table in tables]
    seen: Counter[str] = Counter()
    arms: list[Arm] = []
    left_out: list[str] = []
    for number, (table, name) in enumerate(zip(tables, named, strict=True), start=1):
        path = f"arm.{name}" if name else f"arm[{number}]"
        seen[name] += bool(name)
        arm = None
        if not isinstance(table, dict):
            reading.report(path, "it is not a table.", "Begin each arm with [[arm]].")
        elif seen[name] > 1:
            reading.report(
                f"{path}.id",
                f"the id '{name}' stands in an arm above; arm {number} of the file is left out.",
                "Give each arm an id of its own.",
            )
        else:
            arm = _read_arm(Table(reading, table, path=path), look, scoring, warnings)
        if arm is None:
            left_out.append(name or f"arm {number}")
        else:
            arms.append(arm)
    warnings += [problem for arm in arms for problem in _doubt_pooled(arm, arms, file)]
    return TrialFile(
        scoring=scoring,
        arms=tuple(arms),
        problems=(*reading.problems, *warnings),
        left_out=tuple(left_out),
    )


def _id_of(table: object) -> str:
    name = table.get("id") if isinstance(table, dict) else None
    return name.strip() if isinstance(name, str) else ""


def _read_scoring(top: Table) -> Scoring | None:
    table = read_inner(top, "scoring", "{ ... }, with the keys of authorities/trials/trials.toml")
    if table is None:
        return None
    cyclic = read_inner(table, "cyclic_pct_missing", "{ cow = 62, heifer = 89 }")
    mixed = read_inner(table, "mixed_is", "{ cow = 0.5, heifer = 0.5 }")
    return Scoring(
        herd_sd_points=table.number("herd_sd_points", low=0.0, high=50.0),
        trial_sd_points=table.number("trial_sd_points", low=0.0, high=50.0),
        n_missing=table.whole("n_missing", low=1),
        females_per_location_missing=table.whole("females_per_location_missing", low=1),
        mixed_is=_shares(mixed, ("cow", "heifer"), high=1.0),
        cyclic_pct_missing=_shares(cyclic, CLASSES, high=100.0),
        days_postpartum=_mean_and_sd(table, "days_postpartum_missing", POSTPARTUM),
        body_condition=_mean_and_sd(table, "body_condition_missing", CONDITION),
    )


def _shares(table: Table | None, keys: Collection[str], *, high: float) -> dict[str, float]:
    if table is None:
        return {}
    found = {key: table.number_or(key, None, low=0.0, high=high) for key in keys}
    table.finish()
    return {key: value for key, value in found.items() if value is not None}


def _mean_and_sd(
    table: Table, key: str, bounds: Mapping[str, tuple[float, float]]
) -> tuple[float, float]:
    inner = read_inner(table, key, "{ mean = ..., sd = ... }")
    if inner is None:
        return 0.0, 0.0
    mean, sd = (inner.number(name, low=low, high=high) for name, (low, high) in bounds.items())
    return mean, sd


def _read_defaults(top: Table, warnings: list[Problem]) -> Look:
    if not top.has("defaults"):
        return DEFAULT_LOOK
    table = read_inner(top, "defaults", '{ watch = { times_per_day = 2, aid = "eye" } }')
    if table is None:
        return DEFAULT_LOOK
    name_unread(table, {"watch": True, "am_pm": False}, warnings)
    if not table.has("watch"):
        return DEFAULT_LOOK
    watch = read_inner(table, "watch", '{ times_per_day = 2, minutes = 45, aid = "eye" }')
    if watch is None:
        return DEFAULT_LOOK
    name_unread(watch, dict.fromkeys(("aid", "times_per_day", "minutes"), True), warnings)
    return read_look(watch, DEFAULT_LOOK)


def _read_arm(table: Table, look: Look, scoring: Scoring, warnings: list[Problem]) -> Arm | None:
    """Read one arm; None, with every fault of it reported, where there is one."""
    reading = table.reading
    before, kept = reading.count, len(warnings)
    figures = {what: _read_figure(table, what, warnings) for what in (*WHATS, "only")}
    estrus, conception, pregnancy, only = figures.values()
    if estrus is not None:
        look = read_look(estrus, look, only_aid=True)
    orders = read_steps(table, look)
    window = _read_window(estrus)
    arm_id = table.text("id")
    female = table.one_of("class", CLASSES)
    subspecies = table.one_of("subspecies", INDICUS)
    semen = table.one_of("semen", [member.name.lower() for member in Semen])
    trial, source, is_read = table.text("trial"), table.text("source"), read_truth(table, "read")
    n = table.whole_or("n", None, low=1)
    n_locations = table.whole_or("n_locations", None, low=1)
    cyclic = table.number_or("cyclic_pct", None, low=0.0, high=100.0)
    cycle_day = table.number_or("cycle_day_at_zero", None, low=0.0, high=CYCLE_DAY)
    pooled_with = _read_pooled(table, arm_id)
    part = _read_part(only)
    told = {
        "estrus": None if estrus is None else _read_pct(estrus, warnings, may_miss=True),
        "conception": None if conception is None else _read_pct(conception, warnings),
        "pregnancy": None if pregnancy is None else _read_pct(pregnancy, warnings),
    }
    of = _read_meaning(conception, "of", OF, warnings)
    to = _read_meaning(pregnancy, "to", TO, warnings)
    name_unread(table, ARM_KEYS, warnings)
    check_missing(table, female, cyclic, scoring)
    if reading.count == before:
        if n_locations is not None and n is not None and n_locations > n:
            table.check_number("n_locations", n_locations, low=1, high=n)
        if cyclic == 0.0 and cycle_day is not None:
            table.wrong(
                "cycle_day_at_zero",
                "none is cycling (cyclic_pct = 0), so that none has a day of the cycle.",
                "Correct one of the two, or leave it out.",
            )
        check_figures(table, told, orders, of=of, to=to, has_window=window is not None)
        has_hours = window is not None or part is not None
        check_steps(table, orders, warnings, female=female, has_window=has_hours)
    packed = None
    if reading.count == before:
        try:
            packed = OrderTable(
                orders=orders,
                aid=look.aid,
                per_day=look.per_day,
                minutes=look.minutes,
                semen=Semen[semen.upper()],
            )
        except OrderError as error:  # a rule of the simulator that is not held above
            table.wrong("steps", f"{error}", "Correct that step.")
    if packed is None or reading.count > before:
        del warnings[kept:]  # of an arm that is left out only what leaves it out is told
        return None
    return Arm(
        id=arm_id.strip(),
        trial=trial,
        source=source,
        read=is_read,
        female=female,
        indicus=INDICUS[subspecies],
        orders=packed,
        n=n,
        n_locations=n_locations,
        cyclic_pct=cyclic,
        cycle_day=cycle_day,
        estrus_pct=told["estrus"],
        estrus_window=window,
        conception_pct=told["conception"],
        conception_of=of,
        pregnancy_pct=told["pregnancy"],
        pregnancy_to=to,
        part=part,
        pooled_with=pooled_with,
    )


def _read_figure(table: Table, key: str, warnings: list[Problem]) -> Table | None:
    if not table.has(key):
        return None
    found = read_inner(table, key, EXAMPLES[key])
    if found is not None:
        name_unread(found, FIGURE_KEYS[key], warnings)
    return found


def _read_pct(table: Table, warnings: list[Problem], *, may_miss: bool = False) -> float | None:
    if may_miss and not table.has("pct"):
        return None
    before = table.reading.count
    pct = table.number("pct", low=0.0, high=100.0)
    if table.reading.count > before:
        return None
    if 0.0 < pct < 1.0:
        look_at = f"pct = {pct:g} is read as {pct:g} in a hundred."
        warn(warnings, table, "pct", look_at, "If a share was meant, write 53, not 0.53.")
    return pct


def _read_meaning(
    table: Table | None, key: str, words: Collection[str], warnings: list[Problem]
) -> str:
    """Read what a figure is a figure of; where it is not said, the first of the words is told."""
    if table is None:
        return ""
    if table.has(key):
        return table.one_of(key, words)
    first = next(iter(words))
    warn(
        warnings,
        table,
        key,
        f"the key '{key}' is missing; the figure is taken as '{first}'.",
        f"Say which the paper means: {listed(words)}.",
    )
    return first


def _read_window(table: Table | None) -> Window | None:
    if table is None:
        return None
    before = table.reading.count
    bounds = {"low": HOURS_BEFORE, "high": HOURS_LONGEST}
    from_h, to_h = table.number("from_h", **bounds), table.number("to_h", **bounds)
    if table.reading.count == before and to_h <= from_h:
        table.wrong(
            "to_h",
            f"the window ends at hour {to_h:g} and begins at hour {from_h:g}.",
            "Let to_h be later than from_h; both count from the clock PGF.",
        )
    return Window(from_h=from_h, to_h=to_h)


def _read_part(table: Table | None) -> Part | None:
    window = _read_window(table)
    if table is None or window is None:
        return None
    return Part(in_heat=read_truth(table, "in_heat"), window=window)


def _read_pooled(table: Table, arm_id: str) -> dict[str, str]:
    found = {}
    for what in WHATS:
        key = f"{what}_pooled_with"
        other = table.text_or(key, None)
        if other is None:
            continue
        if other == arm_id:
            table.wrong(key, "the arm names itself.", "Name the other arm of that figure.")
        found[what] = other
    return found


def _doubt_pooled(arm: Arm, arms: Sequence[Arm], file: str) -> Iterator[Problem]:
    """Name other arms of a figure that the file does not hold: a part of a larger one may not."""
    by_id = {other.id: other for other in arms}
    for what, name in arm.pooled_with.items():
        where = f"{file}: arm.{arm.id}.{what}_pooled_with"
        if name not in by_id:
            found = f"no arm that can be run has the id '{name}'"
            fix = f"{nearest(name, by_id)}Name the other arm of that figure, or delete the key."
        elif not arm.may_share(by_id[name], what):
            found = f"arm '{name}' is of another trial or does not report the same {what}"
            fix = "Write the same trial and figure in both, or delete the key."
        else:
            continue
        yield Problem(where, f"{found}; the figure is compared without it.", fix, Severity.WARNING)
