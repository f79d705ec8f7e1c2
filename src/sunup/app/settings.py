"""Use-case: what a ranch sets once and every list reads: sires' breeds, the once-a-day session."""

from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING, Any

from sunup.base.problems import UsageError
from sunup.library.cattle import breeds_by_name
from sunup.planning.sires import sire_key
from sunup.records.event import Event, Kind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from sunup.app.desk import Desk
    from sunup.forecast.gestation import Shares

SIRE_BREED = "sire_breed/"  # + sire_key of the sire
ONCE_A_DAY = "once_a_day"
NAMES = ("sire_breed", ONCE_A_DAY)


def set_sire_breed(desk: Desk, sire: str, breed: str, *, at: datetime) -> Event:
    """Keep a sire's breed: due dates and AI-or-bull are counted with its gestation.

    Raises
    ------
    UsageError
        If the library knows no such breed.
    """
    known = breeds_by_name(desk.library)
    found = known.get(breed.strip().lower())
    if found is None:
        names = sorted({b.name.lower() for b in known.values()})
        message = f"'{breed}' is no breed the library knows. It knows: {', '.join(names)}."
        raise UsageError(message)
    key = SIRE_BREED + sire_key(sire)
    return _set(desk, key, {"sire": sire, "shares": {found.name: 1.0}}, at=at)


def set_once_a_day(desk: Desk, clock: str, *, at: datetime) -> Event:
    """Keep the hour of the once-a-day insemination.

    Raises
    ------
    UsageError
        If it is no time of day.
    """
    try:
        when = time.fromisoformat(clock.strip())
    except ValueError:
        message = f"'{clock}' is no time of day. Write it as 10:30."
        raise UsageError(message) from None
    return _set(desk, ONCE_A_DAY, f"{when:%H:%M}", at=at)


def set_words(desk: Desk, name: str, values: Sequence[str], *, at: datetime) -> tuple[Event, ...]:
    """Keep what was typed for a setting: SIRE=BREED pairs, or a time of day.

    Raises
    ------
    UsageError
        If the setting is none we know, or a value makes no sense.
    """
    if name == ONCE_A_DAY and len(values) == 1:
        return (set_once_a_day(desk, values[0], at=at),)
    if name != "sire_breed" or not values:
        message = "Write: once_a_day 10:30, or sire_breed A31=angus B12=simmental."
        raise UsageError(message)
    pairs = [text.partition("=") for text in values]
    for sire, equals, breed in pairs:
        if not sire.strip() or not equals:
            message = f"'{sire}{equals}{breed}': write the sire, =, its breed: A31=angus."
            raise UsageError(message)
    return tuple(set_sire_breed(desk, sire.strip(), breed, at=at) for sire, _, breed in pairs)


def _set(desk: Desk, key: str, value: Any, *, at: datetime) -> Event:
    event = desk.writer.batch().write(
        Kind.SETTING_CHANGED, {"key": key, "value": {"value": value}}, at=at
    )
    desk.append([event])
    return event


def read_sire_breeds(settings: Mapping[str, Any]) -> dict[str, Shares]:
    """Breed shares of each sire by its `sire_key`; what makes no sense is passed over."""
    found: dict[str, Shares] = {}
    for key, value in settings.items():
        shares = value.get("shares") if isinstance(value, dict) else None
        if key.startswith(SIRE_BREED) and isinstance(shares, dict):
            found[key.removeprefix(SIRE_BREED)] = tuple(
                (str(breed), float(share)) for breed, share in shares.items()
            )
    return found


def read_once_a_day(settings: Mapping[str, Any]) -> time | None:
    """When the ranch inseminates once a day; None where it never said."""
    told = settings.get(ONCE_A_DAY)
    try:
        return time.fromisoformat(told) if isinstance(told, str) else None
    except ValueError:
        return None
