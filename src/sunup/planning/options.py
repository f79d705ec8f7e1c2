"""Options of a plan: published changes to a protocol that change steps, hours, straws and cost."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.base.problems import UsageError
from sunup.planning.heat_aids import with_aid_at
from sunup.protocols.protocol import Do, Inseminate, Protocol, Step, Who
from sunup.protocols.rules import step_hours

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sunup.library.library import Library

SEXED = "sexed_semen"
NO_GNRH_RUBBED = "no_gnrh_for_rubbed"
CALF_REMOVAL = "calf_removal_48h"


class OptionError(UsageError):
    """An option was asked for that does not exist or cannot be had with the protocol."""


def apply_options(
    protocol: Protocol, options: Iterable[str], *, library: Library, classes: tuple[str, ...]
) -> Protocol:
    """Return the protocol with the options' changes made.

    Raises
    ------
    OptionError
        If an option is unknown, is not for these classes, or the protocol has nothing for it to
        change.
    """
    for key in options:
        entry = library.options.get(key)
        if entry is None:
            message = f"Option '{key}' is not known. Known: {', '.join(library.options)}."
            raise OptionError(message)
        if not set(classes) & set(entry.classes):
            message = f"Option '{key}' is for {', '.join(entry.classes)}; this group has none."
            raise OptionError(message)
        protocol = _APPLY[key](protocol, library)
    return protocol


def _clock_root(protocol: Protocol) -> str:
    """The id of the visit that starts the AI clock (its first step)."""
    clock = protocol.clock
    if clock is None:
        message = f"{protocol.name} has no step that starts an insemination clock."
        raise OptionError(message)
    step = protocol.step(clock)
    return step.with_ or step.id


def _no_gnrh_for_rubbed(protocol: Protocol, _library: Library) -> Protocol:
    ais = {s.id for s in protocol.steps if s.do is Do.AI}
    changed = tuple(
        replace(step, who=Who.NOT_IN_HEAT)
        if step.do is Do.GNRH and step.with_ in ais and step.who in {None, Who.ALL}
        else step
        for step in protocol.steps
    )
    if changed == protocol.steps:
        message = f"{protocol.name} gives no GnRH to all at insemination: nothing to leave out."
        raise OptionError(message)
    return with_aid_at(replace(protocol, steps=changed), _clock_root(protocol))


def _sexed(protocol: Protocol, library: Library) -> Protocol:
    low, high = library.figure("practice.sexed_after_onset_h").span

    def later(step: Step) -> Step:
        if step.do is Do.AI and step.after is not None:
            return replace(
                step,
                hours=step.hours + step.late_h,
                early_h=step.early_h + step.late_h,
                late_h=0.0,
                note=_join(step.note, "Sexed straws first to females whose heat aid is rubbed."),
            )
        if step.do is Do.WATCH and step.inseminate not in {None, Inseminate.NONE}:
            return replace(
                step,
                note=_join(
                    step.note,
                    f"Sexed semen: inseminate {low:g} to {high:g} h after her heat began.",
                ),
            )
        return step

    changed = replace(protocol, steps=tuple(later(step) for step in protocol.steps))
    if any(s.do is Do.AI for s in protocol.steps) and protocol.clock is not None:
        return with_aid_at(changed, _clock_root(changed))
    return changed


def _calf_removal(protocol: Protocol, library: Library) -> Protocol:
    ais = [s for s in protocol.steps if s.do is Do.AI and s.after is not None]
    if any(s.do is Do.CALVES_OFF for s in protocol.steps):
        message = f"{protocol.name} takes calves off already."
        raise OptionError(message)
    if not ais:
        message = f"{protocol.name} has no single timed AI to take calves off for."
        raise OptionError(message)
    ai = ais[0]
    away = library.number("practice.calf_removal_h")
    off_at = max(0.0, ai.hours - away)
    off = (
        Step(id="calves_off", do=Do.CALVES_OFF, with_=ai.after)
        if off_at == 0
        else Step(
            id="calves_off", do=Do.CALVES_OFF, after=ai.after, hours=off_at, early_h=2, late_h=4
        )
    )
    on = Step(id="calves_on", do=Do.CALVES_ON, with_=ai.id)
    hours = step_hours(protocol.steps)
    gone_h = hours[ai.id] - min(ai.hours, away)
    at = next(i for i, s in enumerate(protocol.steps) if s is ai or hours[s.id] > gone_h)
    end = max(i for i, s in enumerate(protocol.steps) if ai.id in (s.id, s.with_))
    return replace(
        protocol,
        steps=(
            *protocol.steps[:at],
            off,
            *protocol.steps[at : end + 1],
            on,
            *protocol.steps[end + 1 :],
        ),
    )


def _join(first: str | None, second: str) -> str:
    return f"{first} {second}" if first else second


_APPLY = {SEXED: _sexed, NO_GNRH_RUBBED: _no_gnrh_for_rubbed, CALF_REMOVAL: _calf_removal}
