"""``sunup ledger``: keep, put back, move and check the record of what happened."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sunup.base.problems import counted
from sunup.cli.options import Json, LedgerAt, Ranch

if TYPE_CHECKING:
    from sunup.app.ledger_lines import RefusedLine

app = typer.Typer(no_args_is_help=True, help="Keep, put back, move and check the ledger.")


@app.callback()
def top() -> None:
    """Keep, put back, move and check the ledger."""


@app.command("backup", epilog="Example: sunup ledger backup /media/stick/sunup-may.db")
def backup(
    target: Annotated[
        Path | None, typer.Argument(help="File to make; by default named by date, beside it.")
    ] = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Keep a copy of the ledger, also while others write to it.

    The copy is checked before it takes its name. A file that is there is never written over. Of a
    PostgreSQL ledger all ranches are written, as JSON Lines.
    """
    from sunup.app.ledger import backup_ledger
    from sunup.app.open import open_ledger

    with open_ledger(ledger, ranch=ranch, read_only=True) as opened:
        print(f"kept: {backup_ledger(opened, target)}")


@app.command("restore", epilog="Example: sunup ledger restore sunup-20270525-143000.db")
def restore(
    backup_file: Annotated[Path, typer.Argument(help="A backup made by `sunup ledger backup`.")],
    ledger: LedgerAt = None,
) -> None:
    """Put a backup in the place of the ledger; the one that was there is kept beside it.

    What was recorded after the backup was made is then only in the ledger that was kept: `sunup
    ledger export` from there and `import` here brings it over.
    """
    from sunup.app.ledger import restore_ledger

    done = restore_ledger(backup_file, ledger)
    print(f"{done.ledger} now holds the {counted(done.n_events, 'event')} of {backup_file}.")
    if done.kept is not None:
        print(f"kept, as it was before: {done.kept}")
        print(
            "Recorded since the backup? Bring it over: sunup ledger export later.jsonl "
            f"--ledger {done.kept}; sunup ledger import later.jsonl --ledger {done.ledger}"
        )


@app.command("export", epilog="Example: sunup ledger export ledger.jsonl")
def export(
    target: Annotated[Path, typer.Argument(help="File to make; - writes to standard output.")],
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Write every event of the ledger as JSON Lines, exactly as recorded."""
    from sunup.app.ledger_lines import export_lines
    from sunup.app.open import open_ledger

    with open_ledger(ledger, ranch=ranch, read_only=True) as opened:
        n = export_lines(opened, target)
    if str(target) != "-":
        print(f"written: {target}, {counted(n, 'event')}")


@app.command("import", epilog="Example: sunup ledger import phone.jsonl")
def import_(
    source: Annotated[Path, typer.Argument(help="JSON Lines; - reads what is piped in.")],
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    json_: Json = False,
) -> None:
    """Take the events of another ledger or device in; those already here are passed over.

    Lines that cannot be taken are named with number and reason, and all others are taken. If it is
    stopped on the way, nothing was taken. Begins a ledger where there is none.
    """
    from sunup.app.ledger_lines import import_lines
    from sunup.app.open import open_ledger
    from sunup.cli.show import print_json, print_problems

    with open_ledger(ledger, ranch=ranch, create=True, tell=print_aside) as opened:
        result = import_lines(opened, source)
        name = opened.name
    if json_:
        print_json(
            {
                "schema_version": 1,
                "ledger": name,
                "new": result.new,
                "already_there": result.known,
                "refused": [_refused_to_json(refused) for refused in result.refused],
                "odd": [p.to_json() for p in result.odd],
            }
        )
    else:
        print(
            f"{name}: {result.new:,} new, {result.known:,} already there, "
            f"{len(result.refused):,} lines refused"
        )
        print_problems([*(refused.problem for refused in result.refused), *result.odd])
        if result.refused:
            print("The good lines were taken. Mend the others and import the file again.")
    if result.refused:
        raise typer.Exit(1)


@app.command("verify", epilog="Example: sunup ledger verify")
def verify(ledger: LedgerAt = None, ranch: Ranch = None, json_: Json = False) -> None:
    """Check the ledger: the file, its guards, every event, and all that is drawn from them."""
    from sunup.app.ledger import check_ledger
    from sunup.app.open import open_ledger
    from sunup.cli.ledger_view import print_ledger_check
    from sunup.cli.show import has_errors

    with open_ledger(ledger, ranch=ranch, read_only=True) as opened:
        found = check_ledger(opened)
    print_ledger_check(found, json_=json_)
    if has_errors(found.problems):
        raise typer.Exit(1)


@app.command("rebuild", epilog="Example: sunup ledger rebuild")
def rebuild(ledger: LedgerAt = None, ranch: Ranch = None) -> None:
    """Draw anew whatever is drawn from the events; no event is touched."""
    from sunup.app.open import open_ledger

    with open_ledger(ledger, ranch=ranch, tell=print_aside) as opened:
        opened.rebuild()
        print(f"{opened.name}: drawn anew from {counted(opened.count(), 'event')}")


@app.command("upgrade", epilog="Example: sunup ledger upgrade --ledger postgresql://SERVER/HERDS")
def upgrade(ledger: LedgerAt = None) -> None:
    """Bring a PostgreSQL ledger of an older program to this one's form.

    It is written to JSON Lines in the current folder first. A ledger file needs no command: it is
    kept and brought up when it is next opened.
    """
    from sunup.app.open import open_ledger

    told: list[str] = []
    with open_ledger(ledger, upgrade=True, tell=told.append) as opened:
        print(told[0] if told else f"{opened.name}: nothing to do")


def print_aside(words: str) -> None:
    """Tell something beside the answer, on standard error."""
    import sys

    print(words, file=sys.stderr)


def _refused_to_json(refused: "RefusedLine") -> dict[str, object]:
    on_file = None if refused.against is None else refused.against.id
    return {"line": refused.line, "on_file": on_file, "problem": refused.problem.to_json()}
