"""JSON that a person can page through and a program can write fast: one record a line.

The standard library writes indented JSON value by value in Python; for a herd of 100,000 that took
half of a plan's time. Here a record that fits a line is written whole by the compiled encoder, and
only what holds it is laid out.
"""

from __future__ import annotations

import json
from typing import Any

_LINE = 2_000  # characters: a female with her reasons, or a step with its cautions
_MANY = 50  # entries: a list this long is laid out without trying it on one line
_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode


def render_json(value: Any) -> str:
    """Return a value as JSON text, laid out to the record.

    Parameters
    ----------
    value : dict, list, str, int, float, bool or None
        Plain values; the keys of a dict are text.

    Returns
    -------
    str
        The top level is laid out always, what stands below it where it is longer than a line.

    Raises
    ------
    ValueError
        If a number is not finite: JSON has no word for it.

    Examples
    --------
    >>> print(render_json({"n": 2, "females": [{"tag": "1"}, {"tag": "2"}]}))
    {
     "n": 2,
     "females": [{"tag": "1"}, {"tag": "2"}]
    }
    """
    return _render(value, "\n", is_top=True)


def _render(value: Any, new_line: str, *, is_top: bool = False) -> str:
    if not isinstance(value, dict | list) or not value:
        return _encode(value)
    if not is_top and len(value) <= _MANY:
        line = _encode(value)
        if len(line) <= _LINE:
            return line
    deeper = new_line + " "
    if isinstance(value, dict):
        parts = [f"{_encode(key)}: {_render(item, deeper)}" for key, item in value.items()]
        return f"{{{deeper}{f',{deeper}'.join(parts)}{new_line}}}"
    return f"[{deeper}{f',{deeper}'.join([_render(item, deeper) for item in value])}{new_line}]"
