"""Figures from their files: value, unit, kind, sources, each checked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.figures import Figure, Kind, Seen
from sunup.library.toml_tables import LARGEST, entries
from sunup.library.toml_text import shown

if TYPE_CHECKING:
    from sunup.library.toml_tables import Table
    from sunup.library.toml_text import Reading

Value = float | int | str | bool | tuple[float, ...] | tuple[str, ...]
SHARES = frozenset({"share", "fraction"})  # units whose values stand between 0 and 1
PER_CENT = "%"


def read_figures(reading: Reading, values: dict[str, Any], *, stem: str) -> dict[str, Figure]:
    """Read one file of figures; `stem` (the file's name) starts each dotted key."""
    figures: dict[str, Figure] = {}
    for key, table in entries(reading, values):
        before = reading.count
        unit = table.text("unit", 'a unit in quotes ("-" where there is none)')
        value = read_value(table, unit=unit)
        figure = Figure(
            key=f"{stem}.{key}",
            value=value,
            unit=unit,
            kind=table.word("kind", Kind),
            seen=table.word("seen", Seen),
            source=table.sources(),
            applies=table.text_or("applies", ""),
            note=table.text_or("note", ""),
            where=table.text_or("where", ""),
            as_of=table.text_or("as_of", ""),
            sd=table.number_or("sd", None, low=0.0),
            example=table.truth_or("example", other=False),
        )
        table.finish()
        if reading.count == before:
            figures[figure.key] = figure
    return figures


def read_value(table: Table, *, unit: str) -> Value:
    """Read the value of a figure: number, truth, text, or a list of numbers or of texts."""
    value = table.raw("value")
    if value is None:
        table.wrong("value", "the key 'value' is missing.", "Add value = the figure.")
    elif isinstance(value, bool):
        return value
    elif isinstance(value, str):
        if not value.strip():
            table.wrong("value", "the text is empty.", "Write the figure.")
        return value
    elif isinstance(value, int | float):
        _check_amount(table, value, unit=unit)
        return value
    elif isinstance(value, list):
        return _read_list(table, value, unit=unit)
    else:
        table.wrong("value", f"{shown(value)} was found.", "Write a number, text, truth or list.")
    return ""


def _read_list(table: Table, value: list[Any], *, unit: str) -> Value:
    if value and all(isinstance(item, str) for item in value):
        return table.texts("value")
    is_numbers = all(isinstance(item, int | float) and not isinstance(item, bool) for item in value)
    if not value or not is_numbers:
        table.wrong("value", "the list is empty or mixed.", "Write only numbers or only texts.")
        return ""
    if not all(_check_amount(table, item, unit=unit) for item in value):
        return ""
    if len(value) == 2 and value[0] > value[1]:
        table.wrong("value", f"{value} is no range.", "Write [low, high], the lower first.")
    return tuple(float(item) for item in value)


def _check_amount(table: Table, value: float, *, unit: str) -> bool:
    low, high = -LARGEST, LARGEST
    if unit == PER_CENT:
        low, high = 0.0, 100.0
    elif unit in SHARES:
        low, high = 0.0, 1.0
    if not table.check_number("value", value, low=low, high=high):
        return False
    if unit == "head/h" and value <= 0:
        table.wrong("value", f"{shown(value)} is out of range.", "A rate is more than 0.")
        return False
    return True
