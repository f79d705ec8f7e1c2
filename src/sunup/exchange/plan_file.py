"""The plan file: a plan as JSON and back, lossless.

What other programs need at a glance (local times, millilitres) is written beside the stored
values and ignored when read.
"""

from __future__ import annotations

import json
import types
import typing
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime
from enum import Enum
from functools import cache, partial
from typing import TYPE_CHECKING, Any, get_args, get_origin

from sunup.base.hours import find_zone, to_local
from sunup.base.json_text import render_json
from sunup.base.problems import Problem, UsageError
from sunup.planning.plan import PLAN_SCHEMA_VERSION, Plan

if TYPE_CHECKING:
    from collections.abc import Callable


class PlanFileError(UsageError):
    """A file is not a plan file, or one of another form."""


_AS_IT_IS = frozenset({str, int, float, bool, type(None)})


@cache
def _names(cls: type) -> tuple[tuple[str, str], ...]:
    """Field names of a plan type and their names in the file."""
    return tuple((f.name, f.name.rstrip("_")) for f in fields(cls))


def _plain(value: Any) -> Any:
    cls = type(value)
    if cls in _AS_IT_IS:
        return value
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, datetime):
        return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if is_dataclass(value):
        return {shown: _plain(getattr(value, name)) for name, shown in _names(value.__class__)}
    message = f"cannot write {cls.__name__} to a plan file"
    raise TypeError(message)


def plan_to_json(plan: Plan) -> dict[str, Any]:
    """Return the plan as plain values, instants as UTC text, with local times beside them."""
    zone = find_zone(plan.zone)
    data: dict[str, Any] = {"schema_version": PLAN_SCHEMA_VERSION, **_plain(plan)}
    laid = [
        *((g.schedule, d["schedule"]) for g, d in zip(plan.groups, data["groups"], strict=True)),
        *((g.sessions, d["sessions"]) for g, d in zip(plan.groups, data["groups"], strict=True)),
        (plan.called_off, data["called_off"]),
    ]
    for steps, lines in laid:
        for step, line in zip(steps, lines, strict=True):
            line["at_local"] = to_local(step.at_utc, zone).isoformat()
            line["ml"] = step.dose.ml_total if step.dose else None
    return data


def render_plan_file(plan: Plan) -> str:
    """Return the text of ``plan.json``."""
    return render_json(plan_to_json(plan)) + "\n"


# What JSON may hold for each; a whole number is a number.
_SCALARS: dict[Any, set[type]] = {str: {str}, bool: {bool}, int: {int}, float: {float, int}}


@cache
def _hints(cls: type) -> dict[str, Any]:
    named = {"Any": Any, "date": date, "datetime": datetime, "Problem": Problem}
    return typing.get_type_hints(cls, localns=named)


@cache
def _builder(hint: Any) -> Callable[[Any], Any]:
    """What makes a value of one type from its plain form: found once, a plan has thousands."""
    origin = get_origin(hint)
    if origin in {typing.Union, types.UnionType}:
        inner = _builder(next(arg for arg in get_args(hint) if arg is not type(None)))
        return lambda value: None if value is None else inner(value)
    if origin is tuple:
        args = get_args(hint)
        if len(args) == 2 and args[1] is Ellipsis:
            each = _builder(args[0])
            return lambda value: tuple(map(each, value))
        parts = tuple(map(_builder, args))
        return lambda value: tuple(part(item) for part, item in zip(parts, value, strict=True))
    if hint is datetime:
        return datetime.fromisoformat
    if hint is date:
        return date.fromisoformat
    if isinstance(hint, type) and issubclass(hint, Enum):
        return hint
    if is_dataclass(hint) and isinstance(hint, type):
        return _of_dataclass(hint)
    return partial(_scalar, hint) if hint in _SCALARS else _as_it_is


def _of_dataclass(cls: Any) -> Callable[[Any], Any]:
    named = [(f.name, f.name.rstrip("_"), _hints(cls)[f.name]) for f in fields(cls)]
    made = [(name, key, _builder(hint)) for name, key, hint in named]

    def build(value: Any) -> Any:
        return cls(**{name: make(value[key]) for name, key, make in made if key in value})

    return build


def _scalar(hint: Any, value: Any) -> Any:
    if type(value) not in _SCALARS[hint]:
        message = f"'{value}' stands where {hint.__name__} is wanted"
        raise TypeError(message)
    return value


def _as_it_is(value: Any) -> Any:
    return value


def read_plan_file(text: str, name: str) -> Plan:
    """Read a plan file.

    Parameters
    ----------
    text : str
    name : str
        Named in messages.

    Returns
    -------
    Plan

    Raises
    ------
    PlanFileError
        If the text is not JSON, not a plan, or of a newer form than this program knows.
    """
    try:
        data = json.loads(text)
    except json.JSONDecodeError as error:
        message = f"{name} is not a plan file: line {error.lineno}: {error.msg}."
        raise PlanFileError(message) from None
    return plan_from_json(data, name)


def plan_from_json(data: Any, name: str) -> Plan:
    """Read a plan from its plain values, as a plan file or an adopted plan holds them.

    Parameters
    ----------
    data : mapping
        As `plan_to_json` gives it; anything else is refused in words.
    name : str
        Named in messages.

    Returns
    -------
    Plan

    Raises
    ------
    PlanFileError
        If it is not a plan, or of a newer form than this program knows.
    """
    version = data.get("schema_version") if isinstance(data, dict) else None
    if version is None:
        message = f"{name} is not a plan file: it has no schema_version."
        raise PlanFileError(message)
    if version != PLAN_SCHEMA_VERSION:
        message = (
            f"{name} is of form {version}; this program knows form {PLAN_SCHEMA_VERSION}. "
            "Use the program that wrote it, or plan anew from the herd file."
        )
        raise PlanFileError(message)
    try:
        plan: Plan = _builder(Plan)(data)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        message = f"{name} is damaged ({error}). Use a copy, or plan anew from the herd file."
        raise PlanFileError(message) from None
    return plan


__all__ = [
    "PlanFileError",
    "plan_from_json",
    "plan_to_json",
    "read_plan_file",
    "render_plan_file",
]
