"""Tags that would be printed alike are printed apart: each with its row in the herd list.

Where the fonts cannot draw a character a question mark stands for it, so two tags may look the
same on a sheet beside the chute, and one cow would get the other's treatment.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.base.problems import Problem, Severity
from sunup.reports.printable import printable

if TYPE_CHECKING:
    from sunup.planning.plan import FemaleLine, Plan

_SHOWN = 6


def with_tags_apart(plan: Plan) -> tuple[Plan, tuple[Problem, ...]]:
    """Return the plan as it is to be printed, and what is to be said of tags that look alike.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    plan : Plan
        The same where no two tags look alike on paper. Else those that do have their row behind
        them: ``?5 (row 12)``.
    problems : tuple of Problem
        One that names them, or none.
    """
    looks: dict[str, list[FemaleLine]] = defaultdict(list)
    for female in plan.females:
        looks[printable(female.tag)[0]].append(female)
    alike = {look: group for look, group in looks.items() if len(group) > 1}
    if not alike:
        return plan, ()
    printed = {f.tag: f"{look} (row {f.row})" for look, group in alike.items() for f in group}
    told = Problem(
        "packet.pdf",
        f"The fonts cannot draw all of these tags, and on paper they would look alike: "
        f"{_listed(alike)}. Each is printed with its row in the herd list.",
        "Give these females tags of letters and digits, or write rows and tags on the sheets.",
        Severity.WARNING,
    )
    apart = replace(
        plan,
        females=tuple(replace(f, tag=printed.get(f.tag, f.tag)) for f in plan.females),
        groups=tuple(
            replace(group, order=tuple(printed.get(tag, tag) for tag in group.order))
            for group in plan.groups
        ),
        problems=(*plan.problems, told),
    )
    return apart, (told,)


def _listed(alike: dict[str, list[FemaleLine]]) -> str:
    named = [
        f"{f.tag} in row {f.row}, printed {look}" for look, group in alike.items() for f in group
    ]
    more = f" and {len(named) - _SHOWN} more" if len(named) > _SHOWN else ""
    return "; ".join(named[:_SHOWN]) + more
