"""Use-cases of taking back and putting right: corrections, never erasure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sunup.base.problems import UsageError
from sunup.records.bodies import ANY, BODIES, Field
from sunup.records.corrections import stand
from sunup.records.event import Event, Kind
from sunup.records.forms import TYPE_WORDS, find_faults
from sunup.records.order import happened_at
from sunup.records.upcast import upcast

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from sunup.app.desk import Desk

# what belongs to the plan is changed by the plan's own use-cases
_NOT_UNDONE = frozenset({Kind.PLAN_ADOPTED, Kind.PLAN_CHANGED, Kind.FORECAST_KEPT})
_SHORT = 4
LAST = "last"  # typed in place of a number


class NothingToUndoError(UsageError):
    """There is no entry to take back."""

    def __init__(self, device: str = "", by: str | None = None) -> None:
        here = f"made on this computer ({device})" if device else ""
        who = f"of {by}" if by else ""
        words = " ".join(("There is no entry", *filter(None, (who, here)), "to take back."))
        super().__init__(
            f"{words} sunup record last shows what was kept; sunup record undo NUMBER takes back "
            "one of another."
        )


class UnknownEventError(UsageError):
    """No event begins with what was typed, or several do."""

    def __init__(self, text: str, n: int) -> None:
        found = "No entry begins" if n == 0 else f"{n} entries begin"
        super().__init__(
            f"{found} with '{text}'. sunup record last shows the numbers, of one female's with "
            "--tag TAG; give all of it."
        )


class WhichOfEntryError(UsageError):
    """The last entry holds several records, or none."""

    def __init__(self, told: Sequence[Event], *, of_her: bool) -> None:
        if not told:
            super().__init__(
                "There is no entry of hers made on this computer."
                if of_her
                else "There is no entry made on this computer yet."
            )
            return
        what = f"The last entry holds {len(told)} records{' of her' if of_her else ''}."
        each = ", ".join(f"{e.id[:8]} ({e.body.get('act') or e.kind.value})" for e in told)
        super().__init__(
            f"{what} Give the number of one: {each}."
            if of_her
            else f"{what} Say of whom: --tag TAG; or give the number of one (sunup record last "
            "--tag TAG)."
        )


@dataclass(frozen=True, slots=True)
class Undone:
    """Entries taken back or put right as they stood, the corrections, and how they stand now."""

    entries: tuple[Event, ...]
    corrections: tuple[Event, ...]
    now: tuple[Event, ...] = ()


def last_entries(desk: Desk, n: int = 20) -> list[list[Event]]:
    """The last entries that still stand, latest first; what was entered together is one.

    Latest is what this ledger took last, whatever hour the clock showed: a clock may stand wrong,
    and another device's entries may be older or newer than ours.
    """
    standing = desk.standing
    place = {event.id: i for i, event in enumerate(desk.events)}
    with_plan = {_entry(e) for e in standing if e.kind in _NOT_UNDONE}
    batches: dict[tuple[datetime, str, str], list[Event]] = {}
    for event in standing:
        if _entry(event) not in with_plan:
            batches.setdefault(_entry(event), []).append(event)
    taken = {key: max(place.get(e.id, 0) for e in told) for key, told in batches.items()}
    return [batches[key] for key in sorted(batches, key=lambda key: -taken[key])[:n]]


def _entry(event: Event) -> tuple[datetime, str, str]:
    """What was entered at one instant, by one person on one device, is one entry."""
    return event.entered_at, event.entered_by, event.device


def _own_entries(desk: Desk, *, female: str | None, by: str | None = None) -> list[list[Event]]:
    """The entries made on this device, latest first; of one female or person only."""
    own = desk.writer.device
    told = [
        entry
        for entry in last_entries(desk, n=len(desk.events))
        if entry[0].device == own and by in {None, entry[0].entered_by}
    ]
    if female is not None:
        told = [[e for e in entry if e.female == female] for entry in told]
    return [entry for entry in told if entry]


def events_of(desk: Desk, female: str, n: int) -> list[list[Event]]:
    """The last events of one female, each by itself, latest first."""
    entries = last_entries(desk, n=len(desk.events))
    hers = [[e] for entry in entries for e in entry if e.female == female]
    return hers[:n]


def find_event(desk: Desk, text: str, *, female: str | None = None) -> Event:
    """The event whose id begins with what was typed; "last" is the last entry, if it is one event.

    Parameters
    ----------
    desk : Desk
    text : str
    female : str, optional
        Id of the female: only of her; "last" is then what the last entry that names her said.

    Raises
    ------
    UnknownEventError, WhichOfEntryError
    """
    if text.strip().lower() == LAST:
        newest = next(iter(_own_entries(desk, female=female)), [])
        if len(newest) != 1:
            raise WhichOfEntryError(newest, of_her=female is not None)
        return newest[0]
    found = [
        e
        for e in desk.standing
        if e.id.startswith(text.strip().lower()) and female in {None, e.female}
    ]
    if len(found) != 1 or len(text.strip()) < _SHORT:
        raise UnknownEventError(text, len(found) if len(text.strip()) >= _SHORT else 0)
    return found[0]


def undo(
    desk: Desk,
    *,
    event: str | None = None,
    female: str | None = None,
    by: str | None = None,
    why: str | None = None,
) -> Undone:
    """Take back an entry: the last one, one event, or what the last entry said of one female.

    Without a number only what was entered on this device is taken back: what came in from another
    is that one's to undo.

    Parameters
    ----------
    desk : Desk
    event : str, optional
        Begin of an event's id.
    female : str, optional
        Id of the female: only what the last entry that names her said of her.
    by : str, optional
        Only what this person entered.
    why : str, optional

    Raises
    ------
    NothingToUndoError, UnknownEventError
    """
    if event is not None:
        taken: Sequence[Event] = [find_event(desk, event)]
    else:
        taken = next(iter(_own_entries(desk, female=female, by=by)), [])
    if not taken:
        raise NothingToUndoError(desk.writer.device, by)
    pen = desk.writer.batch()
    corrections = tuple(
        pen.write(
            Kind.CORRECTED,
            {"taken_back": True, "why": why},
            female=one.female,
            group=one.group,
            corrects=one.id,
        )
        for one in taken
    )
    desk.append(corrections)
    return Undone(tuple(taken), corrections)


def put_right(
    desk: Desk,
    event: str,
    *,
    at: datetime | None = None,
    female: str | None = None,
    changes: Mapping[str, Any] | None = None,
    why: str | None = None,
) -> Undone:
    """State how an entry really was: another time, another female, other values.

    Raises
    ------
    UnknownEventError
    UsageError
        If nothing is to be changed.
    """
    found = find_event(desk, event)
    if at is None and female is None and not changes:
        message = "Say what was wrong: --at, --female or --set FIELD=VALUE."
        raise UsageError(message)
    first = next(e for e in desk.events if e.id == found.id)
    body: dict[str, Any] = {"taken_back": False, "why": why}
    # the correction entered last holds alone: what an earlier one put right is said again in it
    if at is not None or found.occurred_at != happened_at(first):
        body["occurred_at"] = (at or found.occurred_at).isoformat().replace("+00:00", "Z")
    if female is not None or found.female != first.female:
        body["female"] = female or found.female
    if found.group != first.group:
        body["group"] = found.group
    if changes or found.body != upcast(first).body:
        body["body"] = {**found.body, **(changes or {})}
        body["body_version"] = found.version
    correction = desk.writer.write(
        Kind.CORRECTED, body, female=found.female, group=found.group, corrects=found.id
    )
    desk.append([correction])
    after = stand([first, *(e for e in desk.events if e.kind is Kind.CORRECTED), correction])
    (now,) = [e for e in after if e.id == found.id]
    return Undone((found,), (correction,), (now,))


def read_changes(desk: Desk, event: str, pairs: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """Read FIELD=VALUE texts by the fields the event's kind has.

    Raises
    ------
    UsageError
        If the kind has no such field, or the value is of another type.
    """
    if not pairs:
        return {}
    found = find_event(desk, event)
    fields = BODIES[found.kind]
    changes = {key: _value(key, text, fields) for key, text in pairs}
    texts = dict(pairs)
    for key, _, what in find_faults(found.kind, {**found.body, **changes}):
        if key in changes:
            message = f"--set {key}={texts[key]}: {what}"
            raise UsageError(message)
    return changes


def _value(key: str, text: str, fields: Mapping[str, Field]) -> Any:
    known = fields.get(key)
    if known is None:
        message = f"--set {key}: this entry has no '{key}'. It has: {', '.join(fields)}."
        raise UsageError(message)
    if known.choices and text not in known.choices:
        message = f"--set {key}={text}: choose one of {', '.join(known.choices)}."
        raise UsageError(message)
    if known.type in {"number", "whole"}:
        return _number(key, text, known)
    if known.type == "flag":
        if text.lower() not in {"yes", "no", "true", "false"}:
            message = f"--set {key}={text}: write yes or no."
            raise UsageError(message)
        return text.lower() in {"yes", "true"}
    if known.type == "texts":
        return [part.strip() for part in text.split(",") if part.strip()]
    if known.type in {"object", "objects"}:
        message = (
            f"--set {key}: it holds several values ({TYPE_WORDS[known.type]}) and cannot be set "
            "here. Take the entry back (sunup record undo NUMBER) and record it anew."
        )
        raise UsageError(message)
    return text


def _number(key: str, text: str, known: Field) -> float:
    try:
        value = int(text) if known.type == "whole" else float(text)
    except ValueError:
        message = f"--set {key}={text}: {TYPE_WORDS[known.type]} is wanted ({known.meaning})."
        raise UsageError(message) from None
    least, most = known.span or (-ANY, ANY)
    if not least <= value <= most:
        span = f"{least:g} to {most:g}" if most < ANY else f"{least:g} or more"
        message = f"--set {key}={text}: it is {span} ({known.meaning}). Nothing was changed."
        raise UsageError(message)
    return value
