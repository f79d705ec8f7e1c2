"""Heat aids: bought where heats are read from them, and put on in a pass through the chute."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.planning.visits import find_visits
from sunup.protocols.protocol import Do, Protocol, Step
from sunup.protocols.timing import nominal_hours

if TYPE_CHECKING:
    from sunup.forecast.watches import Watches

_PUT_ON = frozenset({"PATCH", "CHALK"})  # of the ways to see heats; the rest need none put on
_NOTE = "Patch or paint over the tail head. Half or more rubbed off counts as heat."


def wants_aid(protocol: Protocol, watches: Watches | None = None) -> bool:
    """Whether heat aids (patch or paint) are bought for a protocol and put on.

    Parameters
    ----------
    protocol : Protocol
    watches : Watches, optional
        How heats are watched, where it was said: no aids for a watch by eye or by devices.
    """
    if any(s.do is Do.HEAT_AID_ON for s in protocol.steps):
        return True
    if watches is not None and watches.aid is not None and watches.aid.name not in _PUT_ON:
        return False
    return any(s.do is Do.WATCH for s in protocol.steps)


def with_aid_at(protocol: Protocol, root: str) -> Protocol:
    """Put heat aids on in a visit, named by its first step, unless they are put on already."""
    if any(step.do is Do.HEAT_AID_ON for step in protocol.steps):
        return protocol
    aid = Step(id="aid", do=Do.HEAT_AID_ON, with_=root, note=_NOTE)
    last = max(i for i, s in enumerate(protocol.steps) if root in (s.id, s.with_))
    return replace(protocol, steps=(*protocol.steps[: last + 1], aid, *protocol.steps[last + 1 :]))


def with_aids(protocol: Protocol, watches: Watches | None = None) -> Protocol:
    """Put heat aids on wherever they are bought.

    In the last pass through the chute that begins no later than the first watch; where there is
    none, in a pass of their own as that watch begins. Common practice, no source.

    Parameters
    ----------
    protocol, watches
        As for `wants_aid`.
    """
    if not wants_aid(protocol, watches):
        return protocol
    hours = nominal_hours(protocol)
    watch = next((s for s in protocol.steps if s.do is Do.WATCH), None)
    if watch is None:
        return protocol
    before = [v for v in find_visits(protocol) if v.in_chute and hours[v.id] <= hours[watch.id]]
    if before:
        return with_aid_at(protocol, max(before, key=lambda v: hours[v.id]).id)
    own = Step(
        id="aid",
        do=Do.HEAT_AID_ON,
        day=watch.day,
        early_h=watch.early_h,
        late_h=watch.late_h,
        note=_NOTE,
    )
    at = protocol.steps.index(watch)
    return replace(protocol, steps=(*protocol.steps[:at], own, *protocol.steps[at:]))
