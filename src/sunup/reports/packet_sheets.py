"""The day sheets as plain values for the template."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.hours import to_local
from sunup.planning.plan import TO_CHOOSE
from sunup.reports import qr, words
from sunup.reports.day_sheets import (
    MOST_IN_HEAT,
    VET_LINE,
    Kind,
    bull_line,
    inseminates,
    only_for,
    step_details,
    time_words,
)

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from sunup.planning.plan import Plan, ScheduledStep
    from sunup.reports.day_sheets import Sheet


def sheet_values(plan: Plan, sheet: Sheet, zone: ZoneInfo) -> dict[str, Any]:
    """Return one day sheet as words and rows."""
    first = sheet.steps[0]
    return {
        "kind": str(sheet.kind),
        "id": sheet.id,
        "code": qr.dark_runs(sheet.id),
        "title": sheet.title,
        "group": sheet.group.name,
        "ranch": plan.ranch,
        "day": words.day(to_local(first.at_utc, zone).date()),
        "times": time_words(sheet, zone),
        "plan": (
            f"Plan made {words.day_and_clock(plan.made_at_utc, zone)}, "
            f"library {plan.library_version[:12]}"
        ),
        "count": f"sheet {sheet.number} of {sheet.of}",
        "expected": expected_words(sheet),
        "places": _places(sheet),
        "lines": [*(_step_line(step) for step in sheet.steps), *_bull_lines(sheet)],
        "cautions": " ".join(sheet.cautions),
        "bull": _one_bull(sheet),
        "is_ai": any(step.straws for step in sheet.steps),
        "has_tags": not inseminates(first),
        "for_some": only_for(sheet.steps)
        + ([VET_LINE] if any(row.vet for row in sheet.females) else []),
        "has_skip": bool(only_for(sheet.steps)),
        "females": [(row.place, row.clock, row.tag, row.second, row.vet) for row in sheet.females],
        "rows": [(row.day, row.part) for row in sheet.times],
        "blank": MOST_IN_HEAT if sheet.kind is Kind.IN_HEAT else 0,
    }


def _places(sheet: Sheet) -> str:
    """Which of the group stand on the sheet, by their places in the order of treatment."""
    places = [row.place for row in sheet.females]
    if len(places) < 2:
        return "".join(f"female {place}" for place in places)
    return f"females {places[0]} to {places[-1]}"


def expected_words(sheet: Sheet) -> str:
    """Say how many come: all that are counted on, or at most so many where only some are meant."""
    head = words.count(sheet.expected, "head", "head")
    is_heat = sheet.kind is Kind.IN_HEAT
    if sheet.kind is Kind.WATCH or (not is_heat and any(step.who == "all" for step in sheet.steps)):
        return head
    about = f", about {sheet.about} by the forecast" if sheet.about is not None else ""
    return f"{'as many as are seen in heat, ' if is_heat else ''}at most {head}{about}"


def _one_bull(sheet: Sheet) -> str:
    """Return the code of the bull where there is but one, so that nobody writes it in every row."""
    codes = {use.code for use in sheet.group.sires} - {TO_CHOOSE}
    return codes.pop() if len(codes) == len(sheet.group.sires) == 1 else ""


def _bull_lines(sheet: Sheet) -> list[tuple[str, str]]:
    name, colon, told = bull_line(sheet).partition(":")
    return [(name, colon + told)] if told else []


def _step_line(step: ScheduledStep) -> tuple[str, str]:
    """Return a step's name, to be printed bold, and what follows it: dose, route, note."""
    name, told = words.upper_first(step.words), step_details(step)
    if step.dose is not None and step.dose.name.casefold().startswith(step.words.casefold()):
        name, told = step.dose.name, told.removeprefix(step.dose.name).lstrip()
        return name, f" {told}"
    return name, f": {told}" if told else ""
