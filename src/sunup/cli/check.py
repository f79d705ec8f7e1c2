"""``sunup check``: are the library, your own figures and your ledger sound."""

from typing import TYPE_CHECKING

import typer

from sunup.cli.options import Json, LedgerAt, Overlay, Ranch

if TYPE_CHECKING:
    from sunup.app.ledger import LedgerCheck
    from sunup.library import Library

EXAMPLE = "Example: sunup check --overlay ranch.toml"


def check(
    overlay: Overlay = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    json_: Json = False,
) -> None:
    """Check every data file of the library, a ranch's overlay, and the ledger where one is there.

    Library: unknown and doubled keys, missing units and sources, rules a protocol must obey, rule
    packs past their date; each is named with file, key, what was found and what is allowed.
    Ledger: whether it is whole, and what is odd in what was recorded.
    """
    from sunup.app.inspect_library import check_library
    from sunup.cli.ledger_view import ledger_check_to_json, print_ledger_check
    from sunup.cli.show import console, has_errors, print_json, print_problems

    found = check_library(overlay)
    library = found.library
    records = _check_ledger(ledger, ranch, library)
    if json_:
        print_json(
            {
                "schema_version": 1,
                "library_version": library.version,
                "counts": {
                    "protocols": len(library.protocols),
                    "figures": len(library.figures),
                    "sources": len(library.sources),
                    "actives": len(library.actives),
                    "regions": len(library.regions),
                },
                "problems": [p.to_json() for p in found.problems],
                "ledger": None if records is None else ledger_check_to_json(records),
            }
        )
    else:
        console().print(
            f"library {library.version}: {len(library.protocols)} protocols, "
            f"{len(library.figures)} figures, {len(library.sources)} sources, "
            f"{len(library.actives)} actives, {len(library.regions)} rule packs"
        )
        print_problems(found.problems, limit=None)
        if not found.problems:
            print("sound")
        if records is not None:
            print_ledger_check(records)
    if has_errors((*found.problems, *(() if records is None else records.problems))):
        raise typer.Exit(1)


def _check_ledger(where: str | None, ranch: str | None, library: "Library") -> "LedgerCheck | None":
    """The ledger named, or the one there is; None where neither."""
    from sunup.app.open import find_ledger, open_ledger

    place = where or find_ledger()
    if place is None:
        return None
    from sunup.app.ledger import check_ledger

    with open_ledger(place, ranch=ranch, read_only=True) as opened:
        return check_ledger(opened, library)
