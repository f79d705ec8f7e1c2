"""A protocol as visits: what is done in one pass, and what each pass's hour hangs on.

A visit is a step given by ``day`` or by ``after`` together with every step done ``with`` it. Soft
visits keep the local clock of zero; hard visits count elapsed hours from another visit. The tree
of visits is what the clock-time search works on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.protocols.protocol import CHUTE, Do, Inseminate, Protocol, Style, Zero
from sunup.protocols.timing import nominal_hours

if TYPE_CHECKING:
    from sunup.protocols.protocol import Step


@dataclass(frozen=True, slots=True)
class Visit:
    """One time the group is handled (or fed, watched, turned out with bulls).

    `anchor` is the index of the visit whose actual time starts this one's clock; None for soft
    visits, which keep the clock of zero on `day`. Hours are elapsed hours.
    """

    index: int
    id: str
    steps: tuple[Step, ...]
    day: int | None
    anchor: int | None
    hours: float
    early_h: float
    late_h: float

    @property
    def in_chute(self) -> bool:
        """Whether the whole group (or a named part) passes through the chute."""
        return any(step.do in CHUTE for step in self.steps)

    @property
    def does(self) -> frozenset[Do]:
        """What is done."""
        return frozenset(step.do for step in self.steps)

    @property
    def is_handled(self) -> bool:
        """Whether people work cattle: chute, calves on or off, bulls, feed."""
        return self.does != {Do.WATCH}


def find_visits(protocol: Protocol) -> tuple[Visit, ...]:
    """Group a protocol's steps into visits, in the order of the file.

    A watch that starts ``after`` a chute step with 0 hours is kept apart from that visit: it is
    not a pass through the chute.
    """
    root_of: dict[str, str] = {}
    members: dict[str, list[Step]] = {}
    for step in protocol.steps:
        root = root_of[step.with_] if step.with_ is not None else step.id
        root_of[step.id] = root
        members.setdefault(root, []).append(step)
    ids = list(members)
    visits: list[Visit] = []
    for index, root in enumerate(ids):
        first = members[root][0]
        anchor = ids.index(root_of[first.after]) if first.after is not None else None
        visits.append(
            Visit(
                index=index,
                id=root,
                steps=tuple(members[root]),
                day=first.day,
                anchor=anchor,
                hours=first.hours,
                early_h=first.early_h,
                late_h=first.late_h,
            )
        )
    return tuple(visits)


@dataclass(frozen=True, slots=True)
class FirstService:
    """The visit from which the day of the first insemination (or bull turnout) is counted."""

    visit: int
    offset_h: float
    nominal_h: float  # hours from zero, offset included


def find_first_service(
    protocol: Protocol, *, first_heat_after_pgf_h: float, morning_evening_h: float
) -> FirstService | None:
    """Find what "the first insemination day" means for a protocol.

    For timed AI it is the first timed AI. On a watch that starts no later than a PGF, heats are
    first expected `first_heat_after_pgf_h` after that PGF; otherwise from the start of the watch;
    the insemination follows `morning_evening_h` later. Natural service: the day bulls go in.
    """
    hours = nominal_hours(protocol)
    offers: list[FirstService] = []
    visits = find_visits(protocol)
    for visit in visits:
        at = hours[visit.id]
        for step in visit.steps:
            bulls = step.do is Do.BULLS_IN and protocol.style is Style.NATURAL_SERVICE
            if step.do is Do.AI or bulls:
                offers.append(FirstService(visit.index, 0.0, at))
            elif step.do is Do.WATCH and step.inseminate not in {None, Inseminate.NONE}:
                pgf = next(
                    (v for v in visits if Do.PGF in v.does and abs(hours[v.id] - at) < 1e-9), None
                )
                if pgf is not None:
                    wait = first_heat_after_pgf_h + morning_evening_h
                    offers.append(FirstService(pgf.index, wait, at + wait))
                else:
                    wait = morning_evening_h
                    offers.append(FirstService(visit.index, wait, at + wait))
    return min(offers, key=lambda o: o.nominal_h, default=None)


def starts_from_ai(protocol: Protocol) -> bool:
    """Whether hour 0 is an insemination already done (resynchronisation)."""
    return protocol.zero is Zero.FIRST_AI


def feed_days(protocol: Protocol) -> int:
    """Daily feedings of melengestrol, first and last included; 0 where none is fed."""
    hours = nominal_hours(protocol)
    at = {step.do: hours[step.id] for step in protocol.steps}
    if Do.MGA_START not in at or Do.MGA_END not in at:
        return 0
    return round((at[Do.MGA_END] - at[Do.MGA_START]) / 24.0) + 1
