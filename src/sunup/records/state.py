"""What a ledger says: the state the fold of its events yields.

Observations stand per female, per group and per supply in the order they happened. Nothing is
concluded here beyond who is who, who is in which group, and what a count is compared with.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, TypeVar

from sunup.records import observations as o
from sunup.records.bull_times import WithBulls, find_bull_times

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from sunup.records.event import Event

T = TypeVar("T", bound=o.Observation)


def pick(log: tuple[o.Observation, ...], type_: type[T]) -> tuple[T, ...]:
    """Return the observations of one sort, in their order."""
    return tuple(x for x in log if type(x) is type_)


@dataclass(frozen=True, slots=True)
class TagWorn:
    """A tag and electronic code she wore from an instant on, and the event that says so."""

    tag: str
    rfid: str | None
    from_at: datetime
    event: str


@dataclass(frozen=True, slots=True)
class Stay:
    """Time in a group; `until_at` is None while she is in it. She joins at `from_at`."""

    group: str
    from_at: datetime
    until_at: datetime | None
    event: str

    def holds(self, at: datetime) -> bool:
        """Whether she is in the group at an instant."""
        return self.from_at <= at and (self.until_at is None or at < self.until_at)


@dataclass(frozen=True, slots=True)
class FemaleRecord:
    """One female: all that was recorded of her, in the order it happened.

    Parameters
    ----------
    id : str
        UUID; of several that are one animal, the one she really is.
    ids : tuple of str
        Every id recorded for her, `id` among them, sorted.
    log : tuple of Observation
        Her own observations, in order. Of a female on file under several ids, all of them.
    added : Added or None
        How she came on file, from a list rather than from the chute where both are; None for a
        female nobody added.
    tags : tuple of TagWorn
        All she ever wore or was met with; the last is worn now.
    stays : tuple of Stay
        Groups she was in, in order; a stay ends when she moves or leaves the herd.
    """

    id: str
    ids: tuple[str, ...]
    log: tuple[o.Observation, ...]
    added: o.Added | None = None
    tags: tuple[TagWorn, ...] = ()
    stays: tuple[Stay, ...] = ()

    def of(self, type_: type[T]) -> tuple[T, ...]:
        """Return her observations of one sort, in order: ``female.of(Treated)``."""
        return pick(self.log, type_)

    def last(self, type_: type[T]) -> T | None:
        """Return her last observation of one sort."""
        return next((x for x in reversed(self.log) if type(x) is type_), None)

    @property
    def is_listed(self) -> bool:
        """Whether somebody put her on file; false for a tag met at the chute."""
        return self.added is not None and self.added.listed

    @property
    def tag(self) -> str:
        """The number on her ear now; empty where nobody said."""
        return self.tags[-1].tag if self.tags else ""

    @property
    def rfid(self) -> str | None:
        """Her electronic code now."""
        return self.tags[-1].rfid if self.tags else None

    @property
    def group(self) -> str:
        """The group she is in now; empty: none."""
        return self.stays[-1].group if self.stays and self.stays[-1].until_at is None else ""

    @property
    def left(self) -> o.LeftHerd | None:
        """How she left the herd; None while she is here or where she came back after it."""
        for x in reversed(self.log):
            if type(x) is o.LeftHerd:
                return x
            if type(x) is o.Moved or type(x) is o.Added:
                return None
        return None

    @property
    def is_here(self) -> bool:
        """Whether she is in the herd."""
        return self.left is None

    def group_at(self, at: datetime) -> str:
        """Return the group she was in at an instant; empty: none."""
        return next((s.group for s in reversed(self.stays) if s.holds(at)), "")


@dataclass(frozen=True, slots=True)
class GroupRecord:
    """One group: what was done to it as a whole, in order."""

    name: str
    log: tuple[o.Observation, ...] = ()

    def of(self, type_: type[T]) -> tuple[T, ...]:
        """Return its observations of one sort, in order: ``group.of(Watched)``."""
        return pick(self.log, type_)


@dataclass(frozen=True, slots=True)
class Versions:
    """An event that was corrected: what was first said, and every correction.

    Parameters
    ----------
    original : Event
    corrections : tuple of Event
        All that speak of it, also through another correction, in the order they were entered.
    in_force : str or None
        Id of the correction of the original that holds; None where all were taken back.
    stands : Event or None
        As it stands now, `occurred_at` by a right clock; None where it was taken back.
    """

    original: Event
    corrections: tuple[Event, ...]
    in_force: str | None
    stands: Event | None


@dataclass(frozen=True, slots=True)
class PlanRecord:
    """A plan: how it was adopted and every change, in order.

    `unseen` are changes that were made from a version which was not the last one: two people
    changed it at once, and the later change stands.
    """

    plan_id: str
    season: str
    adopted: o.PlanSet
    changes: tuple[o.PlanSet, ...] = ()
    unseen: tuple[str, ...] = ()

    @property
    def now(self) -> o.PlanSet:
        """The version in force; its `event` is what a change must be based on."""
        return self.changes[-1] if self.changes else self.adopted


@dataclass(frozen=True, slots=True)
class SettingRecord:
    """A setting: its value now and every change, in order; `unseen` as of a plan."""

    key: str
    changes: tuple[o.SettingChanged, ...]
    unseen: tuple[str, ...] = ()

    @property
    def value(self) -> Any:
        """The value in force."""
        return self.changes[-1].value

    @property
    def event(self) -> str:
        """The event that set it: what a change must be based on."""
        return self.changes[-1].event


@dataclass(frozen=True, slots=True, order=True)
class StockKey:
    """What a balance is kept of.

    `item` is the key of an active, "insert", "semen" or the name of a supply; `unit` is ml, doses,
    inserts, straws, bottles or units. Empty is not recorded.
    """

    item: str
    unit: str
    lot: str = ""  # semen: the collection code
    sire: str = ""
    semen: str = ""
    tank: str = ""
    canister: str = ""


@dataclass(frozen=True, slots=True)
class Balance:
    """How much of something the records leave.

    `came` and `went` are totals, both at or above 0; `below_at` is when it first fell below 0.
    """

    key: StockKey
    came: float
    went: float
    below_at: datetime | None = None

    @property
    def left(self) -> float:
        """What is left by the records."""
        return self.came - self.went


@dataclass(frozen=True, slots=True)
class HerdState:
    """Everything the events of one ranch say.

    Parameters
    ----------
    females : mapping of id to FemaleRecord
        Every female somebody added, by the id she really has.
    unplaced : mapping of id to FemaleRecord
        Females spoken of whom nobody added (yet): another device may have her.
    same_as : mapping of id to id
        For each id that was found to be another: the id she really has.
    groups : mapping of name to GroupRecord
        Every group a female was in or something was done to.
    plans, settings : mappings
    forecasts : tuple of ForecastKept
    bulls : mapping of bull to exams
    nitrogen : mapping of tank to readings
    stock : tuple of StockMoved
    balances : mapping of StockKey to Balance
        Moves of stock less what was used on females, by lot, tank and so on as recorded.
    totals : mapping of StockKey to Balance
        The same of each item (semen: each sire), whatever lot or tank was named.
    tallies : tuple of Tallied
    corrected : mapping of event id to Versions
    loose : tuple of Event
        Events that belong nowhere: without the female or group they need, corrections of events
        that are not here, changes of unknown plans.
    unread : tuple of Event
        Events whose body cannot be read by this program.
    doubled : tuple of str
        Ids under which two different events came.
    clocks : mapping of device to (least, most)
        Measured offsets of each device's clock, device minus true time. [s]
    last_at : datetime or None
        When the latest thing recorded happened.
    n_events : int
        Different events given.
    """

    females: Mapping[str, FemaleRecord] = field(default_factory=dict)
    unplaced: Mapping[str, FemaleRecord] = field(default_factory=dict)
    same_as: Mapping[str, str] = field(default_factory=dict)
    groups: Mapping[str, GroupRecord] = field(default_factory=dict)
    plans: Mapping[str, PlanRecord] = field(default_factory=dict)
    settings: Mapping[str, SettingRecord] = field(default_factory=dict)
    forecasts: tuple[o.ForecastKept, ...] = ()
    bulls: Mapping[str, tuple[o.BullExamined, ...]] = field(default_factory=dict)
    nitrogen: Mapping[str, tuple[o.NitrogenRead, ...]] = field(default_factory=dict)
    stock: tuple[o.StockMoved, ...] = ()
    balances: Mapping[StockKey, Balance] = field(default_factory=dict)
    totals: Mapping[StockKey, Balance] = field(default_factory=dict)
    tallies: tuple[o.Tallied, ...] = ()
    corrected: Mapping[str, Versions] = field(default_factory=dict)
    loose: tuple[Event, ...] = ()
    unread: tuple[Event, ...] = ()
    doubled: tuple[str, ...] = ()
    clocks: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    last_at: datetime | None = None
    n_events: int = 0

    def find(self, id_: str) -> FemaleRecord | None:
        """Return a female by any id recorded for her."""
        real = self.same_as.get(id_, id_)
        return self.females.get(real) or self.unplaced.get(real)

    def wearing(self, tag: str) -> tuple[FemaleRecord, ...]:
        """Return the females that wear a tag or electronic code now; two may share one."""
        return tuple(f for f in self.females.values() if tag and tag in {f.tag, f.rfid})

    def with_bulls(self, female: FemaleRecord) -> tuple[WithBulls, ...]:
        """Return the times a female ran with bulls: her group's while she was in it, and her own.

        A female who joins a group that has bulls runs with them from then on.
        """
        found = find_bull_times(female.log, group="")
        for stay in female.stays:
            record = self.groups.get(stay.group)
            for span in find_bull_times(record.log if record else (), group=stay.group):
                start = max(span.from_at, stay.from_at)
                ends = [e for e in (span.until_at, stay.until_at) if e is not None]
                end = min(ends) if ends else None
                if end is None or start < end:
                    found.append(WithBulls(span.bulls, start, end, stay.group, span.event))
        return tuple(sorted(found, key=lambda s: (s.from_at, s.event)))
