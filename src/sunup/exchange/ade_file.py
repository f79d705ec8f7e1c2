"""ADE files as JSON text: an array, a collection, one resource, or one a line; and back."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sunup.base.problems import Problem, Severity
from sunup.exchange import ade_words as ade
from sunup.exchange.delimited import decode
from sunup.exchange.sheets import NotATableError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

MOST_BYTES = 300_000_000
_DEEPEST = 40
_LONGEST_TEXT = 100_000


@dataclass(slots=True)
class AdeFile:
    """The resources of a file with their places, and what was wrong with it."""

    name: str
    found: list[tuple[str, Any]] = field(default_factory=list)  # (place, resource)
    problems: list[Problem] = field(default_factory=list)


def render_ade(resources: Sequence[Any]) -> str:
    """Write resources as one JSON array, one a line; keys in order, so that equal is equal.

    Raises
    ------
    ValueError
        If a number is not finite: JSON has no word for it.
    """
    lines = [
        json.dumps(one, ensure_ascii=False, sort_keys=True, allow_nan=False) for one in resources
    ]
    return "[\n" + ",\n".join(lines) + "\n]\n"


def read_ade_file(data: bytes, name: str) -> AdeFile:
    """Read an ADE file.

    Parameters
    ----------
    data : bytes
    name : str
        The file, for problems.

    Returns
    -------
    AdeFile
        Never raises for what a file may hold. Nulls are taken out: they stand for nothing.
    """
    out = AdeFile(name)

    def wrong(what: str, fix: str, place: str = "") -> AdeFile:
        out.problems.append(Problem(where=place or name, what=what, fix=fix))
        return out

    if len(data) > MOST_BYTES:
        return wrong(f"The file is {len(data) / 1e6:,.0f} MB, more than we open.", "Part it.")
    try:
        text = decode(data)[0]
    except NotATableError as fault:
        return wrong(fault.what, "Give ADE files as JSON in UTF-8.")
    if not text.strip():
        return wrong("The file is empty.", "Give ADE resources as JSON.")
    try:
        value = _parse(text)
    except _NotJsonError as fault:
        if not _by_line(out, text):
            return wrong(f"The file is not JSON: {fault}.", "Give ADE resources as JSON in UTF-8.")
    else:
        _gather(out, value, name)
    if not out.found and not out.problems:
        return wrong("The file holds no resource.", "Give ADE resources as JSON.")
    return out


class _NotJsonError(ValueError):
    """Text that is not JSON, with where it stops being it."""


def _parse(text: str) -> Any:
    try:
        return json.loads(text, parse_constant=_no_constant)
    except json.JSONDecodeError as fault:
        message = f"line {fault.lineno}, column {fault.colno}, {fault.msg.lower()}"
    except RecursionError:
        message = "it is nested far too deep"
    except ValueError as fault:  # a number of thousands of digits, NaN
        message = str(fault)[:80]
    raise _NotJsonError(message)


def _no_constant(name: str) -> Any:
    message = f"{name} is no number"
    raise ValueError(message)


def _by_line(out: AdeFile, text: str) -> bool:
    """Read one resource a line; False where the first line is none. Bad lines are reported."""
    lines = [(n, line) for n, line in enumerate(text.splitlines(), start=1) if line.strip()]
    if len(lines) < 2:
        return False
    try:
        first = _parse(lines[0][1])
    except _NotJsonError:
        return False
    if not isinstance(first, dict) or not any(key in first for key in ("resourceType", "@context")):
        return False
    for number, line in lines:
        try:
            value = _parse(line)
        except _NotJsonError as fault:
            where = f"{out.name} line {number}"
            what = f"The line is not JSON: {str(fault).partition(', ')[2] or fault}."
            out.problems.append(Problem(where=where, what=what, fix="Mend it; it was left out."))
            continue
        _gather(out, value, f"{out.name} line {number}")
    return True


def _gather(out: AdeFile, value: Any, place: str) -> None:
    """Collect resources from an array, a collection or one resource."""
    if (
        isinstance(value, dict)
        and isinstance(value.get("member"), list)
        and ("resourceType" not in value or "ollection" in str(value["resourceType"]))
    ):
        value = value["member"]
    many = value if isinstance(value, list) else [value]
    for number, one in enumerate(many, start=1):
        at = f"{place}, resource {number}" if isinstance(value, list) else place
        if isinstance(one, dict) and one.get("id") == "@context" and "resourceType" not in one:
            continue  # how the push form begins
        if isinstance(one, dict) and "@context" in one and "resourceType" not in one:
            continue
        why = _unfit(one)
        if why:
            out.problems.append(Problem(where=at, what=why, fix="It was left out."))
            continue
        out.found.append((at, _without_nulls(one)))


def _unfit(value: Any) -> str:
    """Say why a value cannot be kept: too deep, too long, letters no database stores; else ""."""
    left = [(value, 0)]
    while left:
        one, depth = left.pop()
        if depth > _DEEPEST:
            return "The resource is nested too deep."
        if isinstance(one, str):
            if len(one) > _LONGEST_TEXT:
                return f"A text in it has {len(one):,} characters."
            if "\x00" in one or not _is_text(one):
                return "A text in it holds letters that cannot be stored."
        elif isinstance(one, dict):
            left += [(part, depth + 1) for pair in one.items() for part in pair]
        elif isinstance(one, list):
            left += [(part, depth + 1) for part in one]
        elif isinstance(one, float) and one in (float("inf"), float("-inf")):
            return "A number in it is too large."
        elif isinstance(one, int) and abs(one) > 2**53:
            return "A number in it is too large to be kept exactly."
    return ""


def _is_text(text: str) -> bool:
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _without_nulls(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _without_nulls(one) for key, one in value.items() if one is not None}
    if isinstance(value, list):
        return [_without_nulls(one) for one in value if one is not None]
    return value


def find_ranch(files: Iterable[AdeFile]) -> str | None:
    """The ranch whose ledger was written as ADE; None where the files name none or several."""
    named = set()
    for file in files:
        for _, resource in file.found:
            place = resource.get("location")
            if isinstance(place, dict) and place.get("scheme") == ade.RANCH_SCHEME:
                named.add(place.get("id"))
    name = named.pop() if len(named) == 1 else None
    return name if isinstance(name, str) and name.strip() else None


def unknown_fields(kept: Iterable[tuple[str, Iterable[str]]], name: str) -> list[Problem]:
    """Tell, once a type, which fields were kept with the record though nothing here uses them."""
    seen: dict[str, set[str]] = {}
    for kind, fields in kept:
        seen.setdefault(kind, set()).update(fields)
    return [
        Problem(
            where=f"{name}, {kind}",
            what=f"Fields we make no use of were kept with the record: {', '.join(sorted(names))}.",
            fix="Nothing need be done; they go out again with it.",
            severity=Severity.NOTICE,
        )
        for kind, names in sorted(seen.items())
        if names
    ]
