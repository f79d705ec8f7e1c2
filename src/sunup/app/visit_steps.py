"""Steps of a visit by name, and what was said of the bottle of each."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from sunup.base.problems import UsageError
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sunup.app.desk import Desk
    from sunup.planning.plan import GroupPlan, ScheduledStep

T = TypeVar("T")


class UnknownStepError(UsageError):
    """A step or visit the group's plan does not have."""

    def __init__(self, group: str, name: str, known: Sequence[str]) -> None:
        super().__init__(f"The plan of {group} has no '{name}'. It has: {', '.join(known)}.")


def find_steps(group: GroupPlan, name: str) -> tuple[ScheduledStep, ...]:
    """The steps of a visit, or one step, of a group's plan, by id.

    Raises
    ------
    UnknownStepError
    """
    live = [s for s in group.schedule if not s.cancelled]
    of_visit = tuple(s for s in live if s.visit == name)
    one = tuple(s for s in live if s.id == name)
    # a visit is named after its first step: the whole visit is what passes through the chute
    found = of_visit or one
    if not found:
        visits = dict.fromkeys(s.visit for s in live)
        raise UnknownStepError(group.name, name, [*visits])
    return found


def said_of(said: Mapping[str, T], do: str) -> T | None:
    """What was said of one step's drug, else of all."""
    return said.get(do, said.get(""))


def find_drug_words(
    desk: Desk, group_name: str, visit: str, said: Sequence[str], flag: str
) -> dict[str, str]:
    """Read what was said of the bottles of a visit: TEXT, or STEP=TEXT where there are several.

    Raises
    ------
    UsageError
        If it is not clear which drug is meant, or the visit has no such one.
    """
    group = desk.season.group(desk.need_group(group_name))
    steps = find_steps(group, visit) if group is not None else ()
    drugs = list(dict.fromkeys(s.do for s in steps if s.dose is not None))
    found: dict[str, str] = {}
    for text in said:
        name, equals, value = text.partition("=")
        key = {"insert": Do.INSERT_IN.value}.get(name.strip().lower(), name.strip().lower())
        if not equals:
            if len(drugs) > 1 and flag != "--withdrawal":
                message = (
                    f"{flag} {text}: of which? {' or '.join(f'{flag} {d}={text}' for d in drugs)}."
                )
                raise UsageError(message)
            found[""] = text.strip()
        elif key not in drugs:
            message = f"{flag} {text}: this visit gives {', '.join(drugs) or 'no drug'}."
            raise UsageError(message)
        else:
            found[key] = value.strip()
    return found
