"""The rules a protocol must obey, whoever wrote it.

The two that matter most are about harm: a luteolytic may never reach a female that could be
pregnant, and nobody is to be bred at the first heat after a long progestin. Both are written out in
``docs/reference/library_files.md``.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.base.problems import Problem
from sunup.protocols.protocol import (
    ESTRADIOLS,
    FEEDINGS,
    INJECTIONS,
    INSERTS,
    Do,
    Inseminate,
    Who,
    Zero,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.protocols.protocol import Protocol, Step

_DAY_H = 24.0
# what may start the clock an insemination is set by
CLOCK_STARTERS = frozenset({Do.PGF, Do.INSERT_OUT, Do.MGA_END, Do.GNRH}) | ESTRADIOLS
_COWS = frozenset({"cow", "first_calf_cow"})
_ENDS = {Do.INSERT_OUT: Do.INSERT_IN, Do.MGA_END: Do.MGA_START}


@dataclass(frozen=True, slots=True)
class RuleLimits:
    """The figures the rules rest on, from the library's ``practice`` figures.

    Parameters
    ----------
    long_progestin_days : float
        From this length on, the first heat after a progestin is of low fertility. [days]
    heat_to_pass_days : float
        So long after its end nobody is bred. [days]
    exposure_before_pgf_days : float
        Bulls in for less than this leave no pregnancy that PGF could end. [days]
    """

    long_progestin_days: float
    heat_to_pass_days: float
    exposure_before_pgf_days: float


def check_protocol(protocol: Protocol, *, limits: RuleLimits) -> list[Problem]:
    """Check a protocol's steps against every rule.

    Parameters
    ----------
    protocol : Protocol
    limits : RuleLimits

    Returns
    -------
    list of Problem
        `where` is the id of the step (or ``clock``). Where steps hang on nothing, only that is
        reported: the other rules need hours.
    """
    problems = check_steps(protocol.steps)
    if problems:
        return problems
    hours = step_hours(protocol.steps)
    return [
        *_check_order(protocol.steps, hours),
        *_check_clock(protocol),
        *_check_progestins(protocol, hours),
        *_check_who(protocol, hours, limits=limits),
        *_check_low_fertility(protocol, hours, limits=limits),
    ]


def check_steps(steps: tuple[Step, ...]) -> list[Problem]:
    """Check that each step has one place in time and that watches are whole."""
    problems: list[Problem] = []
    ids = [step.id for step in steps]
    if not steps:
        problems.append(Problem("steps", "there are no steps.", "Write at least one step."))
    for place, step in enumerate(steps):
        if step.id in ids[:place]:
            problems.append(
                Problem(step.id, f"the step id '{step.id}' stands twice.", "Give each its own id.")
            )
        problems += _check_anchor(step, earlier=ids[:place], all_ids=ids)
        problems += _check_watch(step)
    return problems


def _check_anchor(step: Step, *, earlier: list[str], all_ids: list[str]) -> list[Problem]:
    anchors = [
        name
        for name, value in (("day", step.day), ("with", step.with_), ("after", step.after))
        if value is not None
    ]
    if len(anchors) != 1:
        found = " and ".join(anchors) if anchors else "none"
        return [
            Problem(
                step.id,
                f"a step has exactly one of day, with and after; found: {found}.",
                "Keep the one the source gives.",
            )
        ]
    other = step.with_ or step.after
    if step.day is not None or other in earlier:
        return []
    name = anchors[0]
    if other == step.id:
        what = f"'{name}' goes round in a circle: the step hangs on itself."
    elif other in all_ids:
        what = f"'{name}' names '{other}', a later step; a pair of such steps would be a circle."
    else:
        what = f"'{name}' names '{other}', which is no step."
    allowed = ", ".join(earlier) or "none: the first step is given by day"
    return [Problem(step.id, what, f"Name a step that stands before it. Allowed: {allowed}.")]


def _check_watch(step: Step) -> list[Problem]:
    if step.do is not Do.WATCH:
        extra = [
            name
            for name, value in (
                ("until", step.until),
                ("inseminate", step.inseminate),
                ("times_per_day", step.times_per_day),
                ("minutes", step.minutes),
                ("aid", step.aid if step.do is not Do.HEAT_AID_ON else None),
            )
            if value is not None
        ]
        return [
            Problem(step.id, f"'{name}' belongs to a watch, not to {step.do}.", f"Delete {name}.")
            for name in extra
        ]
    problems = [
        Problem(step.id, f"a watch needs '{name}'.", f"Add {name} = {words}.")
        for name, value, words in (
            ("until", step.until, "the hour it ends"),
            ("inseminate", step.inseminate, "am_pm, after_12h, once_daily or none"),
        )
        if value is None
    ]
    if step.with_ is not None:
        problems.append(
            Problem(step.id, "a watch cannot be given by 'with'.", "Give it by day or by after.")
        )
    start = step.day * _DAY_H if step.day is not None else step.hours
    if step.until is not None and step.until <= start:
        problems.append(
            Problem(
                step.id,
                f"the watch ends (until = {step.until:g}) before it starts (hour {start:g}).",
                "Until counts hours from the step named in after, or from zero for a day.",
            )
        )
    return problems


def step_hours(steps: tuple[Step, ...]) -> dict[str, float]:
    """Return the hours of each step from zero, as published (windows left aside).

    The steps must have passed `check_steps`.
    """
    hours: dict[str, float] = {}
    for step in steps:
        if step.day is not None:
            hours[step.id] = step.day * _DAY_H
        elif step.with_ is not None:
            hours[step.id] = hours[step.with_]
        elif step.after is not None:
            hours[step.id] = hours[step.after] + step.hours
    return hours


def _check_order(steps: tuple[Step, ...], hours: Mapping[str, float]) -> list[Problem]:
    return [
        Problem(
            step.id,
            f"hour {hours[step.id]:g} comes before '{before.id}' (hour {hours[before.id]:g}), "
            "which is written above it.",
            "Write the steps in the order they are done.",
        )
        for before, step in itertools.pairwise(steps)
        if hours[step.id] < hours[before.id]
    ]


def _check_clock(protocol: Protocol) -> list[Problem]:
    if protocol.clock is None:
        return []
    words = ", ".join(sorted(CLOCK_STARTERS))
    for step in protocol.steps:
        if step.id == protocol.clock:
            if step.do in CLOCK_STARTERS:
                return []
            what = f"'{step.id}' ({step.do}) cannot start the AI clock."
            return [Problem("clock", what, f"Name a step that does one of: {words}.")]
    ids = ", ".join(step.id for step in protocol.steps)
    return [Problem("clock", f"'{protocol.clock}' is no step.", f"Name one of: {ids}.")]


def _check_progestins(protocol: Protocol, hours: Mapping[str, float]) -> list[Problem]:
    cows = ", ".join(sorted(_COWS.intersection(protocol.classes)))
    problems = [
        Problem(
            step.id,
            f"melengestrol is fed to heifers only; this protocol names {cows}.",
            "Take the cows out of classes, or use an insert.",
        )
        for step in protocol.steps
        if step.do in FEEDINGS and cows
    ]
    for end, start in _ENDS.items():
        starts = [step for step in protocol.steps if step.do is start]
        ends = [step for step in protocol.steps if step.do is end]
        problems += [
            Problem(step.id, f"{end} without {start} before it.", f"Add the {start} step.")
            for step in ends
            if not any(hours[one.id] < hours[step.id] for one in starts)
        ]
        problems += [
            Problem(step.id, f"{start} without {end} after it.", f"Add the {end} step.")
            for step in starts
            if not any(hours[one.id] > hours[step.id] for one in ends)
        ]
    return problems


def _breeds(step: Step) -> bool:
    """Whether a female may conceive from this step."""
    is_watch = step.do is Do.WATCH and step.inseminate not in {None, Inseminate.NONE}
    return is_watch or step.do in {Do.AI, Do.BULLS_IN}


def _check_who(
    protocol: Protocol, hours: Mapping[str, float], *, limits: RuleLimits
) -> list[Problem]:
    """Check the rule about `who`: no luteolytic to a female that may be pregnant."""
    problems: list[Problem] = []
    for step in protocol.steps:
        if step.do not in INJECTIONS | INSERTS:
            continue
        before = [one for one in protocol.steps if _breeds(one) and hours[one.id] < hours[step.id]]
        bulls = [one for one in before if one.do is Do.BULLS_IN]
        long_bulls = [
            one
            for one in bulls
            if latest_gap_h(protocol.steps, one, step) >= limits.exposure_before_pgf_days * _DAY_H
        ]
        is_inseminated = protocol.zero is Zero.FIRST_AI or len(before) > len(bulls)
        if not is_inseminated and not long_bulls:
            continue
        cause = "hour 0, an insemination" if not before else f"'{before[0].id}' ({before[0].do})"
        if step.who is None:
            problems.append(
                Problem(
                    step.id,
                    f"{step.do} comes after {cause} and does not say who gets it.",
                    f"Add who = one of: {', '.join(Who)}.",
                )
            )
        if step.do is not Do.PGF or step.who is None:
            continue
        if step.who is Who.NOT_PREGNANT:
            problems += _check_finding(protocol, step, hours, bred=before)
        # with bulls, "not inseminated" does not mean "not bred"
        safe = {Who.NOT_PREGNANT} if long_bulls else {Who.NOT_INSEMINATED, Who.NOT_PREGNANT}
        if step.who not in safe:
            problems.append(
                Problem(
                    step.id,
                    f"PGF to '{step.who}' after {cause} would end a pregnancy.",
                    f"Allowed for who: {', '.join(sorted(safe))}. "
                    f"Bulls alone, in for less than {limits.exposure_before_pgf_days:g} days with "
                    "the step's late edge, are the one exception.",
                )
            )
    return problems


def _check_finding(
    protocol: Protocol, step: Step, hours: Mapping[str, float], *, bred: list[Step]
) -> list[Problem]:
    """Check that a pregnancy check, later than every breeding, tells who is not pregnant."""
    last_bred = max((hours[one.id] for one in bred), default=0.0)
    if any(
        one.do is Do.PREG_CHECK and last_bred < hours[one.id] <= hours[step.id]
        for one in protocol.steps
    ):
        return []
    return [
        Problem(
            step.id,
            "PGF to 'not_pregnant' without a preg_check after the last breeding before it.",
            "Add the preg_check that tells who is not pregnant.",
        )
    ]


def latest_gap_h(steps: tuple[Step, ...], first: Step, then: Step) -> float:
    """Return the longest time from one step to a later one that the windows allow.

    Early edge of `first` to late edge of `then`; a step that hangs on `first` counts from its
    actual time.
    """
    by_id = {step.id: step for step in steps}
    gap, step = 0.0, then
    while step.day is None and step.id != first.id:
        if step.after is not None:
            gap += step.hours + step.late_h
        step = by_id[step.after or step.with_ or ""]
    if step.id == first.id:
        return gap
    latest = gap + (step.day or 0) * _DAY_H + step.late_h
    earliest, step = 0.0, first
    while step.day is None:
        if step.after is not None:
            earliest += step.hours - step.early_h
        step = by_id[step.after or step.with_ or ""]
    return latest - (earliest + step.day * _DAY_H - step.early_h)


def _progestin_spans(protocol: Protocol, hours: Mapping[str, float]) -> list[tuple[float, float]]:
    """Return when progestin acts, as (from, to) in hours; spans that touch are one."""
    spans = []
    for step in protocol.steps:
        if step.do not in _ENDS:
            continue
        starts = [
            hours[one.id]
            for one in protocol.steps
            if one.do is _ENDS[step.do] and hours[one.id] < hours[step.id]
        ]
        if starts:
            # the last daily feeding acts for the day that follows
            fed = _DAY_H if step.do is Do.MGA_END else 0.0
            spans.append((max(starts), hours[step.id] + fed))
    merged: list[tuple[float, float]] = []
    for start, end in sorted(spans):
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((start, end))
    return merged


def _check_low_fertility(
    protocol: Protocol, hours: Mapping[str, float], *, limits: RuleLimits
) -> list[Problem]:
    """Check the rule about a long progestin: nobody is bred at the first heat after it."""
    renewals = [
        hours[step.id]
        for step in protocol.steps
        if step.do in ESTRADIOLS | {Do.GNRH} and step.who in {None, Who.ALL}
    ]
    last_feedings = {
        hours[step.id] + _DAY_H: hours[step.id] for step in protocol.steps if step.do is Do.MGA_END
    }
    problems: list[Problem] = []
    for start, end in _progestin_spans(protocol, hours):
        # a follicle renewed on day 1 of 20 is old at the end: count from the last renewal
        renewed = max([start, *(hour for hour in renewals if start < hour < end)])
        if end - renewed < limits.long_progestin_days * _DAY_H:
            continue
        ended = last_feedings.get(end, end)
        passes = ended + limits.heat_to_pass_days * _DAY_H
        problems += [
            Problem(
                step.id,
                f"{step.do} within {limits.heat_to_pass_days:g} days of the end of "
                f"{(end - renewed) / _DAY_H:g} days of progestin: "
                "the first heat after it is of low fertility.",
                f"Breed at hour {passes:g} or later, or renew the follicle with GnRH inside it.",
            )
            for step in protocol.steps
            if _breeds(step) and hours[step.id] < passes and _ends_h(protocol, step, hours) >= ended
        ]
    return problems


def _ends_h(protocol: Protocol, step: Step, hours: Mapping[str, float]) -> float:
    """Return the hour until which a female may conceive from a breeding step."""
    if step.do is Do.WATCH and step.until is not None:
        base = hours[step.after] if step.after is not None else 0.0
        return base + step.until
    if step.do is Do.BULLS_IN:
        outs = [
            hours[one.id]
            for one in protocol.steps
            if one.do is Do.BULLS_OUT and hours[one.id] > hours[step.id]
        ]
        return min(outs, default=float("inf"))
    return hours[step.id]
