"""What is known of a female at an instant, drawn from what was recorded of her.

Observations are facts; this is where they become what Today, the warnings and the lists ask for:
her class, what she was exposed to, the insert in her, the withdrawals running, her heats.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from sunup.base.hours import hours_between, to_local
from sunup.planning.heat_flags import Past, ProgestinTime
from sunup.planning.progress import Act, History
from sunup.planning.warnings import RunningWithdrawal

if TYPE_CHECKING:
    from collections.abc import Mapping
    from zoneinfo import ZoneInfo

    from sunup.planning.heats import Heat, Sighting
    from sunup.records.bull_times import WithBulls
    from sunup.records.event import Kind
    from sunup.records.female import Female


@dataclass(frozen=True, slots=True)
class Noted:
    """One thing recorded, as it stands after corrections.

    `at` is true time, UTC: the device's measured offset is taken off.
    """

    kind: Kind
    at: datetime
    body: Mapping[str, Any]
    by: str = ""
    event: str = ""


@dataclass(frozen=True, slots=True)
class Given:
    """A drug, an insert or a straw as it was used: what the treatment record lists.

    `day_only`: its hour is not known, noon stands for it.
    """

    at: datetime
    what: str  # step word, or "other"
    active: str
    ml: float | None
    share: float | None
    lot: str
    expires_on: date | None
    withdrawal_days: float | None
    site: str
    by: str
    event: str
    note: str = ""
    day_only: bool = False


@dataclass(frozen=True, slots=True)
class Service:
    """An insemination as it was recorded; `day_only`: its hour is not known, noon stands for it."""

    at: datetime
    sire: str
    batch: str
    semen: str
    technician: str
    tank: str
    canister: str
    timed: bool
    in_heat: bool | None
    straws: int
    by: str
    event: str
    day_only: bool = False


@dataclass(frozen=True, slots=True)
class Check:
    """A pregnancy finding as it was recorded."""

    at: datetime
    method: str
    result: str
    fetal_age_days: float | None
    event: str


@dataclass(frozen=True, slots=True)
class FemaleNow:
    """One female at an instant.

    `facts` are as a herd list would know her now. `inserted` is when the insert now in her went
    in; `befell` is what happened beside her treatments: an abortion, a weaning, a vaccine.
    `progestins` are her times under an insert or melengestrol; `with_bulls` those with bulls.
    `lost_at` is when an insert was found gone; `stays` says from when she was in which group.
    `tags` are all she ever wore. `measured_on` is of which day the last measures among the facts
    are, by the fact's name.
    """

    id: str
    facts: Female
    group: str
    listed: bool = True
    is_here: bool = True
    joined_at: datetime | None = None
    tags: tuple[str, ...] = ()
    acts: tuple[Act, ...] = ()
    befell: tuple[tuple[str, datetime], ...] = ()
    given: tuple[Given, ...] = ()
    services: tuple[Service, ...] = ()
    checks: tuple[Check, ...] = ()
    sightings: tuple[Sighting, ...] = ()
    heats: tuple[Heat, ...] = ()
    inserted: datetime | None = None
    lost_at: tuple[datetime, ...] = ()
    progestins: tuple[ProgestinTime, ...] = ()
    with_bulls: tuple[WithBulls, ...] = ()
    holds: tuple[tuple[str, date | None], ...] = ()
    stays: tuple[tuple[datetime, str], ...] = ()
    assigned: tuple[str, ...] = ()
    assigned_semen: str = "conventional"
    measured_on: tuple[tuple[str, date], ...] = ()

    @property
    def tag(self) -> str:
        """The number on her ear now."""
        return self.facts.tag

    def group_at(self, at: datetime) -> str:
        """The group she was in at an instant; before her first, that one."""
        groups = [group for since, group in self.stays if since <= at]
        if groups:
            return groups[-1]
        return self.stays[0][1] if self.stays else self.group

    def hold_on(self, day: date) -> str | None:
        """Why she is on hold on a day; None where she is not."""
        open_ = [why for why, until in self.holds if until is None or until > day]
        return open_[-1] if open_ else None

    def history(self) -> History:
        """What the schedule asks for."""
        return History(
            acts=self.acts,
            heats=tuple(h.first_seen_at for h in self.heats if h.is_sure),
            inseminated=tuple(s.at for s in self.services),
            open_at=tuple(c.at for c in self.checks if c.result == "not_pregnant"),
        )

    @property
    def last_progestin(self) -> tuple[datetime | None, float]:
        """End and length [d] of the last progestin that is over; (None, 0) where none is."""
        over = [t for t in self.progestins if t.until_at is not None]
        if not over:
            return None, 0.0
        last = over[-1]
        days = hours_between(last.from_at, last.until_at) / 24 if last.until_at else 0.0
        return last.until_at, days + (1 if last.what == "melengestrol" else 0)

    def past(self, zone: ZoneInfo) -> Past:
        """What bears on her heats; she calved on a day of the ranch, in `zone`."""
        last = self.services[-1].at if self.services else None
        calved = self.facts.calved_on
        # a check is of the pregnancy that goes on: after her last service and her last calving
        recent = [
            c
            for c in self.checks
            if (last is None or c.at > last) and _is_since(calved, c.at, zone)
        ]
        found = {c.result: c.at for c in recent}
        still_with = [w.from_at for w in self.with_bulls if w.until_at is None]
        return Past(
            services_at=tuple(s.at for s in self.services if _is_since(calved, s.at, zone)),
            pgf_at=tuple(a.at for a in self.acts if a.do == "pgf"),
            progestins=self.progestins,
            found_pregnant_at=found.get("pregnant"),
            found_open_at=found.get("not_pregnant"),
            with_bull_from=min(still_with, default=None),
        )

    def withdrawals(self, zone: ZoneInfo) -> tuple[RunningWithdrawal, ...]:
        """Every treatment with the day its withdrawal ends; None where nobody wrote it down."""
        told = []
        for one in self.given:
            on = to_local(one.at, zone).date()
            days = one.withdrawal_days
            ends = None if days is None else on + timedelta(days=-int(-days // 1))
            told.append(RunningWithdrawal(one.active or one.what, on, ends))
        return tuple(told)


def _is_since(calved: date | None, at: datetime, zone: ZoneInfo) -> bool:
    """Whether an instant is on or after the day she calved; true where she never did."""
    return calved is None or to_local(at, zone).date() >= calved
