"""Who of a group is treated otherwise: late, missed, with sexed semen; tables of their own."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.problems import SunupError
from sunup.forecast.luck import LATE, SEMEN, even_draws
from sunup.physiology.orders import DOSED, Act, OrderTable, Semen
from sunup.protocols.protocol import CHUTE, Do, Protocol
from sunup.protocols.timing import nominal_hours

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from sunup.forecast.timing import Timing

ACT: dict[Do, Act] = {do: Act[do.name] for do in Do if do is not Do.HEAT_AID_ON}


class OrdersError(SunupError):
    """A protocol that cannot be forecast, in words for the user."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Compliance:
    """What slips at the chute: shares of females treated late, or missed, at one visit each.

    Parameters
    ----------
    steps : tuple of str
        Ids of the steps that may slip.
    share_late, share_missed : float
        Of the females; each steps' females are drawn by themselves.
    late_h : float
    """

    steps: tuple[str, ...]
    share_late: float = 0.0
    late_h: float = 12.0
    share_missed: float = 0.0

    def __post_init__(self) -> None:
        shares = self.share_late, self.share_missed
        if min(shares) < 0.0 or sum(shares) > 1.0:
            message = "the shares treated late and missed must lie between 0 and 1 together."
            raise OrdersError(message)
        if not math.isfinite(self.late_h):
            message = f"treated {self.late_h} hours late cannot be."
            raise OrdersError(message)


def last_pgf(protocol: Protocol) -> str | None:
    """Return the id of the last PGF, to whomever it is given; None where there is none."""
    hours = nominal_hours(protocol)
    given = [s.id for s in protocol.steps if s.do is Do.PGF]
    return max(given, key=lambda step_id: hours[step_id], default=None)


def with_slips(
    plain: OrderTable, protocol: Protocol, when: Timing, compliance: Compliance | None
) -> tuple[tuple[OrderTable, ...], tuple[float, ...]]:
    """Add tables for females treated late or missed at the steps named."""
    if compliance is None or not compliance.steps:
        return (plain,), (1.0,)
    known = {step.id: step for step in protocol.steps if step.do in CHUTE}
    for step_id in compliance.steps:
        if step_id not in known:
            message = f"{protocol.name} has no chute step '{step_id}' that could slip."
            raise OrdersError(message)
    slipping = {(when.hours[i], ACT[known[i].do]) for i in compliance.steps if known[i].do in ACT}
    late = replace(
        plain,
        orders=tuple(
            replace(o, hour=o.hour + compliance.late_h) if (o.hour, o.act) in slipping else o
            for o in plain.orders
        ),
    )
    missed = replace(
        plain,
        orders=tuple(
            replace(o, amount=0.0) if (o.hour, o.act) in slipping else o
            for o in plain.orders
            if o.act in DOSED or (o.hour, o.act) not in slipping
        ),
    )
    rest = 1.0 - compliance.share_late - compliance.share_missed
    return (plain, late, missed), (rest, compliance.share_late, compliance.share_missed)


def with_semen(
    tables: tuple[OrderTable, ...], shares: tuple[float, ...], sexed: float
) -> tuple[tuple[OrderTable, ...], tuple[float, ...]]:
    """Add tables for the share of females inseminated with sexed semen."""
    if sexed <= 0.0:
        return tables, shares
    own = tuple(replace(table, semen=Semen.SEXED) for table in tables)
    if sexed >= 1.0:
        return own, shares
    return (*tables, *own), (
        *(share * (1.0 - sexed) for share in shares),
        *(share * sexed for share in shares),
    )


def draw_plans(
    tables: Sequence[OrderTable], shares: Sequence[float], *, seed: int, females: int
) -> NDArray[np.int64]:
    """Return which table each female follows in one block of replicates, shape (females,).

    Parameters
    ----------
    tables : sequence of OrderTable
    shares : sequence of float
        Of the females, one a table.
    seed : int
        Of the block.
    females : int
    """
    if len(tables) == 1:
        return np.zeros(females, np.int64)
    u, _, _, _ = even_draws(seed, LATE, replicates=1, females=females)
    v, _, _, _ = even_draws(seed, SEMEN, replicates=1, females=females)
    parts = np.array(shares)
    if not _is_mixed(tables):
        return _pick(parts, u[0])
    half = len(parts) // 2
    sexed = float(parts[half:].sum())
    plans = _pick(parts[half:] / sexed, u[0])
    plans[v[0] < sexed] += half
    return plans


def _pick(shares: NDArray[np.float64], u: NDArray[np.float64]) -> NDArray[np.int64]:
    """Return the place each draw falls into."""
    plans: NDArray[np.int64] = np.searchsorted(np.cumsum(shares)[:-1], u, side="right").astype(
        np.int64
    )
    return plans


def _is_mixed(tables: Sequence[OrderTable]) -> bool:
    return len({table.semen for table in tables}) > 1


def say_slips(compliance: Compliance | None) -> tuple[str, ...]:
    """Say what slips, as a sentence; nothing where nothing does."""
    if compliance is None or not compliance.steps:
        return ()
    what = " and ".join(step.replace("_", " ") for step in compliance.steps)
    shares = (
        (compliance.share_late, f"treated {compliance.late_h:g} hours late"),
        (compliance.share_missed, "missed"),
    )
    told = " and ".join(f"{100.0 * share:g} of 100 {how}" for share, how in shares if share > 0.0)
    return (f"at {what}, {told} (your figures)",) if told else ()
