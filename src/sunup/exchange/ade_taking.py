"""One ADE fact against the one on file under the same key: new, the same, newer, or ours stands."""

from __future__ import annotations

import json
import uuid
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sunup.base.problems import Problem, Severity
from sunup.exchange import ade_words as ade
from sunup.exchange.ade_lost import HELD
from sunup.exchange.ade_times import ade_time, read_ade_time
from sunup.exchange.drafts import Aside, Difference, Drafted, draw_id
from sunup.exchange.held_against import hold_against
from sunup.records.event import Kind
from sunup.records.forms import find_faults, has_form

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.exchange.ade_in_animals import Names
    from sunup.exchange.plausible import Limits
    from sunup.exchange.roster import Roster
    from sunup.exchange.standing import Standing

Key = tuple[str, str]  # source, id at the source
_CANNOT_BOTH_BE = frozenset({Kind.CALVED, Kind.PREGNANCY_CHECKED})
_IN_FILES = "in the files too"


@dataclass(slots=True)
class AdeIntake:
    """What taking ADE files would do.

    `drafts` would be recorded; `already` counts resources the ledger holds as they stand,
    `corrected` and `taken_back` those it would change; `aside` are put aside with the reason.
    `told` are the drafts of new facts, by id, with the resources they come from.
    """

    n: int = 0
    drafts: list[Drafted] = field(default_factory=list)
    already: int = 0
    corrected: int = 0
    taken_back: int = 0
    new_animals: list[str] = field(default_factory=list)
    differences: list[Difference] = field(default_factory=list)
    aside: list[Aside] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    kept: list[tuple[str, Iterable[str]]] = field(default_factory=list)
    told: dict[str, tuple[Drafted, Told]] = field(default_factory=dict)

    def differ(self, who: str, fact: str, ledger: str, file: str) -> None:
        """Note a difference that would be taken."""
        self.differences.append(Difference(0, who, fact, ledger, file))


@dataclass(frozen=True, slots=True)
class Here:
    """The ledger that files are held against."""

    ranch: str
    zone: ZoneInfo
    limits: Limits
    now: datetime
    roster: Roster
    names: Names
    by_key: Mapping[Key, Standing]
    exported: Mapping[Key, Mapping[str, Any]]


@dataclass(frozen=True, slots=True)
class Told:
    """What a resource says, read. `at` is None for an animal, who has no hour."""

    key: Key
    kind: Kind
    female: str
    at: datetime | None
    body: Mapping[str, Any]
    resource: Mapping[str, Any]
    place: str
    kept: Mapping[str, Any]
    until: tuple[datetime, bool] | None = None  # when bulls went out; whether a day only

    def meta_time(self, name: str) -> datetime | None:
        """A time of its meta, where it is there."""
        text = self.resource.get("meta", {}).get(name)
        return read_ade_time(text)[0] if text else None

    @property
    def is_deleted(self) -> bool:
        """Whether it was taken back at its source."""
        return bool(self.resource.get("meta", {}).get("isDeleted"))

    def whole_body(self) -> dict[str, Any]:
        """The body with where it came from, and what came with it."""
        origin: dict[str, Any] = {}
        if self.key[0] != ade.OURS:
            origin = {"source": self.key[0], "sourceId": self.key[1]}
        if self.kept:
            origin["kept"] = dict(self.kept)
        return {**self.body, **({"ade": origin} if origin else {})}


def key_of(resource: Mapping[str, Any]) -> Key:
    """The key of a resource; drawn from its content where its meta has none."""
    meta = resource.get("meta")
    if isinstance(meta, dict) and meta.get("source") and meta.get("sourceId"):
        return str(meta["source"]), str(meta["sourceId"])
    plain = {name: value for name, value in resource.items() if name != "meta"}
    return "content", draw_id(json.dumps(plain, sort_keys=True))


def take_told(here: Here, out: AdeIntake, told: Told) -> bool:
    """Draft what a resource says; true where it is new here."""
    if not has_form(told.kind, told.body):
        faults = [f"{name} {what}" for name, what, _ in find_faults(told.kind, told.body)]
        why = f"what it says cannot be kept: {'; '.join(faults)}"
        out.aside.append(Aside(0, told.place, why, dict(told.resource)))
        return False
    existing = here.by_key.get(told.key)
    if told.kept:
        shown = set(told.kept) - {"location", "id"}
        out.kept.append((str(told.resource["resourceType"]), shown))
    if existing is None and told.key in here.exported:
        why = (
            "here it stands for a group, or for a calving before the ledger began: change it there"
        )
        out.aside.append(Aside(0, told.place, why, dict(told.resource)))
        return False
    if existing is None:
        return _draft_new(here, out, told)
    _draft_change(here, out, told, existing)
    return False


def _is_taken(here: Here, out: AdeIntake, told: Told, one: Drafted) -> bool:
    """Hold a fact that is new by its number against those of her; false where it is not taken.

    Of two facts of the files that cannot both be, neither is taken; a file of our own tells what
    its ledger holds, and is held against this ledger alone.
    """
    known = here.roster.by_id.get(told.female)
    if known is not None:
        verdict = hold_against(known.facts, one, here.zone, limits=here.limits, who=known.words)
        out.differences += verdict.differences
        out.already += verdict.is_known
        if verdict.why:
            out.aside.append(Aside(0, told.place, verdict.why, dict(told.resource)))
        if verdict.is_known or verdict.why:
            return False
    if told.key[0] == ade.OURS or told.kind not in _CANNOT_BOTH_BE:
        return True
    for other, its in list(out.told.values()):
        if other.female != told.female:
            continue
        verdict = hold_against([other], one, here.zone, limits=here.limits, place=_IN_FILES)
        if verdict.is_known and told.kind is Kind.CALVED:
            out.already += 1
            return False
        if verdict.why:
            why = hold_against([one], other, here.zone, limits=here.limits, place=_IN_FILES).why
            out.aside.append(Aside(0, told.place, verdict.why, dict(told.resource)))
            out.aside.append(Aside(0, its.place, why, dict(its.resource)))
            out.drafts = [
                draft for draft in out.drafts if other.id not in {draft.id, draft.corrects}
            ]
            del out.told[other.id]
            return False
    return True


def _draft_new(here: Here, out: AdeIntake, told: Told) -> bool:
    """Draft a fact that is not on file under its number; false where it is not taken."""
    created = told.meta_time("created") or told.meta_time("modified") or here.now
    modified = told.meta_time("modified") or created
    by = str(told.resource.get("meta", {}).get("creator") or "")
    at = told.at or created
    body = told.whole_body()
    first = Drafted(event_id(told.key), told.kind, told.female, at, body, by=by, entered_at=created)
    if told.at is not None and not told.is_deleted:
        if not _is_taken(here, out, told, first):
            return False
        out.told[first.id] = (first, told)
    out.drafts.append(first)
    if told.is_deleted:
        out.taken_back += 1
    if told.is_deleted or modified > created:
        word = {"taken_back": True} if told.is_deleted else {"taken_back": False, "body": body}
        out.drafts.append(
            Drafted(
                draw_id(first.id, ade_time(modified), told.is_deleted),
                Kind.CORRECTED,
                told.female,
                at,
                word,
                by=by,
                entered_at=max(modified, created),
                corrects=first.id,
            )
        )
    if told.until is not None:
        out.drafts.append(
            Drafted(
                draw_id(first.id, "out"),
                Kind.BULLS_OUT,
                told.female,
                told.until[0],
                {"day_only": True} if told.until[1] else {},
                by=by,
                entered_at=max(modified, created),
            )
        )
    return True


def _draft_change(here: Here, out: AdeIntake, told: Told, existing: Standing) -> None:
    if existing.kind is not told.kind:
        why = f"under its number a {existing.kind.value} is on file"
        out.aside.append(Aside(0, told.place, why, dict(told.resource)))
        return
    body = told.whole_body()
    replaced = HELD[told.kind] | {"ade", "day_only"}
    if told.kind is Kind.FEMALE_ADDED:
        replaced -= {"calved_on", "calving_ease"}  # they come with a resource of their own
    stay = {name: value for name, value in existing.body.items() if name not in replaced}
    whole = {**stay, **body}
    same_time = told.at is None or told.at == existing.at
    is_same = (
        whole == dict(existing.body)
        and same_time
        and told.female == existing.female
        and told.is_deleted == existing.is_taken_back
    )
    if is_same:
        out.already += 1
        return
    modified = told.meta_time("modified")
    if modified is None or modified <= existing.modified_at:
        out.problems.append(
            Problem(
                where=told.place,
                what="It differs from what is on file, and is not newer; what is on file stands.",
                fix="Correct it here if the file is right.",
                severity=Severity.WARNING,
            )
        )
        return
    word: dict[str, Any] = {"taken_back": told.is_deleted, "why": f"ADE, {told.key[0]}"}
    if told.is_deleted:
        out.taken_back += 1
    else:
        out.corrected += 1
        word["body"] = whole
        if not same_time and told.at is not None:
            word["occurred_at"] = told.at.isoformat()
        if told.female != existing.female:
            word["female"] = told.female
    known = here.roster.by_id.get(told.female)
    out.differ(
        known.words if known else told.female,
        existing.kind.value,
        _shown(existing.body, whole),
        "taken back" if told.is_deleted else _shown(whole, existing.body),
    )
    out.drafts.append(
        Drafted(
            draw_id(existing.id, ade_time(modified), told.is_deleted),
            Kind.CORRECTED,
            told.female,
            told.at or existing.at,
            word,
            by=str(told.resource.get("meta", {}).get("creator") or ""),
            entered_at=modified,
            corrects=existing.id,
        )
    )


def _shown(body: Mapping[str, Any], other: Mapping[str, Any]) -> str:
    """What a body says that the other does not."""
    parts = [f"{key} {value}" for key, value in body.items() if other.get(key) != value]
    return ", ".join(parts)[:120] or "the same, at another time or of another female"


def event_id(key: Key) -> str:
    """The id of the event a resource becomes: our own again, or one drawn from its key."""
    if key[0] == ade.OURS:
        try:
            own = str(uuid.UUID(key[1]))
        except ValueError:
            own = ""
        if own == key[1]:
            return own
    return draw_id(*key)
