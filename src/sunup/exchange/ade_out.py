"""The ledger as ADE resources: animals, groups, events, in the order they are to be read.

`meta.sourceId` is the id of our event, so that a later export of the same fact replaces it; a fact
taken back goes out once more with `isDeleted`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from sunup.exchange import ade_words as ade
from sunup.exchange.ade_lost import Lost, find_lost
from sunup.exchange.ade_out_animals import animal_resource, animal_words, calved_before, tombstone
from sunup.exchange.ade_out_bulls import bull_resources
from sunup.exchange.ade_out_events import GROUPWISE, bare, event_fields
from sunup.exchange.ade_times import ade_time, at_noon, when_words
from sunup.exchange.drafts import draw_id
from sunup.exchange.roster import build_roster
from sunup.exchange.standing import stand
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from datetime import datetime

    from sunup.exchange.roster import Known, Roster
    from sunup.exchange.standing import Standing
    from sunup.records.event import Event

Resource = dict[str, Any]


@dataclass(frozen=True, slots=True)
class AdeExport:
    """Resources in the order of reading, and what of the ledger they do not hold."""

    resources: tuple[Resource, ...]
    lost: tuple[Lost, ...]


def export_ade(
    events: Iterable[Event],
    *,
    ranch: str,
    shows_heat: Callable[[Standing], bool] = lambda _: False,
) -> AdeExport:
    """Write a ledger as ADE resources.

    Parameters
    ----------
    events : iterable of Event
        Of one ranch, in any order.
    ranch : str
    shows_heat : callable
        Whether the reading of a heat aid means she is in heat; no reading is written without it.

    Returns
    -------
    AdeExport
    """
    standing = stand(events)
    roster = build_roster(standing)
    location = {"scheme": ade.RANCH_SCHEME, "id": ranch}
    out: list[Resource] = []
    same_since = {
        str(one.filed_under): one.created_at
        for one in standing
        if one.kind is Kind.IDENTIFIED and not one.is_taken_back
    }
    for one in standing:
        if one.kind is not Kind.FEMALE_ADDED:
            continue
        known = roster.by_id.get(one.female or "")
        if known is None or known.added is not one:
            deleted_at = same_since.get(one.filed_under or "", one.modified_at)
            out.append(_wrapped(tombstone(one), one, location, at=max(deleted_at, one.modified_at)))
            out[-1]["meta"]["isDeleted"] = True
        else:
            resource = animal_resource(known)
            out.append(_wrapped(resource, one, location, at=_changed_at(known, one)))
    out += _sets(roster, ranch, location)
    aids, groupwise = 0, 0
    happened: list[tuple[Any, Resource]] = []
    for one in standing:
        known = roster.by_id.get(one.female or "")
        if known is None:
            groupwise += one.kind in GROUPWISE and not one.is_taken_back
            continue
        if one is known.added:
            before = calved_before(known)
            if before is not None:
                alone = replace(one, body={}, id=draw_id(one.id, "calved_on"))
                resource = _wrapped(before, alone, location, at=_changed_at(known, one))
                happened.append((resource["eventDateTime"], resource))
            continue
        if one.kind is Kind.HEAT_AID_READ and not shows_heat(one):
            aids += 1
            continue
        # filed under another since she was found to be the same: that changed what is written
        since = same_since.get(one.filed_under or "", one.modified_at)
        made = _event(one, known, location, max(one.modified_at, since))
        if made is not None:
            happened.append((made["eventDateTime"], made))
    happened += [
        (resource["eventDateTime"], _wrapped(resource, one, location, at=at, id_=id_))
        for resource, one, at, id_ in bull_resources(standing, roster)
    ]
    happened.sort(key=lambda pair: (pair[0], pair[1]["meta"]["sourceId"]))
    out += [resource for _, resource in happened]
    lost = find_lost(standing, aids_without_heat=aids, groupwise=groupwise)
    return AdeExport(tuple(out), tuple(lost))


def by_type(resources: Sequence[Resource]) -> dict[str, list[Resource]]:
    """Part resources by their type, each in the order given: one file a type."""
    parted: dict[str, list[Resource]] = {}
    for one in resources:
        parted.setdefault(one["resourceType"], []).append(one)
    return parted


def _changed_at(known: Known, added: Standing) -> datetime:
    """When what is written of a female as such was last changed."""
    changed = {Kind.TAG_CHANGED, Kind.LEFT_HERD}
    facts = [fact.created_at for fact in known.facts if fact.kind in changed]
    return max([added.modified_at, *facts])


def _event(
    one: Standing, known: Known, location: dict[str, str], changed_at: datetime
) -> Resource | None:
    made = event_fields(at_noon(one))
    if made is None:
        return None
    name, fields = made
    resource = {
        "resourceType": name,
        "animal": animal_words(known),
        "eventDateTime": when_words(one),
        **fields,
    }
    return _wrapped(resource, one, location, at=changed_at)


def _wrapped(
    resource: Resource,
    one: Standing,
    location: dict[str, str],
    *,
    at: datetime | None = None,
    id_: str | None = None,
) -> Resource:
    """Put location and meta to a resource, and what came with it where it was read from a file."""
    origin = one.body.get("ade")
    origin = origin if isinstance(origin, dict) else {}
    kept = origin.get("kept")
    kept = dict(kept) if isinstance(kept, dict) else {}
    meta = {
        "source": origin.get("source") or ade.OURS,
        "sourceId": origin.get("sourceId") or id_ or one.id,
        "created": ade_time(one.created_at),
        "modified": ade_time(at or one.modified_at),
        "creator": one.by,
        "isDeleted": True if one.is_taken_back else None,
    }
    place = kept.pop("location", location)
    return {**kept, **bare(resource), "location": place, "meta": bare(meta)}


def _sets(roster: Roster, ranch: str, location: dict[str, str]) -> list[Resource]:
    """Write each group with who is in it now."""
    members: dict[str, list[Known]] = {}
    for known in roster.by_id.values():
        if known.group and known.is_here:
            members.setdefault(known.group, []).append(known)
    out = []
    for group, females in sorted(members.items()):
        id_ = draw_id(ranch, "group", group)
        moves = [
            fact.created_at
            for one in females
            for fact in one.facts
            if fact.kind is Kind.MOVED and fact.body.get("to") == group
        ]
        since = ade_time(max(moves))
        resource = {
            "resourceType": ade.SET,
            "id": id_,
            "name": group,
            "purpose": "Reproduction",
            "member": sorted((animal_words(one) for one in females), key=lambda one: one["id"]),
            "location": location,
            "meta": {"source": ade.OURS, "sourceId": id_, "created": since, "modified": since},
        }
        out.append(resource)
    return out
