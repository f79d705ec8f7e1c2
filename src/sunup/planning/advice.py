"""What a protocol's own page says against it, held against the females of a group.

A reason not to use a protocol may name whom it is for: a class, a body condition, a tract score,
a kind of cattle. What can be held against the herd list is; what nobody can know from it (whether
somebody can come back eight hours later) is left for the reader.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.base.figures import Seen
from sunup.protocols.protocol import Cattle

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.planning.fit import GroupContext
    from sunup.protocols.protocol import Protocol, WhenNot
    from sunup.records.female import Female


NOT_FOR = "not for: "


@dataclass(frozen=True, slots=True)
class Advice:
    """What speaks against a protocol in a group.

    `against` are the reasons met by more of the group than they allow; `some` those that only
    fewer females meet; `open` those that no herd list can settle.
    """

    against: tuple[str, ...] = ()
    some: tuple[str, ...] = ()
    open: tuple[str, ...] = ()


def find_advice(protocol: Protocol, group: GroupContext, *, usual_share: float) -> Advice:
    """Hold a protocol's reasons not to use it against a group.

    Parameters
    ----------
    protocol : Protocol
    group : GroupContext
        `females` are those the plan counts on.
    usual_share : float
        Over which share of the group a reason speaks against the protocol for all, where the
        reason names none itself.
    """
    against: list[str] = []
    some: list[str] = []
    left: list[str] = []
    for reason in protocol.when_not:
        text = reason.text.rstrip(".")
        if reason.seen is Seen.MEMORY:
            text += " [from memory]"
        if reason.is_open:
            left.append(text)
            continue
        if not _is_of_cattle(reason, group) or _cycles(reason, group):
            continue
        known = [f for f in group.females if _is_known(reason, f)]
        met = sum(_meets(reason, f) for f in known)
        told = f"{text}: {met} of {len(known)} here"
        share = usual_share if reason.share is None else reason.share
        if known and met / len(known) > share:
            against.append(told)
        elif (
            met and reason.share is None
        ):  # one with a share speaks of a whole group, or not at all
            some.append(told)
    return Advice(tuple(against), tuple(some), tuple(left))


def _is_of_cattle(reason: WhenNot, group: GroupContext) -> bool:
    if reason.cattle is None:
        return True
    return bool(group.is_indicus) == (reason.cattle is not Cattle.TAURUS)


def _cycles(reason: WhenNot, group: GroupContext) -> bool:
    """Whether examination found too many cycling for a reason that speaks of those that do not."""
    limit = reason.not_cycling_over
    return limit is not None and group.not_cycling.most <= limit


def _is_known(reason: WhenNot, female: Female) -> bool:
    """Whether the herd list says if a female is meant; who is of another class is known not to be.

    Of reasons about heifers only heifers are asked, so that a share is one of heifers.
    """
    if reason.classes and female.class_ not in reason.classes:
        return reason.tract_under is None
    return (reason.condition_most is None or female.condition is not None) and (
        reason.tract_under is None or female.tract_score is not None
    )


def _meets(reason: WhenNot, female: Female) -> bool:
    if reason.classes and female.class_ not in reason.classes:
        return False
    if reason.condition_most is not None and (female.condition or 0.0) > reason.condition_most:
        return False
    return reason.tract_under is None or (female.tract_score or 0) < reason.tract_under


def tell_met(advice: Advice) -> tuple[str, ...]:
    """Return what is met by females of the group, as it stands beside a protocol."""
    return tuple(NOT_FOR + line for line in (*advice.against, *advice.some))


def tell_open(lines: Sequence[str]) -> tuple[str, ...]:
    """Return what no herd list tells, as it stands beside a protocol."""
    return tuple(f"when not to use it: {line}" for line in lines)
