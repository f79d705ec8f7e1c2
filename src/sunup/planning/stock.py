"""What is on the shelf: bought, used, counted, running out.

Amounts are millilitres for drugs, inserts for inserts, straws for semen. What was used comes from
the treatments recorded, so a bottle never has to be written off by hand. A count is the truth on
the day it was made: the difference from what the records say is shown and the balance goes on from
the count.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date, datetime

DRUG, INSERT, SEMEN, OTHER = "drug", "insert", "semen", "other"
UNIT = {DRUG: "mL", INSERT: "inserts", SEMEN: "straws", OTHER: "units"}


@dataclass(frozen=True, slots=True)
class Item:
    """One thing kept: a drug by lot, inserts by lot, straws by sire and collection code."""

    kind: str  # drug | insert | semen | other
    name: str  # key of the active, "insert", code of the sire, or name of the supply
    lot: str = ""  # lot, or collection code of semen
    place: str = ""  # of semen: tank/canister
    semen: str = ""  # conventional | sexed

    @property
    def unit(self) -> str:
        """What it is counted in."""
        return UNIT[self.kind]


@dataclass(frozen=True, slots=True)
class Change:
    """Something came in (+) or went out (-), with why."""

    item: Item
    at: datetime
    amount: float
    why: str
    expires_on: date | None = None
    bottle_ml: float | None = None
    cost: float | None = None


@dataclass(frozen=True, slots=True)
class Count:
    """How many there were, counted by somebody."""

    item: Item
    at: datetime
    amount: float


@dataclass(frozen=True, slots=True)
class Balance:
    """One item as it stands.

    `on_hand` is None where nothing was ever bought or counted of it: use is known, stock is not.
    `missing` is records less the last count (positive: fewer were counted than recorded).
    """

    item: Item
    bought: float
    used: float  # in treatments or inseminations
    lost: float  # broken, expired, returned, moved
    on_hand: float | None
    expires_on: date | None
    bottle_ml: float | None
    counted_at: datetime | None
    missing: float
    flags: tuple[str, ...]


def balances(
    changes: Iterable[Change], counts: Iterable[Count], *, at: datetime, on: date
) -> tuple[Balance, ...]:
    """Bring everything kept up to an instant.

    Use without a lot is taken from the lot that expires first among those bought; what cannot be
    placed keeps its own line. A count that names no lot is of all lots together: what is there is
    taken to be of those that expire last.

    Parameters
    ----------
    changes : iterable of Change
        Purchases, use, loss, in any order.
    counts : iterable of Count
    at : datetime
        Later ones are not seen.
    on : date
        The same on the ranch's clock, for expiry.
    """
    seen = sorted((c for c in changes if c.at <= at), key=lambda c: c.at)
    counted = sorted((c for c in counts if c.at <= at), key=lambda c: c.at)
    meant = {count: _meant(count, seen) for count in counted}
    seen = _placed(seen, [c for c in counted if len(meant[c]) == 0 or meant[c] == [c.item]])
    counted = _split_counts(counted, meant, seen)
    items = dict.fromkeys([*(c.item for c in seen), *(c.item for c in counted)])
    lines = []
    for item in items:
        own = [c for c in seen if c.item == item]
        last = [c for c in counted if c.item == item]
        lines.append(_balance(item, own, last, on=on))
    return tuple(sorted(lines, key=lambda b: (b.item.kind, b.item.name, b.item.lot)))


def _meant(count: Count, changes: Sequence[Change]) -> list[Item]:
    """The items on file that a count speaks of: what it does not name, it counts whole."""
    asked = count.item
    return [
        item
        for item in dict.fromkeys(c.item for c in changes if c.at <= count.at)
        if (item.kind, item.name) == (asked.kind, asked.name)
        and asked.lot in {"", item.lot}
        and asked.place in {"", item.place}
    ]


def _split_counts(
    counts: Sequence[Count], meant: Mapping[Count, Sequence[Item]], changes: Sequence[Change]
) -> list[Count]:
    """Counts of several lots together as one of each lot; `changes` are placed."""
    expiry = {c.item: c.expires_on for c in changes if c.expires_on is not None}
    split: list[Count] = []
    for count in counts:
        items = [i for i in meant[count] if any(c.item == i for c in changes)]
        if not items or items == [count.item]:
            split.append(count)
            continue
        # what expires first is used first, so that what is left is of the others
        items.sort(key=lambda i: (i not in expiry, expiry.get(i), i.lot), reverse=True)
        left = count.amount
        parts: dict[Item, float] = {}
        for item in items:
            own = [c for c in changes if c.item == item]
            before = [c for c in split if c.item == item]
            there = _amount_at(own, before, count.at) or 0.0
            parts[item] = min(max(there, 0.0), left)
            left -= parts[item]
        parts[items[0]] += left
        split += [Count(item, count.at, amount) for item, amount in parts.items()]
    return split


def _placed(changes: Sequence[Change], counted: Sequence[Count]) -> list[Change]:
    """Give use that names no lot the lot bought that expires first and still has some."""
    left: dict[Item, float] = defaultdict(float)
    expiry: dict[Item, date | None] = {}
    for count in counted:
        left.setdefault(count.item, 0.0)
    for change in changes:
        if change.amount > 0 or change.item.lot:
            left[change.item] += change.amount
            if change.expires_on is not None:
                expiry[change.item] = change.expires_on
    placed: list[Change] = []
    for change in changes:
        if change.item.lot or change.amount > 0 or change.item in left:
            placed.append(change)
            continue
        placed += _spread(change, left, expiry)
    return placed


def _spread(
    change: Change, left: dict[Item, float], expiry: Mapping[Item, date | None]
) -> list[Change]:
    to_place = -change.amount
    offers = sorted(
        (i for i in left if (i.kind, i.name) == (change.item.kind, change.item.name)),
        key=lambda i: (expiry.get(i) is None, expiry.get(i), i.lot),
    )
    parts: list[Change] = []
    for item in offers:
        part = min(to_place, max(0.0, left[item]))
        if part > 0:
            parts.append(Change(item, change.at, -part, change.why))
            left[item] -= part
            to_place -= part
    if to_place > 0:
        item = offers[-1] if offers else change.item
        parts.append(Change(item, change.at, -to_place, change.why))
        if offers:
            left[item] -= to_place
    return parts


def _balance(item: Item, own: Sequence[Change], counts: Sequence[Count], *, on: date) -> Balance:
    bought = sum(c.amount for c in own if c.amount > 0)
    used = -sum(c.amount for c in own if c.amount < 0 and c.why == "used")
    lost = -sum(c.amount for c in own if c.amount < 0 and c.why != "used")
    last = counts[-1] if counts else None
    missing = 0.0
    on_hand: float | None = None
    if last is not None:
        before = _amount_at(own, counts[:-1], last.at)
        missing = before - last.amount if before is not None else 0.0
        on_hand = last.amount + sum(c.amount for c in own if c.at > last.at)
    elif bought:
        on_hand = sum(c.amount for c in own)
    expires = next((c.expires_on for c in reversed(own) if c.expires_on is not None), None)
    flags = []
    if on_hand is not None and on_hand < 0:
        flags.append(
            f"{-on_hand:g} {item.unit} more used than bought: a purchase or a lot is missing"
        )
    if abs(missing) >= 0.5:
        word = "fewer" if missing > 0 else "more"
        flags.append(f"{abs(missing):g} {item.unit} {word} counted than the records say")
    if expires is not None and expires < on and (on_hand is None or on_hand > 0):
        flags.append(f"expired {expires:%d %b %Y}: set it aside")
    return Balance(
        item=item,
        bought=bought,
        used=used,
        lost=lost,
        on_hand=on_hand,
        expires_on=expires,
        bottle_ml=next((c.bottle_ml for c in reversed(own) if c.bottle_ml), None),
        counted_at=last.at if last else None,
        missing=missing,
        flags=tuple(flags),
    )


def _amount_at(own: Sequence[Change], counts: Sequence[Count], at: datetime) -> float | None:
    """What the records say there was at an instant, from the count before it on."""
    if counts:
        last = counts[-1]
        return last.amount + sum(c.amount for c in own if last.at < c.at <= at)
    if not any(c.amount > 0 for c in own):
        return None
    return sum(c.amount for c in own if c.at <= at)


@dataclass(frozen=True, slots=True)
class Need:
    """What one coming step of one group takes of one item."""

    kind: str
    name: str
    group: str
    step: str
    words: str
    at: datetime
    amount: float


@dataclass(frozen=True, slots=True)
class RunsOut:
    """A step for which there is not enough left, when those before it are done."""

    need: Need
    unit: str
    on_hand: float
    short: float


def find_shortages(
    needs: Iterable[Need], stock: Iterable[Balance], *, on: date
) -> tuple[RunsOut, ...]:
    """Say which coming steps what is on hand does not reach for, first step first.

    An item whose stock is not kept is left out (nothing is known of it), and what has expired is
    not counted on.
    """
    left: dict[tuple[str, str], float] = {}
    for line in stock:
        if line.on_hand is None:
            continue
        key = (line.item.kind, line.item.name)
        usable = line.expires_on is None or line.expires_on >= on
        left[key] = left.get(key, 0.0) + (line.on_hand if usable else 0.0)
    told: list[RunsOut] = []
    for need in sorted(needs, key=lambda n: n.at):
        key = (need.kind, need.name)
        if key not in left:
            continue
        had = max(0.0, left[key])
        left[key] -= need.amount
        if need.amount > had:
            told.append(RunsOut(need, UNIT[need.kind], had, need.amount - had))
    return tuple(told)


@dataclass(frozen=True, slots=True)
class InsertCount:
    """Inserts of a group: put in, taken out, recorded lost, still in somebody."""

    group: str
    placed: int
    out: int
    lost: int
    still_in: tuple[str, ...]  # tags
    out_unplaced: tuple[str, ...]  # taken out of females that had none recorded

    @property
    def adds_up(self) -> bool:
        """Whether in equals out and lost, and nobody has one left."""
        return not self.still_in and not self.out_unplaced


@dataclass(frozen=True, slots=True)
class DoseCount:
    """Doses of one drug in a group: by the treatments, and by what left the bottles.

    `twice` are tags of females given it twice inside the hours of `practice.act_twice_hours`.
    """

    group: str
    name: str
    females: int
    doses: int
    ml_recorded: float
    without_amount: int  # treatments that say no millilitres
    twice: tuple[str, ...] = ()
