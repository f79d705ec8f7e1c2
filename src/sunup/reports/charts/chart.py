"""A chart as a value: the picture's spec, a sentence that says it, and its numbers as a table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """A picture with what stands in for it where it cannot be seen.

    Parameters
    ----------
    key : str
        Short name for files: ``heats``.
    title : str
    alt : str
        One or two sentences with the counts that matter.
    spec : dict
        A Vega-Lite 6 spec without a schema address; all data inline.
    head : tuple of str
        Heads of the table, units in them.
    rows : tuple of tuple
        The numbers drawn, not rounded.
    """

    key: str
    title: str
    alt: str
    spec: dict[str, Any]
    head: tuple[str, ...]
    rows: tuple[tuple[str | int | float, ...], ...]
