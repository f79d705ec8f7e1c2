"""The herd after insemination: returns to watch, the scan sheet, the calving book, the late ones.

Each list takes the same `BredFemale` rows, whichever way they were read from the ledger.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sunup.planning.calving_book import Outcome, calving_book
from sunup.planning.females_now import Noted
from sunup.planning.lost_no_more import join_lost
from sunup.planning.pregnancies import (
    exposed_of,
    pregnancy_of,
    read_stretches,
    return_of,
    say_state,
)
from sunup.planning.returns import watch_list
from sunup.planning.scan_sheet import expect_in
from sunup.records import observations as o
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import date, datetime
    from zoneinfo import ZoneInfo

    from sunup.forecast.gestation import Shares
    from sunup.planning.calving_book import BookLine, CalvingFigures, Pregnancy
    from sunup.planning.parentage import ParentageFigures
    from sunup.planning.pregnancies import Stretch
    from sunup.planning.returns import ReturnDue, ReturnFigures
    from sunup.planning.scan_sheet import Expected, ScanFigures
    from sunup.records.state import FemaleRecord, HerdState


@dataclass(frozen=True, slots=True)
class BredFemale:
    """One female with her history cut into stretches, oldest first; the last may still run."""

    female: str
    tag: str
    group: str
    breeds: Shares
    stretches: tuple[Stretch, ...]

    @property
    def now(self) -> Stretch:
        """The running stretch."""
        return self.stretches[-1]


def breeding_notes(state: HerdState, record: FemaleRecord) -> list[Noted]:
    """Return what a ledger's state says of one female's breeding, bulls of her groups among it."""
    notes: list[Noted] = []
    added = record.added
    if added is not None:
        body = {
            "class": added.class_,
            "calved_on": None if added.calved_on is None else added.calved_on.isoformat(),
        }
        notes.append(Noted(Kind.FEMALE_ADDED, added.at, body, added.by, added.event))
    for x in record.log:
        found = _note(x)
        if found is not None:
            notes.append(Noted(found[0], x.at, found[1], x.by, x.event))
    for span in state.with_bulls(record):
        names = {"bulls": list(span.bulls)}
        notes.append(Noted(Kind.BULLS_IN, span.from_at, names, "", span.event))
        if span.until_at is not None:
            notes.append(Noted(Kind.BULLS_OUT, span.until_at, names, "", span.event))
    return notes


def _note(x: o.Observation) -> tuple[Kind, dict[str, object]] | None:
    if isinstance(x, o.Inseminated):
        return Kind.INSEMINATED, {"sire": x.sire, "timed": x.timed, "in_heat": x.in_heat}
    if isinstance(x, o.PregnancyChecked):
        return Kind.PREGNANCY_CHECKED, {
            "method": x.method,
            "result": x.result,
            "fetal_age_days": x.fetal_age_days,
            "fetal_sex": x.fetal_sex,
            "fetuses": x.fetuses,
        }
    if isinstance(x, o.Calved):
        return Kind.CALVED, {
            "ease": x.ease,
            "retained_membranes": x.retained_membranes,
            "calves": [
                {"sex": c.sex, "alive": c.alive, "weight_kg": c.weight_kg, "tag": c.tag}
                for c in x.calves
            ],
        }
    if isinstance(x, o.Aborted):
        return Kind.ABORTED, {}
    if isinstance(x, o.LeftHerd):
        return Kind.LEFT_HERD, {"why": x.why}
    if isinstance(x, o.Moved):
        return Kind.MOVED, {"to": x.to}
    return None


def herd_females(
    state: HerdState,
    *,
    zone: ZoneInfo,
    until: datetime,
    sire_breeds: Mapping[str, Shares] | None = None,
    chances: Mapping[date, float] | None = None,
) -> tuple[BredFemale, ...]:
    """Return every female on file with her stretches; see `read_stretches` for the parameters."""
    return tuple(
        BredFemale(
            female=record.id,
            tag=record.tag,
            group=record.group,
            breeds=record.added.breed_shares if record.added is not None else (),
            stretches=read_stretches(
                breeding_notes(state, record),
                zone=zone,
                until=until,
                sire_breeds=sire_breeds,
                chances=chances,
            ),
        )
        for record in state.females.values()
    )


def herd_returns(
    females: Iterable[BredFemale], *, on: date, figures: ReturnFigures
) -> tuple[ReturnDue, ...]:
    """Return the females whose return is to be looked for on a day."""
    due = [return_of(f.now, female=f.female, tag=f.tag, figures=figures) for f in females]
    return watch_list([one for one in due if one is not None], on)


def herd_scan_sheet(
    females: Iterable[BredFemale],
    *,
    on: date,
    method: str = "ultrasound",
    all_of_them: bool = False,
    figures: ScanFigures,
) -> tuple[Expected, ...]:
    """Return the scan sheet of a day, by group and tag.

    Parameters
    ----------
    females : iterable of BredFemale
    on : date
    method : str
        ultrasound | palpation | blood.
    all_of_them : bool
        Also those already found pregnant; without it only those still to be settled.
    figures : ScanFigures
    """
    lines = []
    for female in females:
        if female.now.found == "pregnant" and not all_of_them:
            continue
        exposed = exposed_of(female.now, female=female.female, tag=female.tag, group=female.group)
        if exposed is not None:
            lines.append(expect_in(exposed, on=on, method=method, figures=figures))
    return tuple(sorted(lines, key=lambda line: (line.exposed.group, line.exposed.tag)))


def herd_book(
    females: Iterable[BredFemale],
    *,
    today: date,
    since: date | None = None,
    parents: ParentageFigures,
    figures: CalvingFigures,
) -> tuple[BookLine, ...]:
    """Return the calving book: pregnancies running, and those that ended on or after a day.

    Parameters
    ----------
    females : iterable of BredFemale
    today : date
    since : date, optional
        Pregnancies that ended before it are left out; all are in where absent.
    parents : ParentageFigures
    figures : CalvingFigures
    """
    found: list[Pregnancy] = []
    for female in females:
        stretches = join_lost(female.stretches, breeds=female.breeds, figures=parents)
        for before, stretch in zip((None, *stretches), stretches, strict=False):
            if stretch.has_left and stretch.outcome is Outcome.DUE:
                continue
            if since is not None and stretch.ended_on is not None and stretch.ended_on < since:
                continue
            one = _pregnancy(female, stretch, today, parents)
            if one is not None:
                found.append(replace(one, lost_before=_lost(before)))
    return calving_book(found, today=today, figures=figures)


def _lost(stretch: Stretch | None) -> tuple[Outcome, date] | None:
    if stretch is None or stretch.ended_on is None:
        return None
    is_lost = stretch.outcome in {Outcome.ABORTED, Outcome.LOST}
    return (stretch.outcome, stretch.ended_on) if is_lost else None


def her_pregnancies(
    female: BredFemale, *, today: date, parents: ParentageFigures
) -> tuple[Pregnancy, ...]:
    """Return a female's pregnancies, running and over, in time order."""
    stretches = join_lost(female.stretches, breeds=female.breeds, figures=parents)
    found = (_pregnancy(female, stretch, today, parents) for stretch in stretches)
    return tuple(one for one in found if one is not None)


def herd_states(
    females: Sequence[BredFemale], *, today: date, parents: ParentageFigures
) -> dict[str, str]:
    """Return where each female stands, by her id: "inseminated", "pregnant to AI", ..."""
    said = {}
    for female in females:
        one = _pregnancy(female, female.now, today, parents)
        parentage = None if one is None else one.parentage
        said[female.female] = say_state(female.now, parentage, today=today)
    return said


def _pregnancy(
    female: BredFemale, stretch: Stretch, today: date, parents: ParentageFigures
) -> Pregnancy | None:
    return pregnancy_of(
        stretch,
        female=female.female,
        tag=female.tag,
        group=female.group,
        breeds=female.breeds,
        today=today,
        figures=parents,
    )
