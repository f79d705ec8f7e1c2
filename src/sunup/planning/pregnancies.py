"""From what was recorded of a female to her pregnancies: services, checks, and how each ended.

Her history is cut into stretches, each from one calving, abortion or loss to the next. A stretch
holds the services a pregnancy in it can date from.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from sunup.base.hours import to_local
from sunup.planning.calving_book import Calf, Outcome, Pregnancy
from sunup.planning.conceptions import BullTime, Insemination
from sunup.planning.due_dates import due_dates
from sunup.planning.parentage import Calving, Check, Dam, Way, find_parentage
from sunup.planning.returns import return_due
from sunup.planning.scan_sheet import Exposed
from sunup.planning.sires import sire_key
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.forecast.gestation import Shares
    from sunup.planning.females_now import Noted
    from sunup.planning.parentage import Parentage, ParentageFigures
    from sunup.planning.returns import ReturnDue, ReturnFigures


@dataclass(frozen=True, slots=True)
class Stretch:
    """One time between calvings (or losses) of one female.

    `calved_on` is the calving it began with, where known. `ended_on` and `outcome` say how it
    ended; Outcome.DUE while it runs.
    """

    calved_on: date | None = None
    is_heifer: bool = False
    inseminations: tuple[Insemination, ...] = ()
    bulls: tuple[BullTime, ...] = ()
    checks: tuple[Check, ...] = ()
    ended_on: date | None = None
    outcome: Outcome = Outcome.DUE
    calves: tuple[Calf, ...] = ()
    ease: int | None = None
    has_retained_membranes: bool | None = None
    has_left: bool = False

    @property
    def is_served(self) -> bool:
        """Whether there is anything a pregnancy could date from."""
        return bool(self.inseminations or self.bulls)

    @property
    def is_dated(self) -> bool:
        """Whether a service, or the age of a fetus, says from when a pregnancy can date."""
        aged = (c.result == "pregnant" and c.fetal_age_d is not None for c in self.checks)
        return self.is_served or any(aged)

    @property
    def found(self) -> str:
        """The last finding that was sure: pregnant, not_pregnant or nothing."""
        sure = [check.result for check in self.checks if check.result != "unsure"]
        return sure[-1] if sure else ""

    @property
    def ai_since_open(self) -> tuple[Insemination, ...]:
        """Her inseminations from the last open finding on; all where there is none."""
        open_on = max((c.on for c in self.checks if c.result == "not_pregnant"), default=None)
        return tuple(i for i in self.inseminations if open_on is None or i.on >= open_on)


@dataclass(slots=True)
class _Draft:
    zone: ZoneInfo
    breeds: Mapping[str, Shares]
    chances: Mapping[date, float]
    now: Stretch = field(default_factory=Stretch)
    done: list[Stretch] = field(default_factory=list)

    def day(self, at: datetime) -> date:
        return to_local(at, self.zone).date()

    def end(
        self, on: date, outcome: Outcome, *, bulls_from: date | None = None, **more: Any
    ) -> None:
        """Close the running stretch; bulls still with her stay into the next."""
        self.done.append(replace(self.now, ended_on=on, outcome=outcome, **more))
        calved = outcome is Outcome.CALVED
        since = bulls_from or on
        self.now = Stretch(
            calved_on=on if calved else self.now.calved_on,
            is_heifer=self.now.is_heifer and not calved,
            bulls=tuple(
                replace(b, from_on=max(b.from_on, since))
                for b in self.now.bulls
                if b.until_on is None or b.until_on > since
            ),
        )


def read_stretches(
    notes: Iterable[Noted],
    *,
    zone: ZoneInfo,
    until: datetime,
    sire_breeds: Mapping[str, Shares] | None = None,
    chances: Mapping[date, float] | None = None,
) -> tuple[Stretch, ...]:
    """Cut what was recorded of one female into stretches, oldest first; the last may still run.

    Parameters
    ----------
    notes : iterable of Noted
        Of her and of her groups while she was in them (bulls), corrections applied, any order.
    zone : ZoneInfo
    until : datetime
        Later notes are not seen; UTC.
    sire_breeds : mapping of sire_key to breed shares, optional
        Of AI sires and bulls, by ``sires.sire_key``.
    chances : mapping of local day to float, optional
        Chance of conceiving to an insemination of that day, from the plan's forecast.

    Notes
    -----
    Of two findings of one day that differ the later holds.
    A pregnant finding followed by an open one is a loss, on the day of the open finding; services
    from the pregnant finding on belong to the next stretch.
    """
    draft = _Draft(zone, sire_breeds or {}, chances or {})
    seen = [note for note in notes if note.at <= until]
    for note in sorted(seen, key=lambda n: (n.kind is not Kind.FEMALE_ADDED, n.at)):
        reader = _READERS.get(note.kind)
        if reader is not None:
            reader(draft, note)
    return (*draft.done, draft.now)


def _added(draft: _Draft, note: Noted) -> None:
    calved = note.body.get("calved_on")
    draft.now = replace(
        draft.now,
        is_heifer=note.body.get("class") == "heifer",
        calved_on=date.fromisoformat(calved) if calved else None,
    )


def _inseminated(draft: _Draft, note: Noted) -> None:
    body = note.body
    sire = str(body.get("sire") or "unknown")
    on = draft.day(note.at)
    one = Insemination(
        on=on,
        sire=sire,
        breeds=draft.breeds.get(sire_key(sire), ()),
        chance=draft.chances.get(on),
        is_on_heat=bool(body.get("in_heat")) or body.get("timed") is False,
        at=note.at,
    )
    draft.now = replace(draft.now, inseminations=(*draft.now.inseminations, one))


def _bulls_in(draft: _Draft, note: Noted) -> None:
    names = tuple(str(name) for name in note.body.get("bulls") or ())
    known = [shares for name in names if (shares := draft.breeds.get(sire_key(name)))]
    # bulls of one breed or of breeds not known: a mix of breeds is left open
    breeds = known[0] if len(known) == len(names) and len(set(known)) == 1 else ()
    time = BullTime(draft.day(note.at), None, names, breeds)
    draft.now = replace(draft.now, bulls=(*draft.now.bulls, time))


def _bulls_out(draft: _Draft, note: Noted) -> None:
    out = {sire_key(str(name)) for name in note.body.get("bulls") or ()}
    on = draft.day(note.at)
    bulls: list[BullTime] = []
    for time in draft.now.bulls:
        gone = {n for n in time.bulls if not out or sire_key(n) in out}
        if time.until_on is not None or (out and not gone):
            bulls.append(time)
            continue
        stay = tuple(name for name in time.bulls if name not in gone)
        bulls.append(replace(time, until_on=on))
        if stay:
            bulls.append(replace(time, from_on=on + timedelta(days=1), bulls=stay))
    draft.now = replace(draft.now, bulls=tuple(bulls))


def _checked(draft: _Draft, note: Noted) -> None:
    body = note.body
    check = Check(
        on=draft.day(note.at),
        method=str(body.get("method") or "other"),
        result=str(body.get("result") or "unsure"),
        fetal_age_d=body.get("fetal_age_days"),
        fetal_sex=body.get("fetal_sex"),
        fetuses=body.get("fetuses"),
    )
    draft.now = replace(draft.now, checks=_without_earlier_word(draft.now.checks, check))
    pregnant = [c.on for c in draft.now.checks if c.result == "pregnant"]
    if check.result == "not_pregnant" and pregnant:
        later = tuple(i for i in draft.now.inseminations if i.on > pregnant[-1])
        draft.now = replace(
            draft.now,
            inseminations=tuple(i for i in draft.now.inseminations if i.on <= pregnant[-1]),
        )
        draft.end(check.on, Outcome.LOST, bulls_from=pregnant[-1])
        draft.now = replace(draft.now, inseminations=later)
    draft.now = replace(draft.now, checks=(*draft.now.checks, check))


def _without_earlier_word(checks: Sequence[Check], new: Check) -> tuple[Check, ...]:
    """The checks but for what a later look on the same day takes back: nothing was lost between."""
    if new.result == "unsure":
        return tuple(checks)
    return tuple(c for c in checks if c.on != new.on or c.result == new.result)


def keep_last_words(checks: Iterable[Check]) -> tuple[Check, ...]:
    """Keep of several looks on one day that differ the last one alone.

    Parameters
    ----------
    checks : iterable of Check
        Of one female, in the order they were made.
    """
    kept: tuple[Check, ...] = ()
    for check in checks:
        kept = (*_without_earlier_word(kept, check), check)
    return kept


def _calved(draft: _Draft, note: Noted) -> None:
    body = note.body
    calves = tuple(
        Calf(
            sex=calf.get("sex"),
            is_alive=calf.get("alive"),
            tag=str(calf.get("tag") or ""),
            weight_kg=calf.get("weight_kg"),
        )
        for calf in body.get("calves") or ()
    )
    draft.end(
        draft.day(note.at),
        Outcome.CALVED,
        calves=calves,
        ease=body.get("ease"),
        has_retained_membranes=body.get("retained_membranes"),
    )


def _aborted(draft: _Draft, note: Noted) -> None:
    draft.end(draft.day(note.at), Outcome.ABORTED)


def _left(draft: _Draft, _: Noted) -> None:
    draft.now = replace(draft.now, has_left=True)


def _moved(draft: _Draft, _: Noted) -> None:
    draft.now = replace(draft.now, has_left=False)  # into a group: she is here, or back


_READERS = {
    Kind.FEMALE_ADDED: _added,
    Kind.INSEMINATED: _inseminated,
    Kind.BULLS_IN: _bulls_in,
    Kind.BULLS_OUT: _bulls_out,
    Kind.PREGNANCY_CHECKED: _checked,
    Kind.CALVED: _calved,
    Kind.ABORTED: _aborted,
    Kind.LEFT_HERD: _left,
    Kind.MOVED: _moved,
}


def pregnancy_of(
    stretch: Stretch,
    *,
    female: str,
    tag: str,
    group: str,
    breeds: Shares = (),
    today: date,
    figures: ParentageFigures,
) -> Pregnancy | None:
    """Return the pregnancy of a stretch, confirmed or possible; None where there is none.

    None where she was found open and not inseminated since, or has not calved and neither a
    service nor the age of a fetus tells of it. Sire and due days are predicted without the calving;
    ``Pregnancy.sired`` is with it.
    """
    ended = stretch.outcome is not Outcome.DUE
    is_open = stretch.found == "not_pregnant" and not stretch.ai_since_open
    if not ended and (is_open or not stretch.is_dated):
        return None
    dam = Dam(breeds, stretch.is_heifer)
    asked_on = stretch.ended_on or today

    def ask(calving: Calving | None, checks: Sequence[Check]) -> Parentage:
        return find_parentage(
            stretch.inseminations,
            stretch.bulls,
            dam=dam,
            checks=checks,
            calving=calving,
            asked_on=asked_on,
            figures=figures,
        )

    sired = None
    if stretch.outcome is Outcome.CALVED and stretch.ended_on is not None:
        sired = ask(calving_of(stretch), stretch.checks)
    # what the calving has shown wrong predicts nothing
    believed = stretch.checks if sired is None or sired.believed is None else sired.believed
    predicted = ask(None, believed)
    return Pregnancy(
        female=female,
        tag=tag,
        group=group,
        parentage=predicted,
        due=due_dates(predicted),
        ended_on=stretch.ended_on,
        outcome=stretch.outcome,
        calves=stretch.calves,
        ease=stretch.ease,
        has_retained_membranes=stretch.has_retained_membranes,
        is_heifer=stretch.is_heifer,
        is_confirmed=ended or stretch.found == "pregnant",
        sired=sired,
    )


def calving_of(stretch: Stretch) -> Calving | None:
    """The calving a stretch ended in, as ``find_parentage`` takes it."""
    if stretch.outcome is not Outcome.CALVED or stretch.ended_on is None:
        return None
    sexes = {calf.sex for calf in stretch.calves}
    single = stretch.calves[0].sex if len(stretch.calves) == 1 else None
    return Calving(stretch.ended_on, max(len(stretch.calves), 1), single if sexes else None)


def exposed_of(stretch: Stretch, *, female: str, tag: str, group: str) -> Exposed | None:
    """The scan sheet's view of a running stretch; None where she was not served or has left."""
    if stretch.outcome is not Outcome.DUE or not stretch.is_served or stretch.has_left:
        return None
    last = stretch.bulls[-1] if stretch.bulls else None
    first_in = min((b.from_on for b in stretch.bulls), default=None)
    still = any(b.until_on is None for b in stretch.bulls)
    outs = [b.until_on for b in stretch.bulls if b.until_on is not None]
    check = stretch.checks[-1] if stretch.checks else None
    found = ""
    if check is not None:
        found = f"{check.result.replace('_', ' ')} on {check.on.day} {check.on:%b}"
    return Exposed(
        female=female,
        tag=tag,
        group=group,
        ai_on=tuple(one.on for one in stretch.inseminations),
        bulls_in_on=first_in,
        bulls_out_on=None if last is None or still else max(outs),
        calved_on=stretch.calved_on,
        last_found=found,
    )


def return_of(
    stretch: Stretch, *, female: str, tag: str, figures: ReturnFigures
) -> ReturnDue | None:
    """The return to look for after her last insemination; None where a check has settled it."""
    if stretch.outcome is not Outcome.DUE or stretch.has_left or not stretch.inseminations:
        return None
    last = max(one.on for one in stretch.inseminations)
    if any(check.on > last and check.result != "unsure" for check in stretch.checks):
        return None
    return return_due(female, tag, inseminated_on=last, figures=figures)


_CALLED = {Way.AI: "pregnant to AI", Way.BULL: "pregnant to bull"}


def say_state(stretch: Stretch, parentage: Parentage | None, *, today: date) -> str:
    """Where she stands, in the words used everywhere.

    not bred, inseminated, with bull, pregnant to AI, pregnant to bull, pregnant (sire unsure), not
    pregnant, calved, left herd.
    """
    if stretch.has_left:
        return "left herd"
    if stretch.found == "pregnant":
        called = None if parentage is None else parentage.called
        return "pregnant (sire unsure)" if called is None else _CALLED[called]
    ai = stretch.ai_since_open
    with_bull = any(b.until_on is None or b.until_on >= today for b in stretch.bulls)
    if with_bull:
        return "with bull"
    if stretch.found == "not_pregnant" and not ai:
        return "not pregnant"
    if ai:
        return "inseminated"
    if stretch.bulls:
        return "with bull"
    return "calved" if stretch.calved_on is not None else "not bred"
