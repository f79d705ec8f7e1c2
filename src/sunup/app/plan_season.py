"""Use-case: from a herd file to a season's plan and packet."""

from __future__ import annotations

import contextlib
import os
import uuid
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from functools import partial
from typing import TYPE_CHECKING

import sunup
from sunup.app.open import FileError, open_library, read_bytes, tells_faults
from sunup.app.plan_asked import checked
from sunup.app.writing import find_now
from sunup.base.problems import Problem, Severity
from sunup.exchange.herd_file import HerdReading, read_herd
from sunup.exchange.list_date import find_list_date
from sunup.exchange.plan_file import read_plan_file, render_plan_file
from sunup.exchange.plausible import Limits
from sunup.planning.renewal import find_rests_on, renew
from sunup.planning.season import make_plan

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from sunup.forecast.forecast import Forecast
    from sunup.library import Library
    from sunup.planning.plan import Plan
    from sunup.planning.request import Request
    from sunup.records.female import Female

PLAN_FILE = "plan.json"


@dataclass(frozen=True, slots=True)
class Outcome:
    """A plan, everything that was wrong on the way, and the files written."""

    plan: Plan
    problems: tuple[Problem, ...]
    rows: int
    files: tuple[Path, ...] = ()
    females: tuple[Female, ...] = ()  # as read, for a forecast
    forecasts: Mapping[str, Forecast] = field(default_factory=dict)  # of what is chosen
    compared: Mapping[str, tuple[Forecast, ...]] = field(default_factory=dict)  # of the rest


def find_today() -> date:
    """The computer's date, or that of SUNUP_NOW where it is set."""
    return find_now().astimezone().date()


def find_holidays(country: str | None, around: date) -> Mapping[date, str]:
    """Public holidays of a country from a year before a day to a year after it."""
    if country is None:
        return {}
    import holidays

    try:
        found = holidays.country_holidays(
            country, years=[around.year - 1, around.year, around.year + 1]
        )
    except NotImplementedError:
        return {}
    return dict(found.items())


@tells_faults
def plan_season(
    herd_file: Path,
    request: Request,
    *,
    reading: HerdReading | None = None,
    overlay: Path | None = None,
    previous: Path | None = None,
    as_of_given: bool = False,
) -> Outcome:
    """Read a herd file and plan the season.

    Parameters
    ----------
    herd_file : Path
        CSV or XLSX.
    request : Request
        Its `list_on` becomes the date the herd list states for itself.
    reading : HerdReading, optional
    overlay : Path, optional
        A ranch's own figures.
    previous : Path, optional
        A plan file whose ids and order are kept.
    as_of_given : bool
        Whether `request.today` was stated by the user rather than read from the clock. If so, a
        list of a later day is read as of it; if not, it is planned on the day of such a list.

    Returns
    -------
    Outcome

    Raises
    ------
    UsageError
        If a file cannot be read, the season asked for is past, or the request names something that
        does not exist.
    """
    library, library_problems = open_library(overlay)
    data = read_bytes(herd_file)
    how = reading or HerdReading()
    listed_on = find_list_date(data, herd_file.name, sheet=how.sheet)
    if listed_on is not None and listed_on > request.today:
        if as_of_given:
            listed_on = None
        else:
            request = replace(request, today=listed_on)
    request = checked(replace(request, list_on=listed_on), library)
    herd = read_herd(
        data, herd_file.name, on=request.judged_on, limits=Limits.of(library), reading=how
    )
    former = None
    if previous is not None:
        former = read_plan_file(read_bytes(previous).decode("utf-8", "replace"), str(previous))
    if not request.ranch:
        named = former.ranch if former is not None else _name_from(herd_file)
        request = replace(request, ranch=named)
    others: tuple[Problem, ...] = ()
    if former is not None and former.ranch != request.ranch:
        others = (_other_ranch(str(previous), former.ranch, request.ranch),)
        former = None
    plan = _make(herd.females, request, library=library, former=former)
    plan = replace(plan, problems=(*herd.problems, *plan.problems))
    problems = (*library_problems, *others, *plan.problems)
    if not herd.females:
        problems = (
            *problems,
            Problem(str(herd_file), "No female could be read.", "Mend the file and try again."),
        )
    return Outcome(plan, problems, herd.rows, females=tuple(herd.females))


def _name_from(herd_file: Path) -> str:
    """A name for the ranch from that of its herd file; a piped file has none."""
    return herd_file.stem.replace("_", " ").strip("- ") or "ranch"


def _other_ranch(file: str, theirs: str, ours: str) -> Problem:
    return Problem(
        file,
        f"This plan file is of '{theirs}', not of '{ours}': its calendar ids are not kept.",
        "Write into another folder, or give the same --ranch.",
        Severity.WARNING,
    )


def _make(
    females: Sequence[Female], request: Request, *, library: Library, former: Plan | None
) -> Plan:
    pack = library.regions.get(request.region)
    around = request.first_ai_on or request.first_treatment_on or request.today
    plan = make_plan(
        females,
        request,
        library=library,
        holidays=find_holidays(pack.holidays if pack else None, around),
        made_at_utc=datetime.now(UTC).replace(microsecond=0),
        new_uid=lambda: str(uuid.uuid4()),
        program_version=sunup.__version__,
        previous=former,
    )
    used = {g.chosen: library.protocols[g.chosen] for g in plan.groups if g.chosen}
    plan = replace(plan, rests_on=find_rests_on(library, used))
    return renew(plan, former) if former is not None else plan


def write_packet(
    outcome: Outcome, folder: Path, *, pdf: bool = True, paper: str = "letter"
) -> Outcome:
    """Write everything printed and exported for a season.

    Each file is written beside its place and moved there whole, so that a full disk leaves the
    former file as it was.

    Parameters
    ----------
    outcome : Outcome
    folder : Path
        Made if it is not there.
    pdf : bool
        False leaves the PDF out (a very large herd prints thousands of pages).
    paper : str
        "letter" or "a4".

    Returns
    -------
    Outcome
        With the files written.

    Raises
    ------
    FileError
        If the folder or a file cannot be written.
    """
    from sunup.reports.calendar_file import render_calendar
    from sunup.reports.packet import render_packet
    from sunup.reports.tags_apart import with_tags_apart
    from sunup.reports.workbook import render_workbook

    plan = outcome.plan
    problems = outcome.problems
    makers: list[tuple[str, Callable[[], bytes]]] = [
        (PLAN_FILE, lambda: render_plan_file(plan).encode("utf-8")),
        ("calendar.ics", partial(render_calendar, plan)),
        ("workbook.xlsx", partial(render_workbook, plan)),
    ]
    if pdf:
        told = partial(
            render_packet,
            plan,
            paper=paper,
            forecasts=outcome.forecasts,
            compared=outcome.compared,
        )
        makers.append(("packet.pdf", told))
        problems += with_tags_apart(plan)[1]
    # all are made before one is written, so that no folder holds half of two packets
    contents = [(name, make()) for name, make in makers]
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        message = f"The folder '{folder}' cannot be made: {error.strerror or error}."
        raise FileError(message) from None
    return replace(
        outcome,
        problems=problems,
        files=tuple(write_whole(folder / name, made) for name, made in contents),
    )


def write_whole(path: Path, content: bytes) -> Path:
    """Write a file beside its place and move it there whole; return its path.

    Raises
    ------
    FileError
        If it cannot be written; a former file is as it was.
    """
    part = path.with_name(f".{path.name}.part")
    try:
        with part.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            part.unlink()
        message = (
            f"'{path}' cannot be written: {error.strerror or error}. The former file, if there was "
            "one, is as it was."
        )
        raise FileError(message) from None
    return path


__all__ = ["Outcome", "find_today", "plan_season", "write_packet", "write_whole"]
