"""A female with what her records are judged by."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.base.problems import Severity
from sunup.records import observations as o
from sunup.records.odd import Odd, OddLimits, day, name_of

if TYPE_CHECKING:
    from datetime import datetime

    from sunup.records.bull_times import WithBulls
    from sunup.records.state import FemaleRecord

_DAY_S = 86_400.0
TAKE_BACK = "take one back (sunup record undo)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A female with what her records are judged by; `at` is the instant looked from."""

    female: FemaleRecord
    with_bulls: tuple[WithBulls, ...]
    limits: OddLimits
    at: datetime

    def odd(
        self,
        rule: str,
        x: o.Observation,
        what: str,
        fix: str,
        *more: o.Observation,
        severity: Severity = Severity.WARNING,
    ) -> Odd:
        """Something odd about what was recorded at `x`."""
        return Odd(
            rule=rule,
            where=f"{name_of(self.female)}, {day(x.on)}",
            what=what,
            fix=fix,
            at=x.at,
            female=self.female.id,
            events=(x.event, *(m.event for m in more)),
            severity=severity,
        )


def days(earlier: datetime, later: datetime) -> float:
    """Elapsed days."""
    return (later - earlier).total_seconds() / _DAY_S


def n_days(count: float) -> str:
    """A number of days in words."""
    return f"{count:.0f} day{'' if round(count) == 1 else 's'}"


def exposures_of(case: Case) -> list[tuple[datetime, datetime | None, str]]:
    """Times she was exposed: from, until (None: still), how it is said."""
    found = [(s.at, s.at, f"inseminated on {day(s.on)}") for s in case.female.of(o.Inseminated)]
    zone = case.female.log[-1].zone if case.female.log else ""
    found_bulls = [
        (w.from_at, w.until_at, f"with a bull from {day(o.local_day(w.from_at, zone))}")
        for w in case.with_bulls
    ]
    return sorted([*found, *found_bulls], key=lambda e: e[0])
