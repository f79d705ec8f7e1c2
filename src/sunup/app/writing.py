"""Writing events: who writes, on what, where the clock is; ids and times made here."""

from __future__ import annotations

import getpass
import os
import platform
import uuid
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from sunup.base.problems import UsageError
from sunup.records.event import Event, Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

VERSION = 1  # of every body, see sunup.records.bodies


CLOCK = "SUNUP_NOW"  # an instant the clock is taken to stand at: for replays
_REPLAY_S = 600.0


def find_now() -> datetime:
    """The computer's clock, UTC; where SUNUP_NOW is set, the second it states.

    Inside that second the computer's clock goes on (ten minutes to the second), so that two
    entries of a replay are not one and the later stays the later.

    Raises
    ------
    UsageError
        If SUNUP_NOW is no instant with a zone.
    """
    told = os.environ.get(CLOCK)
    real = datetime.now(UTC)
    if not told:
        return real
    try:
        moment = datetime.fromisoformat(told)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        message = f"{CLOCK} '{told}' is not an instant. Write it as 2027-05-22T20:45:00Z."
        raise UsageError(message)
    share = real.timestamp() % _REPLAY_S / _REPLAY_S
    return moment.astimezone(UTC).replace(microsecond=int(share * 1_000_000))


def new_id() -> str:
    """A random id, made on this device."""
    return str(uuid.uuid4())


def find_person() -> str:
    """Who is logged in, as a first guess of who writes."""
    try:
        return getpass.getuser()
    except (KeyError, OSError, ImportError):
        return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Writer:
    """What every new event carries.

    Parameters
    ----------
    ranch : str
    zone : str
        IANA zone of the place.
    by : str
        Who did or enters it.
    device : str
    clock_offset_s : float, optional
        Device clock less true time, where measured.
    now : callable
        Gives the instant of entry; a test passes its own.
    make_id : callable
    """

    ranch: str
    zone: str
    by: str = ""
    device: str = field(default_factory=platform.node)
    clock_offset_s: float | None = None
    now: Callable[[], datetime] = find_now
    make_id: Callable[[], str] = new_id
    entered_at: datetime | None = None  # one instant for all of a batch

    def batch(self) -> Writer:
        """A writer whose events were all entered at one instant: they are undone together.

        A batch within a batch is the same one.
        """
        return replace(self, entered_at=self.entered_at or self.now())

    def write(
        self,
        kind: Kind,
        body: Mapping[str, Any],
        *,
        at: datetime | None = None,
        female: str | None = None,
        group: str | None = None,
        corrects: str | None = None,
    ) -> Event:
        """Make an event; `at` absent: now. Fields whose value is None are left out."""
        entered = self.entered_at or self.now()
        return Event(
            id=self.make_id(),
            ranch=self.ranch,
            kind=kind,
            version=VERSION,
            occurred_at=(at or entered).astimezone(UTC).replace(microsecond=0),
            zone=self.zone,
            entered_at=entered,
            entered_by=self.by,
            device=self.device,
            clock_offset_s=self.clock_offset_s,
            female=female,
            group=group,
            body={key: value for key, value in body.items() if value is not None},
            corrects=corrects,
        )
