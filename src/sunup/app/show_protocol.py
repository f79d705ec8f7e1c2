"""Use-case: everything held about one protocol, for a page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.app.open import open_library
from sunup.base.figures import Seen
from sunup.planning.choice import UnknownProtocolError
from sunup.planning.fit import choose_drugs, published
from sunup.planning.labels import find_label_note, find_refusal
from sunup.planning.schedule import WHO_WORDS, WORDS
from sunup.planning.season import UnknownRegionError
from sunup.protocols.protocol import Who
from sunup.protocols.timing import nominal_hours, passes_through_chute, total_days, watch_days

if TYPE_CHECKING:
    from pathlib import Path

    from sunup.library import Library
    from sunup.protocols.protocol import Protocol, Statement, Step


def describe_protocol(key: str, *, region: str, overlay: Path | None = None) -> dict[str, Any]:
    """Return a protocol's page as plain values.

    Raises
    ------
    UsageError
        If the protocol or the region is not held.
    """
    library, _ = open_library(overlay)
    protocol = library.protocols.get(key)
    if protocol is None:
        raise UnknownProtocolError(key, list(library.protocols))
    pack = library.regions.get(region)
    if pack is None:
        raise UnknownRegionError(region, sorted(library.regions))
    chosen = choose_drugs(protocol, library=library, pack=pack, asked={})
    hours = nominal_hours(protocol)
    notes = [
        (step, note)
        for step in protocol.steps
        if (
            note := find_label_note(
                protocol, step, pack=pack, chosen=chosen, classes=protocol.classes
            )
        )
    ]
    asks = dict.fromkeys(ask for drug in chosen.values() for ask in pack.asks_of(drug.active.key))
    return {
        "key": protocol.key,
        "name": protocol.name,
        "standing": protocol.standing.value,
        "standing_note": protocol.standing_note,
        "style": protocol.style.value,
        "classes": list(protocol.classes),
        "cattle": protocol.cattle.value,
        "why": protocol.why,
        "suits": protocol.suits,
        "cycling_need": protocol.cycling_need.value,
        "passes": passes_through_chute(protocol),
        "days": total_days(protocol),
        "watch_days": watch_days(protocol),
        "region": pack.name,
        "refused": find_refusal(protocol, pack=pack, classes=protocol.classes, chosen=chosen),
        "steps": [_step(step, hours[step.id]) for step in protocol.steps],
        "steps_note": protocol.steps_note,
        "label_notes": [
            *(f"Ask first: {ask}" for ask in asks),
            *(f"{WORDS[step.do]} ({step.id}): {note}" for step, note in notes),
        ],
        "results": [
            f"{p.text} ({p.cited})" + (" [from memory]" if p.from_memory else "")
            for p in published(protocol, library)
        ],
        "prerequisites": _lines(protocol.prerequisites),
        "cautions": _lines(protocol.cautions),
        "when_not": _lines(protocol.when_not),
        "disagree": _lines(protocol.disagree),
        "sources": _sources(protocol, library),
    }


def _step(step: Step, hour: float) -> dict[str, Any]:
    if step.with_:
        clock = f"same visit as {step.with_}"
        window = ""
    elif step.after:
        clock = f"{step.hours:g} h after {step.after}, counted from when it was done"
        window = f"{step.hours - step.early_h:g} to {step.hours + step.late_h:g} h"
    else:
        clock = f"day {step.day}, same time of day"
        window = f"-{step.early_h:g}/+{step.late_h:g} h"
    if step.until is not None:
        window = f"to {step.until:g} h"
    return {
        "id": step.id,
        "do": step.do.value,
        "hour": hour,
        "words": WORDS[step.do] + (f", dose x {step.dose:g}" if step.dose != 1 else ""),
        "who": WHO_WORDS[step.who or Who.ALL],
        "window": window,
        "clock": clock,
        "note": step.note,
        "optional": step.optional,
    }


def _lines(statements: tuple[Statement, ...]) -> list[str]:
    return [s.text + (" [from memory]" if s.seen is Seen.MEMORY else "") for s in statements]


def _sources(protocol: Protocol, library: Library) -> list[str]:
    statements = (
        *protocol.prerequisites,
        *protocol.cautions,
        *protocol.when_not,
        *protocol.disagree,
    )
    keys = dict.fromkeys(
        (
            *protocol.source,
            *(k for r in protocol.results for k in r.source),
            *(k for s in statements for k in s.source),
        )
    )
    return [
        f"{library.sources[k]} [{library.sources[k].seen.value}]"
        for k in keys
        if k in library.sources
    ]
