"""From what was recorded of a female, observation by observation, to what is known of her."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from sunup.base.hours import to_local
from sunup.planning.females_now import Check, FemaleNow, Given, Noted, Service
from sunup.planning.heat_flags import ProgestinTime
from sunup.planning.heats import Sighting, find_heats
from sunup.planning.progress import ON_HEAT, UNNAMED, Act
from sunup.planning.warnings import ABORTS, VACCINATES, WEANS
from sunup.records.bull_times import WithBulls, find_bull_times
from sunup.records.event import Kind
from sunup.records.female import (
    CheckMethod,
    Cycling,
    Exposure,
    ExposureKind,
    Female,
    FemaleClass,
    PregnancyFinding,
)
from sunup.records.observations import BullsIn, BullsOut

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from zoneinfo import ZoneInfo

    from sunup.planning.heats import HeatFigures

_BULL_KINDS = frozenset({Kind.BULLS_IN, Kind.BULLS_OUT})
_FED = {"first_day": "mga_start", "last_day": "mga_end"}


@dataclass(slots=True)
class _Draft:
    """A female as she is being read, observation by observation."""

    zone: ZoneInfo
    facts: dict[str, Any]  # of Female, as they are read
    listed: bool = True
    is_here: bool = True
    joined_at: datetime | None = None
    acts: list[Act] = field(default_factory=list)
    befell: list[tuple[str, datetime]] = field(default_factory=list)
    given: list[Given] = field(default_factory=list)
    services: list[Service] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    sightings: list[Sighting] = field(default_factory=list)
    looked: list[datetime] = field(default_factory=list)
    exposed: list[tuple[ExposureKind, date, date | None]] = field(default_factory=list)
    lost_on: date | None = None  # last abortion
    inserted: datetime | None = None
    lost_at: list[datetime] = field(default_factory=list)
    progestins: list[ProgestinTime] = field(default_factory=list)
    tags: list[str] = field(default_factory=list)
    holds: list[tuple[str, date | None]] = field(default_factory=list)
    assigned: tuple[str, ...] = ()
    semen: str = "conventional"
    measured_on: dict[str, date] = field(default_factory=dict)

    def day(self, at: datetime) -> date:
        return to_local(at, self.zone).date()


def read_female(
    female: str,
    own: Sequence[Noted],
    *,
    group: str,
    zone: ZoneInfo,
    figures: HeatFigures,
    of_group: Sequence[Noted] = (),
    with_bulls: Sequence[WithBulls] | None = None,
    stays: Sequence[tuple[datetime, str]] = (),
) -> FemaleNow:
    """Draw a female from what was recorded of her.

    Parameters
    ----------
    female : str
        Her id.
    own : sequence of Noted
        Of her, in time order.
    group : str
        The group she is in; empty where in none.
    zone : ZoneInfo
    figures : HeatFigures
    of_group : sequence of Noted
        Of her groups while she was in them (bulls, feed, watches), in time order.
    with_bulls : sequence of WithBulls, optional
        When she ran with her groups' bulls, those in before she came among them; if absent, as
        `of_group` says.
    stays : sequence of (datetime, group), optional
        From when she was in which group, in time order.

    Returns
    -------
    FemaleNow
    """
    draft = _Draft(zone, {"tag": "", "class_": FemaleClass.COW})
    # who she is comes first, whenever it was entered: facts may be older than her record
    both = sorted((*own, *of_group), key=lambda n: (n.kind is not Kind.FEMALE_ADDED, n.at))
    for noted in both:
        read = _READERS.get(noted.kind)
        if read is not None:
            read(draft, noted)
    moved = [n for n in own if n.kind in _BULL_KINDS]
    alone = find_bull_times(_bull_moves(moved), group="") if moved else []
    theirs = (
        find_bull_times(_bull_moves(of_group), group=group) if with_bulls is None else with_bulls
    )
    bulls = tuple(sorted((*alone, *theirs), key=lambda w: (w.from_at, w.event)))
    draft.exposed += [
        (
            ExposureKind.BULL,
            draft.day(w.from_at),
            None if w.until_at is None else draft.day(w.until_at),
        )
        for w in bulls
    ]
    facts = Female(**draft.facts, group=group, exposure=_exposure(draft))
    heats = find_heats(draft.sightings, draft.looked, figures=figures) if draft.sightings else ()
    return FemaleNow(
        id=female,
        facts=facts,
        group=group,
        listed=draft.listed,
        is_here=draft.is_here,
        joined_at=draft.joined_at,
        acts=tuple(draft.acts),
        befell=tuple(draft.befell),
        given=tuple(draft.given),
        services=tuple(draft.services),
        checks=tuple(draft.checks),
        sightings=tuple(draft.sightings),
        heats=heats,
        inserted=draft.inserted,
        lost_at=tuple(draft.lost_at),
        stays=tuple(stays),
        progestins=_progestins(draft),
        with_bulls=bulls,
        tags=tuple(dict.fromkeys(draft.tags)),
        holds=tuple(draft.holds),
        assigned=draft.assigned,
        assigned_semen=draft.semen,
        measured_on=tuple(draft.measured_on.items()),
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
    """All she was exposed to since she last calved or lost one, as one span.

    With a bull while one is in.
    """
    ended = max((d for d in (draft.facts.get("calved_on"), draft.lost_on) if d), default=date.min)
    spans = [s for s in draft.exposed if (s[2] or date.max) >= ended]
    if not spans:
        return None
    start, until = _days_of(spans)
    ai = [s for s in spans if s[0] is ExposureKind.AI]
    bulls = [s for s in spans if s[0] is ExposureKind.BULL]
    if not (ai and bulls):
        return Exposure(spans[0][0], start, until)
    served = min(s[1] for s in ai), max(s[1] for s in ai)
    return Exposure(ExposureKind.BULL, start, until, ai_days=served, bull_days=_days_of(bulls))


def _days_of(
    spans: Sequence[tuple[ExposureKind, date, date | None]],
) -> tuple[date, date | None]:
    """First and last day of several; None while one still runs."""
    ends = [end for _, _, end in spans]
    until = None if None in ends else max(end for end in ends if end is not None)
    return min(start for _, start, _ in spans), until


def _day_of(text: Any) -> date | None:
    return date.fromisoformat(text) if isinstance(text, str) and text else None


def _added(draft: _Draft, noted: Noted) -> None:
    body = noted.body
    shares = body.get("breed_shares") or {}
    draft.listed = bool(body.get("listed", True))
    draft.tags.append(str(body.get("tag", "")))
    draft.facts.update(
        tag=str(body.get("tag", "")),
        class_=FemaleClass(body["class"]) if body.get("class") else draft.facts.get("class_"),
        rfid=body.get("rfid"),
        born_on=_day_of(body.get("born_on")),
        breed_shares=tuple((str(k), float(v)) for k, v in shares.items()),
        sire=body.get("sire"),
        dam=body.get("dam"),
        calved_on=_day_of(body.get("calved_on")),
        calving_ease=body.get("calving_ease"),
        mature_weight_kg=body.get("mature_weight_kg"),
        ever_given_estradiol=body.get("ever_given_estradiol"),
        remarks=body.get("note"),
    )


def _retagged(draft: _Draft, noted: Noted) -> None:
    if noted.body.get("tag"):
        draft.tags.append(str(noted.body["tag"]))
    draft.facts.update(
        tag=noted.body.get("tag") or draft.facts.get("tag"),
        rfid=noted.body.get("rfid") or draft.facts.get("rfid"),
    )


def _calved(draft: _Draft, noted: Noted) -> None:
    on, facts = draft.day(noted.at), draft.facts
    before = facts.get("calved_on")
    is_later = before is None or on > before
    for key, said in (("calving_ease", "ease"), ("retained_membranes", "retained_membranes")):
        if said in noted.body or is_later:  # what is not said of a calving was not of the last one
            facts[key] = noted.body.get(said)
    if not is_later:
        return
    was_heifer = facts["class_"] is FemaleClass.HEIFER
    facts.update(
        class_=FemaleClass.FIRST_CALF_COW if was_heifer else FemaleClass.COW,
        calved_on=on,
        pregnancy=None,
        pregnancy_checked_on=None,
        pregnancy_method=None,
    )


_MEASURES = {
    Kind.WEIGHED: ("weight_kg", "weight_kg"),
    Kind.CONDITION_SCORED: ("condition", "score"),
    Kind.TRACT_SCORED: ("tract_score", "score"),
    Kind.PELVIS_MEASURED: ("pelvic_area_cm2", "area_cm2"),
}


def _measured(draft: _Draft, noted: Noted) -> None:
    fact, key = _MEASURES[noted.kind]
    draft.facts[fact] = noted.body.get(key)
    draft.measured_on[fact] = draft.day(noted.at)


def _scanned(draft: _Draft, noted: Noted) -> None:
    cycling = noted.body.get("cycling")
    if cycling is not None:
        found = Cycling.CYCLING if cycling else Cycling.NOT_CYCLING
        draft.facts["cycling"] = found
        draft.measured_on["cycling"] = draft.day(noted.at)


def _given(draft: _Draft, noted: Noted, what: str, active: str) -> None:
    body = noted.body
    draft.given.append(
        Given(
            at=noted.at,
            what=what,
            active=active,
            ml=body.get("dose_ml"),
            share=body.get("dose_share"),
            lot=body.get("lot") or "",
            expires_on=_day_of(body.get("expires_on")),
            withdrawal_days=body.get("withdrawal_days"),
            site=body.get("site") or "",
            by=noted.by,
            event=noted.event,
            note=body.get("note") or "",
            day_only=bool(body.get("day_only")),
        )
    )


def _act(draft: _Draft, noted: Noted, do: str) -> None:
    draft.acts.append(Act(do, noted.at, noted.event, noted.by, noted.body.get("step")))


def _treated(draft: _Draft, noted: Noted) -> None:
    act = str(noted.body.get("act", "other"))
    active = str(noted.body.get("active") or "")
    if act == "other" and not active:
        _act(draft, noted, UNNAMED)  # no drug: a heat aid put on; its step says what
        return
    _act(draft, noted, act)
    _given(draft, noted, act, active)


def _insert_in(draft: _Draft, noted: Noted) -> None:
    draft.inserted = noted.at
    _act(draft, noted, "insert_in")
    _given(draft, noted, "insert_in", "progesterone_insert")


def _insert_out(draft: _Draft, noted: Noted) -> None:
    _act(draft, noted, "insert_out")
    if draft.inserted is not None:
        draft.progestins.append(ProgestinTime("insert", draft.inserted, noted.at))
    if not noted.body.get("found", True):
        draft.lost_at.append(noted.at)
    draft.inserted = None


def _fed(draft: _Draft, noted: Noted) -> None:
    if noted.body.get("feed") != "melengestrol":
        return
    for key, do in _FED.items():
        if noted.body.get(key):
            _act(draft, noted, do)
    last = draft.progestins[-1] if draft.progestins else None
    goes_on = last is not None and last.what == "melengestrol" and not noted.body.get("first_day")
    if goes_on and last is not None:
        draft.progestins[-1] = replace(last, until_at=noted.at)
    else:
        draft.progestins.append(ProgestinTime("melengestrol", noted.at, noted.at))


def _heat_seen(draft: _Draft, noted: Noted) -> None:
    draft.sightings.append(
        Sighting(noted.at, str(noted.body.get("sign", "other")), event=noted.event)
    )


def _aid_read(draft: _Draft, noted: Noted) -> None:
    body = noted.body
    draft.sightings.append(
        Sighting(
            noted.at,
            str(body.get("aid", "other")),
            score=body.get("score"),
            is_lost=bool(body.get("lost")),
            event=noted.event,
        )
    )


def _watched(draft: _Draft, noted: Noted) -> None:
    draft.looked.append(noted.at)


def _inseminated(draft: _Draft, noted: Noted) -> None:
    body = noted.body
    on = draft.day(noted.at)
    draft.exposed.append((ExposureKind.AI, on, on))
    _act(draft, noted, ON_HEAT if body.get("timed") is False else "ai")
    draft.services.append(
        Service(
            at=noted.at,
            sire=str(body.get("sire", "unknown")),
            batch=body.get("batch") or "",
            semen=body.get("semen") or "conventional",
            technician=body.get("technician") or noted.by,
            tank=body.get("tank") or "",
            canister=body.get("canister") or "",
            timed=bool(body.get("timed")),
            in_heat=body.get("in_heat"),
            straws=int(body.get("straws") or 1),
            by=noted.by,
            event=noted.event,
            day_only=bool(body.get("day_only")),
        )
    )


def _bulls_in(draft: _Draft, noted: Noted) -> None:
    _act(draft, noted, "bulls_in")


def _bulls_out(draft: _Draft, noted: Noted) -> None:
    _act(draft, noted, "bulls_out")


def _bull_moves(notes: Iterable[Noted]) -> Iterator[BullsIn | BullsOut]:
    """Bulls turned in and taken out, as their times are found from."""
    for note in notes:
        names = tuple(map(str, note.body.get("bulls") or ()))
        if note.kind is Kind.BULLS_IN:
            yield BullsIn(event=note.event, at=note.at, entered_at=note.at, zone="", bulls=names)
        elif note.kind is Kind.BULLS_OUT:
            yield BullsOut(event=note.event, at=note.at, entered_at=note.at, zone="", bulls=names)


def bull_times(notes: Iterable[Noted], group: str) -> tuple[WithBulls, ...]:
    """When a group had bulls."""
    return tuple(find_bull_times(_bull_moves(notes), group=group))


_METHODS = {method.value: method for method in CheckMethod}


def _checked(draft: _Draft, noted: Noted) -> None:
    body = noted.body
    draft.checks.append(
        Check(
            at=noted.at,
            method=str(body.get("method", "other")),
            result=str(body.get("result", "unsure")),
            fetal_age_days=body.get("fetal_age_days"),
            event=noted.event,
        )
    )
    _act(draft, noted, "preg_check")
    draft.facts.update(
        pregnancy=PregnancyFinding(str(body.get("result", "unsure"))),
        pregnancy_checked_on=draft.day(noted.at),
        pregnancy_method=_METHODS.get(str(body.get("method"))),
    )


def _aborted(draft: _Draft, noted: Noted) -> None:
    draft.facts.update(pregnancy=None, pregnancy_checked_on=None)
    draft.lost_on = draft.day(noted.at)
    draft.befell.append((ABORTS, noted.at))


def _weaned(draft: _Draft, noted: Noted) -> None:
    draft.befell.append((WEANS, noted.at))


def _vaccinated(draft: _Draft, noted: Noted) -> None:
    draft.befell.append((VACCINATES, noted.at))


def _moved(draft: _Draft, noted: Noted) -> None:
    draft.joined_at = noted.at
    draft.is_here = True


def _left(draft: _Draft, _: Noted) -> None:
    draft.is_here = False


def _hold(draft: _Draft, noted: Noted) -> None:
    draft.holds.append((str(noted.body.get("why", "")), _day_of(noted.body.get("until_on"))))


def _lifted(draft: _Draft, _: Noted) -> None:
    draft.holds.clear()


def _assigned(draft: _Draft, noted: Noted) -> None:
    draft.assigned = (str(noted.body["sire"]), *map(str, noted.body.get("alternates") or ()))
    draft.semen = noted.body.get("semen") or "conventional"


_READERS = {
    Kind.FEMALE_ADDED: _added,
    Kind.TAG_CHANGED: _retagged,
    Kind.CALVED: _calved,
    Kind.WEIGHED: _measured,
    Kind.CONDITION_SCORED: _measured,
    Kind.TRACT_SCORED: _measured,
    Kind.PELVIS_MEASURED: _measured,
    Kind.OVARY_SCANNED: _scanned,
    Kind.TREATED: _treated,
    Kind.INSERT_PLACED: _insert_in,
    Kind.INSERT_REMOVED: _insert_out,
    Kind.FED: _fed,
    Kind.HEAT_SEEN: _heat_seen,
    Kind.HEAT_AID_READ: _aid_read,
    Kind.WATCHED: _watched,
    Kind.INSEMINATED: _inseminated,
    Kind.BULLS_IN: _bulls_in,
    Kind.BULLS_OUT: _bulls_out,
    Kind.PREGNANCY_CHECKED: _checked,
    Kind.ABORTED: _aborted,
    Kind.WEANED: _weaned,
    Kind.VACCINATED: _vaccinated,
    Kind.MOVED: _moved,
    Kind.LEFT_HERD: _left,
    Kind.HOLD_SET: _hold,
    Kind.HOLD_LIFTED: _lifted,
    Kind.SIRE_ASSIGNED: _assigned,
}
