"""What ADE has no place for: told with every export, and in the manual."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.records.bodies import BODIES
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sunup.exchange.standing import Standing

# fields of each body that are written
HELD: dict[Kind, frozenset[str]] = {
    Kind.FEMALE_ADDED: frozenset(
        ["tag", "rfid", "born_on", "breed_shares", "sire", "dam", "calved_on", "calving_ease"]
    ),
    Kind.TAG_CHANGED: frozenset(["tag", "rfid"]),
    Kind.IDENTIFIED: frozenset(["same_as"]),
    Kind.CALVED: frozenset(["ease", "calves", "note"]),
    Kind.WEIGHED: frozenset(["weight_kg", "note"]),
    Kind.CONDITION_SCORED: frozenset(["score", "note"]),
    Kind.VACCINATED: frozenset(["against", "lot", "note"]),
    Kind.TREATED: frozenset(
        ["act", "active", "dose_ml", "lot", "expires_on", "withdrawal_days", "site", "note"]
    ),
    Kind.INSERT_PLACED: frozenset(["lot", "expires_on", "withdrawal_days", "note"]),
    Kind.INSERT_REMOVED: frozenset(["found", "note"]),
    Kind.HEAT_AID_READ: frozenset(["aid", "score", "note"]),
    Kind.HEAT_SEEN: frozenset(["sign", "note"]),
    Kind.INSEMINATED: frozenset(
        ["sire", "batch", "semen", "technician", "tank", "canister", "note"]
    ),
    Kind.BULLS_IN: frozenset(["bulls", "note"]),
    Kind.BULLS_OUT: frozenset(),
    Kind.PREGNANCY_CHECKED: frozenset(
        ["method", "result", "fetal_age_days", "fetuses", "fetal_sex", "operator", "note"]
    ),
    Kind.ABORTED: frozenset(["found", "note"]),
    Kind.MOVED: frozenset(["to"]),
    Kind.LEFT_HERD: frozenset(["why", "note"]),
    Kind.HOLD_SET: frozenset(["why"]),
    Kind.HOLD_LIFTED: frozenset(["note"]),
}
# kinds that are not written, and why
NOT_WRITTEN: dict[Kind, str] = {
    Kind.WEANED: "the standard has no weaning of a dam",
    Kind.TRACT_SCORED: "the standard has no trait for the reproductive tract score",
    Kind.PELVIS_MEASURED: "the standard has no trait for pelvic area",
    Kind.OVARY_SCANNED: "the standard has no finding of the ovaries",
    Kind.FED: "feed is given to a group; no resource we write holds it",
    Kind.WATCHED: "the standard has no watch, least of all one that saw nothing",
    Kind.SIRE_ASSIGNED: "who is to be used is a plan, not an event",
    Kind.BULL_EXAMINED: "only females are written",
    Kind.TALLIED: "counts of head and stock have no place",
    Kind.STOCK_MOVED: "stock has no place in release 1.3",
    Kind.NITROGEN_READ: "stock has no place in release 1.3",
    Kind.PLAN_ADOPTED: "plans stay in the plan file and the ledger",
    Kind.PLAN_CHANGED: "plans stay in the plan file and the ledger",
    Kind.FORECAST_KEPT: "forecasts stay in the ledger",
    Kind.SETTING_CHANGED: "settings stay in the ledger",
}
_WORDS = {
    Kind.TAG_CHANGED: "only the present tag and code are written",
    Kind.MOVED: "only the group each is in now is written",
}


@dataclass(frozen=True, slots=True)
class Lost:
    """Something of the ledger an export does not hold, how often, and why."""

    what: str
    n: int
    why: str


def lost_fields(kind: Kind) -> list[str]:
    """Fields of a kind that is written for which the standard has no place."""
    return [name for name in BODIES[kind] if name not in HELD[kind]]


def find_lost(
    standing: Iterable[Standing], *, aids_without_heat: int, groupwise: int
) -> list[Lost]:
    """Count what an export of these events leaves out.

    Parameters
    ----------
    standing : iterable of Standing
    aids_without_heat : int
        Readings of patches and chalk that showed no heat.
    groupwise : int
        Treatments recorded of a group as a whole.
    """
    kinds: Counter[Kind] = Counter()
    fields: Counter[tuple[Kind, str]] = Counter()
    corrected = 0
    for one in standing:
        corrected += one.modified_at > one.created_at
        kinds[one.kind] += 1
        if one.kind in HELD:
            missing = (
                name
                for name, value in one.body.items()
                if name in BODIES[one.kind] and (name, value) != ("listed", True)
            )
            fields.update((one.kind, name) for name in missing if name not in HELD[one.kind])
    lost = [Lost(kind.value, kinds[kind], why) for kind, why in NOT_WRITTEN.items() if kinds[kind]]
    lost += [Lost(kind.value, kinds[kind], why) for kind, why in _WORDS.items() if kinds[kind]]
    lost += [
        Lost(f"{kind.value}: {name.replace('_', ' ')}", n, "the standard has no field for it")
        for (kind, name), n in sorted(fields.items())
    ]
    if aids_without_heat:
        why = "only readings that show heat are heats"
        lost.append(Lost("HeatAidRead that showed no heat", aids_without_heat, why))
    if groupwise:
        why = "recorded of a group as a whole; only single animals are written"
        lost.append(Lost("treatments of a group", groupwise, why))
    if corrected:
        why = "the last word is written, with its date"
        lost.append(Lost("what was so before a correction", corrected, why))
    return lost


ALWAYS = (
    "the time zone of the ranch and the clock error of a device (times are written as true UTC)",
    "on which device a fact was entered",
    "fractions of a day in the age of a fetus (the standard wants whole days)",
    "doses in units other than millilitres (inserts are written as one, unit NA)",
)
