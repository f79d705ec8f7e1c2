"""Use-case: sires chosen ahead of the day from the shares the plan has for each group."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sunup.planning.plan import TO_CHOOSE
from sunup.planning.season_now import members
from sunup.planning.sire_shares import ToServe, share_out
from sunup.records.event import Event, Kind

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from datetime import datetime

    from sunup.app.desk import Desk
    from sunup.planning.females_now import FemaleNow


@dataclass(frozen=True, slots=True)
class GivenOut:
    """Sires given out to one group: how many females each, who was left as chosen before.

    `only_kin` are tags of females whose sire or dam's sire is every sire the plan has for them.
    """

    group: str
    counts: Mapping[str, int]
    kept: int
    only_kin: tuple[str, ...]


def assign_from_plan(
    desk: Desk,
    tags: Collection[str] | None = None,
    *,
    at: datetime | None = None,
    again: bool = False,
) -> tuple[tuple[GivenOut, ...], tuple[Event, ...]]:
    """Choose a sire for every female of the plan by its shares, with alternates, none near kin.

    Parameters
    ----------
    desk : Desk
    tags : collection of str, optional
        Only these females.
    at : datetime, optional
    again : bool
        Also females a sire was chosen for before; without it they are left as they are.

    Returns
    -------
    tuple of GivenOut, one for each group with sires, and the events kept

    Raises
    ------
    NoSeasonError
        If no plan was adopted.
    """
    in_force = desk.need_plan()
    desk = replace(desk, writer=desk.writer.batch())
    by_tag = desk.season.by_tag()
    events: list[Event] = []
    told: list[GivenOut] = []
    for group in in_force.plan.groups:
        named = [use for use in group.sires if use.code != TO_CHOOSE]
        if not named:
            continue
        asked = [
            f for f in members(desk.season, group) if tags is None or {f.tag, *f.tags} & {*tags}
        ]
        open_ = [f for f in asked if again or not f.assigned]
        shared = share_out([_to_serve(f, by_tag) for f in open_], named)
        events += [
            desk.writer.write(
                Kind.SIRE_ASSIGNED,
                {
                    "sire": one.sire,
                    "alternates": list(one.alternates) or None,
                    "semen": one.semen,
                },
                at=at,
                female=female,
            )
            for female, one in shared.chosen.items()
        ]
        counts = Counter(one.sire for one in shared.chosen.values())
        told.append(GivenOut(group.name, dict(counts), len(asked) - len(open_), shared.only_kin))
    if events:
        desk.append(events)
    return tuple(told), tuple(events)


def _to_serve(female: FemaleNow, by_tag: Mapping[str, list[FemaleNow]]) -> ToServe:
    """A female with her sire, and her dam's where the dam is on file under one tag."""
    dams = by_tag.get(female.facts.dam or "", [])
    dams_sire = dams[0].facts.sire if len(dams) == 1 else None
    return ToServe(female.id, female.tag, female.facts.sire, dams_sire)
