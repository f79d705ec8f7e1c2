"""``sunup record``: what was done, one female or a batch; taking back and putting right."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sunup.cli.desk import (
    At,
    By,
    Note,
    TagFile,
    Tags,
    Until,
    at_desk,
    read_tag_words,
    read_until,
    say_ahead,
    tags_meant,
    tell,
)
from sunup.cli.options import Json, LedgerAt, Overlay, Ranch

if TYPE_CHECKING:
    from sunup.app.desk import Desk
    from sunup.app.record import Details

app = typer.Typer(no_args_is_help=True, help="Record what was done; take it back; put it right.")


@app.callback()
def top() -> None:
    """Record what was done; take it back; put it right."""


Group = Annotated[str, typer.Argument(help="Group, as the plan names it.")]
Visit = Annotated[
    str, typer.Argument(help="Visit or step of its plan, e.g. pgf (sunup season show lists them).")
]
Everyone = Annotated[
    bool, typer.Option("--all", help="Everybody the visit is due to now, less those held back.")
]
Except = Annotated[
    list[str] | None,
    typer.Option("--except", help="With --all: but not this tag; once for each.", metavar="TAG"),
]
Lot = Annotated[
    list[str] | None,
    typer.Option(help="Lot on the bottle or bag; of several drugs gnrh=LOT.", metavar="LOT"),
]
Expires = Annotated[
    list[str] | None,
    typer.Option(help="Expiry on the bottle or bag; of several gnrh=DATE.", metavar="DATE"),
]
Withdrawal = Annotated[
    list[str] | None,
    typer.Option(
        help="Meat withdrawal on the label in hand, days (0 where it says none); or gnrh=DAYS.",
        metavar="DAYS",
    ),
]
Ml = Annotated[float | None, typer.Option(help="Millilitres given, if not as planned.", min=0)]
Share = Annotated[
    float | None, typer.Option(help="Share of the dose that went in, e.g. 0.5.", min=0, max=1)
]
Lost = Annotated[
    list[str] | None,
    typer.Option("--lost", help="Tag whose insert was not there; once for each.", metavar="TAG"),
]
Sire = Annotated[str | None, typer.Option(help="Code of the sire on the straw.")]
Batch = Annotated[str | None, typer.Option("--code", help="Collection code on the straw.")]
Semen = Annotated[str | None, typer.Option(help="conventional or sexed.")]
Technician = Annotated[str | None, typer.Option(help="Who inseminated.")]
Tank = Annotated[str | None, typer.Option(help="Tank the straw came from.")]
Canister = Annotated[str | None, typer.Option(help="Canister the straw came from.")]


def _bottles(
    desk: "Desk",
    visit_: tuple[str, str],
    lot: list[str] | None,
    expires: list[str] | None,
    withdrawal: list[str] | None,
) -> "Details":
    from sunup.app.record import Details
    from sunup.app.visit_steps import find_drug_words
    from sunup.app.wishes import read_day
    from sunup.base.problems import UsageError

    group, name = visit_
    days = find_drug_words(desk, group, name, withdrawal or (), "--withdrawal")
    dates = find_drug_words(desk, group, name, expires or (), "--expires")
    try:
        found = {do: float(text) for do, text in days.items()}
    except ValueError:
        found = {"": -1.0}
    if any(value < 0 for value in found.values()):
        message = "--withdrawal: give a number of days, 0 where the label says none."
        raise UsageError(message)
    return Details(
        lots=find_drug_words(desk, group, name, lot or (), "--lot"),
        expires={do: read_day(text, "--expires") for do, text in dates.items()},
        withdrawals=found,
    )


@app.command(
    "visit",
    epilog="Example: sunup record visit cows pgf --all --at 14:45 --until 18:50 --lot A7 --by Ana",
)
def visit(
    group: Group,
    visit_: Annotated[
        str,
        typer.Argument(
            metavar="VISIT",
            help="Visit or step of its plan, e.g. pgf (sunup season show lists them).",
        ),
    ],
    tags: Tags = None,
    file: TagFile = None,
    everyone: Everyone = False,
    but: Except = None,
    at: At = None,
    until: Until = None,
    by: By = None,
    lot: Lot = None,
    expires: Expires = None,
    withdrawal: Withdrawal = None,
    ml: Ml = None,
    share: Share = None,
    lost: Lost = None,
    sire: Sire = None,
    code: Batch = None,
    semen: Semen = None,
    technician: Technician = None,
    tank: Tank = None,
    canister: Canister = None,
    note: Note = None,
    look: Annotated[
        bool, typer.Option("--look", help="Before the act: only say what speaks against it.")
    ] = False,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Record that females passed a visit of their group's plan: all that is done there, for each.

    Nothing done is refused; what speaks against it is flagged with what to do now. Without tags,
    tags are asked for one by one: each is kept the moment it is entered.
    """
    from dataclasses import replace

    from sunup.app.record import due_tags, record_visit
    from sunup.base.problems import UsageError
    from sunup.cli.record_view import entry_to_json, print_entry
    from sunup.cli.show import print_json

    if but and not everyone:
        message = "--except goes with --all: without it only the tags you name are recorded."
        raise UsageError(message)
    with at_desk(ledger, ranch, at=at, by=by, overlay=overlay, reads=look) as (desk, when):
        details = replace(
            _bottles(desk, (group, visit_), lot, expires, withdrawal),
            dose_ml=ml,
            dose_share=share,
            note=note,
            sire=sire,
            batch=code,
            semen=semen,
            technician=technician,
            tank=tank,
            canister=canister,
        )
        if not everyone and not tags and file is None:
            from sunup.cli.chute import stand_at_chute

            details = replace(details, lost=frozenset(lost or ()))
            stand_at_chute(desk, group, visit_, details, at=when if at else None)
            return
        end = read_until(until, desk, when)
        if everyone:
            due = due_tags(desk, group, visit_, at=when, until=end)
            left_out = tags_meant(desk, "--except", but, due, "not due there")
            names = tuple(tag for tag in due if tag not in left_out)
        else:
            names = read_tag_words(tags, file)
        gone = tags_meant(desk, "--lost", lost, names, "not among those recorded")
        details = replace(details, lost=gone)
        entry = record_visit(
            desk,
            group,
            visit_,
            names,
            at=when,
            until=end,
            details=details,
            due_only=everyone,
            keep=not look,
        )
        if json_:
            print_json(entry_to_json(entry, before=look))
            return
        print_entry(desk, entry, before=look, of_all=everyone)
        if names and not look:
            _say_cautions(desk, group, visit_, said=bool(withdrawal))
        if len(names) > 5 and not until and not look:
            words = "all at one time; with --until each keeps her own hours, in the order given"
            tell(words, 2, to=sys.stderr)


def _say_cautions(desk: "Desk", group: str, visit_: str, *, said: bool) -> None:
    from sunup.app.stock import drugs_of_visit, unread_by

    drugs = drugs_of_visit(desk, group, visit_)
    by = desk.writer.by
    if drugs and not said:
        words = "withdrawal not written down: read it on the label and give --withdrawal DAYS"
        tell(words, 2, to=sys.stderr)
    unread = [name for key, name in drugs if unread_by(desk, by, key)]
    if unread:
        words = f"{by} has not yet read the cautions of {', '.join(unread)}: sunup stock cautions"
        tell(words, 2, to=sys.stderr)


@app.command("ai", epilog="Example: sunup record ai 2045 --sire A31 --technician Ana --at 18:10")
def ai(
    tags: Tags = None,
    file: TagFile = None,
    sire: Sire = None,
    code: Batch = None,
    semen: Semen = None,
    technician: Technician = None,
    tank: Tank = None,
    canister: Canister = None,
    at: At = None,
    until: Until = None,
    by: By = None,
    note: Note = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Record inseminations on heat; those at a fixed time are a visit of the plan."""
    from sunup.app.record import Details, record_ai
    from sunup.cli.record_view import entry_to_json, print_entry
    from sunup.cli.show import print_json

    names = read_tag_words(tags, file)
    details = Details(
        sire=sire,
        batch=code,
        semen=semen,
        technician=technician,
        tank=tank,
        canister=canister,
        note=note,
    )
    with at_desk(ledger, ranch, at=at, by=by, overlay=overlay) as (desk, when):
        end = read_until(until, desk, when)
        entry = record_ai(desk, names, at=when, until=end, details=details)
        if json_:
            print_json(entry_to_json(entry))
        else:
            print_entry(desk, entry)


@app.command("feed", epilog="Example: sunup record feed heifers --first --mg 0.5")
def feed(
    group: Group,
    mg: Annotated[float | None, typer.Option(min=0, help="mg of melengestrol a head.")] = None,
    first: Annotated[bool, typer.Option("--first", help="First day of feeding.")] = False,
    last: Annotated[bool, typer.Option("--last", help="Last day of feeding.")] = False,
    at: At = None,
    by: By = None,
    note: Note = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record a day's melengestrol fed to a group."""
    from sunup.app.record_facts import feed_flags, record_group
    from sunup.records.event import Kind

    body = {
        "feed": "melengestrol",
        "mg_per_head": mg,
        "first_day": first or None,
        "last_day": last or None,
        "note": note,
    }
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        cows = feed_flags(desk, group)
        record_group(desk, Kind.FED, group, body, at=when)
    tell(f"{group}: melengestrol fed, recorded")
    for tag, flag in cows:
        tell(f"look: {tag}: {flag.text}", 2)
        tell(f"now: {flag.now}", 4)


@app.command("bulls-in", epilog="Example: sunup record bulls-in cows B7 B9")
def bulls_in(
    group: Group,
    bulls: Annotated[list[str], typer.Argument(help="Names or tags of the bulls.")],
    at: At = None,
    by: By = None,
    note: Note = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record bulls turned in with a group; what speaks against them is told."""
    from sunup.app.odd_at_entry import odd_bulls
    from sunup.app.record_facts import record_group
    from sunup.app.record_off_plan import check_bulls
    from sunup.records.event import Kind

    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        body = {"bulls": bulls, "note": note}
        event = record_group(desk, Kind.BULLS_IN, group, body, at=when)
        twice = odd_bulls(desk, event)
        power = check_bulls(desk, group, bulls, at=when)
    n = len(bulls)
    tell(f"{group}: {n} {'bull' if n == 1 else 'bulls'} in, recorded")
    for flag in twice:
        tell(f"look: {flag.text}", 2)
        tell(f"now: {flag.now}", 4)
    for remark in power.remarks:
        tell(f"look: {remark}", 2)


@app.command("bulls-out", epilog="Example: sunup record bulls-out cows")
def bulls_out(
    group: Group,
    bulls: Annotated[list[str] | None, typer.Argument(help="Which; all where not said.")] = None,
    at: At = None,
    by: By = None,
    note: Note = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record bulls taken out of a group."""
    from sunup.app.record_facts import record_group
    from sunup.records.event import Kind

    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        body = {"bulls": bulls or None, "note": note}
        record_group(desk, Kind.BULLS_OUT, group, body, at=when)
    tell(f"{group}: bulls out, recorded")


@app.command("sire", epilog="Example: sunup record sire 2045 2046 --sire A31 --or H12")
def sire_(
    tags: Tags = None,
    file: TagFile = None,
    sire: Annotated[str, typer.Option(help="Code of the sire chosen.")] = "",
    other: Annotated[
        list[str] | None,
        typer.Option("--or", help="Sire to use when the first is out; in order.", metavar="CODE"),
    ] = None,
    semen: Semen = None,
    from_plan: Annotated[
        bool,
        typer.Option(
            "--from-plan",
            help="Give out the plan's sires by their shares, none to his own daughter; to all, or "
            "the tags named.",
        ),
    ] = False,
    again: Annotated[
        bool, typer.Option("--again", help="--from-plan: also where a sire was chosen before.")
    ] = False,
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Choose the sire of females ahead of the day, with alternates."""
    from sunup.app.record_facts import record_fact
    from sunup.app.sires import assign_from_plan
    from sunup.base.problems import UsageError
    from sunup.cli.record_view import print_entry, print_given_out
    from sunup.records.event import Kind

    if bool(sire) == from_plan:
        message = "Which sire? --sire CODE, or --from-plan to give out the plan's."
        raise UsageError(message)
    if from_plan:
        with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
            wanted = read_tag_words(tags, file) if tags or file is not None else None
            told, _ = assign_from_plan(desk, wanted, at=when, again=again)
            print_given_out(told)
        return
    body = {"sire": sire, "alternates": other or None, "semen": semen}
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        names = read_tag_words(tags, file)
        words = f"sire chosen: {sire}"
        print_entry(desk, record_fact(desk, names, Kind.SIRE_ASSIGNED, body, at=when, words=words))


@app.command("hold", epilog="Example: sunup record hold 2045 --why lame")
def hold(
    tags: Tags = None,
    why: Annotated[str, typer.Option(help="Reason in words.")] = "",
    until: Annotated[
        str | None, typer.Option(help="Day it ends by itself.", metavar="DATE")
    ] = None,
    lift: Annotated[bool, typer.Option("--lift", help="The hold is over.")] = False,
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Hold females back from treatment, or lift the hold."""
    from sunup.app.record_facts import record_fact
    from sunup.app.wishes import read_day
    from sunup.base.problems import UsageError
    from sunup.cli.record_view import print_entry
    from sunup.records.event import Kind

    if not why and not lift:
        message = "Say why: --why TEXT, or --lift where the hold is over."
        raise UsageError(message)
    ends = read_day(until, "--until").isoformat() if until else None
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        names = read_tag_words(tags, None)
        if lift:
            entry = record_fact(desk, names, Kind.HOLD_LIFTED, {}, at=when, words="hold lifted")
        else:
            body = {"why": why, "until_on": ends}
            entry = record_fact(desk, names, Kind.HOLD_SET, body, at=when, words=f"hold: {why}")
        print_entry(desk, entry)


@app.command("head", epilog="Example: sunup record head cows 42")
def head(
    group: Group,
    count: Annotated[int, typer.Argument(min=0, help="How many there are.")],
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Count the females of a group; a difference from the records is told."""
    from sunup.app.record_facts import count_head

    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        on_file = count_head(desk, group, count, at=when)
    differs = "as on file" if on_file == count else f"{on_file} on file: look for the difference"
    tell(f"{group}: {count} counted, {differs}")


@app.command("last", epilog="Example: sunup record last")
def last(
    n: Annotated[int, typer.Option("-n", min=1, max=500, help="How many entries.")] = 20,
    tag: Annotated[
        str | None, typer.Option(help="Only what was said of her, each with its number.")
    ] = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    json_: Json = False,
) -> None:
    """Show the last entries, latest first, with the numbers to take them back by."""
    from sunup.app.season import find_female
    from sunup.app.undo import events_of, last_entries
    from sunup.cli.entries_view import entries_to_json, print_entries
    from sunup.cli.show import print_json

    with at_desk(ledger, ranch, reads=True) as (desk, _):
        her = find_female(desk, tag).id if tag else None
        entries = last_entries(desk, n) if her is None else events_of(desk, her, n)
        if json_:
            print_json(entries_to_json(desk, entries))
        else:
            print_entries(desk, entries)


@app.command("undo", epilog="Example: sunup record undo --tag 2045 --why 'wrong cow'")
def undo(
    event: Annotated[
        str | None,
        typer.Argument(
            help="Number of one event (sunup record last); else the last entry made on this "
            "computer, with --by the last of that person."
        ),
    ] = None,
    tag: Annotated[
        str | None, typer.Option(help="Only what the last entry that names her said of her.")
    ] = None,
    why: Annotated[str | None, typer.Option(help="Reason, kept with it.")] = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Take back the last entry, one event, or what was said of one female; nothing is erased."""
    from sunup.app.season import find_female
    from sunup.app.undo import undo as take_back
    from sunup.cli.entries_view import print_undone

    with at_desk(ledger, ranch, by=by) as (desk, _):
        female = find_female(desk, tag).id if tag else None
        print_undone(desk, take_back(desk, event=event, female=female, by=by, why=why))


@app.command("correct", epilog="Example: sunup record correct 3f2a9c --at 2027-05-22T15:20")
def correct(
    event: Annotated[
        str,
        typer.Argument(
            help="Number of the event (sunup record last --tag TAG); last: the last entry."
        ),
    ] = "last",
    tag: Annotated[
        str | None, typer.Option(help="Of the last entry that names her, what it said of her.")
    ] = None,
    at: At = None,
    female: Annotated[str | None, typer.Option(help="Tag of the right female.")] = None,
    set_: Annotated[
        list[str] | None,
        typer.Option("--set", help="FIELD=VALUE as it really was.", metavar="FIELD=VALUE"),
    ] = None,
    why: Annotated[str | None, typer.Option(help="Reason, kept with it.")] = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Put an entry right: its time, its female, its values; both stay to be seen."""
    from sunup.app.odd_at_entry import odd_of
    from sunup.app.season import find_female
    from sunup.app.undo import find_event, put_right, read_changes
    from sunup.app.when import read_when
    from sunup.app.wishes import read_pairs
    from sunup.app.writing import find_now
    from sunup.cli.entries_view import print_corrected, print_odd

    with at_desk(ledger, ranch, by=by) as (desk, _):
        now = find_now()
        when, _ = read_when(at, "--at", zone=desk.zone_name, now=now)
        her = find_female(desk, female).id if female else None
        if tag:
            event = find_event(desk, event, female=find_female(desk, tag).id).id
        changes = read_changes(desk, event, read_pairs(set_, "--set"))
        done = put_right(desk, event, at=when if at else None, female=her, changes=changes, why=why)
        print_corrected(desk, done)
        if at:
            say_ahead(desk, when, "--at", now=now)
        print_odd(odd_of(desk, done.now), done.now)


__all__ = ["Path", "app"]
