"""What the ledger knows against treating a female that a plan has among those to be treated."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.base.hours import to_local
from sunup.base.problems import Problem, Severity
from sunup.planning.exposure import ExposureFigures, find_doubt
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.app.desk import Desk
    from sunup.planning.females_now import FemaleNow
    from sunup.planning.plan import GroupPlan
    from sunup.records.female import Female

_FIX = (
    "Do not treat them by this plan. Write the list anew from the ledger (sunup exchange write "
    "herd) and plan again, or move them out of the group (sunup season move)."
)


def doubt_planned(
    desk: Desk, group: GroupPlan, known: Mapping[str, FemaleNow], listed: Mapping[str, Female]
) -> tuple[Problem, ...]:
    """Name the females of a group's schedule that are pregnant, exposed or on hold by the ledger.

    Parameters
    ----------
    desk : Desk
    group : GroupPlan
    known : mapping of tag to FemaleNow
        Of the group's females those on file.
    listed : mapping of tag to Female
        The herd list: a due date in it is taken as it was for the plan.

    Returns
    -------
    tuple of Problem
        None, or one that names all of them.
    """
    figures = ExposureFigures.of(desk.library)
    steps = [s for s in group.schedule if not s.cancelled]
    days = [to_local(s.at_utc, desk.season.zone).date() for s in steps]
    pgf = [day for step, day in zip(steps, days, strict=True) if step.do == Do.PGF.value]
    if not days:
        return ()
    told = []
    for tag in group.order:
        her = known.get(tag)
        if her is None:
            continue
        due_on = listed[tag].due_on if tag in listed else None
        hold = her.hold_on(min(days))
        doubt = find_doubt(
            replace(her.facts, due_on=due_on), pgf_on=max(pgf or days), figures=figures
        )
        why = [f"on hold ({hold})"] if hold else []
        why += [doubt.text] if doubt is not None else []
        if why:
            told.append(f"{tag}: {'; '.join(why)}")
    if not told:
        return ()
    n = len(told)
    who = "1 female" if n == 1 else f"{n} females"
    verb = "is" if n == 1 else "are"
    what = (
        f"{who} whom this plan treats {verb} on hold or may be pregnant by the ledger. "
        f"{'. '.join(told)}."
    )
    return (Problem(group.name, what, _FIX, Severity.WARNING),)
