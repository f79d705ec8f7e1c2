"""What is known of a female at an instant, drawn from what was recorded of her.

Observations are facts; this is where they become what Today, the warnings and the lists ask for:
her class, what she was exposed to, the insert in her, the withdrawals running, her heats.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from sunup.base.hours import hours_between, to_local
from sunup.planning.heat_flags import Past, ProgestinTime
from sunup.planning.heats import Heat, Sighting, find_heats
from sunup.planning.progress import UNNAMED, Act, History
from sunup.planning.warnings import RunningWithdrawal
from sunup.records import observations as o
from sunup.records.female import (
    CheckMethod,
    Cycling,
    Exposure,
    ExposureKind,
    Female,
    FemaleClass,
    PregnancyFinding,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from zoneinfo import ZoneInfo

    from sunup.planning.heats import HeatFigures
    from sunup.records.bull_times import WithBulls
    from sunup.records.state import FemaleRecord


@dataclass(frozen=True, slots=True)
class Given:
    """A drug, an insert or a straw as it was used: what the treatment record lists."""

    at: datetime
    what: str  # step word, or "other"
    active: str
    ml: float | None
    share: float | None
    lot: str
    expires_on: date | None
    withdrawal_days: float | None
    site: str
    by: str
    event: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Service:
    """An insemination as it was recorded."""

    at: datetime
    sire: str
    batch: str
    semen: str
    technician: str
    tank: str
    canister: str
    timed: bool
    in_heat: bool | None
    straws: int
    by: str
    event: str


@dataclass(frozen=True, slots=True)
class Check:
    """A pregnancy finding as it was recorded."""

    at: datetime
    method: str
    result: str
    fetal_age_days: float | None
    event: str


@dataclass(frozen=True, slots=True)
class FemaleNow:
    """One female at an instant.

    `facts` are as a herd list would know her now. `inserted` is when the insert now in her went
    in; `progestins` are her times under an insert or melengestrol. `tags` are all she ever wore.
    """

    id: str
    facts: Female
    group: str
    listed: bool = True
    is_here: bool = True
    joined_at: datetime | None = None
    tags: tuple[str, ...] = ()
    acts: tuple[Act, ...] = ()
    given: tuple[Given, ...] = ()
    services: tuple[Service, ...] = ()
    checks: tuple[Check, ...] = ()
    sightings: tuple[Sighting, ...] = ()
    heats: tuple[Heat, ...] = ()
    inserted: datetime | None = None
    lost_inserts: int = 0
    progestins: tuple[ProgestinTime, ...] = ()
    holds: tuple[tuple[str, date | None], ...] = ()
    assigned: tuple[str, ...] = ()
    assigned_semen: str = "conventional"
    bulls_since: datetime | None = None  # with bulls now, since

    @property
    def tag(self) -> str:
        """The number on her ear now."""
        return self.facts.tag

    def hold_on(self, day: date) -> str | None:
        """Why she is on hold on a day; None where she is not."""
        open_ = [why for why, until in self.holds if until is None or until > day]
        return open_[-1] if open_ else None

    def history(self) -> History:
        """What the schedule asks for."""
        return History(
            acts=self.acts,
            heats=tuple(h.first_seen_at for h in self.heats if h.is_sure),
            inseminated=tuple(s.at for s in self.services),
            open_at=tuple(c.at for c in self.checks if c.result == "not_pregnant"),
        )

    @property
    def last_progestin(self) -> tuple[datetime | None, float]:
        """End and length [d] of the last progestin that is over; (None, 0) where none is."""
        over = [t for t in self.progestins if t.until_at is not None]
        if not over:
            return None, 0.0
        last = over[-1]
        days = hours_between(last.from_at, last.until_at) / 24 if last.until_at else 0.0
        return last.until_at, days + (1 if last.what == "melengestrol" else 0)

    def past(self) -> Past:
        """What bears on her heats."""
        last = self.services[-1].at if self.services else None
        recent = [c for c in self.checks if last is None or c.at > last]
        found = {c.result: c.at for c in recent}
        return Past(
            services_at=tuple(s.at for s in self.services),
            pgf_at=tuple(a.at for a in self.acts if a.do == "pgf"),
            progestins=self.progestins,
            found_pregnant_at=found.get("pregnant"),
            found_open_at=found.get("not_pregnant"),
            with_bull_from=self.bulls_since,
        )

    def withdrawals(self, zone: ZoneInfo) -> tuple[RunningWithdrawal, ...]:
        """Every treatment with the day its withdrawal ends; None where nobody wrote it down."""
        told = []
        for one in self.given:
            on = to_local(one.at, zone).date()
            days = one.withdrawal_days
            ends = None if days is None else on + timedelta(days=-int(-days // 1))
            told.append(RunningWithdrawal(one.active or one.what, on, ends))
        return tuple(told)


@dataclass(slots=True)
class _Draft:
    """A female as she is being read, observation by observation."""

    zone: ZoneInfo
    facts: Female
    is_here: bool = True
    acts: list[Act] = field(default_factory=list)
    given: list[Given] = field(default_factory=list)
    services: list[Service] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    sightings: list[Sighting] = field(default_factory=list)
    looked: list[datetime] = field(default_factory=list)
    exposed: list[tuple[ExposureKind, date, date | None]] = field(default_factory=list)
    inserted: datetime | None = None
    lost_inserts: int = 0
    progestins: list[ProgestinTime] = field(default_factory=list)
    bulls_since: datetime | None = None
    assigned: tuple[str, ...] = ()
    semen: str = "conventional"

    def day(self, at: datetime) -> date:
        return to_local(at, self.zone).date()


def read_female(
    record: FemaleRecord,
    *,
    at: datetime,
    zone: ZoneInfo,
    figures: HeatFigures,
    with_bulls: Sequence[WithBulls] = (),
    of_group: Sequence[o.Observation] = (),
) -> FemaleNow | None:
    """Draw a female from what was recorded of her, as she stood at an instant.

    Parameters
    ----------
    record : FemaleRecord
    at : datetime
        Later observations are not seen.
    zone : ZoneInfo
    figures : HeatFigures
    with_bulls : sequence of WithBulls
        Times she ran with bulls.
    of_group : sequence of Observation
        Of her groups while she was in them (feed, watches), in time order.

    Returns
    -------
    FemaleNow or None
        None where nothing was recorded of her by then.
    """
    draft = _Draft(zone, Female(tag="", class_=FemaleClass.COW, group=""))
    own = [x for x in record.log if x.at <= at]
    if not own:
        return None
    # who she is comes first, whenever it was entered: facts may be older than her record
    added = record.added
    if added is not None:
        _added(draft, added)
    both = [*own, *(x for x in of_group if x.at <= at)]
    if of_group:
        both.sort(key=lambda x: (x.at, x.entered_at, x.event))
    for x in both:
        read = _READERS.get(type(x))
        if read is not None:
            read(draft, x)
    for span in with_bulls:
        if span.from_at <= at:
            _ran_with_bulls(draft, span, at)
    worn = [t for t in record.tags if t.from_at <= at] or list(record.tags)
    group = record.group_at(at)
    facts = replace(
        draft.facts,
        tag=worn[-1].tag if worn else draft.facts.tag,
        rfid=worn[-1].rfid if worn else draft.facts.rfid,
        group=group,
        exposure=_exposure(draft),
    )
    heats = find_heats(draft.sightings, draft.looked, figures=figures) if draft.sightings else ()
    stays = [s for s in record.stays if s.from_at <= at]
    return FemaleNow(
        id=record.id,
        facts=facts,
        group=group,
        listed=record.is_listed,
        is_here=draft.is_here,
        joined_at=stays[-1].from_at if stays else None,
        acts=tuple(draft.acts),
        given=tuple(draft.given),
        services=tuple(draft.services),
        checks=tuple(draft.checks),
        sightings=tuple(draft.sightings),
        heats=heats,
        inserted=draft.inserted,
        lost_inserts=draft.lost_inserts,
        progestins=_progestins(draft),
        tags=tuple(dict.fromkeys(t.tag for t in worn if t.tag)),
        holds=tuple((h.why, h.until_on) for h in record.holds_at(at)),
        assigned=draft.assigned,
        assigned_semen=draft.semen,
        bulls_since=draft.bulls_since,
    )


def _progestins(draft: _Draft) -> tuple[ProgestinTime, ...]:
    """Her times under a progestin, the one still on last; renewed where GnRH came inside."""
    times = list(draft.progestins)
    if draft.inserted is not None:
        times.append(ProgestinTime("insert", draft.inserted, None))
    fresh = {"gnrh", "estradiol_benzoate", "estradiol_cypionate"}
    return tuple(
        replace(
            time,
            is_renewed=any(
                act.do in fresh
                and time.from_at < act.at
                and (time.until_at is None or act.at < time.until_at)
                for act in draft.acts
            ),
        )
        for time in times
    )


def _exposure(draft: _Draft) -> Exposure | None:
    """All she was exposed to since she last calved, as one span; with a bull while one is in."""
    calved = draft.facts.calved_on
    spans = [s for s in draft.exposed if calved is None or (s[2] or date.max) >= calved]
    if not spans:
        return None
    with_bull = any(kind is ExposureKind.BULL for kind, _, _ in spans)
    until = None if any(end is None for _, _, end in spans) else max(e for _, _, e in spans if e)
    kind = ExposureKind.BULL if with_bull else ExposureKind.AI
    return Exposure(kind, min(start for _, start, _ in spans), until)


def _added(draft: _Draft, x: o.Added) -> None:
    draft.facts = replace(
        draft.facts,
        tag=x.tag,
        class_=FemaleClass(x.class_) if x.class_ in _CLASSES else draft.facts.class_,
        rfid=x.rfid,
        born_on=x.born_on,
        breed_shares=x.breed_shares,
        sire=x.sire,
        dam=x.dam,
        calved_on=x.calved_on,
        calving_ease=x.calving_ease,
        mature_weight_kg=x.mature_weight_kg,
        ever_given_estradiol=x.ever_given_estradiol,
        remarks=x.note or None,
    )


def _calved(draft: _Draft, x: o.Calved) -> None:
    on = draft.day(x.at)
    new = draft.facts.calved_on is None or on > draft.facts.calved_on
    older = {FemaleClass.HEIFER: FemaleClass.FIRST_CALF_COW}
    facts = draft.facts
    draft.facts = replace(
        facts,
        class_=older.get(facts.class_, FemaleClass.COW) if new else facts.class_,
        calved_on=on if new else facts.calved_on,
        calving_ease=facts.calving_ease if x.ease is None else x.ease,
        retained_membranes=x.retained_membranes
        if x.retained_membranes is not None
        else facts.retained_membranes,
        pregnancy=None if new else facts.pregnancy,
        pregnancy_checked_on=None if new else facts.pregnancy_checked_on,
        pregnancy_method=None if new else facts.pregnancy_method,
    )


def _weighed(draft: _Draft, x: o.Weighed) -> None:
    draft.facts = replace(draft.facts, weight_kg=x.weight_kg)


def _scored(draft: _Draft, x: o.ConditionScored) -> None:
    draft.facts = replace(draft.facts, condition=x.score)


def _tract(draft: _Draft, x: o.TractScored) -> None:
    draft.facts = replace(draft.facts, tract_score=x.score)


def _pelvis(draft: _Draft, x: o.PelvisMeasured) -> None:
    draft.facts = replace(draft.facts, pelvic_area_cm2=x.area_cm2)


def _scanned(draft: _Draft, x: o.OvaryScanned) -> None:
    if x.cycling is not None:
        found = Cycling.CYCLING if x.cycling else Cycling.NOT_CYCLING
        draft.facts = replace(draft.facts, cycling=found)


def _act(draft: _Draft, x: o.Observation, do: str, step: str | None = None) -> None:
    draft.acts.append(Act(do, x.at, x.event, x.by, step))


def _treated(draft: _Draft, x: o.Treated) -> None:
    if x.act == UNNAMED and not x.active:
        _act(draft, x, UNNAMED, x.step)  # no drug: a heat aid put on; its step says what
        return
    _act(draft, x, x.act, x.step)
    draft.given.append(
        Given(
            at=x.at,
            what=x.act,
            active=x.active or "",
            ml=x.dose_ml,
            share=x.dose_share,
            lot=x.lot or "",
            expires_on=x.expires_on,
            withdrawal_days=x.withdrawal_days,
            site=x.site or "",
            by=x.by,
            event=x.event,
            note=x.note,
        )
    )


def _insert_in(draft: _Draft, x: o.InsertPlaced) -> None:
    draft.inserted = x.at
    _act(draft, x, "insert_in", x.step)
    draft.given.append(
        Given(
            at=x.at,
            what="insert_in",
            active="progesterone_insert",
            ml=None,
            share=None,
            lot=x.lot or "",
            expires_on=x.expires_on,
            withdrawal_days=x.withdrawal_days,
            site="",
            by=x.by,
            event=x.event,
            note=x.note,
        )
    )


def _insert_out(draft: _Draft, x: o.InsertRemoved) -> None:
    _act(draft, x, "insert_out", x.step)
    if draft.inserted is not None:
        draft.progestins.append(ProgestinTime("insert", draft.inserted, x.at))
    if not x.found:
        draft.lost_inserts += 1
    draft.inserted = None


def _fed(draft: _Draft, x: o.Fed) -> None:
    if x.feed != "melengestrol":
        return
    if x.first_day or x.last_day:
        _act(draft, x, "mga_start" if x.first_day else "mga_end", x.step)
    last = draft.progestins[-1] if draft.progestins else None
    if last is not None and last.what == "melengestrol" and not x.first_day:
        draft.progestins[-1] = replace(last, until_at=x.at)
    else:
        draft.progestins.append(ProgestinTime("melengestrol", x.at, x.at))


def _heat_seen(draft: _Draft, x: o.HeatSeen) -> None:
    draft.sightings.append(Sighting(x.at, x.sign, event=x.event))


def _aid_read(draft: _Draft, x: o.HeatAidRead) -> None:
    draft.sightings.append(Sighting(x.at, x.aid, score=x.score, is_lost=x.lost, event=x.event))


def _watched(draft: _Draft, x: o.Watched) -> None:
    draft.looked.append(x.at)


def _inseminated(draft: _Draft, x: o.Inseminated) -> None:
    on = draft.day(x.at)
    draft.exposed.append((ExposureKind.AI, on, on))
    _act(draft, x, "ai", x.step)
    draft.services.append(
        Service(
            at=x.at,
            sire=x.sire,
            batch=x.batch or "",
            semen=x.semen or "conventional",
            technician=x.technician or x.by,
            tank=x.tank or "",
            canister=x.canister or "",
            timed=bool(x.timed),
            in_heat=x.in_heat,
            straws=x.straws,
            by=x.by,
            event=x.event,
        )
    )


def _ran_with_bulls(draft: _Draft, span: WithBulls, at: datetime) -> None:
    until = span.until_at if span.until_at is not None and span.until_at <= at else None
    ends = None if until is None else draft.day(until)
    draft.exposed.append((ExposureKind.BULL, draft.day(span.from_at), ends))
    draft.bulls_since = span.from_at if until is None else draft.bulls_since


def _checked(draft: _Draft, x: o.PregnancyChecked) -> None:
    draft.checks.append(Check(x.at, x.method, x.result, x.fetal_age_days, x.event))
    _act(draft, x, "preg_check")
    draft.facts = replace(
        draft.facts,
        pregnancy=PregnancyFinding(x.result) if x.result in _FINDINGS else PregnancyFinding.UNSURE,
        pregnancy_checked_on=draft.day(x.at),
        pregnancy_method=CheckMethod(x.method) if x.method in _METHODS else None,
    )


def _aborted(draft: _Draft, _: o.Aborted) -> None:
    draft.facts = replace(draft.facts, pregnancy=None, pregnancy_checked_on=None)
    draft.exposed.clear()


def _moved(draft: _Draft, _: o.Moved) -> None:
    draft.is_here = True


def _left(draft: _Draft, _: o.LeftHerd) -> None:
    draft.is_here = False


def _assigned(draft: _Draft, x: o.SireAssigned) -> None:
    draft.assigned = (x.sire, *x.alternates)
    draft.semen = x.semen or "conventional"


_CLASSES = frozenset(c.value for c in FemaleClass)
_FINDINGS = frozenset(f.value for f in PregnancyFinding)
_METHODS = frozenset(m.value for m in CheckMethod)
_READERS: dict[type[o.Observation], Callable[[_Draft, Any], None]] = {
    o.Calved: _calved,
    o.Weighed: _weighed,
    o.ConditionScored: _scored,
    o.TractScored: _tract,
    o.PelvisMeasured: _pelvis,
    o.OvaryScanned: _scanned,
    o.Treated: _treated,
    o.InsertPlaced: _insert_in,
    o.InsertRemoved: _insert_out,
    o.Fed: _fed,
    o.HeatSeen: _heat_seen,
    o.HeatAidRead: _aid_read,
    o.Watched: _watched,
    o.Inseminated: _inseminated,
    o.PregnancyChecked: _checked,
    o.Aborted: _aborted,
    o.Moved: _moved,
    o.LeftHerd: _left,
    o.SireAssigned: _assigned,
}
