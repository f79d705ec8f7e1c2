"""``sunup record drug``, ``vaccine``, ``bull-exam``: what is done beside the plan."""

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from sunup.cli.desk import (
    At,
    By,
    Look,
    Note,
    TagFile,
    Tags,
    Until,
    at_desk,
    read_tag_words,
    read_until,
    tags_meant,
    tell,
)
from sunup.cli.options import Json, LedgerAt, Ranch

if TYPE_CHECKING:
    from sunup.app.desk import Desk

DRUG = "Example: sunup record drug cloprostenol 2045 --ml 2 --lot C4 --withdrawal 0"
VACCINE = "Example: sunup record vaccine --file tags.txt --against IBR/BVD --modified-live"
BULL_EXAM = "Example: sunup record bull-exam B7=38.5 B9=36 --result satisfactory"


def drug(
    drug_: Annotated[
        str,
        typer.Argument(
            metavar="DRUG",
            help="Active (cloprostenol), act (pgf, gnrh, insert, insert_out) or any drug's name.",
        ),
    ],
    tags: Tags = None,
    file: TagFile = None,
    ml: Annotated[
        float | None, typer.Option(help="Millilitres; the plan's where not said.", min=0)
    ] = None,
    share: Annotated[
        float | None, typer.Option(help="Share of the dose that went in, e.g. 0.5.", min=0, max=1)
    ] = None,
    lot: Annotated[str | None, typer.Option(help="Lot on the bottle or bag.")] = None,
    expires: Annotated[
        str | None, typer.Option(help="Expiry on the bottle or bag.", metavar="DATE")
    ] = None,
    withdrawal: Annotated[
        float | None,
        typer.Option(help="Meat withdrawal on the label in hand, days; 0 if none.", min=0),
    ] = None,
    site: Annotated[str | None, typer.Option(help="Where it was given, e.g. neck, left.")] = None,
    lost: Annotated[
        list[str] | None,
        typer.Option(
            "--lost", help="insert_out: tag that had none left; once for each.", metavar="TAG"
        ),
    ] = None,
    at: At = None,
    until: Until = None,
    by: By = None,
    note: Note = None,
    look: Look = False,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    json_: Json = False,
) -> None:
    """Record a drug given off the plan: a sick cow's, or a step done outside its visit."""
    from dataclasses import replace

    from sunup.app.record_off_plan import Dose, find_drug, record_drug
    from sunup.app.wishes import read_day
    from sunup.cli.record_view import entry_to_json, print_entry
    from sunup.cli.show import print_json

    names = read_tag_words(tags, file)
    dose = Dose(
        ml=ml,
        share=share,
        lot=lot,
        expires_on=read_day(expires, "--expires") if expires else None,
        withdrawal_days=withdrawal,
        site=site,
        note=note,
    )
    with at_desk(ledger, ranch, at=at, by=by, reads=look) as (desk, when):
        end = read_until(until, desk, when)
        gone = tags_meant(desk, "--lost", lost, names, "not among those recorded")
        dose = replace(dose, lost=gone)
        entry = record_drug(desk, drug_, names, at=when, until=end, dose=dose, keep=not look)
        if json_:
            print_json(entry_to_json(entry, before=look))
            return
        print_entry(desk, entry, before=look)
        act, _ = find_drug(desk, drug_)
        if names and not look and act != "insert_out":
            given = {str(e.body["active"]) for e in entry.events if e.body.get("active")}
            _say_left_open(desk, given, is_said=withdrawal is not None)


def _say_left_open(desk: "Desk", actives: set[str], *, is_said: bool) -> None:
    """What was not written down or read; nothing is assumed of it."""
    from sunup.app.stock import unread_by

    if not is_said:
        words = "withdrawal not written down: read it on the label and give --withdrawal DAYS"
        tell(words, 2, to=sys.stderr)
    by = desk.writer.by
    known = [key for key in sorted(actives) if key in desk.library.actives]
    unread = [desk.library.actives[key].name for key in known if unread_by(desk, by, key)]
    if unread:
        words = f"{by} has not yet read the cautions of {', '.join(unread)}: sunup stock cautions"
        tell(words, 2, to=sys.stderr)


def vaccine(
    tags: Tags = None,
    file: TagFile = None,
    against: Annotated[str, typer.Option(help="What against, in words.")] = "",
    modified_live: Annotated[
        bool | None,
        typer.Option(
            "--modified-live/--killed", help="What the label says; unknown where not said."
        ),
    ] = None,
    lot: Annotated[str | None, typer.Option(help="Lot on the bottle.")] = None,
    at: At = None,
    until: Until = None,
    by: By = None,
    note: Note = None,
    look: Look = False,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    json_: Json = False,
) -> None:
    """Record a vaccination."""
    from sunup.app.record_off_plan import record_vaccine
    from sunup.base.problems import UsageError
    from sunup.cli.record_view import entry_to_json, print_entry
    from sunup.cli.show import print_json

    if not against:
        message = "What against? --against 'IBR/BVD'."
        raise UsageError(message)
    names = read_tag_words(tags, file)
    body = {"against": against, "modified_live": modified_live, "lot": lot, "note": note}
    with at_desk(ledger, ranch, at=at, by=by, reads=look) as (desk, when):
        end = read_until(until, desk, when)
        entry = record_vaccine(desk, names, body, at=when, until=end, keep=not look)
        if json_:
            print_json(entry_to_json(entry, before=look))
        else:
            print_entry(desk, entry, before=look)


def bull_exam(
    bulls: Annotated[
        list[str],
        typer.Argument(metavar="BULL[=CM]...", help="Name or tag; with the scrotum in cm."),
    ],
    result: Annotated[str, typer.Option(help="satisfactory, deferred or unsatisfactory.")] = "",
    at: At = None,
    by: By = None,
    note: Note = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record breeding soundness exams of bulls with one result."""
    from sunup.app.record_off_plan import record_exams
    from sunup.base.problems import UsageError

    if not result:
        message = "What did the exam find? --result satisfactory, deferred or unsatisfactory."
        raise UsageError(message)
    read = dict(_bull(text) for text in bulls)
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        _, bad = record_exams(desk, read, result=result, at=when, note=note)
    told = [name + (f" ({cm:g} cm)" if cm is not None else "") for name, cm in read.items()]
    tell(f"{', '.join(told)}: {result}, recorded")
    for bull, group in bad:
        tell(f"look: {bull} runs with {group}", 2)
        tell(
            "now: Take him out (sunup record bulls-out), put another in, and have the females "
            "he was with checked early.",
            4,
        )


def _bull(text: str) -> tuple[str, float | None]:
    from sunup.base.problems import UsageError

    name, equals, cm = text.partition("=")
    try:
        size = float(cm) if equals else None
    except ValueError:
        size = 0.0
    if not name.strip() or (size is not None and size <= 0):
        message = f"'{text}': write B7, or B7=38.5 with the scrotum in cm."
        raise UsageError(message)
    return name.strip(), size
