"""A fact of a file held against those known of her: new, there already, or one to ask about.

Lists and ADE resources go the same way, so that a file is not taken for the form it came in.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from sunup.base.hours import to_local
from sunup.exchange.drafts import Difference
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.exchange.drafts import Drafted
    from sunup.exchange.plausible import Limits
    from sunup.exchange.standing import Standing

ON_FILE = "on file"
_ONCE = frozenset(
    {
        Kind.TREATED,
        Kind.INSERT_PLACED,
        Kind.INSERT_REMOVED,
        Kind.VACCINATED,
        Kind.INSEMINATED,
    }
)
_TOLD_APART_BY = ("active", "dose_ml", "lot", "found", "sire", "batch", "semen")
_NOT_SAID = (None, "unknown")
_VALUES = {
    Kind.WEIGHED: "weight_kg",
    Kind.CONDITION_SCORED: "score",
    Kind.TRACT_SCORED: "score",
    Kind.PELVIS_MEASURED: "area_cm2",
    Kind.PREGNANCY_CHECKED: "result",
    Kind.OVARY_SCANNED: "cycling",
}


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a fact is against those known: new, unless `is_known` or `why` it must be asked about.

    `differences` are facts of that day which the file gives otherwise and which are taken.
    """

    is_known: bool = False
    why: str = ""
    differences: tuple[Difference, ...] = ()


_NEW, _KNOWN = Verdict(), Verdict(is_known=True)


def hold_against(
    facts: Sequence[Standing | Drafted],
    one: Drafted,
    zone: ZoneInfo,
    *,
    limits: Limits,
    who: str = "",
    place: str = ON_FILE,
) -> Verdict:
    """Hold a fact against those known of the same female.

    Parameters
    ----------
    facts : sequence of Standing or Drafted
        Of her, any kind and order.
    one : Drafted
    zone : ZoneInfo
        Of the ranch: its days count.
    limits : Limits
    who : str
        How she is named where something differs.
    place : str
        Where the facts stand, in words.
    """
    day = to_local(one.at, zone).date()
    same_kind = [fact for fact in facts if fact.kind is one.kind]
    if any(fact.id == one.id for fact in same_kind):
        return _KNOWN
    if one.kind is Kind.CALVED:
        return _hold_calving(same_kind, one, zone, place, apart_d=limits.pregnancy_days[0])
    if one.kind in _ONCE:
        return _hold_act(same_kind, one, zone, place, within_h=limits.same_act_h)
    key = _VALUES.get(one.kind)
    if key is None:
        return _NEW
    that_day = [fact for fact in same_kind if to_local(fact.at, zone).date() == day]
    if one.kind is Kind.PREGNANCY_CHECKED:
        for fact in that_day:
            if contradict(fact.body, one.body, limits):
                mend = (
                    f"if the file is right, put the entry right first (sunup record correct "
                    f"{fact.id[:8]})"
                    if place == ON_FILE
                    else "leave one"
                )
                return Verdict(
                    why=f"{place} of {day}: {finding_words(fact.body)}; the file says "
                    f"{finding_words(one.body)}. Ask who checked; {mend}"
                )
    differences: list[Difference] = []
    for fact in that_day:
        if _equal(fact.body.get(key), one.body.get(key)):
            return Verdict(is_known=True, differences=tuple(differences))
        name = f"{key.replace('_', ' ')} on {day}"
        on_file, told = str(fact.body.get(key)), str(one.body.get(key))
        differences.append(Difference(one.row, who, name, on_file, told))
    return Verdict(differences=tuple(differences))


def _hold_act(
    same_kind: Sequence[Standing | Drafted],
    one: Drafted,
    zone: ZoneInfo,
    place: str,
    *,
    within_h: float,
) -> Verdict:
    day = to_local(one.at, zone).date()
    act = one.body.get("act") or one.body.get("against")
    alike = [f for f in same_kind if (f.body.get("act") or f.body.get("against")) == act]
    if any(_is_the_same(fact, one) for fact in alike):
        return _KNOWN
    for fact in alike:
        other = to_local(fact.at, zone)
        near = abs(fact.at - one.at) <= timedelta(hours=within_h)
        if near or (other.date() == day and one.body.get("day_only")):
            what, asked = "the same", "was it given twice"
            if one.kind is Kind.INSEMINATED:
                what, asked = "an insemination", "is this that one"
            return Verdict(why=f"{what} is {place} for {other:%Y-%m-%d %H:%M}: {asked}?")
    return _NEW


def contradict(one: Mapping[str, Any], other: Mapping[str, Any], limits: Limits) -> bool:
    """Whether two findings of one day cannot both be true; "unsure" speaks against none."""
    results = {one.get("result"), other.get("result")}
    if "unsure" in results:
        return False
    if len(results) > 1:
        return True
    age, other_age = one.get("fetal_age_days"), other.get("fetal_age_days")
    if age is None or other_age is None:
        return False
    return bool(abs(age - other_age) > limits.fetal_ages_days)


def finding_words(body: Mapping[str, Any]) -> str:
    """A finding in a word or two: "open", "pregnant 64 days"."""
    words = "open" if body.get("result") == "not_pregnant" else str(body.get("result"))
    age = body.get("fetal_age_days")
    return words if age is None else f"{words} {age:g} days"


def _is_the_same(fact: Standing | Drafted, one: Drafted) -> bool:
    """Whether a treatment is the one on file: its minute (a list knows no seconds), drug, amount.

    What either does not say speaks against nothing; what "other" was stands in its note.
    """
    if one.body.get("day_only") or _minute(fact.at) != _minute(one.at):
        return False
    told_by_note = one.body.get("act") == "other"
    for key in (*_TOLD_APART_BY, *(("note",) if told_by_note else ())):
        on_file, told = fact.body.get(key), one.body.get(key)
        if on_file in _NOT_SAID or told in _NOT_SAID:
            continue
        if not _equal(on_file, told):
            return False
    return True


def _minute(at: datetime) -> datetime:
    return at.replace(second=0, microsecond=0)


def _hold_calving(
    calvings: Sequence[Standing | Drafted],
    one: Drafted,
    zone: ZoneInfo,
    place: str,
    *,
    apart_d: float,
) -> Verdict:
    day = to_local(one.at, zone).date()
    for fact in calvings:
        other = to_local(fact.at, zone).date()
        apart = abs((other - day).days)
        if apart == 0:
            said = {k: v for k, v in one.body.items() if k not in {"day_only", "ade"}}
            if all(fact.body.get(key) == value for key, value in said.items()):
                return _KNOWN
            return Verdict(
                why=f"a calving of {other} is {place} with other facts: correct that one"
            )
        if apart < apart_d:
            return Verdict(why=f"a calving of {other} is {place}, {apart} days from this one")
    return _NEW


def _equal(one: object, other: object) -> bool:
    if isinstance(one, int | float) and isinstance(other, int | float):
        return abs(one - other) < 0.05
    return one == other
