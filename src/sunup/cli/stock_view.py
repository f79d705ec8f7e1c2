"""How the shelf and the lists to hand over read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.problems import counted, some
from sunup.cli.desk import clock, head, tell
from sunup.cli.show import print_table

if TYPE_CHECKING:
    from sunup.app.desk import Desk
    from sunup.app.stock import Shelf
    from sunup.app.stock_lists import Listing
    from sunup.planning.nitrogen import TankState
    from sunup.planning.stock import Balance


def print_shelf(desk: Desk, shelf: Shelf) -> None:
    """Print everything kept, with what does not add up."""
    zone = desk.season.zone
    tell(f"{desk.season.ranch}: stock at {clock(desk.season.at, zone)} ({desk.zone_name})")
    if shelf.balances:
        print_table(
            [
                ("what", "left"),
                ("lot", "left"),
                ("in", "right"),
                ("used", "right"),
                ("lost", "right"),
                ("left", "right"),
                ("expires", "left"),
            ],
            [_row(line) for line in shelf.balances],
        )
        for line in shelf.balances:
            for flag in line.flags:
                tell(f"look: {_name(line)}: {flag}", 2)
    else:
        tell("Nothing bought or used is on file: sunup stock buy", 2)
    for inserts in shelf.inserts:
        head(
            f"INSERTS, {inserts.group or 'no group'}, since the ledger began: {inserts.placed} in, "
            f"{inserts.out} out, {inserts.lost} lost, {len(inserts.still_in)} still in"
        )
        if inserts.still_in:
            tell(f"still in: {some(inserts.still_in)}", 2)
        if inserts.out_unplaced:
            tell(f"taken out of females that had none on file: {some(inserts.out_unplaced)}", 2)
    if shelf.doses:
        head("DOSES, since the ledger began")
        for dose in shelf.doses:
            again = f"; given or entered twice: {some(dose.twice, 8)}" if dose.twice else ""
            ml = f", {dose.ml_recorded:g} mL" if dose.ml_recorded else ""
            unsaid = f", {dose.without_amount} without an amount" if dose.without_amount else ""
            group = dose.group or "no group"
            tell(
                f"{group}, {dose.name.replace('_', ' ')}: {counted(dose.doses, 'dose')} to "
                f"{counted(dose.females, 'female')}{ml}{unsaid}{again}",
                2,
            )
    for tank in shelf.tanks:
        head(f"TANK {tank.tank}")
        tell(tank_words(tank), 2)
    if shelf.runs_out:
        head("RUNS OUT")
        for short in shelf.runs_out:
            need = short.need
            tell(
                f"{need.name.replace('_', ' ')}: {short.short:g} {short.unit} short for "
                f"{need.words} of {need.group} ({clock(need.at, zone)})",
                2,
            )


def _name(line: Balance) -> str:
    name = line.item.name.replace("_", " ")
    return f"{name} lot {line.item.lot}" if line.item.lot else name


def _row(line: Balance) -> tuple[str, ...]:
    item = line.item
    name = item.name.replace("_", " ")
    if item.kind == "semen":
        name = f"straws {item.name}" + (" sexed" if item.semen == "sexed" else "")
        name += f" ({item.place})" if item.place else ""
    unit = item.unit if item.kind in {"drug", "other"} else ""
    return (
        name,
        item.lot,
        f"{line.bought:g}",
        f"{line.used:g}",
        f"{line.lost:g}",
        "not kept" if line.on_hand is None else f"{line.on_hand:g} {unit}".strip(),
        "" if line.expires_on is None else line.expires_on.isoformat(),
    )


def tank_words(tank: TankState) -> str:
    """A tank in a sentence."""
    words = f"{tank.last_cm:g} cm on {tank.last_on:%d %b}"
    if tank.fall_cm_per_day is not None:
        words += f", falls {tank.fall_cm_per_day:.2f} cm a day"
    else:
        words += ", one reading: no trend yet"
    if tank.refill_on is not None:
        words += f"; refill by {tank.refill_on:%a} {tank.refill_on.day} {tank.refill_on:%b}"
    return "; ".join([words, *tank.flags])


def shelf_to_json(shelf: Shelf) -> dict[str, Any]:
    """The shelf as plain values."""
    return {
        "schema_version": 1,
        "stock": [
            {
                "kind": b.item.kind,
                "name": b.item.name,
                "lot": b.item.lot,
                "place": b.item.place,
                "semen": b.item.semen,
                "unit": b.item.unit,
                "bought": b.bought,
                "used": b.used,
                "lost": b.lost,
                "on_hand": b.on_hand,
                "expires_on": b.expires_on.isoformat() if b.expires_on else None,
                "missing": b.missing,
                "flags": list(b.flags),
            }
            for b in shelf.balances
        ],
        "inserts": [
            {
                "group": i.group,
                "placed": i.placed,
                "out": i.out,
                "lost": i.lost,
                "still_in": list(i.still_in),
                "adds_up": i.adds_up,
            }
            for i in shelf.inserts
        ],
        "doses": [
            {
                "group": d.group,
                "name": d.name,
                "doses": d.doses,
                "females": d.females,
                "ml": d.ml_recorded,
                "twice": list(d.twice),
            }
            for d in shelf.doses
        ],
        "tanks": [
            {
                "tank": t.tank,
                "last_cm": t.last_cm,
                "fall_cm_per_day": t.fall_cm_per_day,
                "refill_on": t.refill_on.isoformat() if t.refill_on else None,
                "flags": list(t.flags),
                "source": list(t.source),
            }
            for t in shelf.tanks
        ],
        "runs_out": [
            {"name": r.need.name, "group": r.need.group, "step": r.need.step, "short": r.short}
            for r in shelf.runs_out
        ],
    }


_WIDE = 8  # columns from which a list is told record by record rather than as a table
_SHOWN = 12


def print_listing(listing: Listing) -> None:
    """Print a list; a wide one record by record, so that it stays readable at 80 columns."""
    if not listing.rows:
        tell(f"{listing.title}: nothing on file.")
        return
    if not listing.by_tag:
        tell(listing.title)
        alike: dict[tuple[str, ...], list[str]] = {}
        for row in listing.rows:
            alike.setdefault(row[1:], []).append(row[0])
        for rest, tags in alike.items():
            pairs = zip(listing.head[1:], rest, strict=True)
            told = "; ".join(f"{name}: {text}" for name, text in pairs if text)
            tell(f"{len(tags)}, {told}; tags: {some(tags, 12)}", 2)
    elif len(listing.head) < _WIDE:
        print_table([(name, "left") for name in listing.head], listing.rows, title=listing.title)
    else:
        tell(f"{listing.title}: {counted(len(listing.rows), 'row')}")
        for row in listing.rows[:_SHOWN]:
            pairs = zip(listing.head[1:], row[1:], strict=True)
            told = "; ".join(f"{name}: {text}" for name, text in pairs if text)
            tell(f"{row[0]}: {told}", 2)
        if len(listing.rows) > _SHOWN:
            tell(f"and {len(listing.rows) - _SHOWN} more: --csv FILE writes all", 2)
    for note in listing.notes:
        tell(note)
