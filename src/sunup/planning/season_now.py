"""A running season at an instant: the plan in force and everybody it is about."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sunup.planning.progress import GroupProgress, follow_group

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime, time
    from zoneinfo import ZoneInfo

    from sunup.forecast.gestation import Shares
    from sunup.planning.expected_heats import KeptHeats
    from sunup.planning.females_now import FemaleNow
    from sunup.planning.nitrogen import Level
    from sunup.planning.plan import GroupPlan, Plan
    from sunup.planning.progress import Act
    from sunup.planning.stock import Change, Count


@dataclass(frozen=True, slots=True)
class PlanInForce:
    """A plan adopted for a season, as it now stands. `event` set it: a change must name it."""

    plan: Plan
    plan_id: str
    season: str
    adopted_at: datetime
    event: str


@dataclass(frozen=True, slots=True)
class SeasonNow:
    """Everything Today, the recording and the lists are made from.

    Parameters
    ----------
    ranch : str
    zone : ZoneInfo
    at : datetime
        The instant it is looked at.
    females : mapping of id to FemaleNow
    near_h : float
        Within so many hours an act that names no step counts for one. [h]
    in_force : PlanInForce or None
    group_acts : mapping of group to acts
        Recorded of the group as a whole.
    kept : mapping of group to KeptHeats
        Heats of the forecasts kept with the plan.
    changes, counts : sequences
        Stock as bought, lost and counted; use comes from the females.
    levels : mapping of tank to readings
    acknowledged : mapping of person to what they read
        Cautions read, by name of the active.
    once_a_day : time or None
        When the ranch inseminates where its rule is once a day.
    sire_breeds : mapping of sire_key to breed shares
        Where they were said.
    """

    ranch: str
    zone: ZoneInfo
    at: datetime
    females: Mapping[str, FemaleNow]
    near_h: float
    in_force: PlanInForce | None = None
    group_acts: Mapping[str, Sequence[Act]] = field(default_factory=dict)
    kept: Mapping[str, KeptHeats] = field(default_factory=dict)
    changes: Sequence[Change] = ()
    counts: Sequence[Count] = ()
    levels: Mapping[str, Sequence[Level]] = field(default_factory=dict)
    acknowledged: Mapping[str, frozenset[str]] = field(default_factory=dict)
    once_a_day: time | None = None
    sire_breeds: Mapping[str, Shares] = field(default_factory=dict)

    def group(self, name: str) -> GroupPlan | None:
        """A group of the plan in force."""
        if self.in_force is None:
            return None
        return next((g for g in self.in_force.plan.groups if g.name == name), None)

    def by_tag(self) -> dict[str, list[FemaleNow]]:
        """Females by every tag and electronic code they wear now; several may share one."""
        found: dict[str, list[FemaleNow]] = {}
        for female in self.females.values():
            for name in (female.tag, female.facts.rfid):
                if name:
                    found.setdefault(name, []).append(female)
        return found


def members(season: SeasonNow, group: GroupPlan) -> tuple[FemaleNow, ...]:
    """The females a group's schedule is for, in treatment order.

    Those the plan counted on that are still in the group, then those who joined after the plan was
    adopted, or got one of its treatments all the same, by tag.
    """
    place = {tag: i for i, tag in enumerate(group.order)}
    adopted = season.in_force.adopted_at if season.in_force else season.at
    step_ids = {step.id for step in group.schedule}
    planned: list[tuple[int, FemaleNow]] = []
    joined: list[FemaleNow] = []
    for female in season.females.values():
        if female.group != group.name or not female.is_here:
            continue
        places = [place[tag] for tag in (female.tag, *female.tags) if tag in place]
        if places:
            planned.append((places[0], female))
        elif (female.joined_at is not None and female.joined_at > adopted) or any(
            act.step in step_ids and act.at > adopted for act in female.acts
        ):
            joined.append(female)
    planned.sort(key=lambda item: item[0])
    return (*(f for _, f in planned), *sorted(joined, key=lambda f: f.tag))


def follow(season: SeasonNow, group: GroupPlan) -> GroupProgress:
    """A group's schedule laid over what was recorded."""
    return follow_group(
        group.name,
        group.schedule,
        {f.id: f.history() for f in members(season, group)},
        at=season.at,
        zone=season.zone,
        near_h=season.near_h,
        as_group=season.group_acts.get(group.name, ()),
    )
