"""How the scan sheet, the returns and the calving book read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.problems import some
from sunup.cli.desk import tell
from sunup.cli.show import print_table
from sunup.planning.calving_book import Timing, count_book
from sunup.planning.parentage import SURE

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from sunup.app.record import Entry
    from sunup.app.scan import AtStart, Sheet
    from sunup.planning.calving_book import BookLine
    from sunup.planning.returns import ReturnDue
    from sunup.planning.scan_sheet import Expected


def _on(day: date | None) -> str:
    return "" if day is None else f"{day:%a} {day.day} {day:%b %Y}"


def print_sheet(sheet: Sheet) -> None:
    """Print a scan sheet: when, then what to expect in each female."""
    if not sheet.lines:
        tell("Nobody is waiting for a check: no service is on file.")
        return
    tell(f"Scan sheet for {_on(sheet.on)}, {sheet.method}: {len(sheet.lines)} to check")
    for group, advice in sheet.advice:
        tell(f"{group or 'no group'}: {advice.text}", 2)
    print_table(
        [
            ("tag", "left"),
            ("group", "left"),
            ("since AI", "right"),
            ("since bulls in", "right"),
            ("expect", "left"),
            ("found", "left"),
        ],
        [
            (
                line.exposed.tag,
                line.exposed.group,
                _days(line.since_ai),
                _days(line.since_bulls_in),
                line.text,
                "________",
            )
            for line in sheet.lines
        ],
    )
    _print_remarks(sheet.lines)


def _days(n: int | None) -> str:
    return "-" if n is None else str(n)


def _print_remarks(lines: Sequence[Expected]) -> None:
    said: dict[str, list[str]] = {}
    for line in lines:
        for remark in line.remarks:
            said.setdefault(remark, []).append(line.exposed.tag)
    for remark, tags in said.items():
        tell(f"{some(tags, 8)}: {remark}", 2)


def sheet_to_json(sheet: Sheet) -> dict[str, Any]:
    """A scan sheet as plain values."""
    return {
        "schema_version": 1,
        "on": sheet.on.isoformat(),
        "method": sheet.method,
        "advice": [
            {
                "group": group,
                "from": advice.from_on.isoformat(),
                "until": advice.until_on.isoformat(),
                "text": advice.text,
                "figures": [f.key for f in advice.figures],
            }
            for group, advice in sheet.advice
        ],
        "females": [
            {
                "tag": line.exposed.tag,
                "female": line.exposed.female,
                "group": line.exposed.group,
                "days_since_ai": line.since_ai,
                "days_since_bulls_in": line.since_bulls_in,
                "ages": [list(age) for age in line.ages],
                "expect": line.text,
                "too_soon": line.is_too_soon,
                "remarks": list(line.remarks),
            }
            for line in sheet.lines
        ],
    }


def print_states(entry: Entry, states: Mapping[str, str]) -> None:
    """Say where each female of an entry stands now."""
    by_state: dict[str, list[str]] = {}
    for line in entry.lines:
        if line.female in states:
            by_state.setdefault(states[line.female], []).append(line.tag)
    for state, tags in by_state.items():
        tell(f"{state}: {some(tags, 12)}", 2)


def print_returns(lines: Sequence[ReturnDue], on: date) -> None:
    """Print whose return to heat is to be looked for."""
    if not lines:
        tell(f"No return to heat is to be looked for on {_on(on)}.")
        return
    tell(f"Returns to look for on {_on(on)}: {len(lines)}")
    by_day: dict[tuple[date, date], list[str]] = {}
    for line in lines:
        by_day.setdefault((line.inseminated_on, line.until_on), []).append(line.tag)
    for (served, until), tags in sorted(by_day.items()):
        tell(f"inseminated {_on(served)}, until {_on(until)}: {len(tags)}", 2)
        tell(some(tags, 60), 4)
    tell("A heat now may be a return; a pregnant female may show heat too: check first if unsure.")


def returns_to_json(lines: Sequence[ReturnDue], on: date) -> dict[str, Any]:
    """The returns to look for as plain values."""
    return {
        "schema_version": 1,
        "on": on.isoformat(),
        "females": [
            {
                "tag": line.tag,
                "female": line.female,
                "inseminated_on": line.inseminated_on.isoformat(),
                "from": line.from_on.isoformat(),
                "until": line.until_on.isoformat(),
            }
            for line in lines
        ],
    }


def print_book(every: Sequence[BookLine], *, everybody: bool = False) -> None:
    """Print the calving book; served and not yet checked only where asked for."""
    lines = [line for line in every if everybody or line.pregnancy.is_confirmed]
    unchecked = len(every) - len(lines)
    if unchecked:
        tell(f"{unchecked} served and not yet checked are left out: --all")
    if not lines:
        tell("No pregnancy is on file.")
        return
    print_table(
        [
            ("tag", "left"),
            ("due", "left"),
            ("8 of 10 between", "left"),
            ("state", "left"),
            ("sire", "left"),
        ],
        [_book_row(line) for line in lines],
        title="Calving book",
    )
    tell(f"sire: {SURE} where no chance stands; calved: as expected where nothing is said")
    tell(count_book(lines).words)
    for line in lines:
        for remark in line.remarks:
            tell(f"{line.pregnancy.tag}: {remark}", 2)


def _book_row(line: BookLine) -> tuple[str, ...]:
    one = line.pregnancy
    due = one.due
    between = "" if due is None else f"{_day(due.early_on)} to {_day(due.late_on)}"
    sired = one.sired or one.parentage
    state = line.outcome.value
    if one.ended_on is not None:
        state += f" {_day(one.ended_on)}"
    if line.timing not in {None, Timing.AS_EXPECTED}:
        state += f", {line.timing.value}"
    if not one.is_confirmed:
        state += ", not checked"
    return (
        one.tag,
        "" if due is None else _on(due.likely_on),
        between,
        state,
        _sire_words(sired.words),
    )


def _sire_words(told: str) -> str:
    """A sire in few words, so that a row stays a line: ``AI A27 (5 May)``, ``bulls B07, B11``."""
    for long, short in (("the AI sire ", "AI "), ("the bulls ", "bulls "), ("the bull ", "bull ")):
        told = told.replace(long, short)
    return told.removeprefix(f"{SURE} ")


def _day(on: date) -> str:
    return f"{on.day} {on:%b}"


def book_to_json(lines: Sequence[BookLine]) -> dict[str, Any]:
    """The calving book as plain values."""
    return {
        "schema_version": 1,
        "lines": [
            {
                "tag": line.pregnancy.tag,
                "female": line.pregnancy.female,
                "group": line.pregnancy.group,
                "likely_on": line.pregnancy.due.likely_on.isoformat()
                if line.pregnancy.due
                else None,
                "early_on": line.pregnancy.due.early_on.isoformat() if line.pregnancy.due else None,
                "late_on": line.pregnancy.due.late_on.isoformat() if line.pregnancy.due else None,
                "outcome": line.outcome.value,
                "ended_on": line.pregnancy.ended_on.isoformat()
                if line.pregnancy.ended_on
                else None,
                "days_off": line.days_off,
                "confirmed": line.pregnancy.is_confirmed,
                "remarks": list(line.remarks),
            }
            for line in lines
        ],
    }


def print_at_start(told: AtStart) -> None:
    """Print who will be late for the next season, latest first."""
    on = _on(told.first_ai_on)
    tell(
        f"First insemination {on}: of {len(told.every)} calved or due, {len(told.late)} late, "
        f"{len(told.every) - len(told.late)} in time"
    )
    if told.late:
        print_table(
            [("tag", "left"), ("ready on", "left"), ("at first insemination", "left")],
            [(one.tag, _on(one.ready_on), one.words) for one in told.late],
            title="Late, the latest first",
        )
    if told.unchecked:
        tell(
            f"not counted, served and not yet checked: {len(told.unchecked)} "
            f"({some(told.unchecked)}); sunup scan sheet says when to check them"
        )
    if told.ended:
        tell(f"not counted, lost her pregnancy: {len(told.ended)} ({some(told.ended)})")
    if told.idle:
        tell(f"not counted, found open or not served: {len(told.idle)} ({some(told.idle)})")


def at_start_to_json(told: AtStart) -> dict[str, Any]:
    """Where each female stands at next season's start as plain values."""
    late = {one.female for one in told.late}
    return {
        "schema_version": 1,
        "first_ai_on": told.first_ai_on.isoformat(),
        "females": [
            {
                "tag": one.tag,
                "female": one.female,
                "days": one.days,
                "late": one.female in late,
                "ready_on": one.ready_on.isoformat(),
                "chance_ready": one.chance_ready,
                "calved": one.has_calved,
                "words": one.words,
            }
            for one in told.every
        ],
        "unchecked": list(told.unchecked),
        "lost": list(told.ended),
        "open_or_not_served": list(told.idle),
    }
