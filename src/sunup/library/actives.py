"""Active ingredients from ``actives.toml``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sunup.base.figures import Kind, Seen
from sunup.base.quantities import Quantity, UnitError, volume_ml
from sunup.library.active import Active, Caution, Strength
from sunup.library.toml_tables import LARGEST, entries
from sunup.library.toml_text import listed, nearest
from sunup.protocols.protocol import INJECTIONS, Do

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from sunup.library.toml_tables import Table
    from sunup.library.toml_text import Reading

# the step words that take a drug out of the store; removal and the last feeding take none
DRUG_WORDS = tuple(do for do in Do if do in INJECTIONS | {Do.INSERT_IN, Do.MGA_START})
_SERVED_BY = {Do.INSERT_OUT: Do.INSERT_IN, Do.MGA_END: Do.MGA_START}
PLAN_USE = "synchronisation"  # only a strength with this use may stand in a plan
_ROUTES = ("IM", "SC", "vaginal", "feed")


@dataclass(frozen=True, slots=True)
class ActiveIndex:
    """The actives that loaded, and the names that stand in the file.

    `named` is None where the file could not be read: then no name can be called unknown.
    """

    sound: Mapping[str, Active]
    named: Collection[str] | None

    def find(self, table: Table, key: str, name: str) -> Active | None:
        """Return the active of that name; None, reported where no active has it."""
        if name in self.sound:
            return self.sound[name]
        if name.strip() and self.named is not None and name not in self.named:
            table.wrong(
                key,
                f"'{name}' is no active.",
                f"{nearest(name, self.named)}Allowed: {listed(sorted(self.named))}.",
            )
        return None

    def find_for(self, table: Table, key: str, *, name: str, does: str) -> Active | None:
        """Return the active of that name if it serves the step word; report where it does not."""
        active = self.find(table, key, name)
        served = _SERVED_BY.get(Do(does), does) if does in set(Do) else does
        if active is None or active.does == served:
            return active
        fitting = sorted(one.key for one in self.sound.values() if one.does == served)
        table.wrong(
            key,
            f"'{name}' serves {active.does}, not {does}.",
            f"Allowed for {does}: {listed(fitting) or 'no active at all'}.",
        )
        return None


def read_actives(
    reading: Reading, values: dict[str, Any], *, regions: Collection[str]
) -> dict[str, Active]:
    """Read ``actives.toml``; an active with a fault is left out.

    Parameters
    ----------
    reading : Reading
    values : dict
    regions : collection of str
        Keys of the region files, which a strength may name.
    """
    actives: dict[str, Active] = {}
    for key, table in entries(reading, values):
        before = reading.count
        active = Active(
            key=key,
            name=table.text("name"),
            does=table.one_of("does", DRUG_WORDS),
            group=table.text("group"),
            prescription=table.truth_or("prescription", None),
            needle=table.text("needle"),
            strengths=_read_strengths(table, regions=regions, partners=list(values)),
            cautions=tuple(_read_caution(one) for one in table.subtables("cautions")),
            note=table.text_or("note", ""),
        )
        table.finish()
        if reading.count == before:
            actives[key] = active
    return actives


def _read_strengths(
    table: Table, *, regions: Collection[str], partners: Collection[str]
) -> tuple[Strength, ...]:
    strengths: list[Strength] = []
    subtables = table.subtables("strengths")
    if not subtables:
        table.wrong("strengths", "there is no strength.", "Add one under [[KEY.strengths]].")
    for one in subtables:
        strength = _read_strength(one, regions=regions, partners=partners)
        if strength.key in {other.key for other in strengths}:
            one.wrong("key", f"'{strength.key}' stands twice.", "Give each strength its own key.")
        strengths.append(strength)
    return tuple(strengths)


def _read_strength(
    table: Table, *, regions: Collection[str], partners: Collection[str]
) -> Strength:
    before = table.reading.count
    table.word("kind", Kind)
    strength = Strength(
        key=table.text("key"),
        amount=Quantity(table.number("amount", low=0.0), table.text("unit")),
        basis=table.text("basis"),
        dose=Quantity(table.number("dose", low=0.0), table.text("dose_unit")),
        uses=table.texts("uses"),
        routes=table.some_of("routes", _ROUTES),
        regions=table.some_of("regions", regions, may_be_empty=True)
        if table.has("regions")
        else (),
        partner=table.one_of_or("partner", None, partners),
        pack_ml=table.numbers_or_empty("pack_ml"),
        pack_count=tuple(int(count) for count in table.numbers_or_empty("pack_count")),
        source=table.sources(),
        seen=table.word("seen", Seen),
        where=table.text_or("where", ""),
        note=table.text_or("note", ""),
    )
    table.raw("regions")
    table.finish()
    if table.reading.count == before:
        _check_amounts(table, strength)
    return strength


def _check_amounts(table: Table, strength: Strength) -> None:
    """Check that a dose can be drawn from this strength."""
    for key, amount in (("amount", strength.amount), ("dose", strength.dose)):
        if amount.value <= 0:
            table.wrong(key, f"{amount} is out of range.", "Write more than 0.")
            return
    per, _, of = strength.amount.unit.partition("/")
    if of == "insert" and strength.dose.unit == "insert":
        return
    if of in {"lb", "kg"} and strength.dose.unit == per:  # feed
        return
    try:
        volume = volume_ml(strength.dose, strength.amount)
    except UnitError as fault:
        table.wrong("dose_unit", f"{fault}.", "Bring unit and dose_unit together.")
        return
    if not 0 < volume < LARGEST:
        table.wrong("dose", f"{volume:g} mL is no dose.", "Look at amount, unit and dose.")


def _read_caution(table: Table) -> Caution:
    caution = Caution(
        text=table.text("text"), source=table.sources(), seen=table.word("seen", Seen)
    )
    table.finish()
    return caution
