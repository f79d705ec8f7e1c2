"""What an arm of a trial cannot mean, though each of its keys can be read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.forecast.trial import CLASSES
from sunup.forecast.trial_tables import EXAMPLES, warn
from sunup.physiology.orders import Act, Rule, Who

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sunup.base.problems import Problem
    from sunup.forecast.trial import Scoring
    from sunup.library.toml_tables import Table
    from sunup.physiology.orders import Order

BY_HEAT = frozenset({Who.IN_HEAT, Who.NOT_IN_HEAT})
BEGUN_BY = {
    Act.INSERT_OUT: Act.INSERT_IN,
    Act.MGA_END: Act.MGA_START,
    Act.CALVES_ON: Act.CALVES_OFF,
    Act.BULLS_OUT: Act.BULLS_IN,
}
ENDED_BY = {
    Act.INSERT_IN: Act.INSERT_OUT,
    Act.MGA_START: Act.MGA_END,
    Act.BULLS_IN: Act.BULLS_OUT,
}


def check_missing(table: Table, female: str, cyclic: float | None, scoring: Scoring) -> None:
    """Report what the file's own stand-ins would have to give and do not."""
    if female in CLASSES and cyclic is None and female not in scoring.cyclic_pct_missing:
        table.wrong(
            "cyclic_pct",
            f"it is missing, and [scoring] holds no cyclic_pct_missing of class '{female}'.",
            "Add it here or there.",
        )
    if female == "mixed" and "heifer" not in scoring.mixed_is:
        table.wrong(
            "class",
            "[scoring] does not say how many of a mixed arm are heifers.",
            "Add mixed_is = { cow = 0.5, heifer = 0.5 } there.",
        )


def check_figures(
    table: Table,
    told: Mapping[str, float | None],
    orders: Sequence[Order],
    *,
    of: str,
    to: str,
    has_window: bool,
) -> None:
    """Report figures that no replay of the steps could give."""
    has_rule = any(order.rule is not Rule.NONE for order in orders)
    acts = {order.act for order in orders}
    if all(value is None for value in told.values()):
        table.wrong(
            "pregnancy",
            "the arm reports no figure, so there is nothing to compare.",
            f"Add pregnancy = {EXAMPLES['pregnancy']}, or estrus or conception.",
        )
    if of == "in_heat_at_timed_ai" and not has_window:
        table.wrong(
            "conception.of",
            "it is of females seen in heat, and the arm has no estrus window.",
            "Add estrus = { from_h = ..., to_h = ... }.",
        )
    if of == "inseminated_on_heat" and not has_rule:
        table.wrong(
            "conception.of",
            "it is of females inseminated on heat, and no watch inseminates.",
            'Add inseminate = "am_pm" (or after_12h, once_daily) to the watch step.',
        )
    if Act.AI in acts or has_rule:
        return
    if Act.BULLS_IN not in acts and (of or to):
        table.wrong("steps", "no step inseminates.", "Add the ai or watch step of the paper.")
    elif of or to == "first_ai":
        table.wrong(
            "steps",
            "no step inseminates, and calves of the bulls are no pregnancy to first AI.",
            'Add the ai or watch step of the paper, or write to = "period".',
        )


def check_steps(
    table: Table, orders: Sequence[Order], warnings: list[Problem], *, female: str, has_window: bool
) -> None:
    """Report steps that nothing before them, or nothing after them, gives a sense.

    Parameters
    ----------
    table : Table
        The arm.
    orders : sequence of Order
        Of its steps, in file order, none left out.
    warnings : list of Problem
        Takes what might be meant; faults go to the reading of the table.
    female : str
    has_window : bool
        Whether the arm has hours that count from the clock PGF.
    """
    run = sorted(enumerate(orders, 1), key=lambda one: (one[1].hour, one[1].act is Act.AI))
    acts = [order.act for _, order in run]
    for place, (number, order) in enumerate(run):
        key, word = f"steps[{number}]", order.act.name.lower()
        begun, ended = BEGUN_BY.get(order.act), ENDED_BY.get(order.act)
        if begun is not None and begun not in acts[:place]:
            first = begun.name.lower()
            table.wrong(key, f"'{word}' comes before any '{first}'.", f"Add the step '{first}'.")
        if ended is not None and ended not in acts[place:]:
            last = ended.name.lower()
            what = f"no '{last}' follows the '{word}', which lasts to the end of the run."
            warn(warnings, table, key, what, f"Add the step '{last}', unless that is meant.")
        if order.act is Act.CALVES_OFF and female == "heifer":
            table.wrong(key, "heifers have no calves to take off.", "Correct class, or the step.")
        if order.who is Who.NOT_PREGNANT and Act.PREG_CHECK not in acts[:place]:
            what = "it is for those not found pregnant, and nobody has looked before it."
            table.wrong(f"{key}.who", what, "Add a step preg_check before it, or correct who.")
        if order.judged_h is None:
            continue
        if order.who not in BY_HEAT:
            what = "it is not used: the step is not for those in heat or not in heat."
            warn(warnings, table, f"{key}.judged_at", what, "Add who, or delete judged_at.")
        elif order.judged_h > order.hour:
            what = f"heat is judged at hour {order.judged_h:g}, after the step itself."
            table.wrong(f"{key}.judged_at", what, f"Let it be at most {order.hour:g}.")
    by_heat = has_window or any(order.who in BY_HEAT for order in orders)
    if by_heat and Act.PGF not in acts:
        what = "no PGF is given, so that hours of heat count from hour 0 of the steps."
        fix = "Let from_h and to_h count from there; in_heat too is heat seen since hour 0."
        warn(warnings, table, "steps", what, fix)
