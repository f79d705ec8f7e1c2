"""ADE animal sets: who is in which group now."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.exchange.ade_checks import is_identifier
from sunup.exchange.ade_taking import key_of
from sunup.exchange.ade_times import read_ade_time
from sunup.exchange.drafts import Aside, Drafted, draw_id
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.exchange.ade_taking import AdeIntake, Here


def take_sets(here: Here, out: AdeIntake, sets: Sequence[tuple[str, dict[str, Any]]]) -> None:
    """Draft the moves that bring females into the sets they are members of.

    A female in two sets is put aside; one who is in a group here and in no set stays there.
    """
    groups: dict[str, list[tuple[str, dict[str, Any], str]]] = {}
    for place, one in sets:
        if here.exported.get(key_of(one)) == one:
            out.already += 1
            continue
        purpose = one.get("purpose")
        if str(purpose) not in {"None", "Reproduction"}:
            why = f"a set for {purpose} is no breeding group"
            out.aside.append(Aside(0, place, why, one))
            continue
        if one.get("meta", {}).get("isDeleted"):
            continue
        name = one.get("name") if isinstance(one.get("name"), str) else str(one["id"])
        for member in one["member"] if isinstance(one["member"], list) else ():
            female = here.names.find(member) if is_identifier(member) else None
            if female is None:
                why = f"a member of the set '{name}' is not known: {member}"[:200]
                out.aside.append(Aside(0, place, why, member))
            else:
                groups.setdefault(female, []).append((place, one, name or str(one["id"])))
    for female, found in groups.items():
        _move(here, out, female, found)


def _move(
    here: Here, out: AdeIntake, female: str, found: Sequence[tuple[str, dict[str, Any], str]]
) -> None:
    place, one, name = found[0]
    known = here.roster.by_id.get(female)
    who = known.words if known else female
    if len({group for _, _, group in found}) > 1:
        names = " and ".join(sorted({group for _, _, group in found}))
        out.aside.append(Aside(0, place, f"{who} is in {names}: she can be in one"))
        return
    if known is not None and known.group == name:
        return
    text = one.get("meta", {}).get("modified")
    at = read_ade_time(text)[0] if text else here.now
    id_ = draw_id(*key_of(one), female, at.isoformat())
    if known is not None and any(fact.id == id_ for fact in known.facts):
        return
    if known is not None and not known.is_here:
        out.aside.append(Aside(0, place, f"{who}: the set '{name}' has her as a member"))
        return
    if known is not None:
        moves = [fact.created_at for fact in known.facts if fact.kind is Kind.MOVED]
        if moves and max(moves) >= at:
            why = f"{who} was moved to {known.group or 'no group'} later than the set says"
            out.aside.append(Aside(0, place, why))
            return
        out.differ(who, "group", known.group or "none", name)
    out.drafts.append(
        Drafted(
            id_,
            Kind.MOVED,
            female,
            at,
            {"to": name},
            entered_at=at,
        )
    )
