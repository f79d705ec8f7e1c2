"""Use-cases of who is held back: from a visit, from a group's whole schedule."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.planning.held_back import find_held, hold_back
from sunup.planning.readiness import ReadinessFigures
from sunup.planning.season_now import follow

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from datetime import datetime

    from sunup.app.desk import Desk
    from sunup.planning.plan import GroupPlan
    from sunup.planning.progress import GroupProgress, Held


def follow_held(desk: Desk, group: GroupPlan) -> GroupProgress:
    """A group's schedule over what was recorded, females taken out of what they are held from."""
    told = follow(desk.season, group)
    return hold_back(told, find_held(desk.season, [told], ReadinessFigures(desk.library)))


def find_held_at(
    desk: Desk, group: GroupPlan, steps: Collection[str], *, at: datetime
) -> dict[str, Held]:
    """Females held back from steps of a group done at an instant, by id, with why."""
    told = follow(desk.season, group)
    held = find_held(desk.season, [told], ReadinessFigures(desk.library), at=at)
    return by_female(held, steps)


def by_female(held: Mapping[tuple[str, str], Held], steps: Collection[str]) -> dict[str, Held]:
    """Females held back from any of some steps, by id; what is refused says why first."""
    found: dict[str, Held] = {}
    for (female, step), why in held.items():
        if step in steps and not (female in found and found[female].is_refused):
            found[female] = why
    return found
