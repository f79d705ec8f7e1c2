"""What stands on each sheet of the workbook: rows of plain values, before any format."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from sunup.base.hours import to_local
from sunup.planning.start_span import find_start_spans
from sunup.reports import turnout, words

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from sunup.planning.plan import ForecastSummary, GroupPlan, Plan, ScheduledStep
    from sunup.planning.start_span import StartSpan


@dataclass(frozen=True, slots=True)
class Amount:
    """An amount of money, which is shown to the cent."""

    value: float


@dataclass(frozen=True, slots=True)
class Whole:
    """A number that is shown to the whole, since the rest of it means nothing: a forecast count."""

    value: float


Cell = str | int | float | date | datetime | Amount | Whole | None
Row = tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """One sheet: its name, its columns with their greatest widths in characters, its rows.

    Below the rows stands the sum of the column `total`, of the rows a filter leaves. The first
    `named_by` columns say what a row is of: they stay in sight and stand on every printed page.
    `mixed` are numbers among words, which then begin where words begin.
    """

    name: str
    columns: tuple[tuple[str, float], ...]
    rows: tuple[Row, ...]
    total: str = ""
    named_by: int = 0
    mixed: bool = False


def tables(plan: Plan, zone: ZoneInfo) -> tuple[Table, ...]:
    """Return the sheets of a plan's workbook, in order."""
    return (
        _summary(plan, zone),
        _schedule(plan, zone),
        _females(plan),
        _shopping(plan),
        _run_up(plan),
        _clashes(plan),
        _choices(plan),
        _costs(plan),
    )


def _summary(plan: Plan, zone: ZoneInfo) -> Table:
    rows: list[Row] = [
        ("Ranch", plan.ranch, None),
        ("Season", plan.season, None),
        ("Time zone", plan.zone, "All clock times in this workbook are in this zone."),
        ("Region", plan.region_name or plan.region, None),
        ("Plan made", _wall(plan.made_at_utc, zone), None),
        *((name, on, None) for name, on in words.days_of(plan)),
        ("Currency", words.currency_of(plan), None),
        ("Library", plan.library_version, None),
        ("Program", plan.program_version, None),
        ("Veterinarian", plan.prescriber or "not named", None),
    ]
    for group in plan.groups:
        rows.extend(_group_rows(group))
    rows.extend(("Label difference", text, None) for text in plan.label_differences)
    rows.extend(("Caution", text, None) for text in plan.cautions)
    rows.extend(("Changed", text, None) for text in plan.changes)
    rows.extend(("Problem", f"{p.where}: {p.what}", p.fix) for p in plan.problems)
    columns = (("What", 40), ("Value", 80), ("Note", 70))
    return Table("Summary", columns, tuple(rows), mixed=True)


def _group_rows(group: GroupPlan) -> list[Row]:
    name = group.name
    rows: list[Row] = [
        (f"{name}: females", group.n, words.class_(group.class_)),
        (f"{name}: treated", group.ready, None),
    ]
    rows.extend((f"{name}: {words.state(key)}", n, None) for key, n in group.by_state)
    rows.append((f"{name}: protocol", group.chosen_name or "none chosen", group.chosen_by))
    if group.cost_per_female is not None:
        rows.append((f"{name}: cost a female", Amount(group.cost_per_female), None))
    if group.cost_total is not None:
        rows.append((f"{name}: cost in all", Amount(group.cost_total), None))
    alone = group.bulls_alone
    rows.append((f"{name}: bulls alone, a female", Amount(alone.cost_per_female), alone.note))
    return rows


def _schedule(plan: Plan, zone: ZoneInfo) -> Table:
    columns = (
        ("Group", 24), ("Visit", 10), ("Step", 30), ("Start", 24), ("Ends", 24),
        ("May start from", 24), ("May start to", 24),
        ("First female's window from", 24), ("First female's window to", 24), ("Hours after", 11),
        ("After step", 12), ("For", 22), ("Head", 8), ("Counted as", 11), ("Forecast", 9),
        ("Doses", 8),
        ("Drug", 28), ("Strength", 18), ("Dose", 12), ("mL each", 9), ("mL in all", 10),
        ("Route", 18), ("Straws", 8), ("Differs from label text held", 36), ("Note", 36),
        ("Take care", 36), ("Called off", 11), ("Step id", 38),
    )  # fmt: skip
    rows: list[Row] = []
    for group in plan.groups:
        spans = find_start_spans(plan, group.name, zone)
        rows += [
            _step_row(step, group, None if step.cancelled else spans.get(step.visit), zone)
            for step in (*group.schedule, *group.sessions)
        ]
    rows += [_step_row(step, None, None, zone) for step in plan.called_off]
    return Table("Schedule", columns, tuple(rows), named_by=3)


def _step_row(
    step: ScheduledStep, group: GroupPlan | None, starts: StartSpan | None, zone: ZoneInfo
) -> Row:
    dose = step.dose
    whole = None if starts is None or step.until_utc is not None else starts.whole
    return (
        step.group,
        step.visit,
        step.words,
        _wall(step.at_utc, zone),
        _wall(step.until_utc or turnout.ends(step, group), zone),
        None if whole is None else _wall(whole[0], zone),
        None if whole is None else _wall(whole[1], zone),
        _wall(step.window_utc[0], zone),
        _wall(step.window_utc[1], zone),
        step.hours_after,
        step.after_step,
        words.who(step.who),
        step.head,
        None if step.who == "all" else "at most",
        turnout.about(step, group),
        step.doses or None,
        dose.name if dose else None,
        dose.strength if dose else None,
        dose.dose if dose else None,
        dose.ml_each if dose else None,
        dose.ml_total if dose else None,
        dose.route if dose else None,
        step.straws or None,
        step.label_note,
        step.note,
        " ".join(step.flags),
        "called off" if step.cancelled else None,
        step.uid,
    )


def _females(plan: Plan) -> Table:
    columns = (("Tag", 14), ("RFID", 18), ("Class", 14), ("Group", 24), ("State", 26),
               ("Ready on", 18), ("To be treated", 9), ("Reasons", 90),
               ("File row", 9))  # fmt: skip
    rows = tuple(
        (
            f.tag,
            f.rfid,
            words.class_(f.class_),
            f.group,
            words.state(f.state),
            f.ready_on,
            "yes" if f.is_treated else "no",
            "; ".join(reason.text for reason in f.reasons),
            f.row,
        )
        for f in plan.females
    )
    return Table("Females", columns, rows, named_by=1)


def _shopping(plan: Plan) -> Table:
    cost = words.in_money("Cost", plan)
    columns = (("Kind", 10), ("Item", 42), ("Quantity", 11), ("Unit", 16), ("Detail", 60),
               ("Order by", 18), (cost, 12), ("Price", 16))  # fmt: skip
    rows: list[Row] = [
        (
            line.kind,
            line.item,
            line.quantity,
            line.unit,
            line.detail,
            line.order_by,
            Amount(line.cost) if line.cost is not None else None,
            "example price" if line.example_price else None,
        )
        for line in plan.shopping
    ]
    return Table("Shopping", columns, tuple(rows), total=cost)


def _run_up(plan: Plan) -> Table:
    columns = (("From", 18), ("To", 18), ("What", 60), ("Why", 60), ("Group", 24),
               ("Overdue", 10), ("Sources", 30), ("How known", 14))  # fmt: skip
    rows = tuple(
        (
            item.from_on,
            item.to_on,
            item.text,
            item.why,
            item.group or "all",
            "overdue" if item.overdue else None,
            ", ".join(item.source),
            "from memory" if item.from_memory else None,
        )
        for item in plan.run_up
    )
    return Table("Run-up", columns, rows)


def _clashes(plan: Plan) -> Table:
    columns = (
        ("On", 18),
        ("Group", 24),
        ("Step", 14),
        ("Kind", 16),
        ("What", 60),
        ("What to do", 50),
    )
    rows = tuple(
        (c.on, c.group, c.step, c.kind.replace("_", " "), c.text, c.fix) for c in plan.clashes
    )
    return Table("Clashes", columns, rows)


def _choices(plan: Plan) -> Table:
    """Every choice of every group in one row, with its forecast where one was asked for."""
    columns = (
        ("Group", 24), ("Choice", 60), ("Regarded as", 14), ("Times through the chute", 12),
        ("Days", 8), ("Days of watching", 10), (words.in_money("A female", plan), 12),
        ("Forecast for head", 10), ("Pregnant to AI, middle", 12), ("8 seasons in 10: from", 12),
        ("to", 8), ("Inseminated on heat", 12), ("Inseminated at a set time", 12),
        ("Pregnant in the season, middle", 14), ("8 in 10: from", 10), ("up to", 8),
        (words.in_money("A pregnancy, middle", plan), 14),
        ("More than the chosen in so many of 100 seasons", 18),
    )  # fmt: skip
    rows: list[Row] = []
    for group in plan.groups:
        for fit in group.fits:
            chosen = fit.protocol == group.chosen
            told = group.forecast if chosen else fit.forecast
            rows.append((group.name, fit.name, "chosen" if chosen else fit.standing, fit.passes,
                         Whole(fit.days), fit.watch_days, Amount(fit.cost_per_female),
                         *_forecast(told)))  # fmt: skip
        alone = group.bulls_alone
        rows.append((group.name, "bulls alone", None, None, None, None,
                     Amount(alone.cost_per_female), *_forecast(alone.forecast)))  # fmt: skip
    return Table("Choices", columns, tuple(rows), named_by=2)


def _forecast(told: ForecastSummary | None) -> Row:
    if told is None:
        return (None,) * 11
    none = (None, None, None)
    low, middle, high = told.pregnant_to_ai or none
    season_low, season, season_high = told.pregnant_in_season or none
    cost = told.cost_per_pregnancy
    better = told.better_than_chosen
    counts = (middle, low, high, told.on_heat, told.on_time, season, season_low, season_high)
    return (
        told.n, *(None if n is None else Whole(n) for n in counts),
        None if cost is None else Amount(cost[1]), None if better is None else Whole(100 * better),
    )  # fmt: skip


def _costs(plan: Plan) -> Table:
    columns = (("Group", 24), ("Choice", 60), ("Regarded as", 14), ("Item", 34), ("Per", 14),
               (words.in_money("Amount", plan), 12), ("Price", 16), ("Figure", 34),
               ("Note", 40))  # fmt: skip
    rows: list[Row] = []
    for group in plan.groups:
        for fit in group.fits:
            mark = "chosen" if fit.protocol == group.chosen else fit.standing
            rows.extend(
                (group.name, fit.name, mark, m.item, m.per, Amount(m.amount),
                 "example price" if m.example else None, m.figure, m.note)
                for m in fit.costs
            )  # fmt: skip
        rows.extend(
            (group.name, "bulls alone", None, m.item, m.per, Amount(m.amount),
             "example price" if m.example else None, m.figure, m.note)
            for m in group.bulls_alone.lines
        )  # fmt: skip
    return Table("Costs", columns, tuple(rows), named_by=2)


def _wall(utc: datetime, zone: ZoneInfo) -> datetime:
    """Return the ranch's clock without a zone: cells hold wall times, and the sheet says whose."""
    return to_local(utc, zone).replace(tzinfo=None)
