"""How a plan reads on a terminal."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from sunup.base.problems import counted
from sunup.cli.forecast_view import print_choices
from sunup.cli.show import console, print_table
from sunup.planning.advice import NOT_FOR, tell_open
from sunup.planning.readiness import RULE_WORDS
from sunup.planning.start_span import find_start_spans
from sunup.planning.supplies import reconcile, unit_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.app.plan_season import Outcome
    from sunup.planning.plan import GroupPlan, Plan, ScheduledStep, ShoppingLine
    from sunup.planning.start_span import StartSpan

_STATE = {
    "ready": "ready",
    "ready_expect_less": "ready, expect less",
    "ready_on": "ready on a later day",
    "hold": "hold",
}
_STYLE = {
    "heat": "heat",
    "heat_and_timed_ai": "heat+timed",
    "split_time_ai": "split AI",
    "timed_ai": "timed AI",
    "natural_service": "bulls",
    "resynchronisation": "second AI",
}


def print_plan(outcome: Outcome, *, show_all: bool) -> None:
    """Print the plan: per group readiness, choices and schedule; then clashes, run-up, shopping."""
    from sunup.base.hours import find_zone

    plan = outcome.plan
    zone = find_zone(plan.zone)
    out = console()
    out.print(f"{plan.ranch}: season {plan.season}, {plan.zone}, rule pack {plan.region}")
    out.print(f"{counted(outcome.rows, 'row')} read, {counted(len(plan.females), 'female')}")
    out.print(f"planned on {plan.settings['today']}{_list_of(plan)}")
    for group in plan.groups:
        spans = find_start_spans(plan, group.name, zone)
        _print_group(group, zone, spans, show_all=show_all)
    if plan.clashes:
        print_table(
            [("clash", "left"), ("group", "left"), ("what", "left"), ("what to do", "left")],
            [(c.kind.replace("_", " "), c.group, c.text, c.fix) for c in plan.clashes],
            title="Clashes (nothing was moved)",
        )
    _print_lists(plan)
    if plan.label_differences:
        differ = counted(len(plan.label_differences), "step differs", "steps differ")
        out.print(f"\n{differ} from the label text held; the veterinarian's page lists them.")
    for line in plan.changes:
        out.print(f"changed: {line}")
    for path in outcome.files:
        out.print(f"written: {path}")
    out.print("\nThe label in hand and your veterinarian decide.")


def _list_of(plan: Plan) -> str:
    listed_on = plan.settings.get("list_on")
    return f" from the herd list of {listed_on}" if listed_on else ""


def _print_group(
    group: GroupPlan, zone: ZoneInfo, spans: Mapping[str, StartSpan], *, show_all: bool
) -> None:
    out = console()
    out.print(f"\n{group.name.upper()}: {group.ready} of {group.n} ready")
    out.print("  " + ", ".join(f"{n} {_STATE[state]}" for state, n in group.by_state))
    if group.by_reason:
        out.print("  why: " + ", ".join(f"{RULE_WORDS[rule]} {n}" for rule, n in group.by_reason))
    out.print(
        "  later: " + ", ".join(f"{view.ready} ready {view.days} days on" for view in group.later)
    )
    _print_fits(group, show_all=show_all)
    if group.forecast is not None:
        print_choices(group)
    if group.chosen_name:
        how = "named by you" if group.chosen_by == "asked" else "the default: first that fits"
        out.print(f"\nChosen for {group.name}: {group.chosen_name} ({how})")
        if group.cost_per_female is not None and group.cost_total is not None:
            out.print(
                f"  {group.cost_per_female:.0f} a female, {group.cost_total:,.0f} in all, with "
                "example prices where you gave none"
            )
        for told in (*_asked(group.schedule), *_not_when(group)):
            out.print(f"  {told}")
        _print_schedule(group.schedule, zone, spans)
        _print_sessions([s for s in group.sessions if not s.cancelled], zone)
        for line in group.capacity:
            if line.fits and line.offer:  # what does not fit stands among the clashes
                out.print(f"  {line.offer}")


def _asked(steps: Sequence[ScheduledStep]) -> list[str]:
    """What is to be asked of law and market for the drugs of a schedule, with what they are."""
    doses = {s.dose.active: s.dose for s in steps if s.dose and s.dose.asks and not s.cancelled}
    asks = dict.fromkeys(ask for dose in doses.values() for ask in dose.asks)
    told = [f"{dose.name.capitalize()}: {dose.note}" for dose in doses.values() if dose.note]
    return [*(f"ASK FIRST: {ask}" for ask in asks), *told]


def _not_when(group: GroupPlan) -> list[str]:
    """When the chosen protocol is not to be used: what the herd list tells, then the rest."""
    fit = next((f for f in group.fits if f.protocol == group.chosen), None)
    if fit is None:
        return []
    met = [note for note in fit.notes if note.startswith(NOT_FOR)]
    return [*met, *tell_open(fit.not_when)]


def _print_fits(group: GroupPlan, *, show_all: bool) -> None:
    fits = [f for f in group.fits if show_all or f.standing == "recommended"]
    rows = []
    for fit in fits:
        best = [p for p in fit.published if "pregnancy to AI" in p.text and "sexed" not in p.text]
        low = min((p.low_pct for p in best), default=None)
        high = max((p.high_pct for p in best), default=None)
        shown = (
            "-"
            if low is None or high is None
            else f"{low:g}-{high:g}"
            if low != high
            else f"{low:g}"
        )
        read = [p for p in best if not p.from_memory]
        ends_read = any(p.low_pct == low for p in read) and any(p.high_pct == high for p in read)
        mark = "*" if best and not ends_read else ""
        rows.append(
            (
                fit.protocol,
                _STYLE[fit.style],
                str(fit.passes),
                f"{fit.days:.0f}",
                f"{fit.watch_days:.0f}" if fit.watch_days else "-",
                f"{fit.cost_per_female:.0f}",
                shown + mark,
            )
        )
    minded: dict[str, list[str]] = {}
    for fit in fits:
        for note in fit.notes:
            minded.setdefault(note, []).append(fit.protocol)
    bulls = group.bulls_alone
    rows.append(
        (
            "bulls alone",
            f"{bulls.bulls} bull{'' if bulls.bulls == 1 else 's'}",
            "0",
            "-",
            "-",
            f"{bulls.cost_per_female:.0f}",
            "-",
        )
    )
    print_table(
        [
            ("protocol", "left"),
            ("style", "left"),
            ("chute", "right"),
            ("days", "right"),
            ("watch", "right"),
            ("cost", "right"),
            ("published", "right"),
        ],
        rows,
        title=f"What fits {group.name} (times through the chute, days, days of watching, cost a "
        "female, published % pregnant to AI of its class; * in part or all from memory)",
    )
    hidden = len(group.fits) - len(fits)
    out = console()
    if hidden:
        out.print(f"  and {hidden} older or research protocols: --all")
    for note, keys in minded.items():
        out.print(f"  to mind: {', '.join(keys)}: {note}")
    out.print(f"Bulls alone: {bulls.note}")
    told = [r for r in group.rejected if show_all or r.refused]
    by_reason: dict[tuple[str, str], list[str]] = {}
    for rejected in told:
        word = "refused" if rejected.refused else "does not fit"
        by_reason.setdefault((word, rejected.reason), []).append(rejected.protocol)
    for (word, reason), keys in by_reason.items():
        out.print(f"  {word}: {', '.join(keys)}: {reason}")
    rest = len(group.rejected) - len(told)
    if rest:
        out.print(f"  {rest} more do not fit; --all says why, --json too")


def _print_schedule(
    steps: Sequence[ScheduledStep], zone: ZoneInfo, spans: Mapping[str, StartSpan]
) -> None:
    out = console()
    words = {step.id: step.words for step in steps}
    visit = None
    for step in steps:
        if step.cancelled:
            continue
        if step.visit != visit:
            visit = step.visit
            out.print(f"\n  {_visit_line(step, words, zone)}")
            if step.until_utc is None and visit in spans:
                told = _start_line(step, spans[visit], zone)
                if told:
                    out.print(f"    ({told})")
        out.print(f"    - {_step_line(step)}")
        if step.label_note:
            out.print(f"      {step.label_note}")


def _print_sessions(sessions: Sequence[ScheduledStep], zone: ZoneInfo) -> None:
    """When those seen in heat are inseminated: from the first session to the last."""
    if not sessions:
        return
    clocks = sorted({f"{s.at_utc.astimezone(zone):%H:%M}" for s in sessions})
    console().print(
        f"\n  Those seen in heat are inseminated at {' and '.join(clocks)}, "
        f"{_when(sessions[0].at_utc, zone)} to {_when(sessions[-1].at_utc, zone)}: "
        f"as many as there are, at most {sessions[0].head}"
    )


def _visit_line(step: ScheduledStep, words: dict[str, str], zone: ZoneInfo) -> str:
    line = _when(step.at_utc, zone)
    if step.ends_utc > step.at_utc:
        line += f" to {_clock(step.ends_utc, zone, beside=step.at_utc)}"
    if step.until_utc is not None:
        line += f" until {_when(step.until_utc, zone)}"
    if step.after_step and step.hours_after:
        line += f", {step.hours_after:g} h after {words.get(step.after_step, step.after_step)}"
    return line


def _start_line(step: ScheduledStep, span: StartSpan, zone: ZoneInfo) -> str:
    """From when to when the visit may start, for all and for the first female alone."""

    def between(moments: tuple[datetime, datetime]) -> str:
        early, late = (_clock(moment, zone, beside=step.at_utc) for moment in moments)
        return early if early == late else f"{early}-{late}"

    if span.first[0] == span.first[1]:
        return ""
    alone = f"the first female's window: {between(span.first)}"
    if span.whole is None:
        return f"no start keeps every female in her window; {alone}"
    if span.whole == span.first:
        return f"may start {between(span.whole)}"
    return f"may start {between(span.whole)} for all; {alone}"


def _step_line(step: ScheduledStep) -> str:
    line = f"{step.words}, {step.head} head"
    if step.who != "all":
        line += f" at most: {step.who}"
    if step.dose is not None and step.dose.ml_each is not None:
        line += f": {step.dose.name} {step.dose.dose}, {step.dose.ml_each:g} mL each"
    elif step.note:
        line += f": {step.note}"
    return line


def _when(moment: datetime, zone: ZoneInfo) -> str:
    local = moment.astimezone(zone)
    return f"{local:%a} {local.day} {local:%b %H:%M}"


def _clock(moment: datetime, zone: ZoneInfo, *, beside: datetime) -> str:
    """The clock time, with the day where it is another than that of the instant it stands by."""
    if moment.astimezone(zone).date() != beside.astimezone(zone).date():
        return _when(moment, zone)
    return f"{moment.astimezone(zone):%H:%M}"


def _by(line: ShoppingLine, today: date) -> str:
    if line.order_by is None:
        return ""
    past = " (past)" if line.order_by < today else ""
    return f"{line.order_by:%a} {line.order_by.day} {line.order_by:%b}{past}"


def _print_lists(plan: Plan) -> None:
    today = date.fromisoformat(plan.settings["today"])
    overdue = sum(item.overdue for item in plan.run_up)
    out = console()
    out.print(
        f"\nRun-up: {counted(len(plan.run_up), 'item')}"
        + (f", {overdue} of them past their day" if overdue else "")
    )
    if plan.shopping:
        print_table(
            [("to order", "left"), ("how many", "right"), ("by", "left"), ("cost", "right")],
            [
                (
                    line.item,
                    f"{line.quantity:g} {unit_of(line)}",
                    _by(line, today),
                    ""
                    if line.cost is None
                    else f"{line.cost:,.0f}" + ("*" if line.example_price else ""),
                )
                for line in plan.shopping
            ],
            title="Shopping (* example price: replace with yours)",
        )
        told = reconcile(plan)
        out.print(
            f"  {sum(line.cost or 0.0 for line in plan.shopping):,.0f} in all, spare with it; the "
            f"groups' {told.groups:,.0f} have none, but {told.work:,.0f} of work and bulls"
        )
