"""Inserts counted in and out, each under the group its female was in when it went in."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sunup.planning.stock import InsertCount
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sunup.planning.females_now import FemaleNow


@dataclass(slots=True)
class _Tally:
    placed: int = 0
    out: int = 0
    lost: int = 0
    still_in: list[str] = field(default_factory=list)
    out_unplaced: list[str] = field(default_factory=list)


def tally_inserts(females: Iterable[FemaleNow]) -> tuple[InsertCount, ...]:
    """Count the inserts of each group: in, out, lost, still in somebody.

    An insert that came out counts under the group it went in; one that nobody recorded as put in,
    under the group she was in when it came out.
    """
    found: dict[str, _Tally] = defaultdict(_Tally)
    for female in females:
        inside: str | None = None  # the group in which the insert now in her went in
        for act in female.acts:
            here = female.group_at(act.at)
            if act.do == Do.INSERT_IN.value:
                inside = here
                found[here].placed += 1
            elif act.do == Do.INSERT_OUT.value:
                tally = found[here if inside is None else inside]
                if act.at in female.lost_at:
                    tally.lost += 1
                else:
                    tally.out += 1
                if inside is None and female.tag not in tally.out_unplaced:
                    tally.out_unplaced.append(female.tag)
                inside = None
        if inside is not None:
            found[inside].still_in.append(female.tag)
    return tuple(
        InsertCount(
            group=group,
            placed=tally.placed,
            out=tally.out,
            lost=tally.lost,
            still_in=tuple(tally.still_in),
            out_unplaced=tuple(tally.out_unplaced),
        )
        for group, tally in found.items()
    )
