"""Bulls in and out as runs with a bull, one for each female: ADE knows no group with a bull."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.hours import find_zone, to_local
from sunup.exchange import ade_words as ade
from sunup.exchange.ade_out_animals import animal_words
from sunup.exchange.ade_out_events import bare
from sunup.exchange.ade_times import when_words
from sunup.exchange.drafts import draw_id
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import datetime

    from sunup.exchange.roster import Known, Roster
    from sunup.exchange.standing import Standing

NOT_NAMED = "not named"


def bull_resources(
    standing: Sequence[Standing], roster: Roster
) -> Iterator[tuple[dict[str, Any], Standing, datetime, str]]:
    """Yield each run with a bull: resource, its event, when last changed, its id.

    A run of a group is one of each female who was in the group when the bulls went in.
    """
    outs = [one for one in standing if one.kind is Kind.BULLS_OUT and not one.is_taken_back]
    ins = [one for one in standing if one.kind is Kind.BULLS_IN]
    for one in ins:
        if one.female is not None:
            known = roster.by_id.get(one.female)
            members = [] if known is None else [known]
        else:
            members = [
                known for known in roster.by_id.values() if _was_in(known, one.group, one.at)
            ]
        for known in members:
            own = one.female is not None
            end = _end(one, outs, known)
            resource = bare(
                {
                    "resourceType": ade.INSEMINATION,
                    "animal": animal_words(known),
                    "eventDateTime": when_words(one),
                    "eventEndDateTime": when_words(end) if end else None,
                    "inseminationType": "RunWithBull",
                    "sireIdentifiers": [
                        {"scheme": ade.SIRE_SCHEME, "id": str(name)}
                        for name in one.body.get("bulls") or ()
                        if name and name != NOT_NAMED
                    ],
                    "remark": one.body.get("note"),
                }
            )
            changed = max([one.modified_at, *([end.modified_at] if end else [])])
            yield resource, one, changed, one.id if own else draw_id(one.id, known.id)


def _end(one: Standing, outs: Sequence[Standing], known: Known) -> Standing | None:
    """Find when the bulls went out: of her, or of the group they went into."""
    for out in outs:
        hers = out.female == known.id
        theirs = one.group is not None and out.female is None and out.group == one.group
        if (hers or theirs) and _is_after(out, one):
            return out
    return None


def _is_after(out: Standing, one: Standing) -> bool:
    """Whether bulls went out after they went in; on the same day where no hour is known."""
    if out.at >= one.at:
        return True
    if not (out.body.get("day_only") or one.body.get("day_only")):
        return False
    zone = find_zone(one.zone)
    return to_local(out.at, zone).date() == to_local(one.at, zone).date()


def _was_in(known: Known, group: str | None, at: datetime) -> bool:
    """Whether she was in a group, and in the herd, at an instant."""
    now, here = None, True
    for fact in known.facts:
        if fact.at > at:
            break
        if fact.kind is Kind.MOVED:
            now = fact.body.get("to")
        elif fact.kind is Kind.LEFT_HERD:
            here = False
    return here and now == group
