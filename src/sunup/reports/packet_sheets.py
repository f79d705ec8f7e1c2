"""The day sheets as plain values for the template."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.hours import to_local
from sunup.reports import qr, words

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from sunup.planning.plan import Plan, ScheduledStep
    from sunup.reports.day_sheets import Sheet


def sheet_values(plan: Plan, sheet: Sheet, zone: ZoneInfo) -> dict[str, Any]:
    """Return one day sheet as words and rows."""
    first = sheet.steps[0]
    end = max(step.ends_utc for step in sheet.steps)
    return {
        "kind": str(sheet.kind),
        "id": sheet.id,
        "code": qr.dark_runs(sheet.id),
        "title": sheet.title,
        "group": sheet.group.name,
        "ranch": plan.ranch,
        "day": words.day(to_local(first.at_utc, zone).date()),
        "times": _times(sheet, zone),
        "plan": (
            f"Plan made {words.day_and_clock(plan.made_at_utc, zone)}, "
            f"library {plan.library_version[:12]}"
        ),
        "count": f"sheet {sheet.number} of {sheet.of}",
        "clock_span": words.span(first.at_utc, first.until_utc or end, zone),
        "expected": sheet.expected,
        "here": len(sheet.females),
        "places": (
            f"{sheet.females[0].place} to {sheet.females[-1].place}" if sheet.females else ""
        ),
        "lines": [_step_line(step) for step in sheet.steps],
        "notes": [step.note for step in sheet.steps if step.note],
        "cautions": " ".join(sheet.cautions),
        "is_ai": any(step.straws for step in sheet.steps),
        "for_some": [
            f"{words.upper_first(step.words)} only for {words.who(step.who)}"
            for step in sheet.steps
            if step.who != "all"
        ],
        "females": [(row.place, row.clock, row.tag, row.second) for row in sheet.females],
        "rows": [(row.day, row.part) for row in sheet.times],
    }


def _times(sheet: Sheet, zone: ZoneInfo) -> str:
    first = sheet.steps[0]
    if first.until_utc is not None:
        return (
            f"From {words.day_and_clock(first.at_utc, zone)} "
            f"to {words.day_and_clock(first.until_utc, zone)}"
        )
    parts = [f"Start {words.clock(first.at_utc, zone)}"]
    end = max(step.ends_utc for step in sheet.steps)
    parts.append(f"planned end {words.clock(end, zone)}")
    early = max(step.window_utc[0] for step in sheet.steps)
    late = min(step.window_utc[1] for step in sheet.steps)
    if late > early:
        parts.append(f"first female between {words.span(early, late, zone)}".replace(" to ", " and "))
    after = [words.after_words(step, sheet.group.schedule) for step in sheet.steps]
    parts.extend(dict.fromkeys(text for text in after if text))
    return "; ".join(parts)


def _step_line(step: ScheduledStep) -> tuple[str, str]:
    """Return the step's name and what to give, by which route."""
    dose = step.dose
    if dose is None:
        told = words.count(step.straws, "straw") if step.straws else ""
    else:
        parts = [f"{dose.name} {dose.strength}", f"{dose.dose} each"]
        if dose.ml_each is not None:
            parts.append(f"{words.number(dose.ml_each)} mL")
        parts.extend(text for text in (dose.route, dose.needle) if text)
        told = ", ".join(parts)
    return words.upper_first(step.words), told
