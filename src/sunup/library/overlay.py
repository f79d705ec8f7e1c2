"""A ranch's own figures and protocols over the shipped ones."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from sunup.library.figures import Value, read_value
from sunup.library.protocols import KEY, read_protocol
from sunup.library.toml_tables import Table
from sunup.library.toml_text import listed, nearest, shown

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.base.figures import Figure
    from sunup.library.actives import ActiveIndex
    from sunup.library.toml_text import Reading
    from sunup.protocols.protocol import Protocol
    from sunup.protocols.rules import RuleLimits

OVERLAY = "overlay"  # the file's name in messages: app knows the real one
_PROTOCOL = "protocol"


@dataclass(frozen=True, slots=True)
class Overlay:
    """What an overlay replaces and adds."""

    figures: Mapping[str, Figure]
    protocols: Mapping[str, Protocol]


def read_overlay(
    reading: Reading,
    values: dict[str, Any],
    *,
    figures: Mapping[str, Figure],
    protocols: Mapping[str, Protocol],
    actives: ActiveIndex,
    limits: RuleLimits | None,
) -> Overlay:
    """Read an overlay; what is at fault is left out and the shipped value stays.

    Parameters
    ----------
    reading : Reading
    values : dict
    figures, protocols : mapping
        As shipped. A protocol of the ranch's may not take a shipped key.
    actives : ActiveIndex
    limits : RuleLimits or None
        From the shipped figures, so that no overlay loosens the rules. None where they are not
        held: then no protocol is taken.
    """
    replaced: dict[str, Figure] = {}
    added: dict[str, Protocol] = {}
    for key, value in values.items():
        if key == _PROTOCOL:
            added = _read_protocols(
                reading, value, shipped=protocols, actives=actives, limits=limits
            )
            continue
        if not isinstance(value, dict):
            reading.report(key, f"{shown(value)} stands outside a table.", f'Write ["{key}"].')
            continue
        if key not in figures:
            _report_unknown(reading, key, value, figures=figures)
            continue
        figure = _read_replacement(Table(reading, value, path=key), figures[key])
        if figure is not None:
            replaced[key] = figure
    return Overlay(replaced, added)


def _report_unknown(
    reading: Reading, key: str, value: dict[str, Any], *, figures: Mapping[str, Figure]
) -> None:
    dotted = [f"{key}.{name}" for name in value if f"{key}.{name}" in figures]
    if dotted:
        quoted = listed(f'["{name}"]' for name in dotted)
        reading.report(key, f"'{key}' is no figure.", f"Put the whole key in quotes: {quoted}.")
        return
    reading.report(
        key,
        f"'{key}' is no figure of the library.",
        f"{nearest(key, figures)}Keys look like practice.work_rate_ai.",
    )


def _read_replacement(table: Table, shipped: Figure) -> Figure | None:
    before = table.reading.count
    unit = table.text("unit")
    if unit and unit != shipped.unit:
        table.wrong("unit", f"the unit is '{unit}'.", f"Allowed: '{shipped.unit}', as shipped.")
    value = read_value(table, unit=shipped.unit)
    if _is_range(shipped.value) and isinstance(value, int | float) and not isinstance(value, bool):
        value = (float(value), float(value))  # a ranch knows one price where we hold a range
    note = table.text_or("note", "")
    as_of = table.text_or("as_of", "")
    sd = table.number_or("sd", shipped.sd, low=0.0)
    if sd == 0.0:
        table.wrong("sd", "a spread of 0 says that all are alike.", "Give more, or leave it out.")
    table.finish()
    if table.reading.count == before:
        _check_same_kind(table, value, shipped)
    if table.reading.count > before:
        return None
    # kind, seen and source go on describing the shipped value; a spread nobody said stays ours
    return replace(
        shipped,
        value=value,
        note=note,
        as_of=as_of,
        sd=sd,
        example=False,
        yours=True,
        shipped=shipped.value,
    )


def _is_range(value: Value) -> bool:
    return isinstance(value, tuple) and len(value) == 2 and len(_numbers(value)) == 2


def _check_same_kind(table: Table, value: Value, shipped: Figure) -> None:
    mine, ours = _kind(value), _kind(shipped.value)
    if mine != ours:
        table.wrong("value", f"{mine} was found.", f"Allowed: {ours}, as shipped.")
        return
    is_negative = min(_numbers(value), default=0.0) < 0
    if is_negative and min(_numbers(shipped.value), default=0.0) >= 0:
        table.wrong("value", f"{value} is out of range.", "Allowed: 0 or more.")


def _kind(value: Value) -> str:
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, str):
        return "a text"
    if isinstance(value, tuple):
        things = "texts" if value and isinstance(value[0], str) else "numbers"
        return f"a list of {len(value)} {things}" if things == "numbers" else "a list of texts"
    return "a number"


def _numbers(value: Value) -> list[float]:
    items = value if isinstance(value, tuple) else (value,)
    return [float(item) for item in items if isinstance(item, int | float)]


def _read_protocols(
    reading: Reading,
    value: object,
    *,
    shipped: Mapping[str, Protocol],
    actives: ActiveIndex,
    limits: RuleLimits | None,
) -> dict[str, Protocol]:
    if not isinstance(value, dict):
        reading.report(_PROTOCOL, f"{shown(value)} was found.", "Write [protocol.KEY].")
        return {}
    protocols: dict[str, Protocol] = {}
    for key, values in value.items():
        path = f"{_PROTOCOL}.{key}"
        if not isinstance(values, dict):
            reading.report(path, f"{shown(values)} was found.", f"Write it under [{path}].")
        elif not KEY.fullmatch(key):
            reading.report(
                path, f"'{key}' is no key.", "Use lower-case letters, digits and underscores."
            )
        elif key in shipped:
            reading.report(
                path, f"'{key}' is a shipped protocol.", "Give your own protocol another key."
            )
        elif limits is not None:
            table = Table(reading, values, path=path)
            protocol = read_protocol(table, key=key, actives=actives, limits=limits)
            if protocol is not None:
                protocols[key] = protocol
    return protocols
