"""The fold: from a ledger's events to what they say.

Pure and total: any events, in any order, with doubles, of any number of devices; what cannot be
placed or read is kept and named, never raised. The same events give the same state.
"""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, TypeVar

from sunup.records import observations as o
from sunup.records.corrections import settle
from sunup.records.counting import Counting
from sunup.records.event import Kind
from sunup.records.forms import has_form
from sunup.records.identity import build_female, find_same
from sunup.records.make import make
from sunup.records.order import each_once, order_key
from sunup.records.placing import OF_A_FEMALE, OF_THE_RANCH
from sunup.records.state import GroupRecord, HerdState, PlanRecord, SettingRecord
from sunup.records.upcast import is_newer

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from sunup.records.corrections import Standing
    from sunup.records.event import Event
    from sunup.records.state import FemaleRecord, Versions

T = TypeVar("T", bound=o.Observation)


def fold(events: Iterable[Event]) -> HerdState:
    """Return what events say.

    Parameters
    ----------
    events : iterable of Event
        Of one ranch, in any order, doubles allowed, older forms allowed.

    Returns
    -------
    HerdState
    """
    unique, doubled = each_once(events)
    settled = settle(unique)
    draft = _Draft(settled.standing)
    for standing in settled.standing:
        draft.take(standing)
    return draft.finish(
        corrected=dict(settled.corrected),
        loose=settled.loose,
        unread=settled.unread,
        doubled=doubled,
        clocks=_clocks(unique),
        n_events=len(unique),
    )


def _clocks(events: Iterable[Event]) -> dict[str, tuple[float, float]]:
    found: dict[str, tuple[float, float]] = {}
    for event in events:
        offset = event.clock_offset_s
        if offset is not None:
            least, most = found.get(event.device, (offset, offset))
            found[event.device] = (min(least, offset), max(most, offset))
    return dict(sorted(found.items()))


class _Draft:
    """The state while it is drawn, event by event in order."""

    def __init__(self, standing: Sequence[Standing]) -> None:
        self.same_as = find_same(s.event for s in standing)
        self.females: dict[str, list[o.Observation]] = defaultdict(list)
        self.added_as: dict[str, str] = {}  # by event: the id a female was added under
        self.ids: dict[str, set[str]] = defaultdict(set)  # of females with several
        self.groups: dict[str, list[o.Observation]] = defaultdict(list)
        self.ranch: dict[type[o.Observation], list[o.Observation]] = defaultdict(list)
        self.loose: list[Event] = []
        self.unread: list[Event] = []
        self.plan_events: list[Event] = []
        self.counting = Counting()
        self.last_at = standing[-1].at if standing else None

    def take(self, standing: Standing) -> None:
        """Take the next event."""
        event = standing.event
        kind = event.kind
        if is_newer(kind, event.version) or not has_form(kind, event.body):
            self.unread.append(event)
            return
        x = make(standing)
        if kind in OF_THE_RANCH:
            if kind is Kind.PLAN_CHANGED:
                self.plan_events.append(event)
            self._of_the_ranch(x)
        elif event.female:
            her = self.same_as.get(event.female, event.female)
            self.females[her].append(x)
            if her != event.female:
                self.ids[her].add(event.female)
                if kind is Kind.FEMALE_ADDED:
                    self.added_as[event.id] = event.female
            self._count(her, x)
        elif event.group and kind not in OF_A_FEMALE:
            self.groups[event.group].append(x)
        else:
            self.loose.append(event)

    def _of_the_ranch(self, x: o.Observation) -> None:
        if isinstance(x, o.Tallied):
            x = self.counting.compare(x)
        elif isinstance(x, o.StockMoved):
            self.counting.restock(x)
        self.ranch[type(x)].append(x)

    def _count(self, her: str, x: o.Observation) -> None:
        sort = type(x)
        if sort is o.Moved:
            self.counting.move(her, x.to)  # type: ignore[attr-defined]
        elif sort is o.LeftHerd:
            self.counting.move(her, "")
        elif sort is o.InsertPlaced:
            self.counting.insert(her, 1)
            self.counting.use(x)
        elif sort is o.InsertRemoved:
            self.counting.insert(her, -1)
        elif sort is o.Treated or sort is o.Inseminated:
            self.counting.use(x)

    def finish(
        self,
        *,
        corrected: Mapping[str, Versions],
        loose: Sequence[Event],
        unread: Sequence[Event],
        doubled: tuple[str, ...],
        clocks: Mapping[str, tuple[float, float]],
        n_events: int,
    ) -> HerdState:
        """Return the state; the draft is not used after it."""
        females: dict[str, FemaleRecord] = {}
        unplaced: dict[str, FemaleRecord] = {}
        groups = dict(self.groups)
        for id_, log in self.females.items():
            female = build_female(id_, log, ids=self.ids.get(id_, ()), added_as=self.added_as)
            (unplaced if female.added is None else females)[id_] = female
            for stay in female.stays:
                groups.setdefault(stay.group, [])
        plans, strange = _plans(self._of(o.PlanSet))
        lost = {x.event for x in strange}
        return HerdState(
            females=females,
            unplaced=unplaced,
            same_as=self.same_as,
            groups={name: GroupRecord(name, tuple(log)) for name, log in groups.items()},
            plans=plans,
            settings=_settings(self._of(o.SettingChanged)),
            forecasts=self._of(o.ForecastKept),
            bulls=_by(self._of(o.BullExamined), "bull"),
            nitrogen=_by(self._of(o.NitrogenRead), "tank"),
            stock=self._of(o.StockMoved),
            balances=self.counting.balances(),
            totals=self.counting.totals(),
            tallies=self._of(o.Tallied),
            corrected=corrected,
            loose=tuple(
                sorted(
                    (*loose, *self.loose, *(e for e in self.plan_events if e.id in lost)),
                    key=order_key,
                )
            ),
            unread=tuple(sorted((*unread, *self.unread), key=order_key)),
            doubled=doubled,
            clocks=clocks,
            last_at=self.last_at,
            n_events=n_events,
        )

    def _of(self, type_: type[T]) -> tuple[T, ...]:
        return tuple(x for x in self.ranch.get(type_, ()) if isinstance(x, type_))


def _by(log: Sequence[T], name: str) -> dict[str, tuple[T, ...]]:
    found: dict[str, list[T]] = defaultdict(list)
    for x in log:
        found[getattr(x, name)].append(x)
    return {key: tuple(some) for key, some in found.items()}


def _plans(log: Sequence[o.PlanSet]) -> tuple[dict[str, PlanRecord], list[o.PlanSet]]:
    """Plans as adopted and changed, and changes of plans nobody adopted."""
    adopted: dict[str, o.PlanSet] = {}
    for x in log:
        if x.based_on is None:
            adopted.setdefault(x.plan_id, x)
    changes: dict[str, list[o.PlanSet]] = {plan_id: [] for plan_id in adopted}
    strange = []
    for x in log:
        if x.plan_id not in adopted:
            strange.append(x)
        elif x is not adopted[x.plan_id]:
            changes[x.plan_id].append(x)
    plans = {
        plan_id: PlanRecord(
            plan_id,
            first.season,
            first,
            tuple(changes[plan_id]),
            _unseen(first.event, changes[plan_id]),
        )
        for plan_id, first in adopted.items()
    }
    return plans, strange


def _settings(log: Sequence[o.SettingChanged]) -> dict[str, SettingRecord]:
    return {
        key: SettingRecord(key, changes, _unseen(changes[0].event, changes[1:]))
        for key, changes in _by(log, "key").items()
    }


def _unseen(first: str, changes: Iterable[o.PlanSet | o.SettingChanged]) -> tuple[str, ...]:
    """Changes made by people who had not seen the one before."""
    last, found = first, []
    for x in changes:
        if x.based_on is not None and x.based_on != last:
            found.append(x.event)
        last = x.event
    return tuple(found)
