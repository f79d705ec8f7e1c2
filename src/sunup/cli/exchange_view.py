"""What a file would add or change, printed so that a yes is an informed one."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

from sunup.base.hours import to_local
from sunup.base.problems import some
from sunup.cli.show import has_errors, print_problems, print_table, say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.app.exchange_in import Intake, Taken
    from sunup.exchange.ade_lost import Lost

_SHOWN = 20
_WORDS = {
    "FemaleAdded": "females",
    "Moved": "moves to a group",
    "TagChanged": "tag changes",
    "Corrected": "corrections",
    "Calved": "calvings",
    "Weighed": "weights",
    "ConditionScored": "condition scores",
    "TractScored": "tract scores",
    "PelvisMeasured": "pelvic areas",
    "OvaryScanned": "ovary scans",
    "PregnancyChecked": "pregnancy checks",
    "Treated": "treatments",
    "InsertPlaced": "inserts in",
    "InsertRemoved": "inserts out",
    "Vaccinated": "vaccinations",
    "HeatSeen": "heats",
    "HeatAidRead": "readings of heat aids",
    "Inseminated": "inseminations",
    "BullsIn": "bulls in",
    "BullsOut": "bulls out",
    "Aborted": "abortions",
    "LeftHerd": "departures",
    "HoldSet": "holds",
    "HoldLifted": "holds lifted",
    "Fed": "feedings",
}


def counts(intake: Intake) -> list[tuple[str, int]]:
    """How many entries of each kind would be recorded."""
    found = Counter(one.kind.value for one in intake.drafts)
    return [(_WORDS.get(kind, kind), n) for kind, n in found.most_common()]


def needs_look(intake: Intake) -> bool:
    """Whether something of the file was left out and somebody should see why."""
    in_doubt = bool(intake.doubts) and intake.clock_offset_s is None
    return in_doubt or bool(intake.aside) or has_errors(intake.problems)


def print_intake(intake: Intake) -> None:
    """Print all of it: what would be recorded, what differs, what is left out and why."""
    from sunup.app.exchange_in import unreadable

    print(f"{', '.join(intake.names)}: {intake.n:,} {intake.unit}, nothing taken yet")
    told = ", ".join(f"{n:,} {words}" for words, n in counts(intake))
    print(f"new to record: {told or 'nothing'}")
    left = [
        (intake.already, "on file already or told twice"),
        (len(intake.aside), "put aside"),
        (unreadable(intake), "rows with something that cannot be read"),
        (intake.corrected, "corrected by a newer file"),
        (intake.taken_back, "taken back at their source"),
    ]
    for n, words in left:
        if n:
            print(f"{words}: {n:,}")
    _print_names("new females", intake.new)
    _print_names("tags nobody has on file, kept as unlisted", intake.unlisted)
    _print_names("on file and not in the list (nothing is changed)", intake.missing)
    if intake.columns:
        say("columns: " + ", ".join(f"{header} as {key}" for header, key in intake.columns))
    if intake.differences:
        rows = [(str(d.row or ""), d.who, d.fact, d.ledger, d.file) for d in intake.differences]
        head = [(name, "left") for name in ("row", "female", "fact", "on file", "in the file")]
        print_table(head, rows[:_SHOWN], title="would be changed or added beside what is on file")
        _print_more(len(rows))
    if intake.aside:
        rows_ = [(str(one.row or ""), one.what, one.why) for one in intake.aside]
        head = [("row", "left"), ("of", "left"), ("why", "left")]
        print_table(head, rows_[:_SHOWN], title="put aside, not taken")
        _print_more(len(rows_))
    if intake.seen:
        _print_seen(intake)
    for doubt in intake.doubts:
        print(f"the reader's clock: {doubt.why}.")
    if intake.doubts and intake.clock_offset_s is None:
        known = next((one.offset_s for one in intake.doubts if one.offset_s is not None), None)
        hint = "6h" if known is None else f"{known / 3600:g}h"
        print(f"Is that so? Say --clock-ahead {hint}; if the clock is right, --clock-ahead 0h.")
    print_problems(intake.problems)


def tag_lines(intake: Intake) -> str:
    """The tags a reader read, one a line with its time as a remark, each once."""
    lines: dict[str, str] = {}
    for one in intake.seen:
        local = to_local(one.at, intake.zone) if one.at else None
        remark = f"  # {local:%Y-%m-%d %H:%M:%S}" if local else ""
        lines.setdefault(one.rfid, f"{one.rfid}{remark}")
    return "\n".join(lines.values()) + "\n"


def as_json(intake: Intake, taken: Taken | None) -> dict[str, Any]:
    """All of it as plain values."""
    return {
        "schema_version": 1,
        "kind": intake.kind.value,
        "files": list(intake.names),
        "n": intake.n,
        "new": dict(counts(intake)),
        "already": intake.already,
        "new_females": intake.new,
        "unlisted": intake.unlisted,
        "missing": intake.missing,
        "differences": [
            {"row": d.row, "female": d.who, "fact": d.fact, "ledger": d.ledger, "file": d.file}
            for d in intake.differences
        ],
        "aside": [{"row": a.row, "what": a.what, "why": a.why} for a in intake.aside],
        "clock": [{"why": d.why, "offset_s": d.offset_s, "sure": d.is_sure} for d in intake.doubts],
        "seen": [
            {
                "rfid": one.rfid,
                "tag": one.tag,
                "at": one.at.isoformat() if one.at else None,
                "reads": one.n,
            }
            for one in intake.seen
        ],
        "problems": [p.to_json() for p in intake.problems],
        "recorded": None
        if taken is None
        else {"new": taken.new, "known": taken.known, "refused": list(taken.refused)},
    }


def print_lost(lost: Sequence[Lost]) -> None:
    """Print what an export does not hold."""
    from sunup.exchange.ade_lost import ALWAYS

    rows = [(one.what, f"{one.n:,}", one.why) for one in lost]
    head = [("in the ledger, not in the file", "left"), ("entries", "right"), ("why", "left")]
    print_table(head, rows)
    say("never held: " + "; ".join(ALWAYS) + ".")


def _print_names(words: str, names: Sequence[str]) -> None:
    if names:
        say(f"{words}: {len(names)} ({some(names, _SHOWN)})")


def _print_more(n: int) -> None:
    if n > _SHOWN:
        print(f"... and {n - _SHOWN} more; --json lists all.")


def _print_seen(intake: Intake) -> None:
    known = sum(one.female is not None for one in intake.seen)
    print(f"read: {len(intake.seen)} animals, {known} of them on file")
    rows = [
        (
            one.rfid,
            one.tag or "nobody",
            f"{to_local(one.at, intake.zone):%Y-%m-%d %H:%M:%S}" if one.at else "",
            str(one.n),
        )
        for one in intake.seen
    ]
    head = [("RFID", "left"), ("tag", "left"), ("when", "left"), ("reads", "right")]
    print_table(head, rows[:_SHOWN])
    _print_more(len(rows))
