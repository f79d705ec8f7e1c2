"""``sunup herd``: look at a herd file before planning."""

from pathlib import Path
from typing import Annotated

import typer

from sunup.base.problems import counted
from sunup.cli.options import Column, Dates, Json, Overlay, Sheet, Weights

app = typer.Typer(no_args_is_help=True, help="Look at a herd file before planning.")

EXAMPLE = "Example: sunup herd check herd.csv --dates mdy --weights lb"


@app.callback()
def top() -> None:
    """Look at a herd file before planning."""


@app.command("check", epilog=EXAMPLE)
def check(
    herd_file: Annotated[Path, typer.Argument(help="CSV or XLSX with a header row.")],
    dates: Dates = None,
    weights: Weights = None,
    column: Column = None,
    sheet: Sheet = None,
    as_of: Annotated[
        str | None, typer.Option(help="Read as if today were this day.", metavar="DATE")
    ] = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Read a herd file and name every problem with row, column, value and what to do."""
    from sunup.app.herd_check import check_herd
    from sunup.app.wishes import read_day, read_pairs
    from sunup.cli.show import has_errors, print_json, print_problems, print_table, say
    from sunup.exchange.herd_file import HerdReading

    result = check_herd(
        herd_file,
        reading=HerdReading(
            date_order=dates,
            weight_unit=weights,
            columns=dict(read_pairs(column, "--column")),
            sheet=sheet,
        ),
        as_of=None if as_of is None else read_day(as_of, "--as-of"),
        overlay=overlay,
    )
    herd = result.herd
    if json_:
        print_json(
            {
                "schema_version": 1,
                "as_of": result.as_of.isoformat(),
                "rows": herd.rows,
                "females": len(herd.females),
                "columns": [{"header": h, "field": f} for h, f in herd.columns],
                "unused": list(herd.unused),
                "groups": dict(result.groups),
                "known": [{"fact": fact, "n": n} for fact, n in result.known],
                "problems": [p.to_json() for p in herd.problems],
            }
        )
    else:
        print(
            f"{herd_file.name}, as of {result.as_of}: {counted(herd.rows, 'row')}, "
            f"{len(herd.females)} loaded"
        )
        say("groups: " + ", ".join(f"{name} {n}" for name, n in result.groups))
        print_table([("header", "left"), ("taken as", "left")], [(h, f) for h, f in herd.columns])
        if herd.unused:
            say("not used: " + ", ".join(herd.unused))
        print_table(
            [("fact", "left"), ("known for", "right")], [(f, str(n)) for f, n in result.known]
        )
        print_problems(herd.problems, limit=None)
    if has_errors(herd.problems):
        raise typer.Exit(1)
