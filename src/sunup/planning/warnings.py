"""What speaks against an act on a female, before it and after it.

Nothing that was done is ever refused: before the act a flag warns or refuses, after it the same
flag says what to do now. The rules stand in ``warning_rules``.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from sunup.base.hours import to_local
from sunup.planning.exposure import ExposureFigures

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from datetime import date, datetime
    from zoneinfo import ZoneInfo

    from sunup.base.figures import Figure
    from sunup.library.library import Library
    from sunup.planning.progress import FemaleStep, Held
    from sunup.records.bull_times import WithBulls
    from sunup.records.female import Female

    Rule = Callable[["Her", "Intent", "WarningFigures"], "Flag | None"]

# acts beside the step words: she leaves the herd, loses a calf, has it weaned, is vaccinated
LEAVES = "left_herd"
ABORTS = "aborted"
WEANS = "weaned"
VACCINATES = "vaccinated"
TWICE_KEY = "practice.act_twice_hours"


class Weight(StrEnum):
    """How much a rule weighs before the act."""

    REFUSE = "refuse"
    WARN = "warn"


@dataclass(frozen=True, slots=True)
class Flag:
    """One thing that speaks against an act.

    Parameters
    ----------
    rule : str
    weight : Weight
        Before the act; after it nothing is refused.
    text : str
        What is wrong.
    now : str
        What to do where it has been done.
    source : tuple of str
        Of the figure behind it.
    size : float
        How far it goes, for telling the worst of many; 0 where that has no meaning.
    """

    rule: str
    weight: Weight
    text: str
    now: str
    source: tuple[str, ...] = ()
    size: float = 0.0


@dataclass(frozen=True, slots=True)
class RunningWithdrawal:
    """A treatment whose withdrawal is noted (`ends_on`), or was never asked (None)."""

    what: str
    given_on: date
    ends_on: date | None


@dataclass(frozen=True, slots=True)
class Her:
    """What is known of one female as an act is about to be recorded.

    `facts` are as a herd list knows them, brought up to date from the ledger (calving, exposure,
    findings). `acts` are (step word, when) of this season. `insert_since` is when the insert now
    in her went in. `progestin_ended` is the end of her last long progestin. `with_bulls` are her
    times with bulls. `unknown` is why nobody can say whether she is pregnant; None where it is on
    file.
    """

    facts: Female
    group: str
    is_here: bool = True
    acts: tuple[tuple[str, datetime], ...] = ()
    insert_since: datetime | None = None
    progestin_ended: datetime | None = None
    progestin_days: float = 0.0
    hold: str | None = None
    withdrawals: tuple[RunningWithdrawal, ...] = ()
    assigned: tuple[str, ...] = ()  # sire, then alternates
    served_at: datetime | None = None
    with_bulls: tuple[WithBulls, ...] = ()
    unknown: str | None = None


@dataclass(frozen=True, slots=True)
class Intent:
    """An act about to be recorded.

    `step` is her line of the schedule, where the act fulfils one. `group` is the group named by
    whoever records. `straws` are those of `sire` in stock; None where no stock is kept.
    `off_list` is why the plan does not count on her, where it names her group and not her.
    `heat_over` is when the heat was first seen that is over by this fixed-time insemination.
    """

    do: str
    at: datetime
    zone: ZoneInfo
    group: str | None = None
    step: FemaleStep | None = None
    sire: str | None = None
    straws: float | None = None
    timed: bool = False
    expires_on: date | None = None
    lot_expires_on: date | None = None  # as stock holds it for the lot, where one was said
    found: bool = True  # insert out: whether one was found
    for_slaughter: bool = True
    off_list: str | None = None
    modified_live: bool | None = None  # of a vaccine; None: nobody said
    first_ai_on: date | None = None  # planned, of her group
    heat_over: datetime | None = None
    held: Held | None = None  # why she is held back from the step
    ml: float | None = None  # given, of an injection
    share: float | None = None  # of the full dose, of an injection; None: nobody said

    @property
    def on(self) -> date:
        """The day on the ranch's clock."""
        return to_local(self.at, self.zone).date()


@dataclass(frozen=True, slots=True)
class WarningFigures:
    """The figures the rules rest on."""

    exposure: ExposureFigures
    long_days: Figure
    pass_days: Figure
    calved_at_ai: Figure
    calved_at_start: Figure
    vaccine_days: Figure
    twice: Figure
    dose_most: Figure

    @staticmethod
    def of(library: Library) -> WarningFigures:
        """Take the figures from the library."""
        return WarningFigures(
            exposure=ExposureFigures.of(library),
            long_days=library.figure("practice.long_progestin_days"),
            pass_days=library.figure("practice.heat_to_pass_days"),
            calved_at_ai=library.figure("readiness.days_since_calving_at_ai"),
            calved_at_start=library.figure("readiness.days_since_calving_at_first_treatment"),
            vaccine_days=library.figure("practice.vaccination_before_days"),
            twice=library.figure(TWICE_KEY),
            dose_most=library.figure("practice.hormone_dose_most_ml"),
        )


def say_when(moment: datetime, zone: ZoneInfo) -> str:
    """Say an instant on the ranch's clock: ``Sat 22 May 14:00``."""
    local = to_local(moment, zone)
    return f"{local:%a} {local.day} {local:%b} {local:%H:%M}"


def say_day(day: date) -> str:
    """Say a day: ``Sat 22 May``."""
    return f"{day:%a} {day.day} {day:%b}"


def is_refused(flags: Iterable[Flag]) -> bool:
    """Whether any of them stops an act not yet done."""
    return any(flag.weight is Weight.REFUSE for flag in flags)
