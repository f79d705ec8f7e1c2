"""``sunup heats``: watches, sightings, patches; who is inseminated when."""

from typing import TYPE_CHECKING, Annotated

import typer

from sunup.cli.desk import At, By, Note, TagFile, Tags, at_desk, read_tag_words, tell
from sunup.cli.options import Json, LedgerAt, Overlay, Ranch

if TYPE_CHECKING:
    from sunup.app.desk import Desk
    from sunup.app.heats import Seen

app = typer.Typer(
    no_args_is_help=True, help="Watches, heats seen, patches read; who is inseminated when."
)


@app.callback()
def top() -> None:
    """Watches, heats seen, patches read; who is inseminated when."""


Sign = Annotated[
    str, typer.Option(help="standing, mounting, mucus, blood or other.", metavar="SIGN")
]
GroupOption = Annotated[
    str | None, typer.Option(help="Group they are in, for tags nobody has on file.")
]


@app.command("seen", epilog="Example: sunup heats seen 2045 2051 --at 06:20 --by Ana")
def seen(
    tags: Tags = None,
    file: TagFile = None,
    sign: Sign = "standing",
    group: GroupOption = None,
    at: At = None,
    by: By = None,
    note: Note = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Record females seen in heat; says when each is inseminated, with which sire."""
    from sunup.app.heats import record_heats

    names = read_tag_words(tags, file)
    with at_desk(ledger, ranch, at=at, by=by, overlay=overlay) as (desk, when):
        told = record_heats(desk, names, sign=sign, at=when, group=group, note=note)
        _answer(desk, told, json_=json_)


@app.command("read", epilog="Example: sunup heats read 2045=4 2051=2 2060=lost --aid patch")
def read(
    readings: Annotated[
        list[str],
        typer.Argument(help="TAG=SCORE: 1 intact to 4 rubbed off, or lost.", metavar="TAG=SCORE"),
    ],
    aid: Annotated[str, typer.Option(help="patch, chalk, collar or other.")] = "patch",
    group: GroupOption = None,
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Record patches or chalk as read.

    Half or more rubbed off counts as heat; a lost aid is not known, not "no".
    """
    from sunup.app.heats import record_aids
    from sunup.app.wishes import read_pairs

    pairs = dict(read_pairs(readings, "reading"))
    with at_desk(ledger, ranch, at=at, by=by, overlay=overlay) as (desk, when):
        told = record_aids(desk, pairs, aid=aid, at=when, group=group)
        _answer(desk, told, json_=json_)


@app.command("watch", epilog="Example: sunup heats watch cows 2045 2051 --minutes 30 --at 06:00")
def watch(
    group: Annotated[str, typer.Argument(help="Group that was watched.")],
    tags: Tags = None,
    file: TagFile = None,
    minutes: Annotated[
        float | None, typer.Option(min=1, help="How long; leave out: practice.watch_minutes.")
    ] = None,
    aid: Annotated[
        str | None, typer.Option(help="What helped: none, patch, chalk, collar, teaser.")
    ] = None,
    sign: Sign = "standing",
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Record a watch, also where nothing was seen: then give no tags."""
    from sunup.app.heats import record_watch

    names = read_tag_words(tags, file)
    with at_desk(ledger, ranch, at=at, by=by, overlay=overlay) as (desk, when):
        told = record_watch(desk, group, names, minutes=minutes, at=when, aid=aid, sign=sign)
        if not json_:
            found = f"{len(names)} seen in heat" if names else "nothing seen, recorded as such"
            tell(f"{told.entry.group}: watched {told.minutes:g} min, {found}")
        _answer(desk, told, json_=json_)


@app.command("list", epilog="Example: sunup heats list --at 18:00")
def list_(
    at: At = None,
    group: Annotated[str | None, typer.Option(help="Only this group.")] = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """List every female in heat and not yet inseminated, with her time, window and sire."""
    from sunup.app.heats import expected_heats, find_ai_lines
    from sunup.cli.show import console, print_json
    from sunup.cli.today_view import ai_json, print_expected, print_lines, print_too_late
    from sunup.planning.insemination_times import Timeliness

    with at_desk(ledger, ranch, at=at, overlay=overlay, view=True) as (desk, _):
        lines = [x for x in find_ai_lines(desk) if not group or x.group == desk.need_group(group)]
        heats = expected_heats(desk)
        zone = desk.season.zone
    if json_:
        print_json(
            {
                "schema_version": 1,
                "zone": desk.zone_name,
                "lines": [ai_json(x, zone) for x in lines],
            }
        )
        return
    over = [x for x in lines if x.standing is Timeliness.TOO_LATE]
    still = [x for x in lines if x.standing is not Timeliness.TOO_LATE]
    if still:
        print_lines(still, zone, title=f"In heat, not yet inseminated ({desk.zone_name})")
    print_too_late(over, limit=len(over))
    if not lines:
        console().print("Nobody is in heat and not yet inseminated.")
    for told in heats:
        print_expected(told)


def _answer(desk: "Desk", told: "Seen", *, json_: bool) -> None:
    from sunup.cli.record_view import entry_to_json, print_entry
    from sunup.cli.show import print_json
    from sunup.cli.today_view import ai_json, print_ai_lines

    zone = desk.season.zone
    if json_:
        lines = [ai_json(line, zone) for line in told.lines]
        print_json(entry_to_json(told.entry) | {"inseminate": lines})
        return
    if told.entry.lines:
        print_entry(desk, told.entry)
    print_ai_lines(told.lines, zone)
