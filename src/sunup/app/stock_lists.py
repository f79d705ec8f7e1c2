"""Lists to hand over: treatments for an audit, AI certificates, bred females, withdrawals."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from sunup.app.plan_season import write_whole
from sunup.app.scan import bred_females, find_pregnancies, find_states
from sunup.app.season import find_female
from sunup.base.hours import to_local
from sunup.exchange.table_out import OutTable, render_csv
from sunup.planning.insemination_list import local_day
from sunup.planning.parentage import Way, say_chance

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from sunup.app.desk import Desk
    from sunup.planning.calving_book import Pregnancy
    from sunup.planning.females_now import FemaleNow, Given, Service


@dataclass(frozen=True, slots=True)
class Listing:
    """A list: its title, the head of its columns, its rows as text, what must be said of it."""

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()
    by_tag: bool = True  # false: rows alike but for the tag are told as one on a screen


def treatment_list(desk: Desk, *, tag: str | None = None) -> Listing:
    """Every drug and insert given: who, what, how much, lot, expiry, when, by whom, withdrawal.

    Withdrawal stands as it was read from the label when given; where nobody wrote it down the list
    says so.
    """
    females = [find_female(desk, tag)] if tag else list(desk.season.females.values())
    pairs = sorted(
        ((given, f) for f in females for given in f.given), key=lambda p: (p[0].at, p[1].tag)
    )
    years = desk.library.figure("practice.records_keep_years")
    return Listing(
        title=f"Treatments, {desk.season.ranch}",
        head=(
            "tag",
            "code",
            "when (local)",
            "drug",
            "mL",
            "route or site",
            "lot",
            "expires",
            "withdrawal days",
            "not before",
            "given by",
            "remark",
        ),
        rows=tuple(_treatment(desk, given, female) for given, female in pairs),
        notes=(
            f"Keep for at least {years.number:g} years; nothing recorded is ever erased.",
            "Withdrawal as read from the label in hand; 'not written down' is not zero.",
        ),
    )


def _treatment(desk: Desk, given: Given, female: FemaleNow) -> tuple[str, ...]:
    running = female.withdrawals(desk.season.zone)
    ends = running[female.given.index(given)].ends_on
    active = desk.library.actives.get(given.active)
    share = f" ({given.share:g} of a dose)" if given.share is not None else ""
    return (
        female.tag,
        female.facts.rfid or "",
        _when(desk, given),
        (active.name if active else given.active or given.what) + share,
        "" if given.ml is None else f"{given.ml:g}",
        given.site,
        given.lot,
        _day(given.expires_on),
        "not written down" if given.withdrawal_days is None else f"{given.withdrawal_days:g}",
        _day(ends),
        given.by,
        given.note,
    )


def withdrawal_list(desk: Desk) -> Listing:
    """Females in the herd whose withdrawal runs, or was never written down."""
    on = local_day(desk.season.at, desk.season)
    rows = []
    for female in sorted(desk.season.females.values(), key=lambda f: f.tag):
        if not female.is_here:
            continue
        for one in female.withdrawals(desk.season.zone):
            if one.ends_on is None or one.ends_on > on:
                ends = "not written down" if one.ends_on is None else _day(one.ends_on)
                what = one.what.replace("_", " ")
                rows.append((female.tag, female.group, what, _day(one.given_on), ends))
    return Listing(
        title=f"Withdrawal running or not written down, {_day(on)}",
        head=("tag", "group", "drug", "given", "not before"),
        rows=tuple(rows),
        notes=("'Not written down' is not zero: read the label before she leaves.",),
        by_tag=False,
    )


def certificate_list(desk: Desk) -> Listing:
    """Inseminations with what an AI certificate asks for, and how likely the calf is theirs."""
    carried = find_pregnancies(desk)
    pairs = sorted(
        ((s, f) for f in desk.season.females.values() for s in f.services),
        key=lambda p: (p[0].at, p[1].tag),
    )
    return Listing(
        title=f"Inseminations, {desk.season.ranch}",
        head=(
            "tag",
            "code",
            "born",
            "breed",
            "her sire",
            "her dam",
            "inseminated (local)",
            "sire",
            "collection code",
            "semen",
            "technician",
            "how",
            "straws",
            "calf of this insemination",
        ),
        rows=tuple(
            (
                f.tag,
                f.facts.rfid or "",
                _day(f.facts.born_on),
                _breed(f.facts.breed_shares),
                f.facts.sire or "",
                f.facts.dam or "",
                _when(desk, s),
                "" if s.sire == "unknown" else s.sire,
                s.batch,
                s.semen,
                s.technician,
                "timed" if s.timed else "on heat",
                str(s.straws),
                _calf_of(desk, s, f, carried.get(f.id, ())),
            )
            for s, f in pairs
        ),
        notes=(
            "Rules differ by breed association: ask yours what it wants signed.",
            "Calf of this insemination: the chance from services, scan and calving; DNA tells.",
        ),
    )


def _breed(shares: Sequence[tuple[str, float]]) -> str:
    """Her breed, or the share of each: ``Angus``, ``Angus 0.5, Hereford 0.5``."""
    return ", ".join(name if share == 1.0 else f"{name} {share:g}" for name, share in shares)


def _calf_of(desk: Desk, service: Service, female: FemaleNow, carried: Sequence[Pregnancy]) -> str:
    """The chance that a calf is of one insemination, in words; of one heat and sire it is one."""
    on = local_day(service.at, desk.season)
    for one in carried:
        candidates = (one.sired or one.parentage).candidates
        for candidate in candidates:
            same = candidate.from_on <= on <= candidate.until_on
            if candidate.way is Way.AI and same and service.sire in candidate.sires:
                mating = [
                    c
                    for c in candidates
                    if c is candidate
                    or (
                        c.heat is not None
                        and (c.heat, c.sires) == (candidate.heat, candidate.sires)
                    )
                ]
                straws = f", one mating of {len(mating)} straws" if len(mating) > 1 else ""
                sure = "" if one.is_confirmed else " if pregnant (not checked)"
                return say_chance(sum(c.chance for c in mating)) + straws + sure
    later = [c.result for c in female.checks if c.at > service.at]
    return "found open" if later and later[0] == "not_pregnant" else ""


def _due_words(carried: Sequence[Pregnancy]) -> tuple[str, str, str, str]:
    """AI or bull in words, likely day, and the days 8 of 10 come between."""
    if not carried or carried[-1].ended_on is not None:
        return "", "", "", ""
    last = carried[-1]
    due = last.due
    if due is None:
        return last.parentage.words, "", "", ""
    return last.parentage.words, _day(due.likely_on), _day(due.early_on), _day(due.late_on)


_BRED = frozenset(
    {
        "inseminated",
        "with bull",
        "pregnant to AI",
        "pregnant to bull",
        "pregnant (sire unsure)",
    }
)


def bred_list(desk: Desk) -> Listing:
    """Bred females as a buyer asks for them: those who carry, or may, since they last calved.

    Services, checks and bulls are those since her last calving, abortion or loss; who was found
    open, and neither inseminated nor with a bull since, is not bred.
    """
    rows = []
    overdue = []
    today = local_day(desk.season.at, desk.season)
    bred = bred_females(desk)
    states = find_states(desk, bred)
    stretches = {one.female: one.now for one in bred}
    carried = find_pregnancies(desk)
    for female in sorted(desk.season.females.values(), key=lambda f: (f.group, f.tag)):
        if not female.is_here or states.get(female.id) not in _BRED:
            continue
        now = stretches[female.id]
        served_at = {one.at for one in now.inseminations}
        services = [s for s in female.services if s.at in served_at]
        last = services[-1] if services else None
        check = now.checks[-1] if now.checks else None
        bulls_from = min((time.from_on for time in now.bulls), default=None)
        due = _due_words(carried.get(female.id, ()))
        if due[-1] and date.fromisoformat(due[-1]) < today:
            overdue.append(female.tag)
        rows.append(
            (
                female.tag,
                female.facts.rfid or "",
                female.facts.class_.words,
                female.group,
                states[female.id],
                _when(desk, last) if last else "",
                last.sire if last and last.sire != "unknown" else "",
                last.semen if last else "",
                _day(bulls_from),
                "" if check is None else check.result.replace("_", " "),
                "" if check is None else _day(check.on),
                "" if check is None else check.method,
                *due,
                "" if female.facts.tract_score is None else str(female.facts.tract_score),
                "" if female.facts.pelvic_area_cm2 is None else f"{female.facts.pelvic_area_cm2:g}",
            )
        )
    return Listing(
        title=f"Bred females, {desk.season.ranch}",
        head=(
            "tag",
            "code",
            "class",
            "group",
            "stands",
            "last AI (local)",
            "AI sire",
            "semen",
            "with bull from",
            "last check",
            "checked",
            "method",
            "AI or bull",
            "due",
            "8 of 10 from",
            "until",
            "tract score",
            "pelvic area cm2",
        ),
        rows=tuple(rows),
        notes=(
            *_say_overdue(overdue),
            "Service, bull and check since she last calved or lost one.",
            "AI or bull, and due: by services, fetal age and the breeds' gestation; DNA tells.",
            "Where she was not checked they hold if she is pregnant.",
        ),
    )


def _say_overdue(tags: Sequence[str]) -> tuple[str, ...]:
    if not tags:
        return ()
    named = ", ".join(tags)
    return (f"Past her days, no calving recorded (look, and write it if she has): {named}.",)


def write_csv(listing: Listing, path: Path) -> Path:
    """Write a list as CSV, guarded: no cell is run as a formula, a number keeps its sign.

    Raises
    ------
    FileError
        If it cannot be written.
    """
    return write_whole(path, render_csv(OutTable(listing.title, listing.head, listing.rows)))


def _when(desk: Desk, done: Given | Service) -> str:
    """The minute of what was done; its day where no more is known."""
    local = to_local(done.at, desk.season.zone)
    return local.date().isoformat() if done.day_only else f"{local:%Y-%m-%d %H:%M}"


def _day(day: date | None) -> str:
    return "" if day is None else day.isoformat()
