"""The calving book: who is due when, what came, what was lost, and who will be late next season."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

from scipy.special import ndtr

from sunup.base.days import days_between

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sunup.base.figures import Figure
    from sunup.library.library import Library
    from sunup.planning.due_dates import Due
    from sunup.planning.parentage import Parentage


@dataclass(frozen=True, slots=True)
class CalvingFigures:
    """Figures of calvings and of readiness after them."""

    either_side: Figure
    usual: Figure
    since_calving_at_ai: Figure
    freemartin: Figure
    retained: Figure
    after_service: Figure

    @staticmethod
    def of(library: Library) -> CalvingFigures:
        """Take them from the library."""
        figure = library.figure
        return CalvingFigures(
            either_side=figure("gestation.range_days"),
            usual=figure("gestation.default"),
            since_calving_at_ai=figure("readiness.days_since_calving_at_ai"),
            freemartin=figure("breeding.freemartin_share"),
            retained=figure("breeding.retained_membranes_pct"),
            after_service=figure("practice.calving_after_service_days"),
        )


class Outcome(StrEnum):
    """How a pregnancy stands or ended."""

    DUE = "due"
    OVERDUE = "overdue"
    CALVED = "calved"
    LOST = "lost"  # found pregnant, later found open, with nothing seen
    ABORTED = "aborted"


@dataclass(frozen=True, slots=True)
class Calf:
    """One calf born. `sex`: female | male; None: not written."""

    sex: str | None = None
    is_alive: bool | None = None
    tag: str = ""
    weight_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Pregnancy:
    """One pregnancy of one female, from its services to its end.

    `parentage` and `due` are predicted without the calving; `sired` is the sire judged with it.
    `is_confirmed` is false where nobody has checked her yet: due if she held. `lost_before` is how
    and when the pregnancy before it was lost, where it was.
    """

    female: str
    tag: str
    group: str
    parentage: Parentage
    due: Due | None
    ended_on: date | None = None
    outcome: Outcome = Outcome.DUE
    calves: tuple[Calf, ...] = ()
    ease: int | None = None
    has_retained_membranes: bool | None = None
    is_heifer: bool = False
    is_confirmed: bool = True
    sired: Parentage | None = None
    lost_before: tuple[Outcome, date] | None = None


class Timing(StrEnum):
    """A calving against its prediction."""

    AS_EXPECTED = "as expected"
    EARLY = "earlier than 9 of 10"
    LATE = "later than 9 of 10"
    TOO_EARLY = "too early"
    TOO_LATE = "too late"


@dataclass(frozen=True, slots=True)
class BookLine:
    """One line of the calving book.

    `days_off` counts from the likely day: negative came early. None where nothing was predicted or
    nothing has come.
    """

    pregnancy: Pregnancy
    outcome: Outcome
    timing: Timing | None
    days_off: int | None
    remarks: tuple[str, ...]


def book_line(pregnancy: Pregnancy, *, today: date, figures: CalvingFigures) -> BookLine:
    """Return one line of the calving book.

    Notes
    -----
    Nearly all calves come within 12 days either side of the breed's mean (Torell, Nevada). A
    calving as rare as one beyond that is "too early" or "too late": a date, a tag or a service may
    be wrong, or the calf is premature. Predictions must be made without the calving itself, or they
    agree with it.
    """
    due = pregnancy.due
    outcome = pregnancy.outcome
    remarks: list[str] = []
    if pregnancy.sired is not None and pregnancy.sired.believed is not None:
        remarks += pregnancy.sired.remarks[:1]
    days_off = None
    timing = None
    if outcome is Outcome.DUE and due is not None and today > due.late_on + timedelta(days=1):
        outcome = Outcome.OVERDUE
        n = days_between(due.likely_on, today)
        remarks.append(
            f"{n} days past her likely day and no calving recorded: look at her, and write the "
            "calving if she has"
            + ("" if pregnancy.is_confirmed else "; nobody checked her, she may be open")
        )
    if outcome is Outcome.CALVED and pregnancy.ended_on is not None and due is not None:
        days_off = days_between(due.likely_on, pregnancy.ended_on)
        timing = _timing(due, pregnancy.ended_on, figures)
        if timing is Timing.TOO_EARLY:
            remarks.append(
                f"calved {-days_off} days before her likely day: premature, or a service or tag is "
                "wrong"
            )
        elif timing is Timing.TOO_LATE:
            remarks.append(
                f"calved {days_off} days after her likely day: most likely by a later service, or "
                "a date is wrong"
            )
    if outcome is Outcome.CALVED and pregnancy.ended_on is not None and pregnancy.lost_before:
        how, lost_on = pregnancy.lost_before
        since = days_between(lost_on, pregnancy.ended_on)
        if since < figures.after_service.span[0]:
            what = "an abortion" if how is Outcome.ABORTED else "she was found open"
            remarks.append(
                f"calved {since} days after {what} ({lost_on.day} {lost_on:%b %Y}): one of the two "
                "is wrong, or another female's; take it back"
            )
    if outcome is Outcome.ABORTED:
        remarks.append("aborted: tell the veterinarian; keep her apart; wear gloves")
    remarks += calf_notes(pregnancy.calves, figures=figures)
    if pregnancy.has_retained_membranes:
        remarks.append("membranes retained: have her looked at before next season")
    return BookLine(pregnancy, outcome, timing, days_off, tuple(remarks))


def _timing(due: Due, on: date, figures: CalvingFigures) -> Timing:
    # the trade's 12 days either side of the usual gestation leave out this share at an end
    spread = figures.usual.sd
    rare = float(ndtr(-figures.either_side.number / spread)) if spread else 0.0
    by_then = due.chance_by(on)
    if by_then < rare:
        return Timing.TOO_EARLY
    if due.chance_by(on - timedelta(days=1)) > 1.0 - rare:
        return Timing.TOO_LATE
    if on < due.early_on:
        return Timing.EARLY
    return Timing.LATE if on > due.late_on else Timing.AS_EXPECTED


def calf_notes(calves: Sequence[Calf], *, figures: CalvingFigures) -> tuple[str, ...]:
    """What to say of the calves: a heifer twin to a bull, twins, calves dead.

    96 of 100 heifers born twin to a bull are sterile (Echternkamp and Gregory 2002).
    """
    said: list[str] = []
    sexes = {calf.sex for calf in calves}
    if {"female", "male"} <= sexes:
        tags = ", ".join(calf.tag for calf in calves if calf.sex == "female" and calf.tag)
        named = f" ({tags})" if tags else ""
        said.append(
            f"heifer calf{named} born twin to a bull: {figures.freemartin.number * 100:.0f} of 100 "
            "are sterile. Do not keep her for breeding without a test."
        )
    if len(calves) > 1:
        single, twins = figures.retained.span
        said.append(
            f"twins: retained membranes in {twins:.0f} of 100 (single {single:.0f}); watch the "
            "cow, and see that both calves have drunk"
        )
        if None in sexes:
            said.append(
                "write the sex of both twins: a heifer twin to a bull is most often sterile"
            )
    dead = sum(calf.is_alive is False for calf in calves)
    if dead:
        said.append(f"{dead} of {len(calves)} born dead")
    return tuple(said)


def calving_book(
    pregnancies: Iterable[Pregnancy], *, today: date, figures: CalvingFigures
) -> tuple[BookLine, ...]:
    """Return the whole book: by likely day, then tag; those without a date last."""
    lines = [book_line(one, today=today, figures=figures) for one in pregnancies]
    return tuple(
        sorted(
            lines,
            key=lambda line: (
                line.pregnancy.due is None,
                line.pregnancy.due.likely_on if line.pregnancy.due else date.max,
                line.pregnancy.tag,
            ),
        )
    )


@dataclass(frozen=True, slots=True)
class BookCounts:
    """The book in numbers. `coverage` is the share of calvings inside their 8-of-10 range."""

    due: int
    overdue: int
    calved: int
    lost: int
    aborted: int
    early: int
    late: int
    inside: int

    @property
    def words(self) -> str:
        """Calvings against predictions, in a line."""
        judged = self.inside + self.early + self.late
        if not judged:
            return "no calving with a prediction yet"
        return (
            f"{self.inside} of {judged} calved within the days given (8 of 10 expected), "
            f"{self.early} before, {self.late} after"
        )


def count_book(lines: Sequence[BookLine]) -> BookCounts:
    """Count the book's lines by outcome, and calvings against their 8-of-10 range."""
    outcomes = [line.outcome for line in lines]
    timings = [line.timing for line in lines]
    early = timings.count(Timing.EARLY) + timings.count(Timing.TOO_EARLY)
    late = timings.count(Timing.LATE) + timings.count(Timing.TOO_LATE)
    return BookCounts(
        due=outcomes.count(Outcome.DUE),
        overdue=outcomes.count(Outcome.OVERDUE),
        calved=outcomes.count(Outcome.CALVED),
        lost=outcomes.count(Outcome.LOST),
        aborted=outcomes.count(Outcome.ABORTED),
        early=early,
        late=late,
        inside=timings.count(Timing.AS_EXPECTED),
    )
