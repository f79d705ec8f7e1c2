"""Does a body have the form ``sunup.records.bodies`` gives it: field by field, in plain words."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from sunup.records.bodies import BODIES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from sunup.records.event import Kind

_MOST = 1e300  # above it no float can hold a sum
_NUMBERS = frozenset({int, float})  # bool is neither
_DATE_LENGTH = 10  # 2027-05-25


def _is_text(value: Any) -> bool:
    return isinstance(value, str)


def _is_number(value: Any) -> bool:
    return type(value) in _NUMBERS and -_MOST < value < _MOST


def _is_whole(value: Any) -> bool:
    return _is_number(value) and value == int(value)


def _is_flag(value: Any) -> bool:
    return isinstance(value, bool)


def _is_date(value: Any) -> bool:
    if not isinstance(value, str) or len(value) != _DATE_LENGTH:
        return False
    try:
        date.fromisoformat(value)
    except ValueError:
        return False
    return "W" not in value


def _is_instant(value: Any) -> bool:
    if not isinstance(value, str):
        return False
    try:
        return datetime.fromisoformat(value).tzinfo is not None
    except ValueError:
        return False


def _is_texts(value: Any) -> bool:
    return isinstance(value, list | tuple) and all(isinstance(item, str) for item in value)


def _is_object(value: Any) -> bool:
    return isinstance(value, Mapping)


def _is_objects(value: Any) -> bool:
    return isinstance(value, list | tuple) and all(isinstance(item, Mapping) for item in value)


_CHECKS: Mapping[str, Callable[[Any], bool]] = {
    "text": _is_text,
    "number": _is_number,
    "whole": _is_whole,
    "flag": _is_flag,
    "date": _is_date,
    "instant": _is_instant,
    "texts": _is_texts,
    "object": _is_object,
    "objects": _is_objects,
}
TYPE_WORDS: Mapping[str, str] = {
    "text": "text in quotes",
    "number": "a number",
    "whole": "a whole number",
    "flag": "true or false",
    "date": "a date as 2027-05-25",
    "instant": "an instant as 2027-05-25T14:30:00Z",
    "texts": 'a list of texts, as ["a", "b"]',
    "object": "an object, as {...}",
    "objects": "a list of objects, as [{...}]",
}
_MUSTS = {
    kind: tuple(name for name, field in fields.items() if field.must)
    for kind, fields in BODIES.items()
}
_TYPES = {
    kind: {name: _CHECKS[field.type] for name, field in fields.items()}
    for kind, fields in BODIES.items()
}


def has_form(kind: Kind, body: Mapping[str, Any]) -> bool:
    """Whether every field that must be there is, and every known one has its type.

    A field that is null counts as absent; words outside a field's choices are let through (a
    newer program may have more of them).
    """
    get = body.get
    for name in _MUSTS[kind]:
        if get(name) is None:
            return False
    types = _TYPES[kind]
    for name, value in body.items():
        if value is not None:
            check = types.get(name)
            if check is not None and not check(value):
                return False
    return True


def find_faults(kind: Kind, body: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """Yield each field that is not as it must be: its name, what was found, what to do."""
    for name, field in BODIES[kind].items():
        value = body.get(name)
        wanted = " or ".join(field.choices) if field.choices else TYPE_WORDS[field.type]
        if value is None:
            if field.must:
                yield name, "is missing", f"It says {field.meaning}: give {wanted}."
        elif not _CHECKS[field.type](value):
            yield name, f"is {_show(value)}", f"Give {TYPE_WORDS[field.type]} ({field.meaning})."
        elif field.choices and value not in field.choices:
            yield name, f"is {_show(value)}", f"Give {wanted}."


def _show(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 40 else text[:37] + "..."
