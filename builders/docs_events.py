"""``docs/reference/events.md``: every kind of event and its body, from ``sunup/records``."""

from __future__ import annotations

from docs_markdown import page, table
from sunup.records.bodies import BODIES
from sunup.records.event import Kind
from sunup.records.forms import TYPE_WORDS
from sunup.records.placing import EITHER, OF_A_FEMALE, OF_THE_RANCH
from sunup.records.upcast import CURRENT, STEPS

ENVELOPE = (
    ("id", "text", "UUID in lower case with hyphens, made on the device", True),
    ("ranch", "text", "the owner of the ledger", True),
    ("kind", "text", "one of the kinds below", True),
    ("version", "a whole number", "version of the body's form", True),
    ("occurred_at", "instant", "when it happened, UTC, as the device's clock said", True),
    ("zone", "text", "IANA zone of the place, as America/Denver", True),
    ("entered_at", "instant", "when it was entered, UTC, as the device's clock said", True),
    ("entered_by", "text", "who did or entered it", False),
    ("device", "text", "what it was entered on", False),
    ("clock_offset_s", "a number", "device clock minus true time, where measured, s", False),
    ("female", "text", "UUID of the female it is about", False),
    ("group", "text", "name of the group, for what is done to a group as a whole", False),
    ("body", "object", "the fields of its kind", False),
    ("corrects", "text", "only Corrected: id of the event it puts right", False),
)
EXAMPLE = (
    '{"id":"5f0c2a52-0d0b-4e0e-9d55-3a3c9f0f4a11","ranch":"Ranch","kind":"HeatSeen","version":1,'
    '"occurred_at":"2027-05-25T12:30:00.000000Z","zone":"America/Denver",'
    '"entered_at":"2027-05-25T12:31:00.000000Z","entered_by":"Lee",'
    '"female":"0b0a1f9e-6a57-4c8e-8a53-2f5f2d1f7d10","body":{"sign":"standing"}}'
)


def render_events() -> str:
    """Return the page."""
    parts = [
        (
            "A ledger is a set of events. An event is never changed and never removed; what was "
            "wrong is put right by a later `Corrected` that names it. Ids are made where a thing "
            "is recorded, so the ledgers of several devices are merged by putting their events "
            "together, in any order, doubles and all."
        ),
        (
            "`sunup ledger export` writes one event a line (JSON, UTF-8), and `sunup ledger "
            "import` reads it; nothing is lost on the way. Absent fields are left out. A field of "
            f"a body that is not listed here is kept as it is.\n\n```json\n{EXAMPLE}\n```"
        ),
        "## What every event has\n\n"
        + table(
            ("field", "form", "meaning", "must"),
            ((f"`{name}`", form, text, _must(must)) for name, form, text, must in ENVELOPE),
        ),
        (
            "## Order\n\nEvents stand in the order they happened: `occurred_at` less "
            "`clock_offset_s`, then `entered_at` less the same, then `id`. The order in which a "
            "ledger took them plays no part."
        ),
        (
            "## Corrections\n\n`Corrected` takes its event back, or states it anew; what it does "
            "not mention stays. Its `occurred_at` is by a right clock. Of several corrections of "
            "one event the one entered last holds. A correction may be corrected: taken back, it "
            "is as if never made, and what stood before it stands again. All versions stay in the "
            "ledger."
        ),
        (
            "## Counts\n\n`Tallied` is compared with what the records said at that moment. "
            "`head`: females in the group. `inserts` with a group: inserts in its females, in "
            "less out less lost; without a group: inserts in stock. `straws`: of the sire named "
            "in `item`, the collection code in `lot`, the tank in `place`. `doses` and `units`: "
            "of the item and lot. What is not named is counted whole, and a count of stock is "
            "carried on from: the next is compared with what the last left."
        ),
        _versions(),
        *(_kind(kind) for kind in Kind),
    ]
    return page("Events", "`sunup/records/bodies.py`", *parts)


def _must(must: bool) -> str:  # noqa: FBT001  a cell of a table
    return "yes" if must else ""


def _versions() -> str:
    rows = [
        (f"`{kind}`", f"{version} to {version + 1}", (step.__doc__ or "").strip())
        for (kind, version), step in STEPS.items()
    ]
    return (
        "## Older forms\n\nEvents are kept as they were recorded and brought up when they are "
        "read. Version 0 is the form of development versions. An event of a newer form than this "
        "program knows is kept and counts for nothing until the program is updated.\n\n"
        + table(("kind", "version", "what changed"), rows)
    )


def _about(kind: Kind) -> str:
    if kind in OF_A_FEMALE:
        return "Of a female."
    if kind in OF_THE_RANCH:
        return "Of the ranch; a group may be named beside it."
    return "Of a female, or of a group as a whole." if kind in EITHER else "Of another event."


def _kind(kind: Kind) -> str:
    rows = (
        (
            f"`{name}`",
            " or ".join(f"`{c}`" for c in field.choices) or TYPE_WORDS[field.type],
            field.meaning,
            _must(field.must),
        )
        for name, field in BODIES[kind].items()
    )
    return f"## {kind}\n\n{_about(kind)} Version {CURRENT[kind]}.\n\n" + table(
        ("field", "form", "meaning", "must"), rows
    )
