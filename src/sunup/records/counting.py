"""What the records leave at every moment: head in groups, inserts in females, stock.

Fed event by event in order, so that a count taken by a person is compared with what the records
said at that moment. Once counted, a thing is carried on from the count: one difference is told
once.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.records import observations as o
from sunup.records.state import Balance, StockKey

if TYPE_CHECKING:
    from datetime import datetime

INSERT, SEMEN, ML = "insert", "semen", "ml"
_NOTHING = 1e-6  # of any unit: rounding of doses added up
_INSERT_NAMES = frozenset({INSERT, "inserts", "progesterone_insert"})


class _Book:
    """Amounts in and out by key, and when each first fell below nothing."""

    def __init__(self) -> None:
        self.came: dict[StockKey, float] = {}
        self.went: dict[StockKey, float] = {}
        self.below: dict[StockKey, datetime] = {}

    def add(self, key: StockKey, amount: float, at: datetime) -> None:
        came = self.came.setdefault(key, 0.0)
        went = self.went.setdefault(key, 0.0)
        if amount > 0:
            self.came[key] = came + amount
        else:
            self.went[key] = went = went - amount
            if came - went < -_NOTHING:
                self.below.setdefault(key, at)

    def balances(self) -> dict[StockKey, Balance]:
        return {
            key: Balance(key, came, self.went[key], self.below.get(key))
            for key, came in self.came.items()
        }


class Counting:
    """Running counts."""

    def __init__(self) -> None:
        self._group: dict[str, str] = {}
        self._head: dict[str, int] = defaultdict(int)
        self._inside: dict[str, int] = defaultdict(int)
        self._inserts: dict[str, int] = defaultdict(int)
        self._lots = _Book()
        self._items = _Book()
        self._carried: dict[tuple[str | None, ...], float] = {}

    def move(self, female: str, to: str) -> None:
        """Put a female into a group; empty: none."""
        before = self._group.get(female, "")
        if before:
            self._head[before] -= 1
            self._inserts[before] -= self._inside.get(female, 0)
        self._group[female] = to
        if to:
            self._head[to] += 1
            self._inserts[to] += self._inside.get(female, 0)

    def insert(self, female: str, change: int) -> None:
        """Count an insert into a female (+1) or out of her (-1), lost ones too; never below 0."""
        if change < 0 and not self._inside[female]:
            return
        self._inside[female] += change
        group = self._group.get(female, "")
        if group:
            self._inserts[group] += change

    def use(self, x: o.Observation) -> None:
        """Take what an act on a female used from stock."""
        if isinstance(x, o.Treated):
            name, lot = x.active or x.act, x.lot or ""
            self._book(StockKey(name, "doses", lot), -1.0, x.at)
            if x.dose_ml:
                self._book(StockKey(name, ML, lot), -x.dose_ml, x.at)
        elif isinstance(x, o.InsertPlaced):
            self._book(StockKey(INSERT, "inserts", x.lot or ""), -1.0, x.at)
        elif isinstance(x, o.Inseminated):
            key = StockKey(
                SEMEN,
                "straws",
                x.batch or "",
                x.sire,
                x.semen or "",
                x.tank or "",
                x.canister or "",
            )
            self._book(key, -float(x.straws), x.at)

    def restock(self, x: o.StockMoved) -> None:
        """Book a move of stock."""
        unit, amount, lot = x.unit, x.amount, x.lot or ""
        if x.item == SEMEN or unit == "straws":
            sire = x.sire or ("" if x.item == SEMEN else x.item)
            key = StockKey(
                SEMEN,
                "straws",
                x.batch or lot,
                sire,
                x.semen or "",
                x.tank or "",
                x.canister or "",
            )
        elif x.item in _INSERT_NAMES or unit == "inserts":
            key = StockKey(INSERT, "inserts", lot)
        elif unit == "bottles" and x.bottle_ml:
            key, amount = StockKey(x.item, ML, lot), amount * x.bottle_ml
        else:
            key = StockKey(x.item, unit, lot)
        self._book(key, amount, x.at)

    def compare(self, x: o.Tallied) -> o.Tallied:
        """Return a count with what the records say beside it."""
        if x.what == "head":
            group = x.group or x.place or ""
            return replace(x, expected=float(self._head[group])) if group in self._head else x
        if x.what == "inserts" and x.group:
            return replace(x, expected=float(self._inserts.get(x.group, 0)))
        found = [key for key in self._lots.came if _is_meant(key, x)]
        if not any(self._lots.came[key] for key in found):
            return x
        left = sum(self._lots.came[key] - self._lots.went[key] for key in found)
        what = (x.what, x.item, x.lot, x.place)
        expected = left + self._carried.get(what, 0.0)
        self._carried[what] = x.count - left
        return replace(x, expected=expected)

    def balances(self) -> dict[StockKey, Balance]:
        """Return what is left by everything that was recorded of it."""
        return self._lots.balances()

    def totals(self) -> dict[StockKey, Balance]:
        """Return what is left of each item, of semen each sire, over all lots and tanks."""
        return self._items.balances()

    def _book(self, key: StockKey, amount: float, at: datetime) -> None:
        self._lots.add(key, amount, at)
        self._items.add(StockKey(key.item, key.unit, sire=key.sire), amount, at)


def _is_meant(key: StockKey, x: o.Tallied) -> bool:
    """Whether a count of supplies speaks of a balance: what it does not name, it counts whole."""
    if x.what == "units":
        # a drug counted in ml says so in its unit; before there was one, in its place
        if (key.unit == ML) != (ML in {x.unit, x.place}) or key.unit in {
            "straws",
            "inserts",
            "doses",
        }:
            return False
    elif key.unit != x.what:
        return False
    named = key.sire if key.item == SEMEN else key.item
    if x.item and x.item != named and not (key.item == INSERT and x.item in _INSERT_NAMES):
        return False
    if x.lot and x.lot != key.lot:
        return False
    places = {key.tank, f"{key.tank}/{key.canister}"}
    return not x.place or key.item != SEMEN or x.place in places
