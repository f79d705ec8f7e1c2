"""Use-case: where did a number come from? Every answer ends in a source."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

from sunup.app.explain_forecast import explain_forecast
from sunup.app.inspect_library import UnknownThingError
from sunup.app.open import open_library, read_bytes
from sunup.base.hours import find_zone, to_local
from sunup.exchange.plan_file import read_plan_file
from sunup.planning.renewal import describe_step
from sunup.planning.schedule import WORDS
from sunup.planning.start_span import find_start_spans
from sunup.protocols.timing import nominal_hours

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from sunup.base.figures import Figure
    from sunup.library import Library
    from sunup.planning.plan import FemaleLine, Plan, ScheduledStep
    from sunup.protocols.protocol import Protocol

Lines = list[tuple[str, str]]


def explain(
    what: str,
    *,
    plan_file: Path | None = None,
    forecast_file: Path | None = None,
    overlay: Path | None = None,
) -> Lines:
    """Explain a figure, protocol, step, active, source, a step or a female of a plan, a forecast.

    Returns
    -------
    list of (name, text)
        Ends with the sources.

    Raises
    ------
    UnknownThingError
        If nothing of that name is held; the message offers the nearest names.
    ForecastFileError
        If the file holds no forecast of that group.
    """
    library, _ = open_library(overlay)
    if forecast_file is not None:
        return explain_forecast(what, forecast_file, library)
    if plan_file is not None:
        plan = read_plan_file(read_bytes(plan_file).decode("utf-8", "replace"), str(plan_file))
        found = _in_plan(what, plan, library)
        if found is not None:
            return found
    found = _in_library(what, library)
    if found is not None:
        return found
    names = [
        *library.figures,
        *library.protocols,
        *(f"{p.key}.{s.id}" for p in library.protocols.values() for s in p.steps),
        *library.actives,
        *library.sources,
    ]
    near = difflib.get_close_matches(what, names, n=4, cutoff=0.4)
    hint = f" Near: {', '.join(near)}." if near else ""
    message = f"Nothing called '{what}' is held.{hint}"
    raise UnknownThingError(message)


def _sources(keys: Iterable[str], library: Library) -> Lines:
    return [
        ("source", f"{library.sources[k]} [{library.sources[k].seen.value.replace('_', ' ')}]")
        for k in keys
        if k in library.sources
    ]


def _figure(figure: Figure, library: Library) -> Lines:
    value = figure.value
    shown = (
        " to ".join(f"{v:g}" if isinstance(v, int | float) else v for v in value)
        if (isinstance(value, tuple) and len(value) == 2)
        else ", ".join(map(str, value))
        if isinstance(value, tuple)
        else str(value)
    )
    lines: Lines = [("figure", figure.key), ("value", f"{shown} {figure.unit}".strip(" -"))]
    if figure.yours:
        lines.append(("", f"your figure; ours is {figure.shipped}"))
    if figure.example:
        lines.append(("", "an example: replace it with yours"))
    lines += [
        ("kind", figure.kind.value),
        ("seen", figure.seen.value.replace("_", " ")),
    ]
    lines += [(n, t) for n, t in (("applies", figure.applies), ("note", figure.note)) if t]
    return lines + _sources(figure.source, library)


def _protocol_step(protocol: Protocol, step_id: str, library: Library) -> Lines:
    step = protocol.step(step_id)
    lines: Lines = [
        ("step", f"{WORDS[step.do]} of {protocol.name}"),
        ("when", describe_step(step)),
        ("hour", f"{nominal_hours(protocol)[step_id]:g} h from zero, if all fall on their target"),
        ("why", protocol.why),
    ]
    if step.note:
        lines.append(("note", step.note))
    lines += [("sources disagree", d.text) for d in protocol.disagree]
    return lines + _sources(protocol.source, library)


def _in_library(what: str, library: Library) -> Lines | None:
    if what in library.figures:
        return _figure(library.figures[what], library)
    if what in library.protocols:
        protocol = library.protocols[what]
        lines: Lines = [("protocol", protocol.name), ("why", protocol.why)]
        lines += [(s.id, describe_step(s)) for s in protocol.steps]
        return lines + _sources(protocol.source, library)
    key, _, step_id = what.partition(".")
    if key in library.protocols and any(s.id == step_id for s in library.protocols[key].steps):
        return _protocol_step(library.protocols[key], step_id, library)
    if what in library.actives:
        active = library.actives[what]
        lines = [("active", active.name), ("group", active.group), ("needle", active.needle)]
        lines += [
            (
                "strength",
                (
                    f"{s.key}: {s.amount} counted as {s.basis}, full dose {s.dose}, for "
                    f"{', '.join(s.uses)} [{s.seen.value.replace('_', ' ')}]"
                ),
            )
            for s in active.strengths
        ]
        lines += [("caution", c.text) for c in active.cautions]
        lines += [("note", active.note)] if active.note else []
        lines += [
            (f"ask in {pack.name}", ask)
            for pack in library.regions.values()
            for ask in pack.asks_of(active.key)
        ]
        return lines + _sources(
            dict.fromkeys(k for s in active.strengths for k in s.source), library
        )
    if what in library.sources:
        source = library.sources[what]
        return [("source", str(source)), ("seen", source.seen.value.replace("_", " "))]
    return None


def _in_plan(what: str, plan: Plan, library: Library) -> Lines | None:
    group, found, step_id = what.rpartition("/")
    if found:
        for planned in plan.groups:
            for step in planned.schedule:
                if planned.name == group and step.id == step_id:
                    protocol = library.protocols.get(planned.chosen or "")
                    return _plan_step(step, plan, protocol, library)
    for female in plan.females:
        if female.tag == what:
            return _female(female, library)
    return None


def _plan_step(
    step: ScheduledStep, plan: Plan, protocol: Protocol | None, library: Library
) -> Lines:
    zone = find_zone(plan.zone)
    at = to_local(step.at_utc, zone)
    early, late = (to_local(w, zone) for w in step.window_utc)
    lines: Lines = [
        ("step", f"{step.group}: {step.words}, {step.head} head"),
        ("when", f"{at:%a} {at.day} {at:%b %Y %H:%M} {plan.zone}"),
        *_may_start(step, plan, zone),
        ("first female", f"her window: {early:%a %H:%M} to {late:%a %H:%M}"),
    ]
    if step.hard and step.hours_after is not None:
        lines.append(
            ("clock", f"{step.hours_after:g} elapsed hours after {step.after_step}, as planned")
        )
    else:
        lines.append(("clock", "keeps the local hour of the first treatment"))
    if step.dose is not None:
        lines.append(("dose", f"{step.dose.name} {step.dose.strength}: {step.dose.dose}"))
    if step.label_note:
        lines.append(("label", step.label_note))
    if protocol is not None:
        ids = {s.id for s in protocol.steps}
        if step.id in ids:
            return lines + _protocol_step(protocol, step.id, library)
    return lines


def _may_start(step: ScheduledStep, plan: Plan, zone: ZoneInfo) -> Lines:
    span = find_start_spans(plan, step.group, zone).get(step.visit)
    if span is None or step.until_utc is not None:
        return []
    if span.whole is None:
        return [("may start", "at no time that keeps every female in her window")]
    early, late = (to_local(moment, zone) for moment in span.whole)
    told = f"{early:%a %H:%M} to {late:%a %H:%M}: all keep their windows, the work its hours"
    return [("may start", told)]


def _female(female: FemaleLine, library: Library) -> Lines:
    lines: Lines = [
        ("female", f"{female.tag} ({female.class_.replace('_calf_', '-calf ')}, {female.group})"),
        ("state", female.state.value.replace("_", " ")),
    ]
    for reason in female.reasons:
        lines.append((reason.rule.replace("_", " "), reason.text))
        if not reason.figure:
            lines.append(("figure", "none: as written in the herd list"))
            continue
        lines.append(("figure", reason.figure + (" (yours)" if reason.yours else "")))
        lines += _sources(reason.source, library)
    return lines
