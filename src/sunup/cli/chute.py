"""At the chute: one tag a line, kept the moment it is entered, short answers."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from sunup.app.record import record_visit
from sunup.app.tag_list import read_tags
from sunup.app.undo import NothingToUndoError, undo
from sunup.app.writing import find_now
from sunup.base.problems import some
from sunup.cli.record_view import print_held
from sunup.cli.show import say

if TYPE_CHECKING:
    from datetime import datetime

    from sunup.app.desk import Desk
    from sunup.app.record import Details, Line

HOW = "Tag or scan, Enter. u = take back the last, ? = what is left, q = done."


def stand_at_chute(
    desk: Desk, group: str, visit: str, details: Details, *, at: datetime | None = None
) -> None:
    """Ask for tags until none comes; before each act say what speaks against it.

    What is refused is asked once more: a thing already done is recorded all the same.

    Parameters
    ----------
    at : datetime, optional
        One time for all; else the clock as each is entered.
    """
    asks = sys.stdin.isatty()
    start = record_visit(desk, group, visit, (), at=at or find_now(), details=details, keep=False)
    say(f"{start.group}: {', '.join(start.words)}. {len(start.left_to_do)} due now. {HOW}")
    print_held(start.held_back, 2)
    n = 0
    while True:
        if asks:
            sys.stdout.write("tag> ")
            sys.stdout.flush()
        text = sys.stdin.readline()
        if not text or text.strip().lower() in {"q", "quit"}:
            break
        word = text.strip()
        if word.lower() == "u":
            desk, n = _take_back(desk, n)
            continue
        if word == "?":
            left = record_visit(
                desk, group, visit, (), at=at or find_now(), details=details, keep=False
            ).left_to_do
            say(f"  {n} done, {len(left)} to go: {some(left, 20)}")
            continue
        for tag in read_tags(word).tags:
            desk, kept = _one(desk, group, visit, tag, details=details, at=at, asks=asks)
            n += kept
    say(f"{n} recorded.")


def _one(
    desk: Desk,
    group: str,
    visit: str,
    tag: str,
    *,
    details: Details,
    at: datetime | None,
    asks: bool,
) -> tuple[Desk, int]:
    when = at or find_now()
    before = record_visit(desk, group, visit, (tag,), at=when, details=details, keep=False)
    line = before.lines[0]
    for words in _flag_words(line, before=asks):
        say(words)
    if asks and _is_refused(line):
        sys.stdout.write("  was it done all the same? y records it> ")
        sys.stdout.flush()
        if sys.stdin.readline().strip().lower() not in {"y", "yes"}:
            say("  not recorded")
            return desk, 0
    entry = record_visit(desk, group, visit, (tag,), at=when, details=details)
    desk = desk.with_more(entry.events)
    sires = "".join(f", sire {sire}" for sire, _ in entry.sires_taken)
    new = [word for word in entry.words if word not in line.on_file]
    old = f"; on file already: {', '.join(line.on_file)}" if line.on_file else ""
    who = f"{tag}{' (unlisted)' if line.unlisted else ''}"
    say(f"  kept: {who}, {', '.join(new)}{sires}{old}")
    return desk, 1


def _is_refused(line: Line) -> bool:
    return any(flag.weight == "refuse" for _, flag in line.flags)


def _flag_words(line: Line, *, before: bool) -> list[str]:
    told = []
    for words, flag in line.flags:
        mark = "DO NOT" if before and flag.weight == "refuse" else "look"
        told.append(f"  {mark}: {line.tag}, {words}: {flag.text}")
        if not before:
            told.append(f"    now: {flag.now}")
    return told


def _take_back(desk: Desk, n: int) -> tuple[Desk, int]:
    if n == 0:
        say("  nothing recorded here yet")
        return desk, 0
    try:
        done = undo(desk, why="taken back at the chute")
    except NothingToUndoError as error:
        say(f"  {error}")
        return desk, n
    females = dict.fromkeys(e.female for e in done.entries if e.female is not None)
    tags = [desk.season.females[f].tag for f in females if f in desk.season.females]
    say(f"  taken back: {', '.join(tags)}")
    return desk.with_more(done.corrections), n - 1
