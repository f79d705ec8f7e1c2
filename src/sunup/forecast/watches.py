"""How heats are watched in a group: how often, how long, with what; as steps of a protocol."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sunup.base.problems import UsageError
from sunup.physiology.checks import FIRST_CHECK, LAST_CHECK, SOON_H, check_hours
from sunup.physiology.orders import Act, Aid, Order
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.forecast.figures import ForecastFigures
    from sunup.protocols.protocol import Protocol

CHECK_H = 1.0 / 60.0  # by so much a watch lasts beyond its last check, for that to be in it
_WATCH = re.compile(r"([0-9]{1,3})x([0-9]{1,4})(?::([a-z]+))?")
MOST_WATCHES = 6
MOST_WATCHED_H = LAST_CHECK - FIRST_CHECK


@dataclass(frozen=True, slots=True, kw_only=True)
class Watches:
    """How heats are watched where a step of a protocol is silent, and judged at timed AI.

    Parameters
    ----------
    times_per_day : int
    minutes : float
        Each time.
    aid : Aid, optional
        None: what the protocol puts on; else by eye.
    origin : str
        Said behind it: why so.
    is_told : bool
        Whether the user said so: somebody watches.
    """

    times_per_day: int
    minutes: float
    aid: Aid | None = None
    origin: str = ""
    is_told: bool = False

    @classmethod
    def of(cls, figures: ForecastFigures) -> Watches:
        """Return what is usual."""
        return cls(times_per_day=figures.watch_times_per_day, minutes=figures.watch_minutes)

    @property
    def words(self) -> str:
        """The same in words."""
        told = say_watch(self.aid or Aid.EYE, self.times_per_day, self.minutes)
        return f"{told} ({self.origin})" if self.origin else told

    def in_steps(self, protocol: Protocol, *, over_all: bool) -> Protocol:
        """Return a protocol with this written into its watches.

        Parameters
        ----------
        protocol : Protocol
        over_all : bool
            Also where a step says otherwise; else the aid alone, and where a step names none.
        """
        aid = None if self.aid is None else self.aid.name.lower()
        steps = tuple(
            step
            if step.do is not Do.WATCH
            else replace(
                step,
                times_per_day=self.times_per_day,
                minutes=round(self.minutes),
                aid=aid or step.aid,
            )
            if over_all
            else replace(step, aid=step.aid or aid)
            for step in protocol.steps
        )
        return replace(protocol, steps=steps)


def say_watch(aid: Aid, times_per_day: int, minutes: float) -> str:
    """Say a way of watching."""
    often = "once a day" if times_per_day == 1 else f"{times_per_day} times a day"
    return {
        Aid.EYE: f"heats watched by eye {often} for {minutes:g} minutes",
        Aid.PATCH: f"heat patches read {often}",
        Aid.CHALK: f"tail chalk or paint read {often}",
        Aid.ELECTRONIC: "heats found by electronic devices round the clock",
    }[aid]


def with_last_checks(orders: Sequence[Order], *, zero_clock_h: float) -> tuple[Order, ...]:
    """Let the check at the very hour at which a watch ends count, since a crew makes it.

    The simulator, as the trials it is fitted to are told, ends a watch before that hour. Not where
    another watch goes on from there, which makes that check itself; nor where females not
    inseminated have timed AI within `SOON_H`: those then in heat have it with the others.

    Parameters
    ----------
    orders : sequence of Order
    zero_clock_h : float
        Hour of the day at hour zero.
    """

    def ends_on_a_check(order: Order) -> bool:
        if order.act is not Act.WATCH or order.until_h is None or order.aid is Aid.ELECTRONIC:
            return False
        clock = (order.until_h + zero_clock_h) % 24.0
        return any(math.isclose(clock, h, abs_tol=1e-6) for h in check_hours(order.per_day))

    def is_followed(order: Order) -> bool:
        end = order.until_h or order.hour
        return any(
            (o.act is Act.WATCH and o.hour <= end < (o.until_h or o.hour))
            or (o.act is Act.AI and end <= o.hour < end + SOON_H)
            for o in orders
            if o is not order
        )

    return tuple(
        replace(order, until_h=(order.until_h or order.hour) + CHECK_H)
        if ends_on_a_check(order) and not is_followed(order)
        else order
        for order in orders
    )


def read_watch(group: str, text: str) -> Watches:
    """Read how heats are watched in a group, typed as TIMESxMINUTES or TIMESxMINUTES:AID.

    Raises
    ------
    UsageError
        If it is not of that form, or more than a day holds.
    """
    flag = f"--watch {group}={text}"
    match = _WATCH.fullmatch(text)
    if match is None:
        message = (
            f"{flag}: write it as GROUP=TIMESxMINUTES, such as cows=2x45, or with an aid, such as "
            "cows=2x45:patch."
        )
        raise UsageError(message)
    times, minutes = int(match[1]), int(match[2])
    if not 1 <= times <= MOST_WATCHES or minutes < 1 or times * minutes > 60 * MOST_WATCHED_H:
        message = (
            f"{flag}: watch 1 to {MOST_WATCHES} times a day, at least a minute each time, in all "
            f"no more than the {MOST_WATCHED_H:.0f} hours from 06:00 to 18:00."
        )
        raise UsageError(message)
    known = [aid.name.lower() for aid in Aid]
    if match[3] is not None and match[3] not in known:
        message = f"{flag}: '{match[3]}' is no way to see heats. Known: {', '.join(known)}."
        raise UsageError(message)
    return Watches(
        times_per_day=times,
        minutes=minutes,
        aid=None if match[3] is None else Aid[match[3].upper()],
        origin="your figures",
        is_told=True,
    )
