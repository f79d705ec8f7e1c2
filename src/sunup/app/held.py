"""Use-cases of who is held back: from a visit, from a group's whole schedule."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.planning.held_back import by_female, find_held, hold_back
from sunup.planning.readiness import ReadinessFigures
from sunup.planning.season_now import follow

if TYPE_CHECKING:
    from collections.abc import Collection
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
    return by_female((female, why) for (female, step), why in held.items() if step in steps)
