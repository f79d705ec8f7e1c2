"""How an entry is answered: what was kept, what is flagged and what to do now."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.problems import some
from sunup.cli.desk import clock, hour, tell

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.app.desk import Desk
    from sunup.app.record import Entry, Line
    from sunup.app.sires import GivenOut
    from sunup.planning.progress import Held
    from sunup.planning.warnings import Flag


def print_entry(desk: Desk, entry: Entry, *, before: bool = False, of_all: bool = False) -> None:
    """Say what an entry kept; flags once each, with the tags they are of.

    Parameters
    ----------
    before : bool
        Nothing was kept: what would be flagged.
    of_all : bool
        Recorded of everybody due: who was left out is named.
    """
    zone = desk.season.zone
    words = ", ".join(entry.words)
    n = len(entry.lines)
    if n == 0:
        tell(f"{'Nobody is due' if of_all else 'No tag was given'}: nothing recorded.")
        if of_all:
            _print_held_back(entry)
        return
    first, last = entry.lines[0].at, entry.lines[-1].at
    other = first.astimezone(zone).year != desk.writer.now().astimezone(zone).year
    span = clock(first, zone, year=other) + (
        f" to {hour(last, zone, beside=first)}" if last != first else ""
    )
    head = f"{entry.group}: {words}" if entry.group else words
    said = "looked at, nothing recorded" if before else "recorded"
    tell(f"{head}, {n} {said}, {span} ({desk.zone_name})")
    _print_sires(entry, before=before)
    _print_flags(entry, before=before)
    on_file: dict[str, list[str]] = {}
    for line in entry.lines:
        for step in line.on_file:
            on_file.setdefault(step, []).append(line.tag)
    for step, tags in on_file.items():
        tell(f"{step} of {some(tags, 8)} is on file already: not recorded again", 2)
    unlisted = [line.tag for line in entry.lines if line.unlisted]
    if unlisted:
        kept = "would be kept" if before else "kept"
        tell(f"nobody on file wears {some(unlisted)}: {kept} as unlisted", 2)
        tell("now: sunup season identify TAG --is TAG, when you know who she is", 4)
    if entry.left_for_heat:
        tell(f"not recorded, left for her next heat: {some(entry.left_for_heat, 8)}", 2)
        tell("inseminated all the same? Record her by her tag", 4)
    if of_all:
        _print_held_back(entry)
    if entry.left_to_do and not before:
        tell(f"still due now: {len(entry.left_to_do)} ({some(entry.left_to_do, 8)})", 2)


def _print_held_back(entry: Entry) -> None:
    if not entry.held_back:
        return
    tell("not recorded, held back:", 2)
    print_held(entry.held_back, 4)
    tell("done all the same? Record her by her tag", 4)


def print_held(held: Sequence[tuple[str, Held]], indent: int) -> None:
    """Name females held back, what is refused first, all alike on one line; nobody is cut off."""
    alike: dict[tuple[bool, str], list[str]] = {}
    for tag, one in held:
        alike.setdefault((not one.is_refused, one.why), []).append(tag)
    for (is_hold, why), tags in sorted(alike.items()):
        tell(f"{'' if is_hold else 'DO NOT: '}{', '.join(tags)}: {why}", indent)
    inside = [tag for tag, one in held if one.insert_in]
    if inside:
        has = "an insert is" if len(inside) == 1 else "inserts are"
        tell(
            f"{has} in {', '.join(inside)}: out when due all the same, recorded alone: "
            "sunup record drug insert_out TAG",
            indent,
        )


def print_given_out(told: Sequence[GivenOut]) -> None:
    """Say how many females each sire was chosen for, group by group."""
    if not told:
        tell("The plan has no sires: plan with --sire GROUP=CODE:SHARE, or choose with --sire.")
    for one in told:
        counts = ", ".join(f"{sire} for {n}" for sire, n in sorted(one.counts.items()))
        kept = f"; {one.kept} had one chosen before" if one.kept else ""
        tell(f"{one.group}: sires chosen: {counts or 'none'}{kept}")
        if one.only_kin:
            tell(f"look: every sire of the plan is near kin of {some(one.only_kin)}", 2)
            tell("now: choose another for them: sunup record sire TAG --sire CODE", 4)


def _print_sires(entry: Entry, *, before: bool) -> None:
    """Say which sires were put down where nobody named one."""
    named = [(sire, tags) for sire, tags in entry.sires_taken if sire != "unknown"]
    none = [tag for sire, tags in entry.sires_taken if sire == "unknown" for tag in tags]
    if named:
        told = "; ".join(f"{sire} for {some(tags, 8)}" for sire, tags in named)
        put = "would be put down" if before else "put down"
        tell(f"sire {put} as Today names it: {told}", 2)
        if not before:
            tell("if it was another straw: sunup record correct, or undo and name --sire", 4)
    if none:
        tell(f"no sire named or planned for {some(none, 8)}: kept as unknown; name it: --sire", 2)


def _print_flags(entry: Entry, *, before: bool) -> None:
    grouped: dict[tuple[str, str, str], list[tuple[Line, Flag]]] = {}
    for line in entry.lines:
        for words, flag in line.flags:
            # the same trouble of many females is told once, by its worst
            alike = flag.rule if flag.size else flag.text
            grouped.setdefault((flag.rule, words, alike), []).append((line, flag))
    ranked = sorted(grouped.items(), key=lambda item: item[1][0][1].weight != "refuse")
    for (_, words, _), told in ranked:
        line, flag = max(told, key=lambda pair: pair[1].size)
        mark = "DO NOT" if before and flag.weight == "refuse" else "look"
        tags = some([line.tag for line, _ in told], 8)
        worst = f"the worst, {line.tag}, " if len(told) > 1 and flag.size else ""
        tell(f"{mark}: {tags}, {words}: {worst}{flag.text}", 2)
        if not before:
            tell(f"now: {flag.now}", 4)


def entry_to_json(entry: Entry, *, before: bool = False) -> dict[str, Any]:
    """An entry as plain values."""
    return {
        "schema_version": 1,
        "group": entry.group,
        "acts": list(entry.words),
        "recorded": 0 if before else len(entry.lines),
        "lines": [
            {
                "tag": line.tag,
                "female": line.female,
                "at_utc": line.at.isoformat(),
                "events": [event.id for event in line.events] if not before else [],
                "unlisted": line.unlisted,
                "on_file": list(line.on_file),
                "flags": [
                    {
                        "rule": flag.rule,
                        "weight": flag.weight.value,
                        "act": words,
                        "text": flag.text,
                        "now": flag.now,
                        "source": list(flag.source),
                    }
                    for words, flag in line.flags
                ],
            }
            for line in entry.lines
        ],
        "left_to_do": list(entry.left_to_do),
        "left_for_heat": list(entry.left_for_heat),
        "held_back": [held_json(tag, held) for tag, held in entry.held_back],
        "sires_taken": {sire: list(tags) for sire, tags in entry.sires_taken},
    }


def held_json(tag: str, held: Held) -> dict[str, Any]:
    """A female held back as plain values."""
    return {
        "tag": tag,
        "why": held.why,
        "do_not": held.is_refused,
        "insert_in": held.insert_in,
    }
