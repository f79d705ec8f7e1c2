"""What goes on each day sheet: which jobs, which females, at what clock times. No layout here.

A day sheet is one group at one visit, 20 females at most. A watch gets a sheet of looks and, where
those seen in heat are inseminated, blank rows for them; a feeding gets a sheet of days, and a job
that takes no female through the chute (bulls in) a sheet without females.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, TypeVar

from sunup.base.hours import to_local
from sunup.planning.heat_sessions import look_times
from sunup.planning.readiness import find_vet_marks
from sunup.planning.schedule import inseminate_rule
from sunup.planning.start_span import find_start_spans
from sunup.protocols.protocol import CHUTE, FEEDINGS, Do, Inseminate
from sunup.reports import turnout, words

if TYPE_CHECKING:
    from collections.abc import Iterable
    from zoneinfo import ZoneInfo

    from sunup.planning.plan import FemaleLine, GroupPlan, Plan, ScheduledStep
    from sunup.planning.start_span import StartSpan

_Row = TypeVar("_Row")

VET_LINE = (
    "Marked Vet: let the veterinarian decide first; why stands on the page for the veterinarian."
)
MOST_FEMALES = 20  # a sheet a hand can keep its place on
MOST_LOOKS = 9
MOST_LOOKS_WITH_TAGS = 6  # where the tags seen are written beside the look
MOST_IN_HEAT = 24
MOST_DAYS = 14
_FEWEST_FEMALES = 10
# Room on a sheet in mm (A4 lying down has 164.5 mm; letter 170.5 mm, but shorter lines) and what
# the parts take, measured on the printed sheet. Both papers get the same sheets. The template
# stretches rows up to 12 mm and, where this reckoning was too bold, shrinks them down to 9 mm.
_ROOM_MM = 167.0
_ROW_MM = 10.5
_HEAD_MM = 29.0
_LINE_MM, _SMALL_LINE_MM = 5.1, 4.5
_GAPS_MM = 3.5
# Characters a line holds on the narrower paper, counted low: title, group with day, head line,
# steps (12 pt), cautions (11 pt)
_TITLE_CHARACTERS, _GROUP_CHARACTERS, _HEAD_CHARACTERS = 40, 48, 72
_STEP_CHARACTERS, _CAUTION_CHARACTERS = 120, 138


class Kind(StrEnum):
    """What is written down on a sheet."""

    TREATMENT = "treatment"
    WATCH = "watch"
    IN_HEAT = "in_heat"
    FEEDING = "feeding"
    JOB = "job"


@dataclass(frozen=True, slots=True)
class FemaleRow:
    """One female on a sheet: her place in the order and the clock time planned for her."""

    place: int
    at_utc: datetime
    clock: str
    tag: str
    second: str
    vet: str = ""  # what the veterinarian is to see her for first


@dataclass(frozen=True, slots=True)
class TimeRow:
    """A look of a watch, or a day of feeding."""

    day: str
    part: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of paper: the job, its steps, and the rows to tick."""

    kind: Kind
    id: str
    number: int
    of: int
    group: GroupPlan
    steps: tuple[ScheduledStep, ...]
    on: date
    expected: int
    about: int | None = None  # where not all of them come: how many do by the forecast
    females: tuple[FemaleRow, ...] = ()
    times: tuple[TimeRow, ...] = ()
    starts: StartSpan | None = None  # from when to when it may start; None where it lasts

    @property
    def ends_utc(self) -> datetime:
        """When the last of those expected is done."""
        return max(turnout.ends(step, self.group) for step in self.steps)

    @property
    def title(self) -> str:
        """The work in words: ``PGF and insert out``."""
        if self.kind is Kind.IN_HEAT:
            return "Seen in heat and inseminated"
        return words.upper_first(words.joined(_unlike(step.words for step in self.steps)))

    @property
    def cautions(self) -> tuple[str, ...]:
        """Human-safety lines of every drug at this visit, each once."""
        doses = [step.dose for step in self.steps if step.dose is not None]
        return tuple(_unlike(text for dose in doses for text in dose.cautions))


def day_sheets(plan: Plan, zone: ZoneInfo) -> tuple[Sheet, ...]:
    """Return every sheet of a plan by time, then group.

    Parameters
    ----------
    plan : Plan
    zone : ZoneInfo
        The plan's zone.

    Returns
    -------
    tuple of Sheet
        Steps called off have no sheet, nor has a group of which nobody is treated. `number` and
        `of` count the sheets of one visit.
    """
    found: list[tuple[datetime, int, tuple[Sheet, ...]]] = []
    for place, group in enumerate(plan.groups):
        if not in_order(plan.females, group):
            continue
        for steps in _visits(group):
            kind = _kind(steps)
            if kind is None:
                continue
            sheets = _sheets(plan, group, steps, kind, zone)
            if kind is Kind.WATCH and inseminates(steps[0]):
                sheets += _sheets(plan, group, steps, Kind.IN_HEAT, zone)
            found.append((steps[0].at_utc, place, sheets))
    found.sort(key=lambda entry: entry[:2])
    return tuple(sheet for _, _, sheets in found for sheet in sheets)


def planned_times(start: datetime, end: datetime, *, n: int, head: int) -> tuple[datetime, ...]:
    """Return when each of `n` females is due, spread evenly from the step's start to its end.

    Parameters
    ----------
    start, end : datetime
        When the first begins and when the last is done.
    n : int
        Females on the list.
    head : int
        Females the step counts on. Where fewer are expected than listed (only those not in
        heat), the listed ones are spread over the same hours.

    Returns
    -------
    tuple of datetime
        The first is `start`; each next is a share of the hours later.
    """
    # multiply before dividing: a rounded share would carry the last past the end
    return tuple(start + (end - start) * i / max(head, n, 1) for i in range(n))


def inseminates(watch: ScheduledStep) -> bool:
    """Whether those seen in heat on a watch are inseminated on it."""
    return inseminate_rule(watch) not in {None, Inseminate.NONE}


def _visits(group: GroupPlan) -> list[tuple[ScheduledStep, ...]]:
    """Return the steps that go ahead, by visit; a watch stands for itself."""
    by_visit: dict[tuple[str, str], list[ScheduledStep]] = defaultdict(list)
    for step in group.schedule:
        if step.cancelled:
            continue
        apart = step.id if step.do == Do.WATCH or step.do in FEEDINGS else ""
        by_visit[step.visit, apart].append(step)
    ends = [s for s in group.schedule if s.do == Do.MGA_END and not s.cancelled]
    return [
        tuple(_with_end(step, ends) for step in steps)
        for steps in by_visit.values()
    ]  # fmt: skip


def _with_end(step: ScheduledStep, ends: list[ScheduledStep]) -> ScheduledStep:
    """Give the first feeding the last one's day, so that one sheet holds them all."""
    if step.do != Do.MGA_START:
        return step
    later = [end.at_utc for end in ends if end.at_utc >= step.at_utc]
    return replace(step, until_utc=min(later)) if later else step


def _kind(steps: tuple[ScheduledStep, ...]) -> Kind | None:
    does = {step.do for step in steps}
    if does & CHUTE:
        return Kind.TREATMENT
    if Do.WATCH in does:
        return Kind.WATCH
    if Do.MGA_START in does:
        return Kind.FEEDING
    if does <= {Do.MGA_END}:
        return None  # its day stands on the sheet of the first feeding
    return Kind.JOB


def _sheets(
    plan: Plan, group: GroupPlan, steps: tuple[ScheduledStep, ...], kind: Kind, zone: ZoneInfo
) -> tuple[Sheet, ...]:
    first = steps[0]
    whole = Sheet(
        kind=kind,
        id=first.uid,
        number=1,
        of=1,
        group=group,
        steps=steps,
        on=to_local(first.at_utc, zone).date(),
        expected=max(step.head for step in steps),
        about=turnout.about(first, group) if all(s.who != "all" for s in steps) else None,
        starts=find_start_spans(plan, group.name, zone).get(first.visit),
    )
    if kind is Kind.TREATMENT:
        rows = _female_rows(plan, whole, zone)
        most = rows_that_fit(whole, time_words(whole, zone), marked=any(row.vet for row in rows))
        parts = [replace(whole, females=chunk) for chunk in _chunks(rows, most)]
    elif kind is Kind.JOB:
        parts = []
    elif kind is Kind.IN_HEAT:
        seen = None if group.forecast is None else round(group.forecast.on_heat)
        whole = replace(whole, id=f"{first.uid}/h", about=seen)
        # by the forecast there is one sheet to spare; without one, a row for each of the group
        wanted = whole.expected if whole.about is None else whole.about + MOST_IN_HEAT
        parts = [whole] * -(-min(wanted, whole.expected) // MOST_IN_HEAT)
    elif kind is Kind.WATCH:
        times = _looks(first, group, zone)
        most = MOST_LOOKS if inseminates(first) else MOST_LOOKS_WITH_TAGS
        parts = [replace(whole, times=chunk) for chunk in _chunks(times, most)]
    else:
        times = _days(first, zone)
        parts = [replace(whole, times=chunk) for chunk in _chunks(times, MOST_DAYS)]
    return _numbered(parts or [whole])


def rows_that_fit(sheet: Sheet, times: str, *, marked: bool = False) -> int:
    """Return how many females fit on a sheet beside its drugs and cautions, in two columns.

    20 unless the words are long: a caution is never cut, the sheet takes fewer females. Where some
    are `marked` a line says what for.
    """
    head = (
        7.6 * _lines(sheet.title, _TITLE_CHARACTERS)
        + 6.0 * _lines(f"{sheet.group.name} {words.day(sheet.on)}", _GROUP_CHARACTERS)
        + _LINE_MM * (_lines(times, _HEAD_CHARACTERS) + 2)
    )
    told = [f"{step.words}: {step_details(step)}" for step in sheet.steps]
    told.extend(line for line in [bull_line(sheet)] if line)
    told.extend([*only_for(sheet.steps), *([VET_LINE] if marked else [])])
    text = sum(_LINE_MM * _lines(line, _STEP_CHARACTERS) + 0.4 for line in told)
    caution = f"Caution: {' '.join(sheet.cautions)}" if sheet.cautions else ""
    text += _SMALL_LINE_MM * _lines(caution, _CAUTION_CHARACTERS)
    rows = int((_ROOM_MM - max(_HEAD_MM, head) - _GAPS_MM - text) / _ROW_MM)
    return min(MOST_FEMALES, max(_FEWEST_FEMALES, 2 * rows))


def _lines(text: str, characters: int) -> int:
    return -(-len(text) // characters)


def only_for(steps: tuple[ScheduledStep, ...]) -> list[str]:
    """Say which steps are not for every female of the list, and for whom they are."""
    named: dict[tuple[str, int], list[str]] = defaultdict(list)
    for step in steps:
        if step.who != "all":
            named[words.who(step.who), step.head].append(step.words)
    return [
        f"{words.upper_first(words.joined(does))} only for {who}, at most {head} head; "
        "tick Skip for the others."
        for (who, head), does in named.items()
    ]


def bull_line(sheet: Sheet) -> str:
    """Say which bulls a sheet's inseminations are planned with, of a group with its straws."""
    if sheet.kind is not Kind.IN_HEAT and not any(step.do == Do.AI for step in sheet.steps):
        return ""
    told = [f"{use.code} ({words.count(use.straws, 'straw')})" for use in sheet.group.sires]
    if not told:
        return ""
    which = "" if len(told) == 1 else "; write the one used"
    return f"{'Bull' if len(told) == 1 else 'Bulls'}: {', '.join(told)} for the whole group{which}."


def step_details(step: ScheduledStep) -> str:
    """Say what to give at a step, how much, by which route, its note and its warnings."""
    dose = step.dose
    parts: list[str] = []
    if dose is not None:
        parts = [f"{dose.name} {dose.strength}", f"{dose.dose} each"]
        if dose.ml_each is not None:
            parts.append(f"{words.number(dose.ml_each)} mL")
        parts.extend(text for text in (dose.route, dose.needle) if text)
    elif step.straws:
        parts = [turnout.straws(step)]
    sentences = [", ".join(parts), step.note or "", *step.flags]
    return ". ".join(text.rstrip(". ") for text in sentences if text)


def time_words(sheet: Sheet, zone: ZoneInfo) -> str:
    """Say when a sheet's work starts and ends and from when to when it may start."""
    first = sheet.steps[0]
    if sheet.kind is Kind.IN_HEAT and (told := _session_words(sheet, zone)):
        return told
    if first.until_utc is not None:
        return (
            f"From {words.day_and_clock(first.at_utc, zone)} "
            f"to {words.day_and_clock(first.until_utc, zone)}"
        )
    end = words.clock(sheet.ends_utc, zone)
    if sheet.about is not None:
        last = words.clock(max(step.ends_utc for step in sheet.steps), zone)
        end += f" if about {sheet.about} come, {last} if all do"
    parts = [f"Start {words.clock(first.at_utc, zone)}", f"planned end {end}"]
    if sheet.starts is not None:
        parts.extend(words.may_start(sheet.starts, first.at_utc, zone))
    after = [words.after_words(step, sheet.group.schedule) for step in sheet.steps]
    parts.extend(dict.fromkeys(text for text in after if text))
    return "; ".join(parts)


def _session_words(sheet: Sheet, zone: ZoneInfo) -> str:
    """Say when those seen in heat are inseminated: ``Mon 24 May 18:00; Tue 25 May 06:00``."""
    by_day: dict[str, list[str]] = defaultdict(list)
    for session in sheet.group.sessions:
        if session.id.startswith(f"{sheet.steps[0].id}_ai_") and not session.cancelled:
            day = words.short_day(to_local(session.at_utc, zone).date())
            by_day[day].append(words.clock(session.at_utc, zone))
    if not by_day:
        return ""
    told = [f"{day} {words.joined(clocks)}" for day, clocks in by_day.items()]
    return f"Inseminations: {'; '.join(told)}"


def _female_rows(plan: Plan, sheet: Sheet, zone: ZoneInfo) -> tuple[FemaleRow, ...]:
    listed = in_order(plan.females, sheet.group)
    start = min(step.at_utc for step in sheet.steps)
    due = planned_times(start, sheet.ends_utc, n=len(listed), head=sheet.expected)
    return tuple(
        FemaleRow(
            place,
            at,
            words.clock(at, zone),
            female.tag,
            words.second_identifier(female),
            words.joined([mark for mark, _ in find_vet_marks(female)]),
        )
        for place, (at, female) in enumerate(zip(due, listed, strict=True), start=1)
    )


def in_order(females: Iterable[FemaleLine], group: GroupPlan) -> list[FemaleLine]:
    """Return a group's treated females in treatment order; any the order forgot come last."""
    place = {tag: i for i, tag in enumerate(group.order)}
    treated = [f for f in females if f.group == group.name and f.is_treated]
    return sorted(treated, key=lambda f: place.get(f.tag, len(place)))


def _looks(step: ScheduledStep, group: GroupPlan, zone: ZoneInfo) -> tuple[TimeRow, ...]:
    return tuple(
        TimeRow(words.short_day(to_local(at, zone).date()), words.clock(at, zone))
        for at in look_times(step, group.schedule, zone)
    )


def _days(step: ScheduledStep, zone: ZoneInfo) -> tuple[TimeRow, ...]:
    start = to_local(step.at_utc, zone).date()
    n = (to_local(step.until_utc or step.ends_utc, zone).date() - start).days + 1
    return tuple(
        TimeRow(words.short_day(start + timedelta(days=i)), f"day {i + 1} of {n}") for i in range(n)
    )


def _numbered(parts: list[Sheet]) -> tuple[Sheet, ...]:
    return tuple(
        replace(part, number=i, of=len(parts), id=f"{part.id}/{i}")
        for i, part in enumerate(parts, start=1)
    )


def _chunks(rows: tuple[_Row, ...], most: int) -> list[tuple[_Row, ...]]:
    return [rows[i : i + most] for i in range(0, len(rows), most)]


def _unlike(texts: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(texts))
