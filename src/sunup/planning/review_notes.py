"""What a review reads of a ledger: notes by female and by group, plans adopted, forecasts kept."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sunup.planning.females_now import Noted
from sunup.records.corrections import settle
from sunup.records.event import Kind
from sunup.records.forms import has_form
from sunup.records.identity import find_same
from sunup.records.order import each_once
from sunup.records.upcast import is_newer

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import datetime
    from typing import Any

    from sunup.records.corrections import Standing
    from sunup.records.event import Event


@dataclass(frozen=True, slots=True, kw_only=True)
class Adopted:
    """A plan adopted, as it now stands, with the forecasts kept with it, by group."""

    plan_id: str
    season: str
    at: datetime
    plan: Mapping[str, Any]
    forecasts: Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerNotes:
    """A ledger up to an instant, corrections applied."""

    females: Mapping[str, Sequence[Noted]]
    groups: Mapping[str, Sequence[Noted]]
    adopted: tuple[Adopted, ...]  # in order of adoption
    ranch: str


def read_notes(events: Iterable[Event], *, at: datetime) -> LedgerNotes:
    """Read what a review needs of a ledger.

    Parameters
    ----------
    events : iterable of Event
        Of one ranch, in any order, doubles allowed.
    at : datetime
        Later events are not seen.

    Returns
    -------
    LedgerNotes
        Those of each female begin with the entry that put her on file; two records of one animal
        are one.
    """
    unique, _ = each_once(events)
    # what cannot be read is kept by the ledger and told by sunup check; it is not counted here
    standing = [
        one
        for one in settle(unique).standing
        if one.at <= at
        and not is_newer(one.event.kind, one.event.version)
        and has_form(one.event.kind, one.event.body)
    ]
    same = find_same(s.event for s in standing)
    females: dict[str, list[Noted]] = defaultdict(list)
    groups: dict[str, list[Noted]] = defaultdict(list)
    for one in standing:
        event = one.event
        note = Noted(event.kind, one.at, event.body, event.entered_by, event.id)
        if event.female is not None:
            females[same.get(event.female, event.female)].append(note)
        elif event.group is not None:
            groups[event.group].append(note)
    return LedgerNotes(
        females={key: _added_first(notes) for key, notes in females.items()},
        groups=groups,
        adopted=_adopted(standing),
        ranch=standing[-1].event.ranch if standing else "",
    )


def _added_first(notes: list[Noted]) -> list[Noted]:
    """Her listed entry first, whenever it was made; other entries of the same animal dropped."""
    added = [n for n in notes if n.kind is Kind.FEMALE_ADDED]
    listed = [n for n in added if n.body.get("listed", True)] or added
    return [*listed[:1], *(n for n in notes if n.kind is not Kind.FEMALE_ADDED)]


def _adopted(standing: Iterable[Standing]) -> tuple[Adopted, ...]:
    plans: dict[str, Adopted] = {}
    forecasts: dict[str, dict[str, Mapping[str, Any]]] = defaultdict(dict)
    for one in standing:
        event = one.event
        body = event.body
        plan_id = str(body.get("plan_id", ""))
        if event.kind is Kind.PLAN_ADOPTED:
            plans[plan_id] = Adopted(
                plan_id=plan_id,
                season=str(body.get("season", "")),
                at=one.at,
                plan=body["plan"],
                forecasts={},
            )
        elif event.kind is Kind.PLAN_CHANGED and plan_id in plans:
            plans[plan_id] = replace(plans[plan_id], plan=body["plan"])
        elif event.kind is Kind.FORECAST_KEPT:
            told = body.get("forecast") or {}
            group = str(event.group or told.get("group") or "")
            # the first one kept is the one made before the season
            forecasts[plan_id].setdefault(group, told)
    return tuple(replace(plan, forecasts=forecasts[plan.plan_id]) for plan in plans.values())
