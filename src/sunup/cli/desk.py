"""What the commands of a running season share: the ledger opened, tags read, times told."""

from __future__ import annotations

import gc
import sys
import textwrap
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TextIO

import typer

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.app.desk import Desk
    from sunup.store.ledger import Ledger

At = Annotated[
    str | None,
    typer.Option(
        help="When: 14:45 (today), yesterday 18:30, 2027-05-22T14:45. Now where not said.",
        metavar="WHEN",
    ),
]
Until = Annotated[
    str | None,
    typer.Option(
        help="When the last of the list was done; the others are spread in between.",
        metavar="WHEN",
    ),
]
By = Annotated[str | None, typer.Option(help="Who did it; by default who is logged in.")]
Tags = Annotated[
    list[str] | None,
    typer.Argument(help="Tags or 15-digit codes, in the order they passed; - reads a list."),
]
TagFile = Annotated[
    Path | None,
    typer.Option("--file", help="A list of tags, or what a tag reader wrote.", metavar="FILE"),
]
Look = Annotated[
    bool, typer.Option("--look", help="Before the act: only say what speaks against it.")
]
Note = Annotated[str | None, typer.Option(help="A remark, kept as written.")]


@contextmanager
def at_desk(
    ledger: str | None,
    ranch: str | None,
    *,
    new_ranch: str | None = None,
    at: str | None = None,
    by: str | None = None,
    create: bool = False,
    zone: str | None = None,
    overlay: Path | None = None,
    view: bool = False,
    reads: bool = False,
    season_only: bool = False,
) -> Iterator[tuple[Desk, datetime]]:
    """Open the ledger and sit down at the season; also the instant typed.

    Recording looks at all that is on file, also where it is of an earlier hour; a `view` looks at
    the season as it stood at the instant. A view, and what only `reads`, works on a full disk and
    on one that cannot be written to.
    """
    from sunup.app.desk import Who, open_desk
    from sunup.app.open import open_ledger
    from sunup.app.when import read_when
    from sunup.app.writing import find_now
    from sunup.cli.show import print_problems
    from sunup.store.faults import DiskError, FullError, ReadOnlyError

    def say(words: str) -> None:
        print(words, file=sys.stderr)

    def open_it() -> Ledger:
        try:
            return open_ledger(ledger, ranch=ranch, new_ranch=new_ranch, create=create, tell=say)
        except (ReadOnlyError, FullError, DiskError):
            if not (view or reads):
                raise
            opened = open_ledger(ledger, ranch=ranch, new_ranch=new_ranch, read_only=True)
            say("The ledger is only read: its disk is full or cannot be written to.")
            return opened

    with _seldom_looking_for_rubbish(), open_it() as opened:
        now = find_now()
        typed: list[datetime] = []

        def look_at(zone_name: str, latest: datetime | None) -> datetime:
            when, problems = read_when(at, "--at", zone=zone_name, now=now)
            print_problems(problems)
            typed.append(when)
            return when if view else max(when, now, latest or now)

        desk = open_desk(
            opened,
            at=look_at,
            who=Who(by=by, zone=zone),
            overlay=overlay,
            season_only=season_only,
        )
        if not view:
            _say_behind(desk, now)
        if at is not None and not view:
            say_ahead(desk, typed[0], "--at", now=now)
        yield desk, typed[0]


def say_ahead(desk: Desk, when: datetime, flag: str, *, now: datetime) -> None:
    """Say where what is recorded has not happened yet by the clock."""
    from sunup.app.when import tell_ahead
    from sunup.cli.show import print_problems

    within = desk.library.number("practice.early_entry_hours")
    print_problems(tell_ahead(when, flag, zone=desk.zone_name, now=now, within_h=within))


def _say_behind(desk: Desk, now: datetime) -> None:
    """Say where the clock is behind what is on file."""
    from sunup.app.when import tell_behind
    from sunup.cli.show import print_problems
    from sunup.records.order import entered_at

    newest = max(map(entered_at, desk.events), default=None)
    within = desk.library.number("practice.early_entry_hours")
    print_problems(tell_behind(now, newest, zone=desk.zone_name, within_h=within))


@contextmanager
def _seldom_looking_for_rubbish() -> Iterator[None]:
    """Let Python look for dead cycles more seldom.

    What is read of a ledger lives to the end of the command: looking through all of it again and
    again took a quarter of the time of `sunup today` on a large one.
    """
    usual = gc.get_threshold()
    gc.set_threshold(200_000, 20, 20)
    try:
        yield
    finally:
        gc.set_threshold(*usual)


def read_until(text: str | None, desk: Desk, when: datetime) -> datetime | None:
    """When the last of a list was done; None where nothing was typed."""
    from sunup.app.when import read_when
    from sunup.app.writing import find_now

    if text is None:
        return None
    clock_now = find_now()
    now = max(clock_now, when + timedelta(days=1))
    end = read_when(text, "--until", zone=desk.zone_name, now=now, beside=when)[0]
    if when <= clock_now:  # else said of --at already
        say_ahead(desk, end, "--until", now=clock_now)
    return end


def read_tag_words(tags: Sequence[str] | None, file: Path | None) -> tuple[str, ...]:
    """Tags as typed, from a file, or piped in; what came twice is told."""
    from sunup.app.open import read_bytes
    from sunup.app.tag_list import read_tags

    told = list(tags or ())
    texts = ["\n".join(tag for tag in told if tag != "-")]
    if "-" in told:
        texts.append(sys.stdin.read())
    if file is not None:
        texts.append(_read_tag_file(read_bytes(file), file.name))
    found = read_tags("\n".join(texts))
    if found.repeated:
        print(f"read more than once, kept once: {', '.join(found.repeated)}", file=sys.stderr)
    return found.tags


def tags_meant(
    desk: Desk, flag: str, typed: Sequence[str] | None, among: Sequence[str], rest: str
) -> frozenset[str]:
    """Who of a list is meant by tags given with an option; one that is not in it is told."""
    from sunup.app.tags_meant import find_meant

    meant = find_meant(desk, typed or (), among)
    if meant.elsewhere:
        tell(f"{flag} {', '.join(meant.elsewhere)}: {rest}", 2, to=sys.stderr)
    return meant.tags


def _read_tag_file(data: bytes, name: str) -> str:
    """Tags of a file: the codes where a tag reader wrote it, else every word of it."""
    from sunup.app.tag_list import has_codes
    from sunup.cli.show import print_problems
    from sunup.exchange.reader_file import read_reader_file

    text = data.decode("utf-8-sig", "replace")
    if not has_codes(text):
        return text
    told = read_reader_file(data, name)
    print_problems(told.problems)
    return "\n".join(read.rfid for read in told.reads)


def clock(moment: datetime, zone: ZoneInfo, *, year: bool = False) -> str:
    """Weekday, day and hour on the ranch's clock; with the year where it is not to be guessed."""
    local = moment.astimezone(zone)
    return f"{local:%a} {local.day} {local:%b}{f' {local.year}' if year else ''} {local:%H:%M}"


def hour(moment: datetime, zone: ZoneInfo, *, beside: datetime | None = None) -> str:
    """The hour alone where the day is that of another instant, else with its day."""
    local = moment.astimezone(zone)
    if beside is not None and beside.astimezone(zone).date() == local.date():
        return f"{local:%H:%M}"
    return clock(moment, zone)


def tell(text: str, indent: int = 0, *, to: TextIO | None = None) -> None:
    """Print a sentence, folded under itself at the terminal's width; at once."""
    from sunup.cli.show import console

    margin = " " * indent
    lines = textwrap.wrap(
        text,
        max(40, console().width),
        initial_indent=margin,
        subsequent_indent=margin + "  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
    print("\n".join(lines), file=to or sys.stdout, flush=True)


def head(text: str) -> None:
    """Print a heading, a free line above it."""
    print()
    tell(text)
