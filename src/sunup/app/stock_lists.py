"""Lists to hand over: treatments for an audit, AI certificates, bred females, withdrawals."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.app.plan_season import write_whole
from sunup.app.season import find_female
from sunup.base.hours import to_local
from sunup.planning.insemination_list import local_day

if TYPE_CHECKING:
    from datetime import date, datetime
    from pathlib import Path

    from sunup.app.desk import Desk
    from sunup.planning.females_now import FemaleNow, Given

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


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
        _minute(desk, given.at),
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
    """Inseminations with what an AI certificate asks for."""
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
        ),
        rows=tuple(
            (
                f.tag,
                f.facts.rfid or "",
                _day(f.facts.born_on),
                ", ".join(f"{name} {share:g}" for name, share in f.facts.breed_shares),
                f.facts.sire or "",
                f.facts.dam or "",
                _minute(desk, s.at),
                "" if s.sire == "unknown" else s.sire,
                s.batch,
                s.semen,
                s.technician,
                "timed" if s.timed else "on heat",
                str(s.straws),
            )
            for s, f in pairs
        ),
        notes=("Rules differ by breed association: ask yours what it wants signed.",),
    )


def bred_list(desk: Desk) -> Listing:
    """Bred females as a buyer asks for them."""
    rows = []
    for female in sorted(desk.season.females.values(), key=lambda f: (f.group, f.tag)):
        exposure = female.facts.exposure
        if not female.is_here or (exposure is None and not female.services):
            continue
        last = female.services[-1] if female.services else None
        check = female.checks[-1] if female.checks else None
        bulls = "" if exposure is None or exposure.kind.value != "bull" else _day(exposure.from_on)
        rows.append(
            (
                female.tag,
                female.facts.rfid or "",
                female.facts.class_.words,
                female.group,
                _minute(desk, last.at) if last else "",
                last.sire if last and last.sire != "unknown" else "",
                last.semen if last else "",
                bulls,
                "" if check is None else check.result.replace("_", " "),
                "" if check is None else _day(local_day(check.at, desk.season)),
                "" if check is None else check.method,
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
            "last AI (local)",
            "AI sire",
            "semen",
            "with bull from",
            "last check",
            "checked",
            "method",
            "tract score",
            "pelvic area cm2",
        ),
        rows=tuple(rows),
        notes=("Whether a calf is of the AI or of the bull: see the scan.",),
    )


def render_csv(listing: Listing) -> str:
    """A list as CSV; a cell a spreadsheet could take for a formula is held as text.

    A number keeps its sign: a cell that is a number is left as it is.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(listing.head)
    writer.writerows([[_held(cell) for cell in row] for row in listing.rows])
    return out.getvalue()


def _held(cell: str) -> str:
    if not cell.startswith(FORMULA_STARTS):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell


def write_csv(listing: Listing, path: Path) -> Path:
    """Write a list as CSV (UTF-8 with a mark, so that a spreadsheet reads it right).

    Raises
    ------
    FileError
        If it cannot be written.
    """
    return write_whole(path, ("\ufeff" + render_csv(listing)).encode("utf-8"))


def _minute(desk: Desk, at: datetime) -> str:
    return f"{to_local(at, desk.season.zone):%Y-%m-%d %H:%M}"


def _day(day: date | None) -> str:
    return "" if day is None else day.isoformat()
