"""Pages of what the library holds: protocols, figures, sources, actives, regions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from docs_markdown import bullets, number, page, table
from sunup.base.figures import Seen
from sunup.planning.fit import sort_key
from sunup.planning.schedule import WHO_WORDS, WORDS
from sunup.protocols.protocol import Zero
from sunup.protocols.timing import passes_through_chute, total_days, watch_days

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sunup.base.figures import Figure
    from sunup.library import Library
    from sunup.library.active import Active
    from sunup.library.region import RegionPack
    from sunup.protocols.protocol import Protocol, Step

MARKS = (
    "**seen** says how the text behind a figure was seen: *read*; *part read* (an abstract, an "
    "opening or one passage); *older edition*; *second hand* (another's account); *memory* (common "
    "practice or the literature from memory, not looked up). **kind**: published, fitted, assumed."
)
_STANDINGS = {
    "recommended": "On lists that are recommended today.",
    "older": "Used in the past, or superseded by another on this page.",
    "research": "Tried in trials; not in general use.",
}


def render_protocols(library: Library) -> str:
    """Return the table of protocols, and each one's steps."""
    ordered = sorted(library.protocols.values(), key=sort_key)
    parts = [
        (
            f"{len(ordered)} protocols. `sunup protocol show KEY` prints one with its reasons, "
            "label notes, cautions and sources. The percentage is the range of the published "
            "pregnancy to AI held for it, * where every one of them is from memory; trials "
            "differ in cattle, condition and crew, so two protocols are not compared by it. "
            "Passes are times through the chute; *cycling* says how many of the group must "
            "already cycle for it to work."
        ),
    ]
    for standing, words in _STANDINGS.items():
        held = [p for p in ordered if p.standing.value == standing]
        parts.append(f"## {standing.capitalize()}\n\n{words}\n\n" + _protocol_table(held))
    parts.append(
        "## Steps\n\nDays count from the first treatment unless said otherwise and keep its "
        "clock time; hours count from the actual time of the step named. In brackets, by how "
        "much a day's step may move, or the hours between which it may lie. Steps joined by + "
        "are one visit."
    )
    parts += [_steps(p) for p in ordered]
    return page("Protocols", "`library/data/protocols/`", *parts)


def _protocol_table(protocols: Iterable[Protocol]) -> str:
    return table(
        ("key", "name", "style", "for", "passes", "days", "watching", "cycling", "% to AI"),
        (
            (
                f"`{p.key}`",
                p.name,
                p.style.value.replace("_", " "),
                ", ".join(c.replace("_calf_", "-calf ") for c in p.classes)
                + (f" ({', '.join(p.regions)} only)" if p.regions else ""),
                str(passes_through_chute(p)),
                f"{total_days(p):.1f}",
                f"{watch_days(p):.1f} d" if watch_days(p) else "",
                p.cycling_need.value.replace("_", " "),
                _range(p),
            )
            for p in protocols
        ),
    )


def _range(protocol: Protocol) -> str:
    held = [
        r for r in protocol.results if r.measure == "pregnancy_to_ai" and r.semen == "conventional"
    ]
    if not held:
        return ""
    low, high = min(r.low_pct for r in held), max(r.high_pct for r in held)
    mark = "*" if all(r.seen is Seen.MEMORY for r in held) else ""
    return (f"{low:g}" if low == high else f"{low:g}-{high:g}") + mark


def _steps(protocol: Protocol) -> str:
    lines: list[str] = []
    line_of: dict[str, int] = {}
    for step in protocol.steps:
        words = WORDS[step.do]
        if step.who is not None and step.who.value != "all":
            words = f"{words} ({WHO_WORDS[step.who]})"
        if step.with_ is None:
            line_of[step.id] = len(lines)
            lines.append(f"{_when(step)} {words}")
        else:
            line_of[step.id] = line_of[step.with_]
            lines[line_of[step.id]] += f" + {words}"
    start = "" if protocol.zero is Zero.FIRST_TREATMENT else "days from the first AI; "
    return f"`{protocol.key}`: {start}" + "; ".join(lines) + "."


def _when(step: Step) -> str:
    """Return a step's place in time and its window, as the protocol's file gives them."""
    early, late = step.early_h or 0.0, step.late_h or 0.0
    if step.after is None:
        until = f" to {(step.until or 0.0) / 24:g}" if step.until is not None else ""
        moves = [f"-{early:g}"] * bool(early) + [f"+{late:g}"] * bool(late)
        window = f" ({'/'.join(moves)} h)" if moves else ""
        return f"**day {step.day:g}{until}**{window}"
    hours = step.hours or 0.0
    if step.until is not None:
        return f"**{hours:g} to {step.until:g} h** after `{step.after}`"
    window = f" ({hours - early:g} to {hours + late:g})" if early or late else ""
    return f"**{hours:g} h** after `{step.after}`{window}"


def render_figures(library: Library) -> str:
    """Return every figure with unit, kind and sources, a table a file."""
    files: dict[str, list[Figure]] = {}
    for figure in library.figures.values():
        files.setdefault(figure.key.partition(".")[0], []).append(figure)
    parts = [
        (
            f"{len(library.figures)} figures. {MARKS} Prices and sizes marked *example* are not "
            "held: replace them with yours in an overlay ([how](../how-to/own_figures.md)). "
            "`sunup explain KEY` prints one with its sources in full; [sources](sources.md) "
            "lists them."
        ),
    ]
    for name, held in files.items():
        rows = (
            (
                f"`{f.key}`",
                number(f.value) + (" *example*" if f.example else ""),
                f.unit,
                f.kind.value,
                f.seen.value.replace("_", " "),
                ", ".join(f.source),
                f.applies,
            )
            for f in held
        )
        head = ("key", "value", "unit", "kind", "seen", "source", "applies to")
        parts.append(f"## {name}\n\n" + table(head, rows))
    return page("Figures", "`library/data/*.toml`", *parts)


def render_sources(library: Library) -> str:
    """Return the list of sources."""
    rows = (
        (f"`{s.key}`", s.author, s.year, s.title, s.seen.value.replace("_", " "))
        for s in sorted(library.sources.values(), key=lambda s: s.key)
    )
    return page(
        "Sources",
        "`library/data/sources.toml`",
        f"{len(library.sources)} sources. {MARKS} No addresses are kept: author, year and title "
        "find a source.",
        table(("key", "author", "year", "title", "seen"), rows),
    )


def render_actives(library: Library) -> str:
    """Return the active ingredients with strengths, doses and cautions."""
    parts = [
        "Active ingredients only, never brands. A full dose is for one strength on the basis "
        "named; two  products of one active may count different salts. The label in hand goes "
        "before this page. Only strengths held for synchronisation may stand in a plan. A "
        "strength is named on the command line as `--drug STEP=ACTIVE/STRENGTH`, for example "
        "`--drug pgf=dinoprost/5`. " + MARKS,
    ]
    parts += [_active(active) for active in library.actives.values()]
    return page("Active ingredients", "`library/data/actives.toml`", *parts)


def _active(active: Active) -> str:
    prescription = {True: "prescription", False: "no prescription", None: "prescription not known"}
    lines = [
        f"## {active.name}",
        f"`{active.key}`, {active.group}. Step `{active.does}`. US: "
        f"{prescription[active.prescription]}."
        + (f" Needle: {active.needle}." if active.needle else "")
        + (f" {active.note}" if active.note else ""),
        table(
            ("strength", "amount", "counted as", "full dose", "uses", "route", "regions", "seen"),
            (
                (
                    f"`{active.key}/{s.key}`",
                    str(s.amount),
                    s.basis,
                    str(s.dose),
                    ", ".join(s.uses),
                    ", ".join(s.routes),
                    ", ".join(s.regions) or "any",
                    f"{s.seen.value.replace('_', ' ')} ({', '.join(s.source)})",
                )
                for s in active.strengths
            ),
        ),
        "Cautions:\n\n"
        + bullets(f"{c.text} [{c.seen.value.replace('_', ' ')}]" for c in active.cautions)
        if active.cautions
        else "",
    ]
    return "\n\n".join(line.rstrip("\n") for line in lines if line)


def render_regions(library: Library) -> str:
    """Return what is held of each region's labels and rules."""
    parts = [
        "What is held of labels and rules, in our own words, with edition and date. It is never "
        "complete and may be out of date: it serves to say where a step differs from the text "
        "held, never that a plan is legal. Label, local law and the veterinarian decide. " + MARKS,
    ]
    parts += [_region(pack) for pack in library.regions.values()]
    return page("Regions", "`library/data/regions/`", *parts)


def _region(pack: RegionPack) -> str:
    lines = [
        f"## {pack.name} (`{pack.key}`)",
        (
            f"Holds: {pack.holds.rstrip('.')}. Last checked {pack.last_checked}, thought valid "
            f"until {pack.valid_until}. Currency {pack.currency}, weights in {pack.weight_unit}."
        ),
    ]
    if pack.defaults:
        chosen = ", ".join(f"{does}: `{drug}`" for does, drug in pack.defaults)
        lines.append(f"Used when you name no drug: {chosen}.")
    if pack.barred:
        lines.append(
            "Refused:\n\n"
            + bullets(
                f"{b.active.replace('_', ' ')}: {b.text} [{b.seen.value}]" for b in pack.barred
            )
        )
    if pack.ask:
        lines.append(
            "To ask before it is given:\n\n"
            + bullets(
                f"{', '.join(one.replace('_', ' ') for one in a.actives)}: {a.text} "
                f"[{a.seen.value.replace('_', ' ')}]"
                for a in pack.ask
            )
        )
    if pack.held:
        lines.append(
            table(
                ("held text", "step", "for", "edition", "seen"),
                (
                    (
                        h.text,
                        h.does,
                        ", ".join(c.replace("_calf_", "-calf ") for c in h.classes),
                        h.edition,
                        h.seen.value.replace("_", " "),
                    )
                    for h in pack.held
                ),
            )
        )
    lines.append(
        table(
            ("withdrawal", "meat", "milk", "note"),
            (
                (
                    w.active.replace("_", " "),
                    "ask" if w.meat_hours is None else f"{w.meat_hours:g} h",
                    "ask" if w.milk_hours is None else f"{w.milk_hours:g} h",
                    w.note,
                )
                for w in pack.withdrawal
            ),
        )
        if pack.withdrawal
        else "No withdrawal figures are held: take them from the label in hand."
    )
    if pack.notes:
        lines.append(bullets(pack.notes))
    return "\n\n".join(line.rstrip("\n") for line in lines)
