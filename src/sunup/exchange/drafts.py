"""Facts on their way into the ledger: whose, when, what; made the same from the same file.

The id of a fact is drawn from what it says, so that a file taken twice adds nothing the second
time, and two people who take the same file on two devices have taken it once.
"""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from sunup.records.event import Kind

_SPACE = uuid.UUID("5c1f0f0e-6a52-4a4f-9d3c-7b1b0d1a4c11")  # ours alone: ids drawn from facts


@dataclass(frozen=True, slots=True)
class Drafted:
    """One fact to be recorded.

    `row` is where the file says it (0: nowhere in particular); `entered_at` and `corrects` only
    where the file tells when it was entered or what it replaces.
    """

    id: str
    kind: Kind
    female: str | None
    at: datetime
    body: Mapping[str, Any]
    row: int = 0
    by: str = ""
    group: str | None = None
    entered_at: datetime | None = None
    corrects: str | None = None


@dataclass(frozen=True, slots=True)
class Aside:
    """Something of a file that is not taken until somebody says what it means."""

    row: int
    what: str
    why: str
    source: Any = None


@dataclass(frozen=True, slots=True)
class Difference:
    """What the ledger holds and what the file says instead."""

    row: int
    who: str
    fact: str
    ledger: str
    file: str


def draw_id(*words: object) -> str:
    """Draw an id from words; the same words give it again."""
    return str(uuid.uuid5(_SPACE, "\x1f".join(map(str, words))))


def fact_id(
    ranch: str, kind: Kind, female: str | None, at: datetime, body: Mapping[str, Any]
) -> str:
    """Draw the id of a fact from all it says."""
    said = json.dumps(dict(body), sort_keys=True, ensure_ascii=True)
    return draw_id(ranch, kind.value, female, at.isoformat(), said)
