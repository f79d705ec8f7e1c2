"""What is wrong with one cell, before it is known where the cell stands."""

from __future__ import annotations

from dataclasses import dataclass

from sunup.base.problems import Severity


@dataclass(frozen=True, slots=True)
class Fault:
    """A cell that cannot be read, or was read with something to say about it.

    With severity WARNING the `value` is used; with ERROR there is none.
    """

    what: str
    fix: str
    severity: Severity = Severity.ERROR
    value: object = None
