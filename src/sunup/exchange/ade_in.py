"""ADE resources against the ledger: what is new, newer, there already, or put aside.

The same (meta.source, meta.sourceId) is the same fact: once taken it is known again, a newer
`modified` corrects it, `isDeleted` takes it back. An animal nobody knows, a time without a zone, a
kind the ledger has no place for: put aside with the reason, never guessed.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from sunup.base.hours import at_local, to_local
from sunup.base.problems import Problem, Severity
from sunup.exchange import ade_words as ade
from sunup.exchange.ade_checks import check_resource
from sunup.exchange.ade_file import unknown_fields
from sunup.exchange.ade_in_animals import (
    Animal,
    NotFoundError,
    identifiers_of,
    names_of,
    read_animal,
    spellings,
)
from sunup.exchange.ade_in_events import NotHeldError, understand
from sunup.exchange.ade_in_sets import take_sets
from sunup.exchange.ade_taking import AdeIntake, Here, Told, event_id, key_of, take_told
from sunup.exchange.ade_times import is_day_only, read_ade_day, read_ade_time
from sunup.exchange.drafts import Aside, Drafted, draw_id
from sunup.exchange.roster import build_roster
from sunup.exchange.standing import stand
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from zoneinfo import ZoneInfo

    from sunup.exchange.ade_file import AdeFile
    from sunup.exchange.plausible import Limits
    from sunup.records.event import Event

_EVERYWHERE = frozenset(["resourceType", "meta", "eventDateTime", "animal"])
_NOON = time(12)
_PREGNANT = frozenset(["Pregnant", "PregnantMultipleFoetus"])
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)

Found = tuple[str, str, dict[str, Any]]  # place, type, resource


def plan_ade(
    files: Sequence[AdeFile],
    events: Iterable[Event],
    exported: Sequence[Mapping[str, Any]],
    *,
    ranch: str,
    zone: ZoneInfo,
    limits: Limits,
    now: datetime,
) -> AdeIntake:
    """Find what taking ADE files would add to a ledger.

    Parameters
    ----------
    files : sequence of AdeFile
        Taken together: an animal may stand in one, her events in another.
    events : iterable of Event
        The ledger.
    exported : sequence of mapping
        The same ledger as ADE resources (``export_ade``): what it would say today.
    ranch : str
    zone : ZoneInfo
        Of the ranch; only for facts of a day without an hour.
    limits : Limits
    now : datetime
        UTC; when it is entered, where a resource does not say.

    Returns
    -------
    AdeIntake
    """
    standing = stand(events)
    roster = build_roster(standing)
    filed = {
        one.filed_under: one.female
        for one in standing
        if one.filed_under and one.female and one.filed_under != one.female
    }
    here = Here(
        ranch=ranch,
        zone=zone,
        limits=limits,
        now=now,
        roster=roster,
        names=names_of(roster, filed),
        by_key={key: one for one in standing if (key := _own_key(one.body, one.id))},
        exported={key_of(one): dict(one) for one in exported},
    )
    out = AdeIntake()
    sound = _newest(_checked(files, out), out)
    calved = {
        key_of(one): (place, one)
        for place, name, one in sound
        if name == ade.PARTURITION and key_of(one)[0] == ade.OURS
    }
    folded: set[tuple[str, str]] = set()
    for place, name, resource in sound:
        if name == ade.ANIMAL:
            _take_animal(here, out, place, resource, calved=calved, folded=folded)
    take_sets(here, out, [(place, one) for place, name, one in sound if name == ade.SET])
    happened = [one for one in sound if one[1] in ade.EVENTS and key_of(one[2]) not in folded]
    happened.sort(key=lambda one: (read_ade_time(one[2]["eventDateTime"])[0], key_of(one[2])))
    for place, name, resource in happened:
        _take_event(here, out, place, name, resource)
    _bring_back(out, [one for _, name, one in sound if name == ade.ANIMAL])
    _compare_derived(here, out, [one for one in sound if one[1] in ade.DERIVED])
    out.problems += unknown_fields(out.kept, ", ".join(file.name for file in files))
    return out


def _own_key(body: Mapping[str, Any], id_: str) -> tuple[str, str]:
    origin = body.get("ade")
    if isinstance(origin, dict) and origin.get("source"):
        return str(origin["source"]), str(origin.get("sourceId"))
    return ade.OURS, id_


def _checked(files: Sequence[AdeFile], out: AdeIntake) -> list[Found]:
    """Check every resource; what cannot be taken without a guess is put aside."""
    sound = []
    for file in files:
        out.problems += file.problems
        for place, resource in file.found:
            out.n += 1
            problems = check_resource(resource, place)
            errors = [one for one in problems if one.severity is Severity.ERROR]
            out.problems += [one for one in problems if one not in errors]
            if errors:
                why = " ".join(one.what for one in errors)
                out.aside.append(Aside(0, place, why, resource))
                continue
            name = ade.find_type(resource["resourceType"])
            if name is not None:
                sound.append((place, name, {**resource, "resourceType": name}))
    return sound


def _newest(sound: list[Found], out: AdeIntake) -> list[Found]:
    """Keep of several of one key the one changed last."""
    best: dict[tuple[str, str, str], Found] = {}
    for one in sound:
        key = (one[1], *key_of(one[2]))
        other = best.get(key)
        if other is None:
            best[key] = one
            continue
        out.already += 1
        if _modified(one[2]) > _modified(other[2]):
            best[key] = one
    return list(best.values())


def _modified(resource: Mapping[str, Any]) -> datetime:
    text = resource.get("meta", {}).get("modified")
    return read_ade_time(text)[0] if text else _EPOCH


def _kept(resource: Mapping[str, Any], used: Iterable[str]) -> dict[str, Any]:
    """Fields that were not understood; they stay with the record and go out again with it."""
    gone = {*_EVERYWHERE, *used}
    kept = {key: value for key, value in resource.items() if key not in gone}
    place = kept.get("location")
    if isinstance(place, dict) and place.get("scheme") == ade.RANCH_SCHEME:
        del kept["location"]
    return kept


def _take_animal(
    here: Here,
    out: AdeIntake,
    place: str,
    resource: dict[str, Any],
    *,
    calved: Mapping[tuple[str, str], tuple[str, dict[str, Any]]],
    folded: set[tuple[str, str]],
) -> None:
    key = key_of(resource)
    if here.exported.get(key) == resource:
        out.already += 1
        return  # the ledger's own names hold for her
    try:
        animal = read_animal(resource, here.roster, key)
    except NotFoundError as fault:
        out.aside.append(Aside(0, place, str(fault), resource))
        return
    existing = here.by_key.get(key)
    if existing is not None and existing.female:
        animal = replace(animal, female=existing.female)
    is_deleted = bool(resource.get("meta", {}).get("isDeleted"))
    met = None if is_deleted else here.names.find(resource["identifier"])
    if existing is None and animal.known is None and met is not None:
        out.already += 1  # told twice, by two sources: she is one
        for one in identifiers_of(resource):
            for name in spellings(one):
                here.names.add(name, met)
        return
    if not is_deleted:
        for one in identifiers_of(resource):
            for name in spellings(one):
                here.names.add(name, animal.female)
    if existing is None and animal.known is not None:
        _compare_known(here, out, animal)
        return
    body = dict(animal.body)
    before_key = (ade.OURS, draw_id(key[1], "calved_on"))
    if key[0] == ade.OURS and before_key in calved:
        folded.add(before_key)
        before = calved[before_key][1]
        body["calved_on"] = read_ade_day(before["eventDateTime"]).isoformat()
        if before.get("calvingEase") in ade.EASES:
            body["calving_ease"] = ade.EASES.index(before["calvingEase"]) + 1
    told = Told(
        key,
        Kind.FEMALE_ADDED,
        animal.female,
        None,
        body,
        resource,
        place,
        _kept(resource, animal.used),
    )
    if take_told(here, out, told) and not is_deleted:
        out.new_animals.append(animal.tag)


def _compare_known(here: Here, out: AdeIntake, animal: Animal) -> None:
    """She is on file from elsewhere: she is not added again; a new electronic number is taken."""
    known = animal.known
    if known is None:
        return
    out.already += 1
    if animal.rfid and not known.rfid:
        body = {"rfid": animal.rfid}
        name = draw_id(here.ranch, Kind.TAG_CHANGED.value, known.id, animal.rfid)
        out.drafts.append(Drafted(name, Kind.TAG_CHANGED, known.id, here.now, body))
        out.differ(known.words, "RFID", "none", animal.rfid)
    first = known.added.body if known.added else {}
    for field in ("born_on", "sire", "dam"):
        one, other = first.get(field), animal.body.get(field)
        if other is not None and one != other:
            out.problems.append(
                Problem(
                    where=f"female {known.words}",
                    what=f"{field.replace('_', ' ')} is {one or 'not known'} here, {other} there.",
                    fix="Nothing was changed; correct the one that is wrong.",
                    severity=Severity.WARNING,
                )
            )


def _take_event(
    here: Here, out: AdeIntake, place: str, name: str, resource: dict[str, Any]
) -> None:
    key = key_of(resource)
    if here.exported.get(key) == resource:
        out.already += 1
        return
    female = here.names.find(resource["animal"])
    if female is None:
        who = f"{resource['animal']['scheme']} {resource['animal']['id']}"
        why = f"nobody is known as {who}: give the file of animals with it"
        out.aside.append(Aside(0, place, why, resource))
        return
    at, day_only = _moment(here, resource["eventDateTime"])
    if key[0] != ade.OURS and _is_to_come(here, at, day_only=day_only):
        out.aside.append(Aside(0, place, "its time is still to come: check day and hour", resource))
        return
    try:
        told = understand(resource, name=name, at=at, is_ours=key[0] == ade.OURS)
    except NotHeldError as fault:
        out.aside.append(Aside(0, place, f"{fault}", resource))
        return
    body = {**told.body, "day_only": True} if day_only else told.body
    kept = _kept(resource, told.used)
    until = None
    if told.until is not None:
        until = _moment(here, told.until)
        days = [to_local(moment, here.zone).date() for moment in (at, until[0])]
        if days[1] < days[0] or (until[0] < at and not (day_only or until[1])):
            why = "the bull went out before he came in"
            out.aside.append(Aside(0, place, why, resource))
            return
    one = Told(key, told.kind, female, at, body, resource, place, kept, until)
    take_told(here, out, one)


def _bring_back(out: AdeIntake, animals: Sequence[Mapping[str, Any]]) -> None:
    """Move back into the herd who left it and is said to be in it by a file of our own.

    The standard has a departure and no coming back; her status tells.
    """
    alive = {
        event_id(key_of(one))
        for one in animals
        if key_of(one)[0] == ade.OURS and one.get("status") == "Alive"
    }
    here_again = {one.female for one in out.drafts if one.id in alive}
    gone = {one.corrects for one in out.drafts if one.corrects and one.body.get("taken_back")}
    moves = {one.female: one for one in out.drafts if one.kind is Kind.MOVED}
    left: dict[str | None, Drafted] = {}
    for one in out.drafts:
        if one.kind is Kind.LEFT_HERD and one.female in here_again and one.id not in gone:
            before = left.get(one.female)
            if before is None or before.at <= one.at:
                left[one.female] = one
    for female, departure in left.items():
        move = moves.get(female)
        if move is not None and move.at > departure.at:
            continue
        back = Drafted(
            draw_id(departure.id, "back"),
            Kind.MOVED,
            female,
            departure.at + timedelta(seconds=1),
            dict(move.body) if move else {"to": ""},
            entered_at=move.entered_at if move else departure.entered_at,
        )
        out.drafts.append(back)


def _moment(here: Here, text: str) -> tuple[datetime, bool]:
    """Read when: an instant, or noon of a day without an hour."""
    if is_day_only(text):
        return at_local(read_ade_day(text), _NOON, here.zone).utc, True
    return read_ade_time(text)[0], False


def _is_to_come(here: Here, at: datetime, *, day_only: bool) -> bool:
    if day_only:
        return to_local(at, here.zone).date() > to_local(here.now, here.zone).date()
    return at > here.now


def _compare_derived(here: Here, out: AdeIntake, derived: Sequence[Found]) -> None:
    """Status and due dates follow from events: they are held against them, never taken."""
    if not derived:
        return
    findings: dict[str, tuple[datetime, str]] = {}
    for known in here.roster.by_id.values():
        for fact in known.facts:
            if fact.kind is Kind.PREGNANCY_CHECKED:
                findings[known.id] = (fact.at, str(fact.body.get("result")))
    for draft in out.drafts:
        if draft.kind is Kind.PREGNANCY_CHECKED and draft.female:
            last = findings.get(draft.female)
            if last is None or last[0] <= draft.at:
                findings[draft.female] = (draft.at, str(draft.body.get("result")))
    for place, _, resource in derived:
        female = here.names.find(resource["animal"])
        said = str(resource.get("observedStatus", ""))
        finding = findings.get(female or "", (None, ""))[1]
        says_no = said in {"NotPregnant", "Open"} and finding == "pregnant"
        if says_no or (said in _PREGNANT and finding == "not_pregnant"):
            out.problems.append(
                Problem(
                    where=place,
                    what=f"The status says {said}, her last check says {finding}.",
                    fix="Nothing was changed: check her.",
                    severity=Severity.WARNING,
                )
            )
    out.problems.append(
        Problem(
            where=derived[0][0].partition(",")[0],
            what=f"{len(derived)} statements of status or due date were compared and not taken.",
            fix="They follow from the events.",
            severity=Severity.NOTICE,
        )
    )
