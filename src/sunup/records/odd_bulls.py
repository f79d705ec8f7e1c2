"""What is odd in what is recorded of bulls: one turned in who was never taken out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.records import observations as o
from sunup.records.odd import Odd, OddLimits, day

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sunup.records.state import HerdState


def bulls_twice(state: HerdState, _limits: OddLimits) -> Iterator[Odd]:
    """Yield each bull turned in who is in already: with the same females, or with others."""
    turned = sorted(
        (
            (x.at, x.event, group.name, x)
            for group in state.groups.values()
            for x in group.log
            if isinstance(x, o.BullsIn | o.BullsOut)
        ),
        key=lambda one: one[:2],
    )
    there: dict[str, tuple[str, o.BullsIn]] = {}
    for _, _, group, x in turned:
        if isinstance(x, o.BullsOut):
            gone = {bull.casefold() for bull in x.bulls}
            for key, (where, _) in list(there.items()):
                if where == group and (not gone or key in gone):
                    del there[key]
            continue
        for bull in x.bulls:
            where, since = there.get(bull.casefold(), ("", None))
            if since is not None and since.event != x.event:
                yield Odd(
                    rule="bull_in_twice",
                    where=f"bull {bull}, {day(x.on)}",
                    what=f"He was turned in with {group}"
                    + (" again" if where == group else "")
                    + f"; by the records he is with {'them' if where == group else where} since "
                    f"{day(since.on)}.",
                    fix="If it is one entered twice, take one back (sunup record undo); if he "
                    "came out between, record when (sunup record bulls-out).",
                    at=x.at,
                    events=(x.event, since.event),
                )
            there[bull.casefold()] = (group, x)
