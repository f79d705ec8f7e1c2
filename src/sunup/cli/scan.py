"""``sunup scan``: the scan sheet, results, returns to watch, the calving book."""

from typing import Annotated

import typer

from sunup.cli.desk import At, By, Note, TagFile, Tags, at_desk, read_tag_words
from sunup.cli.options import Json, LedgerAt, Overlay, Ranch

app = typer.Typer(
    no_args_is_help=True, help="The scan sheet, its results, returns, the calving book."
)


@app.callback()
def top() -> None:
    """The scan sheet, its results, returns, the calving book."""


Method = Annotated[str, typer.Option(help="ultrasound, palpation or blood.")]


@app.command("sheet", epilog="Example: sunup scan sheet --on 2027-07-28")
def sheet(
    on: Annotated[
        str | None, typer.Option(help="Day of the scan; today where not said.", metavar="DATE")
    ] = None,
    method: Method = "ultrasound",
    everybody: Annotated[
        bool, typer.Option("--all", help="Also females already found pregnant.")
    ] = False,
    at: At = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Show when to scan each group, and what to expect in each female."""
    from sunup.app.scan import find_sheet
    from sunup.app.wishes import read_day
    from sunup.cli.scan_view import print_sheet, sheet_to_json
    from sunup.cli.show import print_json

    with at_desk(ledger, ranch, at=at, overlay=overlay, view=True) as (desk, _):
        day = read_day(on, "--on") if on else None
        told = find_sheet(desk, on=day, method=method, everybody=everybody)
    if json_:
        print_json(sheet_to_json(told))
    else:
        print_sheet(told)


@app.command("result", epilog="Example: sunup scan result 2045 --result pregnant --age 64")
def result(
    tags: Tags = None,
    file: TagFile = None,
    result_: Annotated[
        str, typer.Option("--result", help="pregnant, not_pregnant or unsure.")
    ] = "",
    method: Method = "ultrasound",
    age: Annotated[
        float | None, typer.Option(min=1, help="Age of the fetus as judged, days.")
    ] = None,
    fetuses: Annotated[int | None, typer.Option(min=1, max=4, help="How many were seen.")] = None,
    sex: Annotated[str | None, typer.Option(help="Sex seen: female or male.")] = None,
    operator: Annotated[str | None, typer.Option(help="Who checked.")] = None,
    at: At = None,
    by: By = None,
    note: Note = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Record pregnancy findings; says where each female stands now."""
    from sunup.app.scan import Finding, record_findings
    from sunup.base.problems import UsageError
    from sunup.cli.record_view import entry_to_json, print_entry
    from sunup.cli.scan_view import print_states
    from sunup.cli.show import print_json

    if not result_:
        message = "What was found? --result pregnant, not_pregnant or unsure."
        raise UsageError(message)
    if sex not in {None, "female", "male"}:
        message = f"--sex '{sex}': write female or male."
        raise UsageError(message)
    names = read_tag_words(tags, file)
    finding = Finding(
        result=result_,
        method=method,
        fetal_age_days=age,
        fetuses=fetuses,
        fetal_sex=sex,
        operator=operator,
        note=note,
    )
    with at_desk(ledger, ranch, at=at, by=by, overlay=overlay) as (desk, when):
        entry, states = record_findings(desk, names, finding, at=when)
        if json_:
            print_json(entry_to_json(entry) | {"states": states})
        else:
            print_entry(desk, entry)
            print_states(entry, states)


@app.command("returns", epilog="Example: sunup scan returns")
def returns(
    at: At = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """List females whose return to heat is to be looked for today."""
    from sunup.app.scan import find_returns
    from sunup.cli.scan_view import print_returns, returns_to_json
    from sunup.cli.show import print_json
    from sunup.planning.insemination_list import local_day

    with at_desk(ledger, ranch, at=at, overlay=overlay, view=True) as (desk, _):
        lines = find_returns(desk)
        day = local_day(desk.season.at, desk.season)
    if json_:
        print_json(returns_to_json(lines, day))
    else:
        print_returns(lines, day)


@app.command("book", epilog="Example: sunup scan book --since 2028-01-01")
def book(
    since: Annotated[
        str | None, typer.Option(help="Leave out what ended before this day.", metavar="DATE")
    ] = None,
    everybody: Annotated[
        bool, typer.Option("--all", help="Also females served and not yet checked.")
    ] = False,
    at: At = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Show the calving book: due dates with their range, calvings against them, losses."""
    from sunup.app.scan import find_book
    from sunup.app.wishes import read_day
    from sunup.cli.scan_view import book_to_json, print_book
    from sunup.cli.show import print_json

    with at_desk(ledger, ranch, at=at, overlay=overlay, view=True) as (desk, _):
        lines = find_book(desk, since=read_day(since, "--since") if since else None)
    if json_:
        print_json(book_to_json(lines))
    else:
        print_book(lines, everybody=everybody)


@app.command("next", epilog="Example: sunup scan next --first-ai 2028-05-23")
def next_(
    first_ai: Annotated[
        str, typer.Option("--first-ai", help="Next season's first insemination.", metavar="DATE")
    ],
    at: At = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Show who will be too late calved for next season's first insemination."""
    from sunup.app.scan import find_at_start
    from sunup.app.wishes import read_day
    from sunup.cli.scan_view import at_start_to_json, print_at_start
    from sunup.cli.show import print_json

    with at_desk(ledger, ranch, at=at, overlay=overlay, view=True) as (desk, _):
        told = find_at_start(desk, first_ai_on=read_day(first_ai, "--first-ai"))
    if json_:
        print_json(at_start_to_json(told))
    else:
        print_at_start(told)
