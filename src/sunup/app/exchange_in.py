"""Use-cases of files coming in: look first, take after.

Looking writes nothing. Taking writes what was looked at, whole or not at all; what was left out is
counted and named in both.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from sunup.app.exchange_ade import shows_heat_of
from sunup.app.open import open_library, read_bytes
from sunup.app.writing import Writer, find_now, find_person
from sunup.base.hours import at_local, find_zone, to_local
from sunup.base.problems import Problem, Severity, UsageError
from sunup.exchange.ade_file import find_ranch, read_ade_file
from sunup.exchange.ade_in import plan_ade
from sunup.exchange.ade_out import export_ade
from sunup.exchange.drafts import Aside, Difference, Drafted, fact_id
from sunup.exchange.herd_again import compare_herd
from sunup.exchange.herd_file import HerdReading, read_herd
from sunup.exchange.list_date import find_list_date
from sunup.exchange.plausible import Limits
from sunup.exchange.reader_clock import doubt_clock
from sunup.exchange.reader_file import read_reader_file
from sunup.exchange.result_fields import ResultKind
from sunup.exchange.result_taking import draft_results
from sunup.exchange.results_file import read_results
from sunup.exchange.roster import build_roster
from sunup.exchange.standing import stand
from sunup.records.event import Event, Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date
    from pathlib import Path
    from zoneinfo import ZoneInfo

    from sunup.exchange.moments import Moment
    from sunup.exchange.reader_clock import ClockDoubt
    from sunup.exchange.reader_file import Read
    from sunup.exchange.roster import Roster


class FileKind(StrEnum):
    """What a file is; the word a user says."""

    HERD = "herd"
    CALVINGS = "calvings"
    WEIGHTS = "weights"
    CONDITION = "condition"
    SCANS = "scans"
    PREGNANCY = "pregnancy"
    TREATMENTS = "treatments"
    READER = "reader"
    ADE = "ade"


class NoZoneError(UsageError):
    """Nothing says which clock the times of a file are of."""

    def __init__(self) -> None:
        super().__init__(
            "Nothing in the ledger says which time zone the ranch is in. Say it: --zone "
            "America/Denver"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """How files are to be read.

    Parameters
    ----------
    reading : HerdReading
        Order of dates, unit of weights, columns, sheet.
    as_of : date or None
        The day of a herd list; also the day nothing in a list may lie after.
    day : Moment or None
        The day, and clock, of rows that state none.
    zone : str or None
    keep_unknown : bool
        Keep results of tags nobody has on file as unlisted; else they are put aside.
    clock_offset_s : float or None
        Reader's clock less true time; 0.0 means it is right.
    """

    reading: HerdReading = field(default_factory=HerdReading)
    as_of: date | None = None
    day: Moment | None = None
    zone: str | None = None
    keep_unknown: bool = True
    clock_offset_s: float | None = None


@dataclass(frozen=True, slots=True)
class Seen:
    """One animal a reader saw: who she is here (None: nobody), when by true time, how often."""

    rfid: str
    tag: str | None
    female: str | None
    at: datetime | None
    n: int


@dataclass(slots=True)
class Intake:
    """What taking a file would do, and what it would leave out."""

    kind: FileKind
    names: tuple[str, ...]
    zone: ZoneInfo
    limits: Limits
    n: int = 0
    unit: str = "rows"
    drafts: list[Drafted] = field(default_factory=list)
    already: int = 0
    new: list[str] = field(default_factory=list)
    unlisted: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    differences: list[Difference] = field(default_factory=list)
    aside: list[Aside] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    doubts: tuple[ClockDoubt, ...] = ()
    seen: list[Seen] = field(default_factory=list)
    columns: tuple[tuple[str, str], ...] = ()
    corrected: int = 0
    taken_back: int = 0
    clock_offset_s: float | None = None


@dataclass(frozen=True, slots=True)
class Taken:
    """What was recorded: new events, those known already, those the ledger refused."""

    new: int
    known: int
    refused: tuple[str, ...]


def look_at(
    kind: FileKind,
    files: Sequence[Path],
    events: Sequence[Event],
    *,
    ranch: str,
    wishes: Wishes | None = None,
    now: datetime | None = None,
    overlay: Path | None = None,
) -> Intake:
    """Read files and hold them against the ledger; nothing is written.

    Parameters
    ----------
    kind : FileKind
    files : sequence of Path
        One, or several of ADE, which are taken together.
    events : sequence of Event
        All of the ranch.
    ranch : str
    wishes : Wishes, optional
    now : datetime, optional
        UTC; the computer's clock where absent.
    overlay : Path, optional
        A ranch's own figures.

    Raises
    ------
    FileError
        If a file cannot be read at all.
    NoZoneError
        If no zone is known.
    """
    how = wishes or Wishes()
    moment = now or find_now()
    zone = find_zone(how.zone or zone_of(events) or _no_zone())
    library, problems = open_library(overlay)
    intake = Intake(
        kind, tuple(file.name for file in files), zone, Limits.of(library), problems=problems
    )
    if kind is FileKind.ADE:
        return _look_at_ade(intake, files, events, ranch=ranch, now=moment)
    if len(files) != 1:
        message = f"Give one file of {kind}; only ade takes several."
        raise UsageError(message)
    roster = build_roster(stand(events))
    today = how.as_of or to_local(moment, zone).date()
    data = read_bytes(files[0])
    name = files[0].name
    if kind is FileKind.HERD:
        listed_on = how.as_of or find_list_date(data, name, sheet=how.reading.sheet) or today
        return _look_at_herd(intake, data, roster, ranch=ranch, how=how, listed_on=listed_on)
    if kind is FileKind.READER:
        saved = None if str(files[0]) == "-" else files[0].stat().st_mtime
        saved_at = None if saved is None else datetime.fromtimestamp(saved, UTC)
        return _look_at_reader(
            intake, data, roster, ranch=ranch, how=how, now=moment, saved_at=saved_at
        )
    file = read_results(
        data,
        name,
        kind=ResultKind(kind.value),
        on=today,
        limits=intake.limits,
        reading=how.reading,
        day=how.day,
    )
    taking = draft_results(
        file,
        roster,
        ranch=ranch,
        zone=zone,
        limits=intake.limits,
        keep_unknown=how.keep_unknown,
        now=moment,
    )
    intake.n, intake.columns = file.n_rows, file.columns
    intake.drafts, intake.already = taking.drafts, taking.already
    intake.unlisted, intake.differences = taking.unlisted, taking.differences
    intake.aside = taking.aside
    intake.problems += [*file.problems, *taking.problems]
    return intake


def ranch_of(kind: FileKind, files: Sequence[Path]) -> str | None:
    """The ranch that files of a ledger written out name: what a ledger begun with them is called.

    Raises
    ------
    FileError
        If a file cannot be read at all.
    """
    if kind is not FileKind.ADE:
        return None
    return find_ranch(read_ade_file(read_bytes(file), file.name) for file in files)


def take(
    intake: Intake,
    append: Callable[[Sequence[Event]], Any],
    *,
    ranch: str,
    by: str | None = None,
    now: datetime | None = None,
) -> Taken:
    """Record what was looked at, whole or not at all.

    Raises
    ------
    LedgerError
        If the ledger cannot be written; then nothing was.
    UsageError
        If a reader's clock is doubted and nobody said what it is off by.
    """
    if intake.doubts and intake.clock_offset_s is None:
        message = (
            "The reader's clock is in doubt: say what it is off by (--clock-ahead 6h, "
            "--clock-ahead -1h), or --clock-ahead 0h if it is right. Nothing was taken."
        )
        raise UsageError(message)
    moment = now or find_now()
    person = find_person() if by is None else by
    writer = Writer(ranch=ranch, zone=intake.zone.key, by=person, now=lambda: moment)
    appended = append([_event(draft, writer) for draft in intake.drafts])
    refused = tuple(str(one.problem) for one in getattr(appended, "refused", ()))
    new = getattr(appended, "new", len(intake.drafts))
    return Taken(new=new, known=getattr(appended, "known", 0), refused=refused)


def zone_of(events: Sequence[Event]) -> str | None:
    """The zone of the plan adopted last, else of the last event; None in an empty ledger."""
    plans = [one for one in events if one.kind in {Kind.PLAN_ADOPTED, Kind.PLAN_CHANGED}]
    for one in sorted(plans, key=lambda plan: plan.entered_at, reverse=True):
        plan = one.body.get("plan")
        if isinstance(plan, dict) and isinstance(plan.get("zone"), str):
            return str(plan["zone"])
    return max(events, key=lambda one: one.entered_at).zone if events else None


def _no_zone() -> str:
    raise NoZoneError


def _event(draft: Drafted, writer: Writer) -> Event:
    made = writer.write(
        draft.kind,
        draft.body,
        at=draft.at,
        female=draft.female,
        group=draft.group,
        corrects=draft.corrects,
    )
    return replace(
        made,
        id=draft.id,
        entered_by=draft.by or made.entered_by,
        entered_at=draft.entered_at or made.entered_at,
    )


def _look_at_herd(
    intake: Intake, data: bytes, roster: Roster, *, ranch: str, how: Wishes, listed_on: date
) -> Intake:
    herd = read_herd(data, intake.names[0], on=listed_on, limits=intake.limits, reading=how.reading)
    again = compare_herd(
        herd.females,
        roster,
        ranch=ranch,
        zone=intake.zone,
        listed_on=listed_on,
        limits=intake.limits,
    )
    intake.n, intake.columns = herd.rows, herd.columns
    intake.drafts, intake.already = again.drafts, again.same
    intake.new, intake.missing = again.new, again.missing
    intake.differences, intake.aside = again.differences, again.aside
    intake.problems += herd.problems
    return intake


def _look_at_reader(
    intake: Intake,
    data: bytes,
    roster: Roster,
    *,
    ranch: str,
    how: Wishes,
    now: datetime,
    saved_at: datetime | None,
) -> Intake:
    file = read_reader_file(data, intake.names[0], date_order=how.reading.date_order)
    intake.unit = "lines"
    intake.n, intake.already = file.n_lines, file.repeated
    intake.problems += file.problems
    intake.clock_offset_s = how.clock_offset_s
    by_hand = {
        known.rfid: [fact.at for fact in known.facts if not fact.body.get("day_only")]
        for known in roster.by_id.values()
        if known.rfid
    }
    if how.clock_offset_s is None:
        intake.doubts = doubt_clock(
            file.reads,
            zone=intake.zone,
            now=now,
            limits=intake.limits,
            saved_at=saved_at,
            by_hand=by_hand,
        )
    for read in file.reads:
        _see(intake, read, roster, ranch=ranch, now=now)
    return intake


def _see(intake: Intake, read: Read, roster: Roster, *, ranch: str, now: datetime) -> None:
    """Match one read; a weight beside it is a fact to be recorded."""
    match = roster.find(None, read.rfid)
    known = match.female
    at = None
    if read.at is not None:
        wall = at_local(read.at.date(), read.at.time(), intake.zone).utc
        at = wall - timedelta(seconds=intake.clock_offset_s or 0.0)
    intake.seen.append(
        Seen(read.rfid, known.tag if known else None, known.id if known else None, at, read.n)
    )
    if known is None:
        intake.aside.append(Aside(read.row, read.rfid, match.why))
    if read.weight_kg is None:
        return
    if known is None:
        return
    if at is None:
        intake.aside.append(Aside(read.row, read.rfid, "its weight has no date and time"))
        return
    if intake.clock_offset_s is not None and at > now:
        why = "its time is still to come, also with the clock put right"
        intake.aside.append(Aside(read.row, read.rfid, why))
        return
    body = {"weight_kg": round(read.weight_kg, 2)}
    name = fact_id(ranch, Kind.WEIGHED, known.id, at, body)
    if any(fact.id == name for fact in known.facts):
        intake.already += 1
        return
    intake.drafts.append(Drafted(name, Kind.WEIGHED, known.id, at, body, row=read.row))


def _look_at_ade(
    intake: Intake, files: Sequence[Path], events: Sequence[Event], *, ranch: str, now: datetime
) -> Intake:
    exported = export_ade(events, ranch=ranch, shows_heat=shows_heat_of()).resources
    told = plan_ade(
        [read_ade_file(read_bytes(file), file.name) for file in files],
        events,
        exported,
        ranch=ranch,
        zone=intake.zone,
        limits=intake.limits,
        now=now,
    )
    intake.unit = "resources"
    intake.n, intake.drafts, intake.already = told.n, told.drafts, told.already
    intake.new, intake.differences = told.new_animals, told.differences
    intake.aside = told.aside
    intake.problems += told.problems
    intake.corrected, intake.taken_back = told.corrected, told.taken_back
    return intake


def unreadable(intake: Intake) -> int:
    """How many rows were left out because they could not be read."""
    rows = {one.row for one in intake.problems if one.severity is Severity.ERROR and one.row}
    return len(rows)
