"""``sunup check``: are the library and your own figures sound."""

import typer

from sunup.cli.options import Json, Overlay

EXAMPLE = "Example: sunup check --overlay ranch.toml"


def check(
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Check every data file of the library and a ranch's overlay.

    Unknown and doubled keys, missing units and sources, rules a protocol must obey, rule packs past
    their date: each is named with file, key, what was found and what is allowed.
    """
    from sunup.app.inspect_library import check_library
    from sunup.cli.show import console, has_errors, print_json, print_problems

    found = check_library(overlay)
    library = found.library
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
    if has_errors(found.problems):
        raise typer.Exit(1)
