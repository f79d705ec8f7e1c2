"""What stands on the lists: run-up, readiness, the veterinarian's page, shopping."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import TYPE_CHECKING, Any

from sunup.base.problems import Severity
from sunup.planning.plan import State
from sunup.planning.readiness import RULE_WORDS, find_vet_marks
from sunup.planning.supplies import reconcile, unit_of
from sunup.reports import words

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from sunup.planning.plan import FemaleLine, GroupPlan, Plan, ScheduledStep, ShoppingLine

_PROBLEMS_SHOWN = 60  # about two pages; a list with more is mended before it is printed
_TAGS_A_ROW = 36  # a row is not broken over two pages
_SHOPPING_KINDS = {
    "drug": "Drugs",
    "insert": "Inserts",
    "feed": "Feed",
    "semen": "Semen",
    "supply": "Supplies",
    "service": "Services",
}


def run_up_page(plan: Plan) -> list[dict[str, Any]]:
    """Return what is to be done before the season and after the inseminations, by last day."""
    items = sorted(plan.run_up, key=lambda item: (item.to_on, item.from_on, item.key))
    return [
        {
            "when": list(dict.fromkeys((words.day(item.from_on), words.day(item.to_on)))),
            "text": item.text,
            "why": item.why + (" (from memory, not read)" if item.from_memory else ""),
            "group": item.group or "all",
            "overdue": item.overdue,
        }
        for item in items
    ]


def readiness_page(plan: Plan) -> list[dict[str, Any]]:
    """Return each group's females by state, those that need a decision first.

    Females that stand alike for like reasons share a row; the ready with nothing to note are a
    run of tags.
    """
    return [_readiness(plan, group) for group in plan.groups]


def to_look_at(plan: Plan) -> list[tuple[str, str, str]]:
    """Return what was wrong in the herd list and in what was asked: where, what, fix."""
    shown = [(p.where, p.what, p.fix) for p in plan.problems[:_PROBLEMS_SHOWN]]
    rest = len(plan.problems) - len(shown)
    if rest:
        shown.append((f"{rest} more", "not printed here", "sunup plan names them all."))
    return shown


def _readiness(plan: Plan, group: GroupPlan) -> dict[str, Any]:
    of_group = [female for female in plan.females if female.group == group.name]
    doubts: dict[int, list[str]] = defaultdict(list)
    for problem in plan.problems:
        if problem.row is not None and problem.severity is not Severity.NOTICE:
            doubts[problem.row].append(problem.what)
    plain: list[str] = []
    alike: dict[tuple[int, str, str], list[FemaleLine]] = defaultdict(list)
    for female in of_group:
        because = "; ".join(part for part in (_because(female), *doubts[female.row]) if part)
        if female.state is State.READY and not because:
            plain.append(female.tag)
            continue
        order = words.STATE_ORDER.index(female.state)
        alike[order, words.standing(female), because].append(female)
    return {
        "name": group.name,
        "n": words.count(group.n, "female"),
        "by_reason": [
            (RULE_WORDS.get(key, key.replace("_", " ")), n) for key, n in group.by_reason
        ],
        "later": [
            f"{view.days} days later: {view.ready} ready ({view.ready - group.ready:+d})"
            for view in group.later
        ],
        "rows": [
            {
                "state": str(females[0].state),
                "words": stands,
                "reasons": because if i == 0 else f"{because} (continued)",
                "n": len(females) if i == 0 else "",
                "tags": [(f.tag, words.second_identifier(f)) for f in females[i : i + _TAGS_A_ROW]],
            }
            for (_, stands, because), females in sorted(alike.items(), key=_by_decision)
            for i in range(0, len(females), _TAGS_A_ROW)
        ],
        "plain": plain,
    }


def _by_decision(item: tuple[tuple[int, str, str], list[FemaleLine]]) -> tuple[int, date]:
    """Holds first; of those ready later the soonest first."""
    (order, _, _), females = item
    return order, females[0].ready_on or date.min


def _because(female: FemaleLine) -> str:
    return "; ".join(
        reason.text + (" (your figure)" if reason.yours else "") for reason in female.reasons
    )


def vet_page(plan: Plan, zone: ZoneInfo) -> dict[str, Any]:
    """Return what the veterinarian is asked to authorise, and the blanks to fill in."""
    steps = [
        step
        for group in plan.groups
        for step in group.schedule
        if step.dose is not None and not step.cancelled
    ]
    actives = {step.dose.active: step.dose.name for step in steps if step.dose}
    differs: dict[str, list[str]] = defaultdict(list)
    for group in plan.groups:
        for step in group.schedule:
            if step.label_note and not step.cancelled:
                when = words.day_and_clock(step.at_utc, zone)
                differs[f"{step.group}, {step.words}: {step.label_note}"].append(when)
    return {
        "ranch": plan.ranch,
        "prescriber": plan.prescriber or "",
        "rows": [_vet_row(plan, step, zone) for step in sorted(steps, key=lambda s: s.at_utc)],
        "to_see": _to_see(plan),
        "differs": [f"{text} ({'; '.join(whens)})" for text, whens in differs.items()],
        "asks": _asks(steps),
        "drugs": _drug_notes(steps),
        "region": plan.region_name or plan.region,
        "region_notes": list(plan.region_notes),
        "withdrawal": list(actives.values()),
        "cautions": [
            (step.dose.name, " ".join(step.dose.cautions))
            for step in {s.dose.active: s for s in steps if s.dose}.values()
            if step.dose and step.dose.cautions
        ],
    }  # fmt: skip


def _asks(steps: list[ScheduledStep]) -> list[str]:
    """Return what is to be asked of law and market before a drug is given, each once."""
    return list(dict.fromkeys(ask for step in steps if step.dose for ask in step.dose.asks))


def _drug_notes(steps: list[ScheduledStep]) -> list[tuple[str, str]]:
    """Return what else is held of each drug: how it is used, what its texts warn of."""
    doses = {step.dose.active: step.dose for step in steps if step.dose and step.dose.note}
    return [(dose.name, dose.note) for dose in doses.values()]


def _to_see(plan: Plan) -> list[dict[str, str]]:
    """Return the females the veterinarian is asked about, those to be treated first."""
    asked = [(f, find_vet_marks(f)) for f in plan.females]
    return [
        {
            "tag": female.tag,
            "second": words.second_identifier(female),
            "group": female.group,
            "stands": "to be treated" if female.is_treated else words.standing(female),
            "why": "; ".join(reason.text for _, reason in marks),
        }
        for female, marks in sorted(asked, key=lambda item: not item[0].is_treated)
        if marks
    ]


def _vet_row(plan: Plan, step: ScheduledStep, zone: ZoneInfo) -> dict[str, Any]:
    dose = step.dose
    if dose is None:
        message = "only steps with a dose stand on the veterinarian's page"
        raise ValueError(message)
    return {
        "when": words.day_and_clock(step.at_utc, zone),
        "group": step.group,
        "drug": dose.name,
        "strength": dose.strength,
        "dose": dose.dose,
        "ml": words.number(dose.ml_each) if dose.ml_each is not None else "",
        "head": f"{step.doses:,}",
        "ml_total": words.number(dose.ml_total, 1) if dose.ml_total is not None else "",
        "route": dose.route,
        "who": words.who(step.who),
        "standing": _authority(plan, prescription=dose.prescription),
        "differs": step.label_note is not None,
    }


def _authority(plan: Plan, *, prescription: bool) -> str:
    if not prescription:
        return "not marked prescription"
    if plan.prescriber is None:
        return "prescription: not yet authorised"
    return f"prescription: for {plan.prescriber} to sign"


def shopping_page(plan: Plan) -> dict[str, Any]:
    """Return what to buy or book by kind, the straws by bull, and what it comes to."""
    currency = words.currency_of(plan)
    kinds = dict.fromkeys([*_SHOPPING_KINDS, *(line.kind for line in plan.shopping)])
    sections = [
        {
            "title": _SHOPPING_KINDS.get(kind, words.upper_first(kind)),
            "rows": [_shopping_row(line, plan) for line in plan.shopping if line.kind == kind],
        }
        for kind in kinds
    ]
    priced = [line for line in plan.shopping if line.cost is not None]
    unpriced = len(plan.shopping) - len(priced)
    total = sum(line.cost or 0.0 for line in priced)
    example = sum(line.cost or 0.0 for line in priced if line.example_price)
    return {
        "sections": [section for section in sections if section["rows"]],
        "cost_head": words.in_money("Cost", plan),
        "total": words.money(total, currency),
        "against": _against_groups(plan, currency),
        "example": _example_share(example, total, currency),
        "unpriced": words.count(unpriced, "line") if unpriced else "",
        "straws": [
            (use.group, use.code, use.semen, f"{use.straws:,}", f"{use.spare:,}",
             f"{use.straws + use.spare:,}")
            for group in plan.groups
            for use in group.sires
        ],
    }  # fmt: skip


def _example_share(example: float, total: float, currency: str) -> str:
    """Say how much of the sum rests on example prices; nothing where none does."""
    if not example:
        return ""
    of_it = "All of it" if example == total else f"Of this {words.money(example, currency)}"
    return f"{of_it} rests"


def _against_groups(plan: Plan, currency: str) -> str:
    """Say why this list and the groups' costs come to two sums, to the cent; nothing without."""
    told = reconcile(plan)
    if not told.groups:
        return ""
    text = (
        f"The groups cost {words.money(told.groups, currency)}: "
        f"{words.money(told.work, currency)} of it is work (and bulls), which is not bought here"
    )
    if told.spare >= 0:
        text += (
            f"; what is bought here is {words.money(told.spare, currency)} more than they count, "
            "for spare and what stays in bottles"
        )
    return f"{text}."


def _shopping_row(line: ShoppingLine, plan: Plan) -> dict[str, Any]:
    today = dict(words.days_of(plan)).get(words.PLANNED)
    return {
        "item": line.item,
        "quantity": f"{words.number(line.quantity)} {unit_of(line)}",
        "detail": line.detail,
        "order_by": words.day(line.order_by) if line.order_by else "",
        "overdue": bool(today and line.order_by and line.order_by < today),
        "cost": words.money(line.cost) if line.cost is not None else "",
        "example": line.example_price and line.cost is not None,
    }
