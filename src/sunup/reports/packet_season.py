"""What stands on the season summary: groups with their protocols and costs, the strip, clashes."""

from __future__ import annotations

from collections import defaultdict
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from sunup.base.hours import to_local
from sunup.planning.advice import tell_open
from sunup.planning.plan import State
from sunup.planning.progress import ON_HEAT
from sunup.reports import turnout, words

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from zoneinfo import ZoneInfo

    from sunup.planning.plan import BullsAlone, Fit, GroupPlan, Plan, ScheduledStep

DAYS_A_STRIP = 5
_RESULTS_SHOWN = 3  # of the chosen protocol, beside it; all stand on the page of choices
_CHOSEN_BY = {
    "asked": "asked for",
    "default": "nobody asked for another: the first recommended one that fits",
    "none": "none chosen",
}


def season_page(
    plan: Plan, zone: ZoneInfo, forecast_lines: Mapping[str, str] = MappingProxyType({})
) -> dict[str, Any]:
    """Return the season summary as plain values for the template.

    `forecast_lines` holds one line a group that has a forecast.
    """
    currency = words.currency_of(plan)
    return {
        "facts": [
            ("Season", plan.season),
            ("Clock times", f"those of {plan.zone}"),
            ("Region", plan.region_name or plan.region),
            ("Planned by", str(plan.settings.get("planned_by", ""))),
            ("Veterinarian", plan.prescriber or "not named yet"),
            ("Plan made", words.day_and_clock(plan.made_at_utc, zone)),
            *((name, words.day(on)) for name, on in words.days_of(plan)),
        ],
        "groups": [
            _group(group, currency, forecast_lines.get(group.name, "")) for group in plan.groups
        ],
        "strips": strips(plan, zone),
        "clashes": [
            (words.day(clash.on), clash.group, clash.text, clash.fix)
            for clash in sorted(plan.clashes, key=lambda clash: (clash.on, clash.group))
        ],
        "label_differences": list(plan.label_differences),
        "cautions": list(plan.cautions),
        "changes": list(plan.changes),
    }


def _group(group: GroupPlan, currency: str, forecast: str) -> dict[str, Any]:
    chosen = next((fit for fit in group.fits if fit.protocol == group.chosen), None)
    return {
        "name": group.name,
        "class": words.class_(group.class_),
        "n": words.count(group.n, "female"),
        "treated": f"{group.ready:,} to be treated",
        "states": _states(group),
        "forecast": forecast,
        "chosen": group.chosen_name or "No protocol chosen",
        "chosen_by": _CHOSEN_BY.get(group.chosen_by, group.chosen_by),
        "options": words.joined([option.replace("_", " ") for option in group.options]),
        "cost": _cost(group, currency),
        "cost_lines": _cost_lines(chosen, currency) if chosen else "",
        "examples": _example_items(chosen) if chosen else "",
        "published": _published(chosen)[:_RESULTS_SHOWN] if chosen else [],
        "notes": [*chosen.notes, *tell_open(chosen.not_when)] if chosen else [],
        "capacity": [_capacity(group, i) for i in range(len(group.capacity))],
        "others": _others(group, currency),
        "bulls": _bulls(group.bulls_alone, currency),
    }


def _others(group: GroupPlan, currency: str) -> str:
    costs = [fit.cost_per_female for fit in group.fits if fit.protocol != group.chosen]
    unfit = f"{words.count(len(group.rejected), 'does', 'do')} not fit."
    if not costs:
        return f"No other fits; {unfit}"
    span = list(dict.fromkeys(words.money(cost, currency) for cost in (min(costs), max(costs))))
    fits = words.count(len(costs), "other fits", "others fit")
    return f"{fits}, {' to '.join(span)} a female; {unfit}"


def _states(group: GroupPlan) -> list[tuple[str, str, int]]:
    counts = dict(group.by_state)
    return [
        (str(key), words.state(key), counts[str(key)])
        for key in (State.READY, State.EXPECT_LESS, State.READY_ON, State.HOLD)
        if counts.get(str(key))
    ]


def _cost(group: GroupPlan, currency: str) -> str:
    if group.cost_per_female is None:
        return ""
    text = f"{words.money(group.cost_per_female, currency)} a female"
    if group.cost_total is not None:
        text += f", {words.money(group.cost_total, currency)} in all"
    return text


def _cost_lines(fit: Fit, currency: str) -> str:
    """Return each cost with its amount; one a group is said so, the others are a female."""
    return "; ".join(
        f"{m.item} {words.money(m.amount, currency)}"
        + (f" a {m.per}" if m.per != "female" else "")
        + (" (example price)" if m.example else "")
        for m in fit.costs
    )


def _example_items(fit: Fit) -> str:
    return words.joined(list(dict.fromkeys(m.item for m in fit.costs if m.example)))


def _published(fit: Fit, *, with_notes: bool = True) -> list[str]:
    shown = []
    for result in fit.published:
        marks = [result.cited]
        if result.from_memory:
            marks.append("from memory, not read")
        text = f"{result.text} ({'; '.join(mark for mark in marks if mark)})"
        shown.append(f"{text}. {result.note}" if result.note and with_notes else text)
    return shown


def _bulls_row(alone: BullsAlone, currency: str) -> dict[str, Any]:
    """Return bulls alone as a line of the same table: the first question of most ranches."""
    return {
        "name": f"Bulls alone ({words.count(alone.bulls, 'bull')})",
        "chosen": False,
        "standing": "no AI",
        "passes": "0",
        "days": "",
        "watch": "",
        "cost": words.money(alone.cost_per_female),
        "published": f"{words.money(alone.cost_per_pregnancy, currency)} a pregnancy of the season",
    }


def choices_page(plan: Plan) -> list[dict[str, Any]]:
    """Return for each group what fits, with passes, days, cost and results, and what does not.

    Those that do not fit are gathered by reason, since one reason often rules out many.
    """
    currency = words.currency_of(plan)
    return [
        {
            "name": group.name,
            "cost_head": words.in_money("A female", plan),
            "fits": [
                {
                    "name": fit.name,
                    "chosen": fit.protocol == group.chosen,
                    "standing": fit.standing.replace("_", " "),
                    "passes": str(fit.passes),
                    "days": words.number(fit.days, 0),
                    "watch": words.number(fit.watch_days, 1) if fit.watch_days else "",
                    "cost": words.money(fit.cost_per_female),
                    "published": (_published(fit, with_notes=False) or [""])[0],
                }
                for fit in group.fits
            ]
            + [_bulls_row(group.bulls_alone, currency)],
            "minded": _minded(group),
            "rejected": _by_reason(group),
            "results": [
                text
                for fit in group.fits
                if fit.protocol == group.chosen
                for text in _published(fit)
            ],
        }
        for group in plan.groups
    ]


def _minded(group: GroupPlan) -> list[tuple[str, str]]:
    """What is to be minded of what fits, each with the protocols it is said of."""
    names: dict[str, list[str]] = defaultdict(list)
    for fit in group.fits:
        for note in fit.notes:
            names[words.upper_first(note)].append(fit.name)
    return [(note, "; ".join(of)) for note, of in names.items()]


def _by_reason(group: GroupPlan) -> list[tuple[str, str]]:
    names: dict[str, list[str]] = defaultdict(list)
    for rejected in group.rejected:
        refused = " (refused, also when asked for)" if rejected.refused else ""
        names[rejected.reason.rstrip(".") + refused].append(rejected.name)
    return [(reason, "; ".join(group)) for reason, group in names.items()]


def _capacity(group: GroupPlan, i: int) -> str:
    c = group.capacity[i]
    steps = (*group.schedule, *group.sessions)
    named = [s.words for s in steps if s.visit == c.visit and not s.cancelled]
    what = words.joined(list(dict.fromkeys(named))) or c.visit
    text = (
        f"{words.upper_first(what)}: {c.head} head at {words.number(c.head_per_hour)} an hour "
        f"need {words.number(c.hours_needed, 1)} h of {words.number(c.hours_available, 1)} h"
    )
    if c.fits:
        return f"{text}: it fits."
    return f"{text}: it does not fit. {c.offer}".rstrip()


def _bulls(alone: BullsAlone, currency: str) -> dict[str, Any]:
    return {
        "cost": (
            f"{words.count(alone.bulls, 'bull')}, {words.money(alone.cost_per_female, currency)} "
            f"a female, {words.money(alone.cost_per_pregnancy, currency)} a pregnancy"
        ),
        "examples": words.joined(
            list(dict.fromkeys(m.item for m in alone.lines if m.example))
        ),
        "note": alone.note,
    }  # fmt: skip


def strips(plan: Plan, zone: ZoneInfo) -> list[dict[str, Any]]:
    """Return the days on which something is done, five to a strip, with each group's work.

    Parameters
    ----------
    plan : Plan
    zone : ZoneInfo

    Returns
    -------
    list of dict
        `days` as words; `rows` of (group, one cell a day); a cell is a list of lines.
    """
    cells: dict[tuple[str, date], list[list[str]]] = defaultdict(list)
    days: set[date] = set()
    for group in plan.groups:
        visits: dict[tuple[str, str], list[ScheduledStep]] = defaultdict(list)
        for step in (*group.schedule, *group.sessions):
            if not step.cancelled:
                visits[step.visit, "" if step.until_utc is None else step.id].append(step)
        for steps in sorted(visits.values(), key=lambda steps: steps[0].at_utc):
            on = to_local(steps[0].at_utc, zone).date()
            days.add(on)
            cells[group.name, on].append(_cell(steps, group, zone))
    names = [group.name for group in plan.groups if group.schedule]
    ordered = sorted(days)
    chunks = [ordered[i : i + DAYS_A_STRIP] for i in range(0, len(ordered), DAYS_A_STRIP)]
    return [
        {
            "days": [words.short_day(on) for on in chunk],
            "rows": [
                (name, [cells[name, on] for on in chunk])
                for name in names
                if any(cells[name, on] for on in chunk)
            ],
        }
        for chunk in chunks
    ]


def _cell(steps: list[ScheduledStep], group: GroupPlan, zone: ZoneInfo) -> list[str]:
    first = steps[0]
    end = first.until_utc or max(turnout.ends(step, group) for step in steps)
    what = words.joined(list(dict.fromkeys(step.words for step in steps)))
    if first.do == ON_HEAT:  # nobody knows how many come
        when = f"from {words.clock(first.at_utc, zone)}"
    else:
        when = words.span(first.at_utc, end, zone)
    most = min(steps, key=lambda step: (step.who != "all", -step.head))
    return [when, words.upper_first(what), turnout.head(most, group)]
