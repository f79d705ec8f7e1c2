"""The order table: what is done to a female, at which hour, on which condition."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import IntEnum
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.problems import SunupError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

CLUSTER_H = 24.0  # of PGFs within a day of each other, the first is the clock of the AI


class Act(IntEnum):
    """What a row does."""

    GNRH = 0
    PGF = 1
    INSERT_IN = 2
    INSERT_OUT = 3
    MGA_START = 4
    MGA_END = 5
    WATCH = 6
    AI = 7
    CALVES_OFF = 8
    CALVES_ON = 9
    ESTRADIOL_BENZOATE = 10
    ESTRADIOL_CYPIONATE = 11
    ECG = 12
    PREG_CHECK = 13
    BULLS_IN = 14
    BULLS_OUT = 15


BULLS = (Act.BULLS_IN, Act.BULLS_OUT)
DOSED = (
    Act.GNRH,
    Act.PGF,
    Act.INSERT_IN,
    Act.ESTRADIOL_BENZOATE,
    Act.ESTRADIOL_CYPIONATE,
    Act.ECG,
)


class Who(IntEnum):
    """Whom a row is for, judged inside the run."""

    ALL = 0
    IN_HEAT = 1  # seen in heat since the clock PGF, by the row's judged hour
    NOT_IN_HEAT = 2
    NOT_INSEMINATED = 3  # no AI since zero and none pending
    NOT_PREGNANT = 4


class Aid(IntEnum):
    """What heats are seen by."""

    EYE = 0
    PATCH = 1
    CHALK = 2
    ELECTRONIC = 3


class Rule(IntEnum):
    """When a female seen in heat during a watch is inseminated."""

    NONE = 0
    AM_PM = 1
    AFTER_12H = 2
    ONCE_DAILY = 3


class Semen(IntEnum):
    """Semen of the inseminations."""

    CONVENTIONAL = 0
    SEXED = 1


class OrderError(SunupError):
    """A row of an order table that cannot be carried out."""

    def __init__(self, hour: float, what: str) -> None:
        super().__init__(f"the order at hour {hour:g}: {what}")


ORDER = np.dtype(
    [
        ("hour", "f8"),
        ("act", "i8"),
        ("amount", "f8"),
        ("who", "i8"),
        ("until_h", "f8"),
        ("judged_h", "f8"),
        ("aid", "i8"),
        ("per_day", "i8"),
        ("minutes", "f8"),
        ("rule", "i8"),
    ]
)
PLAN = np.dtype(
    [
        ("first_row", "i8"),
        ("last_row", "i8"),  # one past
        ("clock_h", "f8"),
        ("aid", "i8"),
        ("per_day", "i8"),
        ("minutes", "f8"),
        ("zero_clock_h", "f8"),
        ("semen", "i8"),
        ("treated_row", "i8"),  # one past the last row that is not of bulls
        ("treated_h", "f8"),  # after it nothing is done to her but by bulls
    ]
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """One row.

    Parameters
    ----------
    hour : float
        Elapsed hours from zero.
    act : Act
    amount : float
        Share of the full dose; of a full insert; of the age from which a check finds pregnancies;
        of the heats that find a bull free; of the stands of a heat in company, for a watch.
    who : Who
    judged_h : float, optional
        Hour at which heat is judged; the row's own hour if absent.
    until_h : float, optional
        End of a watch, itself not watched.
    aid, per_day, minutes, rule
        For a watch.
    """

    hour: float
    act: Act
    amount: float = 1.0
    who: Who = Who.ALL
    judged_h: float | None = None
    until_h: float | None = None
    aid: Aid = Aid.EYE
    per_day: int = 2
    minutes: float = 45.0
    rule: Rule = Rule.NONE

    def __post_init__(self) -> None:
        if not math.isfinite(self.hour):
            raise OrderError(self.hour, "the hour is not a number.")
        if self.amount < 0.0 or not math.isfinite(self.amount):
            raise OrderError(self.hour, f"an amount of {self.amount} cannot be given.")
        if self.act is Act.WATCH and (self.until_h is None or self.until_h <= self.hour):
            raise OrderError(self.hour, "a watch must end after it begins.")
        if self.act is Act.WATCH and self.aid is Aid.EYE and self.per_day < 1:
            raise OrderError(self.hour, "a watch needs at least one check a day.")


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderTable:
    """The orders of one plan.

    Parameters
    ----------
    orders : sequence of Order
        At the same hour they are carried out in the order given, inseminations last.
    aid, per_day, minutes
        How heats are seen outside the watches of the table itself.
    zero_clock_h : float
        Hour of the day at zero.
    semen : Semen
    counted_from_h : float, optional
        The clock hour, where a later PGF of the same table is not it.
    """

    orders: Sequence[Order]
    aid: Aid = Aid.EYE
    per_day: int = 2
    minutes: float = 45.0
    zero_clock_h: float = 8.0
    semen: Semen = Semen.CONVENTIONAL
    counted_from_h: float | None = None

    @property
    def clock_h(self) -> float:
        """Hour of the PGF that heats are counted from: of the last cluster within a day, the first.

        Zero where the table has no PGF.
        """
        if self.counted_from_h is not None:
            return self.counted_from_h
        hours = sorted(order.hour for order in self.orders if order.act is Act.PGF)
        if not hours:
            return 0.0
        clock = hours[-1]
        for hour in reversed(hours):
            if clock - hour <= CLUSTER_H:
                clock = hour
        return clock

    @property
    def last_h(self) -> float:
        """Hour after which the table asks nothing more."""
        return max((max(o.hour, o.until_h or o.hour) for o in self.orders), default=0.0)


def pack_orders(tables: Sequence[OrderTable]) -> tuple[NDArray[np.void], NDArray[np.void]]:
    """Lay order tables out for the kernel.

    Returns
    -------
    rows : ndarray of ORDER, shape (r,)
    plans : ndarray of PLAN, shape (k,)
    """
    rows: list[tuple[float | int, ...]] = []
    plans: list[tuple[float | int, ...]] = []
    for table in tables:
        first = len(rows)
        order = sorted(_summed(table.orders), key=lambda o: (o.hour, o.act is Act.AI))
        rows += [
            (
                o.hour,
                int(o.act),
                o.amount,
                int(o.who),
                math.inf if o.until_h is None else o.until_h,
                o.hour if o.judged_h is None else o.judged_h,
                int(o.aid),
                o.per_day,
                o.minutes,
                int(o.rule),
            )
            for o in order
        ]
        treated = [i for i, o in enumerate(order, start=1) if o.act not in BULLS]
        plans.append(
            (
                first,
                len(rows),
                table.clock_h,
                int(table.aid),
                table.per_day,
                table.minutes,
                table.zero_clock_h,
                int(table.semen),
                first + max(treated, default=0),
                max(
                    (order[i - 1].until_h or order[i - 1].hour for i in treated), default=-math.inf
                ),
            )
        )
    return np.array(rows, ORDER), np.array(plans, PLAN)


def _summed(orders: Sequence[Order]) -> list[Order]:
    """Orders with doses of one drug in one hour, for the same females, put together in one."""
    found: dict[tuple[object, ...], Order] = {}
    for number, order in enumerate(orders):
        same = (order.hour, order.act, order.who, order.judged_h)
        key = same if order.act in DOSED else (number,)
        former = found.get(key)
        amount = order.amount + (former.amount if former else 0.0)
        found[key] = replace(order, amount=amount)
    return list(found.values())
