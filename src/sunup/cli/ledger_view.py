"""How what was found in a ledger is shown."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.problems import counted
from sunup.cli.show import print_json, print_problems

if TYPE_CHECKING:
    from sunup.app.ledger import LedgerCheck


def ledger_check_to_json(found: LedgerCheck) -> dict[str, Any]:
    """Return what was found as plain values."""
    return {
        "ledger": found.name,
        "ranch": found.ranch,
        "events": found.n_events,
        "females": found.n_females,
        "problems": [p.to_json() for p in found.problems],
        "odd": [p.to_json() for p in found.odd],
    }


def print_ledger_check(found: LedgerCheck, *, json_: bool = False) -> None:
    """Print what was found in a ledger; problems go to standard error."""
    if json_:
        print_json({"schema_version": 1} | ledger_check_to_json(found))
        return
    print(
        f"ledger {found.name}, ranch {found.ranch}: {counted(found.n_events, 'event')}, "
        f"{counted(found.n_females, 'female')}"
    )
    print_problems(found.problems, limit=None)
    print_problems(found.odd)
    if not found.problems:
        print("sound" if not found.odd else f"sound; {len(found.odd)} odd")
