"""Sires given out among the females of a group by the shares of its plan, kin kept apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.planning.sires import Assigned, kin_warning

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.planning.plan import SireUse


@dataclass(frozen=True, slots=True)
class ToServe:
    """A female a sire is to be chosen for."""

    female: str
    tag: str
    her_sire: str | None = None
    dams_sire: str | None = None


@dataclass(frozen=True, slots=True)
class Shared:
    """Sires given out: the choice for each female, and the tags of those no sire may serve."""

    chosen: dict[str, Assigned]
    only_kin: tuple[str, ...]


def share_out(females: Sequence[ToServe], uses: Sequence[SireUse]) -> Shared:
    """Give out the sires of a group by their shares, none to his daughter or granddaughter.

    The same females in the same order always get the same sires. Females with fewer sires they may
    have are given theirs first; then each gets the sire furthest behind his share, so that the
    shares hold at any point of the order. Alternates are the other sires of the same sort of semen,
    the largest share first.

    Parameters
    ----------
    females : sequence of ToServe
        In treatment order.
    uses : sequence of SireUse
        Of one group; a share is of the group's inseminations.

    Returns
    -------
    Shared
    """
    if not uses:
        return Shared({}, ())
    total = sum(use.share for use in uses) or 1.0
    wanted = [len(females) * use.share / total for use in uses]
    given = [0] * len(uses)
    allowed = {f.female: [i for i, use in enumerate(uses) if _may(f, use)] for f in females}
    # sorted keeps the treatment order among those with equally many sires
    order = sorted(females, key=lambda f: len(allowed[f.female]))
    chosen: dict[str, Assigned] = {}
    for her in order:
        fits = allowed[her.female]
        if not fits:
            continue
        best = max(fits, key=lambda i: (_behind(wanted[i], given[i]), -i))
        given[best] += 1
        chosen[her.female] = _with_alternates(uses, best, fits)
    return Shared(
        {f.female: chosen[f.female] for f in females if f.female in chosen},
        tuple(f.tag for f in females if f.female not in chosen),
    )


def _may(her: ToServe, use: SireUse) -> bool:
    return kin_warning(use.code, her_sire=her.her_sire, dams_sire=her.dams_sire) is None


def _behind(wanted: float, given: int) -> float:
    """Share of a sire's straws still to be given out; those wanted nowhere come last."""
    return (wanted - given) / wanted if wanted > 0 else -float("inf")


def _with_alternates(uses: Sequence[SireUse], best: int, fits: Sequence[int]) -> Assigned:
    same = [
        uses[i]
        for i in fits
        if i != best and uses[i].semen == uses[best].semen and uses[i].code != uses[best].code
    ]
    others = sorted(same, key=lambda use: -use.share)
    return Assigned(
        uses[best].code, tuple(dict.fromkeys(use.code for use in others)), uses[best].semen
    )
