"""``sunup exchange``: files in and out; looked at first, taken after."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sunup.base.problems import counted
from sunup.cli.options import (
    Column,
    Dates,
    Json,
    LedgerAt,
    Overlay,
    Ranch,
    Sheet,
    Weights,
    Zone,
)

if TYPE_CHECKING:
    from sunup.app.exchange_in import Intake

app = typer.Typer(no_args_is_help=True, help="Files in and out of the ledger.")

IN = "herd calvings weights condition scans pregnancy treatments reader ade"
OUT = "ade herd calvings weights condition scans pregnancy treatments events"


@app.callback()
def top() -> None:
    """Files in and out of the ledger."""


@app.command("read", epilog="Example: sunup exchange read pregnancy scan-day.xlsx --on 2027-09-14")
def read(
    kind: Annotated[str, typer.Argument(metavar="KIND", help=f"What it is: {IN}.")],
    files: Annotated[list[Path], typer.Argument(help="The file; of ade also several.")],
    yes: Annotated[bool, typer.Option("--yes", help="Take it without asking.")] = False,
    dates: Dates = None,
    weights: Weights = None,
    column: Column = None,
    sheet: Sheet = None,
    on: Annotated[
        str | None,
        typer.Option(
            help="Day, or DAYTHH:MM, of rows that state none.", metavar="DATE", show_default=False
        ),
    ] = None,
    as_of: Annotated[
        str | None, typer.Option(help="Day of a herd list; nothing lies after.", metavar="DATE")
    ] = None,
    clock_ahead: Annotated[
        str | None,
        typer.Option(
            help="Reader: how far its clock is ahead, e.g. 6h, -1h, 90min; 0h: it is right.",
            metavar="SPAN",
        ),
    ] = None,
    no_unlisted: Annotated[
        bool, typer.Option("--no-unlisted", help="Put tags nobody has on file aside.")
    ] = False,
    tags_out: Annotated[
        Path | None,
        typer.Option(help="Reader: write the tags read, for sunup record --file.", metavar="FILE"),
    ] = None,
    aside: Annotated[
        Path | None, typer.Option(help="Write what is put aside as JSON.", metavar="FILE")
    ] = None,
    over: Annotated[bool, typer.Option("--over", help="Write over files that are there.")] = False,
    by: Annotated[str | None, typer.Option(help="Who takes it in.")] = None,
    zone: Zone = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Show what a file would add or change; take it after a yes, or with --yes.

    Females are found by electronic code, then by tag. Nothing is taken twice: the same file again
    adds nothing. What cannot be read or is not sure is counted and named, never taken on a guess.
    """
    from sunup.app.exchange_in import FileKind, Wishes, look_at, ranch_of, take
    from sunup.app.exchange_out import keep_aside
    from sunup.app.open import open_ledger
    from sunup.app.wishes import read_day, read_pairs
    from sunup.base.problems import UsageError
    from sunup.cli.exchange_view import as_json, needs_look, print_intake, tag_lines
    from sunup.cli.show import print_json
    from sunup.exchange.herd_file import HerdReading

    if kind not in set(FileKind):
        message = f"'{kind}' is no kind of file we take. Say one of: {IN}."
        raise UsageError(message)
    wishes = Wishes(
        reading=HerdReading(
            date_order=dates,
            weight_unit=weights,
            columns=dict(read_pairs(column, "--column")),
            sheet=sheet,
        ),
        as_of=None if as_of is None else read_day(as_of, "--as-of"),
        day=_read_on(on),
        zone=zone,
        keep_unknown=not no_unlisted,
        clock_offset_s=_read_span(clock_ahead),
    )
    called = None if ranch else ranch_of(FileKind(kind), files)
    with open_ledger(ledger, ranch=ranch, new_ranch=called, create=True, tell=_say) as opened:
        intake = look_at(
            FileKind(kind),
            files,
            opened.events(),
            ranch=opened.ranch,
            wishes=wishes,
            overlay=overlay,
        )
        if not json_:
            print_intake(intake)
        if aside is not None and intake.aside:
            keep_aside([one.source or _row(one) for one in intake.aside], aside, over=over)
            _say(f"put aside: {aside}")
        if tags_out is not None:
            _write_tags(tags_out, tag_lines(intake), over=over)
        taken = None
        if intake.drafts and (yes or (not json_ and _is_agreed(intake))):
            taken = take(intake, opened.append, ranch=opened.ranch, by=by)
    if json_:
        print_json(as_json(intake, taken))
    elif taken is not None:
        known = f", {taken.known} known" if taken.known else ""
        print(f"recorded: {counted(taken.new, 'entry', 'entries')}{known}")
        for text in taken.refused:
            _say(f"not recorded: {text}")
    elif intake.drafts:
        print("Nothing was recorded. Say --yes to take it.")
    else:
        print("There is nothing new to record.")
    if needs_look(intake) or (taken is not None and taken.refused):
        raise typer.Exit(1)


@app.command("write", epilog="Example: sunup exchange write ade ranch-ade.json")
def write(
    what: Annotated[str, typer.Argument(metavar="WHAT", help=f"What to write: {OUT}.")],
    target: Annotated[Path, typer.Argument(help="Lists: .csv or .xlsx. ADE: .json, or a folder.")],
    over: Annotated[bool, typer.Option("--over", help="Write over files that are there.")] = False,
    zone: Zone = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    json_: Json = False,
) -> None:
    """Write a list, every event, or the whole ledger as ICAR Animal Data Exchange (ADE).

    With ADE is told what the standard has no place for. To move a ledger whole: sunup ledger
    export.
    """
    from sunup.app.exchange_out import LISTS, write_ade, write_list
    from sunup.app.open import open_ledger
    from sunup.base.problems import UsageError
    from sunup.cli.exchange_view import print_lost
    from sunup.cli.show import print_json, say

    if what not in {"ade", *LISTS}:
        message = f"'{what}' is nothing we write. Say one of: {OUT}."
        raise UsageError(message)
    with open_ledger(ledger, ranch=ranch, read_only=True) as opened:
        events, name = opened.events(), opened.ranch
    if what == "ade":
        done = write_ade(events, target, ranch=name, over=over)
    else:
        done = write_list(what, events, target, ranch=name, zone=zone, over=over)
    if json_:
        print_json(
            {
                "schema_version": 1,
                "files": [{"file": str(path), "n": n} for path, n in done.files],
                "not_held": [{"what": o.what, "n": o.n, "why": o.why} for o in done.lost],
                "said": list(done.said),
            }
        )
        return
    for path, n in done.files:
        print(f"written: {path}, {n:,} {'resources' if what == 'ade' else 'rows'}")
    for words in done.said:
        say(words)
    if what == "ade":
        print_lost(done.lost)


def _say(words: str) -> None:
    print(words, file=sys.stderr)


def _is_agreed(intake: "Intake") -> bool:
    """Ask on a terminal; elsewhere nothing is taken without --yes."""
    if not sys.stdin.isatty() or (intake.doubts and intake.clock_offset_s is None):
        return False
    entries = counted(len(intake.drafts), "entry", "entries")
    return typer.confirm(f"Record {entries}?", default=False)


def _row(one: object) -> dict[str, object]:
    from sunup.exchange.drafts import Aside

    return {"row": one.row, "what": one.what, "why": one.why} if isinstance(one, Aside) else {}


def _write_tags(target: Path, text: str, *, over: bool) -> None:
    from sunup.base.problems import UsageError

    if target.exists() and not over:
        message = f"'{target}' is there already. Say --over, or give another name."
        raise UsageError(message)
    try:
        target.write_text(text, encoding="utf-8")
    except OSError as error:
        message = f"'{target}' cannot be written: {error.strerror or error}."
        raise UsageError(message) from None
    _say(f"tags: {target}")


def _read_on(text: str | None) -> "Moment | None":
    from datetime import date, datetime

    from sunup.base.problems import UsageError
    from sunup.exchange.moments import Moment

    if text is None:
        return None
    try:
        if len(text) == 10:
            return Moment(date.fromisoformat(text))
        told = datetime.fromisoformat(text)
    except ValueError:
        message = f"--on '{text}' is not a day. Write it as 2027-05-22 or 2027-05-22T14:30."
        raise UsageError(message) from None
    if told.tzinfo is not None:
        message = f"--on '{text}': leave the zone out; the ranch's clock is meant."
        raise UsageError(message)
    return Moment(told.date(), told.time())


def _read_span(text: str | None) -> float | None:
    """Read a span such as 6h, -1.5h, 90min, 2d, in seconds."""
    import re

    from sunup.base.problems import UsageError

    if text is None:
        return None
    match = re.fullmatch(r"([+-]?[0-9]+(?:\.[0-9]+)?)\s*(min|h|d)", text.strip())
    if match is None:
        message = f"--clock-ahead '{text}' is not a span. Write it as 6h, -1h, 90min or 1d."
        raise UsageError(message)
    return float(match[1]) * {"min": 60.0, "h": 3600.0, "d": 86400.0}[match[2]]


if TYPE_CHECKING:
    from sunup.exchange.moments import Moment
