"""Region rule packs from ``regions/KEY.toml``."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING, Any

from sunup.base.figures import Seen
from sunup.library.actives import DRUG_WORDS, PLAN_USE
from sunup.library.region import Ask, Barred, Held, RegionPack, Withdrawal
from sunup.library.toml_tables import Table
from sunup.library.toml_text import listed, nearest
from sunup.records.female import FemaleClass

if TYPE_CHECKING:
    from sunup.library.actives import ActiveIndex
    from sunup.library.toml_text import Reading

INDICATIONS = (
    "synchronisation",
    "fixed_time_ai",
    "suppression_of_estrus",
    "with_insert",
    "other",
)
REGION_KEY = re.compile(r"[A-Z]{2}|other")


def read_region(
    reading: Reading, values: dict[str, Any], *, key: str, actives: ActiveIndex
) -> RegionPack | None:
    """Read one region's pack; None where anything in it is at fault.

    Parameters
    ----------
    reading : Reading
    values : dict
    key : str
        The file's name: two capital letters, or "other".
    actives : ActiveIndex
    """
    before = reading.count
    table = Table(reading, values, path="")
    barred = tuple(_read_barred(one, actives) for one in table.subtables("barred"))
    pack = RegionPack(
        key=key,
        name=table.text("name"),
        holds=table.text("holds"),
        last_checked=table.day("last_checked"),
        valid_until=table.day("valid_until"),
        currency=table.text("currency"),
        weight_unit=table.one_of("weight_unit", ("lb", "kg")),
        holidays=table.text_or("holidays", None),
        defaults=_read_defaults(table, key=key, actives=actives, barred=barred),
        held=tuple(_read_held(one, actives) for one in table.subtables("held")),
        barred=barred,
        withdrawal=tuple(_read_withdrawal(one, actives) for one in table.subtables("withdrawal")),
        notes=table.texts_or_empty("notes"),
        source=table.sources(),
        all_on_prescription=table.truth_or("all_on_prescription", other=False),
        ask=tuple(_read_ask(one, actives) for one in table.subtables("ask")),
    )
    table.finish()
    _check_pack(table, pack)
    return pack if reading.count == before else None


def _check_pack(table: Table, pack: RegionPack) -> None:
    if date.min < pack.valid_until < pack.last_checked:  # date.min stands in for a bad date
        table.wrong(
            "valid_until",
            f"{pack.valid_until} is before last_checked ({pack.last_checked}).",
            "Write the day until which the texts are thought to hold.",
        )
    if pack.currency and not re.fullmatch(r"[A-Z]{3}", pack.currency):
        table.wrong(
            "currency", f"'{pack.currency}' is no currency.", "Write three capitals, such as USD."
        )
    if pack.holidays is not None and not re.fullmatch(r"[A-Z]{2}", pack.holidays):
        table.wrong(
            "holidays",
            f"'{pack.holidays}' is no country.",
            "Write two capitals, such as US, or leave the key out.",
        )
    keys = [held.key for held in pack.held]
    for key in sorted({key for key in keys if keys.count(key) > 1}):
        table.wrong(f"held.{key}", f"'{key}' stands twice.", "Give each held text its own key.")
    actives = [one.active for one in pack.withdrawal]
    for active in sorted({active for active in actives if actives.count(active) > 1}):
        table.wrong("withdrawal", f"'{active}' stands twice.", "Keep one of them.")


def _read_defaults(
    table: Table, *, key: str, actives: ActiveIndex, barred: tuple[Barred, ...]
) -> tuple[tuple[str, str], ...]:
    defaults = table.subtable("defaults")
    if defaults is None:
        return ()
    pairs = []
    for does in DRUG_WORDS:
        if not defaults.has(does):
            defaults.raw(does)
            continue
        named = defaults.text(does, '"active/strength"')
        _check_default(defaults, named, does=does, region=key, actives=actives, barred=barred)
        pairs.append((str(does), named))
    defaults.finish()
    return tuple(pairs)


def _check_default(
    table: Table,
    named: str,
    *,
    does: str,
    region: str,
    actives: ActiveIndex,
    barred: tuple[Barred, ...],
) -> None:
    name, slash, wanted = named.partition("/")
    if not slash:
        table.wrong(does, f"'{named}' names no strength.", 'Write "active/strength".')
        return
    active = actives.find_for(table, does, name=name, does=does)
    if active is None:
        return
    if name in {one.active for one in barred}:
        table.wrong(does, f"'{name}' is barred in this region.", "Name another, or leave it out.")
    keys = [strength.key for strength in active.strengths]
    if wanted not in keys:
        table.wrong(
            does,
            f"'{wanted}' is no strength of {name}.",
            f"{nearest(wanted, keys)}Allowed: {listed(keys)}.",
        )
        return
    strength = active.strength(wanted)
    if PLAN_USE not in strength.uses:
        table.wrong(
            does,
            f"'{named}' is not for {PLAN_USE}; its uses: {listed(strength.uses)}.",
            f"Name a strength whose uses hold {PLAN_USE}.",
        )
    if strength.regions and region not in strength.regions:
        table.wrong(
            does,
            f"'{named}' is known in {listed(strength.regions)}, not in {region}.",
            "Name a strength known here.",
        )


def _read_held(table: Table, actives: ActiveIndex) -> Held:
    held = Held(
        key=table.text("key"),
        does=table.one_of("does", DRUG_WORDS),
        active=table.text_or("active", None),
        strengths=table.texts_or_empty("strengths"),
        classes=table.some_of("classes", tuple(FemaleClass), may_be_empty=True),
        text=table.text("text"),
        indication=table.one_of("indication", INDICATIONS),
        edition=table.text("edition"),
        source=table.sources(),
        seen=table.word("seen", Seen),
        partner=table.text_or("partner", None),
        gnrh_to_pgf_days=table.span_or_none("gnrh_to_pgf_days"),
        pgf_to_gnrh_h=table.span_or_none("pgf_to_gnrh_h"),
        days_in=table.span_or_none("days_in"),
        pgf_before_removal_h=table.span_or_none("pgf_before_removal_h"),
        max_days=table.number_or("max_days", None, low=0.0),
        mg_per_day=table.number_or("mg_per_day", None, low=0.0),
        min_days_postpartum=table.number_or("min_days_postpartum", None, low=0.0),
        repeat_days=table.span_or_none("repeat_days"),
        removal_to_gnrh_h=table.span_or_none("removal_to_gnrh_h"),
        animals=table.text_or("animals", ""),
        text_use=table.text_or("text_use", ""),
    )
    table.finish()
    if not held.classes and not held.animals:
        table.wrong("classes", "the text is for nobody.", "Add classes, or say whom in animals.")
    if held.indication == "other" and not held.text_use:
        table.wrong("indication", "what the text is for is not said.", 'Add text_use = "...".')
    if held.partner is not None:
        actives.find(table, "partner", held.partner)
    if held.active is None:
        if held.strengths:
            table.wrong("strengths", "strengths stand without an active.", 'Add active = "...".')
        return held
    active = actives.find_for(table, "active", name=held.active, does=held.does)
    if active is not None:
        keys = [strength.key for strength in active.strengths]
        for wanted in held.strengths:
            if wanted not in keys:
                table.wrong(
                    "strengths",
                    f"'{wanted}' is no strength of {active.key}.",
                    f"{nearest(wanted, keys)}Allowed: {listed(keys)}.",
                )
    return held


def _read_barred(table: Table, actives: ActiveIndex) -> Barred:
    barred = Barred(
        active=table.text("active"),
        text=table.text("text"),
        source=table.sources(),
        seen=table.word("seen", Seen),
    )
    table.finish()
    actives.find(table, "active", barred.active)
    return barred


def _read_ask(table: Table, actives: ActiveIndex) -> Ask:
    ask = Ask(
        actives=table.texts("actives"),
        text=table.text("text"),
        source=table.sources(),
        seen=table.word("seen", Seen),
        law_open=table.truth_or("law_open", other=False),
    )
    table.finish()
    for name in ask.actives:
        actives.find(table, "actives", name)
    return ask


def _read_withdrawal(table: Table, actives: ActiveIndex) -> Withdrawal:
    withdrawal = Withdrawal(
        active=table.text("active"),
        meat_hours=table.number_or("meat_hours", None, low=0.0),
        milk_hours=table.number_or("milk_hours", None, low=0.0),
        source=table.sources(),
        seen=table.word("seen", Seen),
        note=table.text_or("note", ""),
    )
    table.finish()
    actives.find(table, "active", withdrawal.active)
    return withdrawal
