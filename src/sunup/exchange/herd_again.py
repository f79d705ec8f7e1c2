"""A herd list against the ledger: who is new, what it says that the ledger does not.

Nobody is added twice: a female is found by electronic code, then by tag. What a list does not say
takes nothing back: an empty cell is no statement, and a female who is not in it has not left.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from sunup.base.hours import at_local, to_local
from sunup.exchange.drafts import Aside, Difference, Drafted, draw_id, fact_id
from sunup.planning.listed import Fact, added, facts_of
from sunup.records.event import Kind
from sunup.records.female import FemaleClass

if TYPE_CHECKING:
    from collections.abc import Iterable
    from zoneinfo import ZoneInfo

    from sunup.exchange.plausible import Limits
    from sunup.exchange.roster import Known, Roster
    from sunup.records.female import Female

_NOON = time(12)
_MEASURES = {
    Kind.CONDITION_SCORED: ("score", "body condition"),
    Kind.WEIGHED: ("weight_kg", "weight (kg)"),
    Kind.TRACT_SCORED: ("score", "tract score"),
    Kind.PELVIS_MEASURED: ("area_cm2", "pelvic area (cm2)"),
    Kind.OVARY_SCANNED: ("cycling", "cycling"),
}
_STATED = {
    "born_on": "birth date",
    "breed_shares": "breed",
    "sire": "sire",
    "dam": "dam",
    "mature_weight_kg": "mature weight (kg)",
    "ever_given_estradiol": "ever given an estradiol ester",
    "note": "remarks",
}
_NEXT = {"heifer": "first_calf_cow", "first_calf_cow": "cow", "cow": "cow"}
_DAYS_ONLY = {"day_only": True}


@dataclass(slots=True)
class HerdAgain:
    """What taking a herd list would do.

    `new` are tags not on file; `same` counts females the list says nothing new of; `differences`
    would be taken with the drafts, those in `aside` would not; `missing` are tags on file and here
    that the list does not name.
    """

    new: list[str] = field(default_factory=list)
    same: int = 0
    differences: list[Difference] = field(default_factory=list)
    drafts: list[Drafted] = field(default_factory=list)
    aside: list[Aside] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)


def compare_herd(
    females: Iterable[Female],
    roster: Roster,
    *,
    ranch: str,
    zone: ZoneInfo,
    listed_on: date,
    limits: Limits,
) -> HerdAgain:
    """Hold a herd list against the ledger.

    Parameters
    ----------
    females : iterable of Female
        As the herd reader gave them.
    roster : Roster
    ranch : str
    zone : ZoneInfo
    listed_on : date
        The day of the list.
    limits : Limits

    Returns
    -------
    HerdAgain
    """
    out = HerdAgain()
    met: dict[str, Female] = {}
    noon = at_local(listed_on, _NOON, zone).utc
    for female in females:
        match = roster.find(female.tag, female.rfid)
        if match.female is None and not match.is_unknown:
            out.aside.append(Aside(female.row, female.tag, match.why))
            continue
        if match.female is None:
            out.new.append(female.tag)
            out.drafts += _new(female, ranch=ranch, zone=zone, listed_on=listed_on)
            continue
        if match.female.id in met:
            why = f"row {met[match.female.id].row} is the same female on file"
            out.aside.append(Aside(female.row, female.tag, why))
            continue
        met[match.female.id] = female
        one = _Comparing(out, match.female, female, ranch, zone, listed_on, noon, limits)
        before = len(out.drafts), len(out.aside)
        one.compare(roster)
        out.same += before == (len(out.drafts), len(out.aside))
    out.missing = sorted(
        known.tag
        for known in roster.by_id.values()
        if known.is_here and known.id not in met and known.tag
    )
    return out


def _new(female: Female, *, ranch: str, zone: ZoneInfo, listed_on: date) -> list[Drafted]:
    """Facts of a female not on file; her id is drawn from what she is called."""
    name = draw_id(ranch, "listed", female.rfid or female.tag.casefold(), listed_on)
    drafts = [
        _drafted(fact, name, female.row, ranch=ranch, zone=zone)
        for fact in facts_of(female, listed_on)
    ]
    moved = Drafted(
        fact_id(ranch, Kind.MOVED, name, drafts[0].at, {"to": female.group}),
        Kind.MOVED,
        name,
        drafts[0].at,
        {"to": female.group, **_DAYS_ONLY},
        row=female.row,
    )
    return [*drafts, moved]


def _drafted(fact: Fact, name: str, row: int, *, ranch: str, zone: ZoneInfo) -> Drafted:
    at = at_local(fact.on, _NOON, zone).utc
    body = {**fact.body, **_DAYS_ONLY}
    return Drafted(fact_id(ranch, fact.kind, name, at, body), fact.kind, name, at, body, row=row)


@dataclass(frozen=True, slots=True)
class _Comparing:
    """One female of the list beside what is on file of her."""

    out: HerdAgain
    known: Known
    female: Female
    ranch: str
    zone: ZoneInfo
    listed_on: date
    noon: datetime
    limits: Limits

    def compare(self, roster: Roster) -> None:
        self._named()
        self._stated()
        for fact in facts_of(self.female, self.listed_on)[1:]:
            if fact.kind in _MEASURES:
                self._measure(fact)
            elif fact.kind is not Kind.CALVED and not self._is_on_file(fact, roster):
                self._take(fact, _said(fact), ledger="not on file", file="is so")
        self._calved()

    def _named(self) -> None:
        changed = {}
        if self.female.tag.casefold() != self.known.tag.casefold():
            changed["tag"] = self.female.tag
            self._differ("tag", self.known.tag, self.female.tag)
        if self.female.rfid and self.female.rfid != self.known.rfid:
            changed["rfid"] = self.female.rfid
            self._differ("RFID", self.known.rfid or "none", self.female.rfid)
        if changed:
            self._draft(Kind.TAG_CHANGED, changed, self._after(Kind.TAG_CHANGED))
        if self.female.group != (self.known.group or ""):
            since = self._newer(Kind.MOVED)
            if since is not None:
                self._stands("group", self.known.group or "none", since, self.female.group)
                return
            self._differ("group", self.known.group or "none", self.female.group)
            self._draft(Kind.MOVED, {"to": self.female.group}, self._after(Kind.MOVED))

    def _newer(self, kind: Kind) -> date | None:
        """The day of her last fact of a kind, where that is after the list's."""
        days = [self._day(one.at) for one in self.known.facts if one.kind is kind]
        last = max(days, default=self.listed_on)
        return last if last > self.listed_on else None

    def _after(self, kind: Kind) -> datetime:
        """Noon of the list's day, or just after what is on file of that day."""
        times = [one.at for one in self.known.facts if one.kind is kind]
        return max([self.noon, *(at + timedelta(seconds=1) for at in times)])

    def _stands(self, words: str, ledger: str, since: date, file: str) -> None:
        """Put aside what the ledger knows newer than the list."""
        why = f"{words} is {ledger} since {since}, after the list's day; the list says {file}"
        self.out.aside.append(Aside(self.female.row, self.female.tag, why))

    def _stated(self) -> None:
        """What was stated when she was added, put right by a correction of that."""
        first = self.known.added
        if first is None:
            return
        said = added(self.female)
        changed: dict[str, Any] = {}
        for key, words in _STATED.items():
            if key in said and not _same(first.body.get(key), said[key]):
                changed[key] = said[key]
                self._differ(words, _shown(first.body.get(key)), _shown(said[key]))
        calvings = sum(fact.kind is Kind.CALVED for fact in self.known.facts)
        class_ = first.body.get("class")
        for _ in range(calvings):
            class_ = _NEXT.get(str(class_), class_)
        if class_ != self.female.class_.value:
            on_file, said_now = _class_words(class_), self.female.class_.words
            if calvings:
                why = f"she is a {on_file} by the calvings on file, the list says {said_now}"
                self.out.aside.append(Aside(self.female.row, self.female.tag, why))
            else:
                changed["class"] = self.female.class_.value
                self._differ("class", on_file, said_now)
        if not first.body.get("listed"):
            changed["listed"] = True
            self._differ("on the list", "met at the chute, not on file", "listed")
        if not changed:
            return
        body = {"taken_back": False, "body": {**first.body, **changed}, "why": "herd list"}
        at = first.modified_at.isoformat()
        name = draw_id(fact_id(self.ranch, Kind.CORRECTED, self.known.id, first.at, body), at)
        self.out.drafts.append(
            Drafted(
                name,
                Kind.CORRECTED,
                self.known.id,
                self.noon,
                body,
                row=self.female.row,
                corrects=first.id,
            )
        )

    def _measure(self, fact: Fact) -> None:
        key, words = _MEASURES[fact.kind]
        past = [one for one in self.known.facts if one.kind is fact.kind and key in one.body]
        last = past[-1] if past else None
        if last is not None and _same(last.body[key], fact.body[key]):
            return
        that_day = [one for one in past if self._day(one.at) == fact.on]
        since = self._newer(fact.kind)
        if last is not None and since is not None:
            if not any(_same(one.body[key], fact.body[key]) for one in that_day):
                self._stands(words, _shown(last.body[key]), since, _shown(fact.body[key]))
            return
        on_file = "none" if last is None else f"{_shown(last.body[key])} on {self._day(last.at)}"
        self._take(fact, words, ledger=on_file, file=_shown(fact.body[key]))

    def _is_on_file(self, fact: Fact, roster: Roster) -> bool:
        past = [one for one in self.known.facts if one.kind is fact.kind]
        past += [one for one in roster.of_group(self.known.group) if one.kind is fact.kind]
        if fact.kind is Kind.PREGNANCY_CHECKED:
            dated = self.female.pregnancy_checked_on is not None
            return any(
                one.body.get("result") == fact.body["result"]
                and (not dated or self._day(one.at) == fact.on)
                for one in (past if dated else past[-1:])
            )
        if fact.kind is Kind.HOLD_SET:
            return any(one.body.get("why") == fact.body["why"] for one in past)
        return any(self._day(one.at) == fact.on for one in past)

    def _calved(self) -> None:
        day = self.female.calved_on
        if day is None or self.known.added is None:
            return
        past = [self._day(one.at) for one in self.known.facts if one.kind is Kind.CALVED]
        first = self.known.added.body.get("calved_on")
        past += [date.fromisoformat(first)] if isinstance(first, str) else []
        if day in past:
            return
        near = [one for one in past if abs((one - day).days) < self.limits.pregnancy_days[0]]
        if near:
            why = f"the list says she calved {day}; on file is {near[0]}: correct the wrong one"
            self.out.aside.append(Aside(self.female.row, self.female.tag, why))
            return
        body: dict[str, Any] = {}
        if self.female.calving_ease is not None:
            body["ease"] = self.female.calving_ease
        if self.female.retained_membranes:
            body["retained_membranes"] = True
        last = f"{max(past)}" if past else "none"
        self._take(Fact(Kind.CALVED, body, day), "calving", ledger=last, file=str(day))

    def _take(self, fact: Fact, words: str, *, ledger: str, file: str) -> None:
        self._differ(words, ledger, file)
        at = at_local(fact.on, _NOON, self.zone).utc
        if fact.kind in _MEASURES:
            at = self._after(fact.kind)
        self._draft(fact.kind, fact.body, at)

    def _draft(self, kind: Kind, body: Any, at: datetime) -> None:
        told = {**body, **_DAYS_ONLY}
        name = fact_id(self.ranch, kind, self.known.id, at, told)
        if any(one.id == name for one in self.known.facts):
            name = draw_id(name, self.known.facts[-1].id)  # so again, after it had been otherwise
        self.out.drafts.append(Drafted(name, kind, self.known.id, at, told, row=self.female.row))

    def _differ(self, fact: str, ledger: str, file: str) -> None:
        self.out.differences.append(
            Difference(self.female.row, self.known.words, fact, ledger, file)
        )

    def _day(self, at: datetime) -> date:
        return to_local(at, self.zone).date()


def _said(fact: Fact) -> str:
    words = {
        Kind.INSEMINATED: "AI",
        Kind.BULLS_IN: "bull in",
        Kind.BULLS_OUT: "bull out",
        Kind.HEAT_SEEN: "heat seen",
        Kind.PREGNANCY_CHECKED: f"pregnancy check ({fact.body.get('result', '')})",
        Kind.HOLD_SET: f"hold ({fact.body.get('why', '')})",
    }
    return f"{words.get(fact.kind, fact.kind.value)} {fact.on}".replace("_", " ")


def _class_words(key: object) -> str:
    return FemaleClass(str(key)).words if key in set(FemaleClass) else "not known"


def _shown(value: object) -> str:
    if isinstance(value, dict):
        return " ".join(f"{name} {share:.0%}" for name, share in value.items())
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "none" if value is None else f"{value:g}" if isinstance(value, float) else str(value)


def _same(one: object, other: object) -> bool:
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, int | float) and isinstance(other, int | float):
        return abs(one - other) < 0.05 if max(abs(one), abs(other)) > 1 else abs(one - other) < 1e-3
    return one == other
