"""What is odd in what was recorded, in plain words: the female, the day, and what to do.

Nothing is changed and nothing refused here: an odd record may be the truth.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.base.problems import Problem, Severity

if TYPE_CHECKING:
    from datetime import date, datetime

    from sunup.records.state import FemaleRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class OddLimits:
    """From where on a record is odd; figures of the library, passed in.

    Parameters
    ----------
    insert_longest_d : float
        Days an insert stays in by any protocol, and a little.
    exposed_before_pgf_d : float
        Days with a bull or since AI from which PGF may end a pregnancy.
    gestation_d : tuple of float
        Shortest and longest days from service to a calving that can be of it.
    twice_h : float
        Hours within which the same act twice is taken for a double entry.
    entered_late_d : float
        Days from act to entry from which the hour written down is doubted.
    entered_ahead_h : float
        Hours an act may lie after its entry.
    clock_off_s : float
        Seconds a device's clock may be off.
    weight_kg, born_kg, weaned_kg : tuple of float
        Weights believed of a female, of a calf at birth and of one at weaning.
    dose_most_ml : float
        Millilitres of one injection of a hormone from which it is doubted.
    """

    insert_longest_d: float
    exposed_before_pgf_d: float
    gestation_d: tuple[float, float]
    twice_h: float
    entered_late_d: float
    entered_ahead_h: float
    clock_off_s: float
    weight_kg: tuple[float, float]
    born_kg: tuple[float, float]
    weaned_kg: tuple[float, float]
    dose_most_ml: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Odd:
    """One thing that is odd.

    Parameters
    ----------
    rule : str
        Key of the rule that found it.
    where : str
        The female, group or supply, and the day.
    what, fix : str
    at : datetime or None
    female : str or None
        Id of the female.
    events : tuple of str
        The events it rests on.
    severity : Severity
        WARNING, or NOTICE where somebody should only know.
    """

    rule: str
    where: str
    what: str
    fix: str
    at: datetime | None = None
    female: str | None = None
    events: tuple[str, ...] = ()
    severity: Severity = Severity.WARNING

    @property
    def problem(self) -> Problem:
        """As every message of the program is."""
        return Problem(self.where, self.what, self.fix, self.severity)


def name_of(female: FemaleRecord) -> str:
    """The female as people say her."""
    tag = female.tag or (
        f"with code {female.rfid}" if female.rfid else f"without tag ({female.id})"
    )
    return f"female {tag}"


def day(on: date) -> str:
    """A day as people write it."""
    return f"{on.day} {on:%b %Y}"
