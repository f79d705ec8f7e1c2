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
from functools import cache
from typing import Any, get_args, get_origin

from sunup.base.hours import find_zone, to_local
from sunup.base.json_text import render_json
from sunup.base.problems import Problem, UsageError
from sunup.planning.plan import PLAN_SCHEMA_VERSION, Plan


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
    for group, shown in zip(plan.groups, data["groups"], strict=True):
        for step, line in zip(group.schedule, shown["schedule"], strict=True):
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


def _build(hint: Any, value: Any) -> Any:
    origin = get_origin(hint)
    if origin in {typing.Union, types.UnionType}:
        if value is None:
            return None
        inner = next(arg for arg in get_args(hint) if arg is not type(None))
        return _build(inner, value)
    if origin is tuple:
        args = get_args(hint)
        if len(args) == 2 and args[1] is Ellipsis:
            return tuple(_build(args[0], item) for item in value)
        return tuple(_build(a, item) for a, item in zip(args, value, strict=True))
    if hint is datetime:
        return datetime.fromisoformat(value)
    if hint is date:
        return date.fromisoformat(value)
    if isinstance(hint, type) and issubclass(hint, Enum):
        return hint(value)
    if is_dataclass(hint) and isinstance(hint, type):
        known = _hints(hint)
        return hint(
            **{
                f.name: _build(known[f.name], value[f.name.rstrip("_")])
                for f in fields(hint)
                if f.name.rstrip("_") in value
            }
        )
    if hint in _SCALARS and type(value) not in _SCALARS[hint]:
        message = f"'{value}' stands where {hint.__name__} is wanted"
        raise TypeError(message)
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
        plan: Plan = _build(Plan, data)
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
