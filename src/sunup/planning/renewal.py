"""Planning again from a plan file: ids kept, sequences raised, what changed said in words.

The calendar of a crew must not fill with doubles: a step keeps its random id for ever; a step that
moved keeps its id with a higher sequence; a step that is gone stays, cancelled.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.base.hours import find_zone, to_local
from sunup.planning.progress import ON_HEAT

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.base.figures import Figure
    from sunup.library.library import Library
    from sunup.planning.plan import GroupPlan, Plan, ScheduledStep
    from sunup.protocols.protocol import Protocol, Step


def describe_step(step: Step) -> str:
    """One step of a protocol in a line, for comparing two libraries."""
    when = (
        f"with {step.with_}"
        if step.with_
        else f"{step.hours:g} h after {step.after}"
        if step.after
        else f"day {step.day}"
    )
    bend = f" (-{step.early_h:g}/+{step.late_h:g} h)" if step.early_h or step.late_h else ""
    who = f" to {step.who.value.replace('_', ' ')}" if step.who else ""
    dose = f" dose {step.dose:g}" if step.dose != 1 else ""
    until = f" until {step.until:g} h" if step.until is not None else ""
    return f"{step.do.value} {when}{bend}{until}{who}{dose}"


def find_rests_on(
    library: Library, protocols: Mapping[str, Protocol]
) -> tuple[tuple[str, str], ...]:
    """The figures and protocol steps a plan rests on, as they stand in this library."""
    figures = [
        (key, f"{_value(figure)} {figure.unit}")
        for key, figure in sorted(library.figures.items())
        if key.split(".")[0] in {"practice", "prices", "readiness", "bulls"}
    ]
    steps = [
        (f"{protocol.key}.{step.id}", describe_step(step))
        for protocol in protocols.values()
        for step in protocol.steps
    ]
    return (*figures, *steps)


def _value(figure: Figure) -> str:
    value = figure.value
    if isinstance(value, tuple):
        return " to ".join(str(v) for v in value) if len(value) == 2 else ", ".join(map(str, value))
    return str(value)


def _same(a: ScheduledStep, b: ScheduledStep) -> bool:
    """Whether a crew would see no difference."""
    return replace(a, uid="", sequence=0) == replace(b, uid="", sequence=0)


def _moved(old: ScheduledStep, new: ScheduledStep, zone: ZoneInfo) -> str:
    words = f"{new.group}, {new.words}:"
    if old.cancelled:
        return f"{words} is back, {_when(new.at_utc, zone)}."
    if old.at_utc != new.at_utc:
        return f"{words} moved from {_when(old.at_utc, zone)} to {_when(new.at_utc, zone)}."
    if old.head != new.head:
        return f"{words} {old.head} head became {new.head}."
    if old.window_utc != new.window_utc:
        return f"{words} its window changed; the time stands."
    if old.dose != new.dose:
        before = old.dose.dose if old.dose else "no dose"
        after = new.dose.dose if new.dose else "no dose"
        return f"{words} dose or drug changed ({before} to {after})."
    return f"{words} its notes changed; the time stands."


def _when(moment: datetime, zone: ZoneInfo) -> str:
    local = to_local(moment, zone)
    return f"{local:%a} {local.day} {local:%b %H:%M}"


def _renew_group(
    new: GroupPlan, old: Sequence[ScheduledStep] | None, zone: ZoneInfo
) -> tuple[GroupPlan, list[str]]:
    if old is None:
        return new, [f"{new.name}: a new group."]
    schedule, changes = _renew_steps(new.schedule, [s for s in old if s.do != ON_HEAT], zone)
    # sessions follow the watch: what is said of it says all
    sessions, _ = _renew_steps(new.sessions, [s for s in old if s.do == ON_HEAT], zone)
    return replace(new, schedule=schedule, sessions=sessions), changes


def _renew_steps(
    new: Sequence[ScheduledStep], old: Sequence[ScheduledStep], zone: ZoneInfo
) -> tuple[tuple[ScheduledStep, ...], list[str]]:
    before = {step.id: step for step in old}
    changes: list[str] = []
    kept: list[ScheduledStep] = []
    for step in new:
        former = before.pop(step.id, None)
        if former is None:
            changes.append(f"{step.group}, {step.words}: new, {_when(step.at_utc, zone)}.")
            kept.append(step)
            continue
        same = replace(step, uid=former.uid, sequence=former.sequence)
        if _same(former, step):
            kept.append(same)
        else:
            changes.append(_moved(former, step, zone))
            kept.append(replace(same, sequence=former.sequence + 1))
    kept += [_cancel(step, zone, changes) for step in before.values()]
    return tuple(kept), changes


def _cancel(step: ScheduledStep, zone: ZoneInfo, changes: list[str]) -> ScheduledStep:
    if step.cancelled:
        return step
    changes.append(f"{step.group}, {step.words} on {_when(step.at_utc, zone)}: cancelled.")
    return replace(step, cancelled=True, sequence=step.sequence + 1)


def _library_changes(new: Plan, old: Plan) -> list[str]:
    if new.library_version == old.library_version:
        return []
    before, after = dict(old.rests_on), dict(new.rests_on)
    lines = [
        (
            f"Library changed since the plan file was written ({old.library_version} to "
            f"{new.library_version})."
        )
    ]
    for key in sorted(before.keys() | after.keys()):
        was, now = before.get(key), after.get(key)
        if was is None:
            lines.append(f"{key}: new, {now}.")
        elif now is None:
            lines.append(f"{key}: no longer there (was {was}).")
        elif was != now:
            lines.append(f"{key}: {was} became {now}.")
    return lines


def renew(new: Plan, old: Plan) -> Plan:
    """Carry ids from a former plan into a new one and say what changed.

    Parameters
    ----------
    new, old : Plan
        Of the same ranch; `new` was just made.

    Returns
    -------
    Plan
        `new` with the ids and sequences of `old`, its cancelled steps, and `changes` in words.
        Steps of groups that are no more stand in `called_off`, for calendars handed out. When
        nothing changed at all, `old` itself.
    """
    zone = find_zone(new.zone)
    former = {group.name: [*group.schedule, *group.sessions] for group in old.groups}
    for step in old.called_off:
        former.setdefault(step.group, []).append(step)
    groups: list[GroupPlan] = []
    changes = _library_changes(new, old)
    for group in new.groups:
        renewed, said = _renew_group(group, former.pop(group.name, None), zone)
        groups.append(renewed)
        changes += said
    gone = tuple(_cancel(step, zone, changes) for steps in former.values() for step in steps)
    result = replace(new, groups=tuple(groups), called_off=gone, changes=tuple(changes))
    unchanged = replace(result, made_at_utc=old.made_at_utc, changes=old.changes)
    return old if unchanged == old else result
