"""When the steps of a protocol fall, in hours from zero: as published, or as planned."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.protocols.timing import nominal_hours

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.protocols.protocol import Protocol

ZERO_CLOCK_H = 8.0  # where no calendar is given, as in the trials


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """When the steps fall.

    Parameters
    ----------
    hours : mapping of str to float
        Step id to elapsed hours from zero.
    untils : mapping of str to float
        Watch step id to the hour at which it ends.
    zero_clock_h : float
        Hour of the day at zero, 0 to 24.
    is_planned : bool
        Whether these are the hours of a schedule rather than those published.
    """

    hours: Mapping[str, float]
    untils: Mapping[str, float]
    zero_clock_h: float = ZERO_CLOCK_H
    is_planned: bool = False


def nominal_timing(protocol: Protocol) -> Timing:
    """Return the published hours of a protocol, zero at 08:00."""
    hours = nominal_hours(protocol)
    untils = {
        step.id: step.until + (hours[step.after] if step.after is not None else 0.0)
        for step in protocol.steps
        if step.until is not None
    }
    return Timing(hours=hours, untils=untils)
