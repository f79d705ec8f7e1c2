"""Use-case: the herd list of today out of the ledger, as a herd file would tell each female."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.app.desk import Who, sit_down
from sunup.app.scan import bred_females
from sunup.base.hours import to_local
from sunup.planning.after_ai import her_pregnancies
from sunup.planning.parentage import ParentageFigures
from sunup.records.event import Kind
from sunup.records.female import Exposure, ExposureKind, PregnancyFinding

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from datetime import date

    from sunup.app.desk import Desk
    from sunup.planning.females_now import FemaleNow
    from sunup.records.event import Event
    from sunup.records.female import Female

# facts without a column for their day, in the words of the list
_DAYLESS = {
    "condition": "body condition",
    "weight_kg": "weight",
    "tract_score": "tract score",
    "pelvic_area_cm2": "pelvic area",
    "cycling": "cycling",
}


@dataclass(frozen=True, slots=True)
class HerdList:
    """The females that are here, as a herd file tells them, and what was left out.

    `unclassed` are tags whose class nobody stated; `left_out` are facts whose day is too long ago,
    with for how many females.
    """

    on: date
    females: tuple[Female, ...]
    unclassed: frozenset[str]
    left_out: tuple[tuple[str, int], ...]
    old_days: float


def find_herd_list(events: Sequence[Event], *, ranch: str, zone: str) -> HerdList:
    """Draw the herd list of today.

    Parameters
    ----------
    events : sequence of Event
    ranch : str
    zone : str
        IANA zone of the ranch.

    Notes
    -----
    Pregnancies, exposures and holds that stand are in it; those that ended in a calving or a loss
    are not. A due date stands only with a pregnant finding: a plan takes her as calved from then
    on. What a list cannot date (condition, weight) is left out once it is old.
    """
    desk = sit_down(events, lambda _: None, ranch=ranch, who=Who(zone=zone))
    on = to_local(desk.season.at, desk.season.zone).date()
    old = desk.library.number("practice.measure_old_days")
    due = _due(desk, on)
    stated = {
        e.female for e in desk.standing if e.kind is Kind.FEMALE_ADDED and e.body.get("class")
    }
    listed: list[Female] = []
    unclassed: set[str] = set()
    left_out = dict.fromkeys(_DAYLESS, 0)
    for her in desk.season.females.values():
        if not her.is_here or not her.tag:
            continue
        first = on - timedelta(days=int(old))
        past = {
            key
            for key in _DAYLESS
            if getattr(her.facts, key) is not None and dict(her.measured_on)[key] < first
        }
        for key in past:
            left_out[key] += 1
        female = _without(_as_listed(her, desk, on), past)
        listed.append(replace(female, due_on=due.get(her.id)))
        if her.id not in stated and female.calved_on is None:
            unclassed.add(female.tag)
    return HerdList(
        on=on,
        females=tuple(sorted(listed, key=lambda one: one.tag)),
        unclassed=frozenset(unclassed),
        left_out=tuple((_DAYLESS[key], n) for key, n in left_out.items() if n),
        old_days=old,
    )


def _without(female: Female, past: Collection[str]) -> Female:
    """Leave out measures of a day long past."""
    return replace(
        female,
        condition=None if "condition" in past else female.condition,
        weight_kg=None if "weight_kg" in past else female.weight_kg,
        tract_score=None if "tract_score" in past else female.tract_score,
        pelvic_area_cm2=None if "pelvic_area_cm2" in past else female.pelvic_area_cm2,
        cycling=None if "cycling" in past else female.cycling,
    )


def _as_listed(her: FemaleNow, desk: Desk, on: date) -> Female:
    """Her facts of today with what stands of exposure, finding, hold and heat."""
    facts = her.facts
    calved = facts.calved_on
    seen = [
        to_local(heat.first_seen_at, desk.season.zone).date() for heat in her.heats if heat.is_sure
    ]
    after = [day for day in seen if calved is None or day > calved]
    holds = dict.fromkeys(why for why, until in her.holds if until is None or until > on)
    exposure = facts.exposure
    checked = facts.pregnancy_checked_on
    if checked is not None and (
        (calved is not None and checked < calved)
        # an older "open" says nothing of what came after it
        or (
            facts.pregnancy is not PregnancyFinding.PREGNANT
            and exposure is not None
            and checked < exposure.from_on
        )
    ):
        facts = replace(facts, pregnancy=None, pregnancy_checked_on=None, pregnancy_method=None)
    also = _served_before(exposure, on, desk)
    return replace(
        facts,
        group=her.group,
        last_heat_on=max(after, default=None),
        hold_reason="; ".join((*holds, *also)) or None,
    )


def _served_before(exposure: Exposure | None, on: date, desk: Desk) -> tuple[str, ...]:
    """A hold for what one column of AI dates cannot say: an earlier insemination beside a late one.

    A list holds the last one alone, which may be too young to keep her from PGF.
    """
    ai = next((p for p in exposure.parts if p.kind is ExposureKind.AI), None) if exposure else None
    if ai is None or ai.until_on is None or ai.from_on == ai.until_on:
        return ()
    limit = desk.library.number("practice.exposure_before_pgf_days")
    if (on - ai.until_on).days >= limit:
        return ()
    return (f"inseminated also on {ai.from_on.isoformat()}",)


def _due(desk: Desk, on: date) -> dict[str, date]:
    """The likely day of calving of those found pregnant, by id."""
    figures = ParentageFigures.of(desk.library)
    due = {}
    for female in bred_females(desk):
        if female.now.found != "pregnant":
            continue
        last = her_pregnancies(female, today=on, parents=figures)
        if last and last[-1].ended_on is None and last[-1].due is not None:
            due[female.female] = last[-1].due.likely_on
    return due
