"""The expiry of what was given: as read on it, else as stock holds it for the lot."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.planning.stock import DRUG, INSERT
from sunup.records.event import Event, Kind

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from sunup.planning.stock import Change


def lot_expiry(changes: Sequence[Change], event: Event) -> date | None:
    """The earliest expiry stock holds for the lot of a treatment; None where it holds none.

    Parameters
    ----------
    changes : sequence of Change
        Of the season.
    event : Event
        Treated or InsertPlaced.
    """
    body = event.body
    lot = str(body.get("lot") or "").strip().casefold()
    if not lot or event.kind not in {Kind.TREATED, Kind.INSERT_PLACED}:
        return None
    is_insert = event.kind is Kind.INSERT_PLACED
    held = [
        change.expires_on
        for change in changes
        if change.expires_on is not None
        and change.item.lot.strip().casefold() == lot
        and (
            change.item.kind == INSERT
            if is_insert
            else (change.item.kind, change.item.name) == (DRUG, body.get("active"))
        )
    ]
    return min(held, default=None)
