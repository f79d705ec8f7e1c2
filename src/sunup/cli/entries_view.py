"""How entries read: what was kept, when and by whom, with the number to take it back by."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.problems import some
from sunup.cli.desk import clock, tell
from sunup.cli.show import console, print_table
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sunup.app.desk import Desk
    from sunup.app.undo import Undone
    from sunup.planning.warnings import Flag
    from sunup.records.event import Event

NUMBER = 8  # characters of an id that name it

WORDS = {
    Kind.FEMALE_ADDED: "added",
    Kind.IDENTIFIED: "identified",
    Kind.TAG_CHANGED: "tag changed",
    Kind.CALVED: "calved",
    Kind.WEANED: "weaned",
    Kind.WEIGHED: "weighed",
    Kind.CONDITION_SCORED: "condition",
    Kind.TRACT_SCORED: "tract score",
    Kind.PELVIS_MEASURED: "pelvic area",
    Kind.OVARY_SCANNED: "ovaries scanned",
    Kind.VACCINATED: "vaccinated",
    Kind.FED: "fed",
    Kind.INSERT_PLACED: "insert in",
    Kind.INSERT_REMOVED: "insert out",
    Kind.HEAT_AID_READ: "aid read",
    Kind.HEAT_SEEN: "heat seen",
    Kind.WATCHED: "watched",
    Kind.SIRE_ASSIGNED: "sire chosen",
    Kind.INSEMINATED: "inseminated",
    Kind.BULL_EXAMINED: "bull examined",
    Kind.BULLS_IN: "bulls in",
    Kind.BULLS_OUT: "bulls out",
    Kind.PREGNANCY_CHECKED: "pregnancy check",
    Kind.ABORTED: "aborted",
    Kind.MOVED: "moved",
    Kind.LEFT_HERD: "left the herd",
    Kind.HOLD_SET: "hold",
    Kind.HOLD_LIFTED: "hold lifted",
    Kind.TALLIED: "counted",
    Kind.STOCK_MOVED: "stock",
    Kind.NITROGEN_READ: "nitrogen read",
    Kind.SETTING_CHANGED: "setting",
}
_SAID = (
    "item",
    "sire",
    "score",
    "result",
    "sign",
    "to",
    "why",
    "weight_kg",
    "amount",
    "level_cm",
    "unit",
    "count",
)
_KEYS = {"item", "result", "sign"}  # of a list of ours; a sire or a group is told as written
_UNITS = {"weight_kg": " kg", "level_cm": " cm"}
_ACTS = {"gnrh": "GnRH", "pgf": "PGF", "ecg": "eCG", "other": "heat aid or other"}


def event_words(event: Event) -> str:
    """What one event says, in a few words."""
    body = event.body
    if event.kind is Kind.TREATED:
        act = str(body.get("act"))
        words = _ACTS.get(act, act.replace("_", " "))
        ml = body.get("dose_ml")
        return f"{words} {ml:g} mL" if ml else words
    if event.kind is Kind.INSERT_REMOVED and not body.get("found", True):
        return "insert lost"
    words = WORDS.get(event.kind, event.kind.value)
    if event.kind is Kind.HEAT_AID_READ:
        words = f"{body.get('aid') or 'aid'} read"
    said = [_value(key, body[key]) for key in _SAID if body.get(key) not in {None, ""}]
    return f"{words} {' '.join(said)}".strip()


def _value(key: str, value: Any) -> str:
    if isinstance(value, float):
        return f"{value:g}{_UNITS.get(key, '')}"
    return str(value).replace("_", " ") if key in _KEYS else str(value)


def _tags(desk: Desk, events: Sequence[Event]) -> list[str]:
    found = dict.fromkeys(
        desk.season.females[e.female].tag
        for e in events
        if e.female is not None and e.female in desk.season.females
    )
    return [*found]


def print_entries(desk: Desk, entries: Sequence[Sequence[Event]]) -> None:
    """Print entries, latest first."""
    if not entries:
        console().print("Nothing recorded yet.")
        return
    rows = []
    year = desk.writer.now().astimezone(desk.season.zone).year
    for events in entries:
        tags = _tags(desk, events)
        what = dict.fromkeys(event_words(e) for e in events)
        group = next((e.group for e in events if e.group), "")
        rows.append(
            (
                events[0].id[:NUMBER] if len(events) == 1 else f"{len(events)} events",
                clock(
                    events[0].occurred_at,
                    desk.season.zone,
                    year=events[0].occurred_at.astimezone(desk.season.zone).year != year,
                ),
                some([*what], 3),
                some(tags, 4) or group or "",
                events[0].entered_by,
            )
        )
    print_table(
        [("number", "left"), ("when", "left"), ("what", "left"), ("who", "left"), ("by", "left")],
        rows,
        title="Last entries, latest first",
    )
    tell("Take back: sunup record undo (the last made here), undo NUMBER, undo --tag TAG")
    if any(len(events) > 1 for events in entries):
        tell("The numbers inside an entry of several: sunup record last --tag TAG")


def entries_to_json(desk: Desk, entries: Sequence[Sequence[Event]]) -> dict[str, Any]:
    """Entries as plain values."""
    return {
        "schema_version": 1,
        "entries": [
            [
                {
                    "id": e.id,
                    "kind": e.kind.value,
                    "at_utc": e.occurred_at.isoformat(),
                    "by": e.entered_by,
                    "tag": next(iter(_tags(desk, [e])), None),
                    "group": e.group,
                    "body": dict(e.body),
                }
                for e in events
            ]
            for events in entries
        ],
    }


def print_undone(desk: Desk, done: Undone) -> None:
    """Say what was taken back."""
    tags = _tags(desk, done.entries)
    what = dict.fromkeys(event_words(e) for e in done.entries)
    who = f" of {some(tags, 8)}" if tags else ""
    first = done.entries[0]
    by = f"{first.entered_by}, " if first.entered_by else ""
    made = clock(first.entered_at, desk.season.zone, year=True)
    tell(
        f"Taken back: {some([*what], 4)}{who} (entered by {by}{made}). It stays to be seen in the "
        "ledger."
    )


def print_corrected(desk: Desk, done: Undone) -> None:
    """Say what was put right: how it stands now, and what it was."""
    (was,), (now,) = done.entries, done.now
    words, hers = event_words(now), some(_tags(desk, [now]))
    before = [event_words(was)] if event_words(was) != words else []
    if _tags(desk, [was]) != _tags(desk, [now]):
        before.append(f"of {some(_tags(desk, [was])) or 'nobody'}")
    if was.occurred_at != now.occurred_at:
        before.append(clock(was.occurred_at, desk.season.zone, year=True))
    changed = [
        key
        for key in dict.fromkeys([*was.body, *now.body])
        if was.body.get(key) != now.body.get(key)
    ]
    values = ", ".join(f"{key} {_plain(now.body.get(key))}" for key in changed)
    before += [f"{key} {_plain(was.body[key])}" for key in changed if was.body.get(key) is not None]
    who = f" of {hers}" if hers else ""
    at = clock(now.occurred_at, desk.season.zone, year=True)
    stands = f"{words}{who}, {at}" + (f", {values}" if values else "")
    told = f"{stands} (was: {'; '.join(before)})" if before else stands
    tell(f"Put right: {told}. Both stay to be seen in the ledger.")


def print_odd(found: Mapping[str, Sequence[Flag]], events: Sequence[Event]) -> None:
    """Say what is odd of entries as they stand now, with what to do."""
    for flag in dict.fromkeys(flag for e in events for flag in found.get(e.female or "", ())):
        tell(f"look: {flag.text}", 2)
        tell(f"now: {flag.now}", 4)


def _plain(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)
