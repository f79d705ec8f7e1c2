"""The words a protocol is written in.

A protocol is a published treatment schedule. Its steps are of four forms (design section 5):

- *soft*: ``day`` and ``clock = "same"``: keeps the local hour of zero;
- *same visit*: ``with``: done in the same pass through the chute as another step;
- *hard*: ``after`` and ``hours``: elapsed hours from the actual time of another step;
- *watch*: a hard or soft step with ``until``, over which heats are looked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sunup.base.figures import Seen


class Do(StrEnum):
    """What is done at a step."""

    GNRH = "gnrh"
    PGF = "pgf"
    INSERT_IN = "insert_in"
    INSERT_OUT = "insert_out"
    MGA_START = "mga_start"
    MGA_END = "mga_end"
    WATCH = "watch"
    HEAT_AID_ON = "heat_aid_on"
    AI = "ai"
    CALVES_OFF = "calves_off"
    CALVES_ON = "calves_on"
    ESTRADIOL_BENZOATE = "estradiol_benzoate"
    ESTRADIOL_CYPIONATE = "estradiol_cypionate"
    ECG = "ecg"
    PREG_CHECK = "preg_check"
    BULLS_IN = "bulls_in"
    BULLS_OUT = "bulls_out"


INJECTIONS = frozenset({Do.GNRH, Do.PGF, Do.ESTRADIOL_BENZOATE, Do.ESTRADIOL_CYPIONATE, Do.ECG})
ESTRADIOLS = frozenset({Do.ESTRADIOL_BENZOATE, Do.ESTRADIOL_CYPIONATE})
INSERTS = frozenset({Do.INSERT_IN, Do.INSERT_OUT})
FEEDINGS = frozenset({Do.MGA_START, Do.MGA_END})
# what needs every female of the group to pass through the chute
CHUTE = INJECTIONS | INSERTS | {Do.AI, Do.PREG_CHECK, Do.HEAT_AID_ON}


class Who(StrEnum):
    """Which females of the group a step is for."""

    ALL = "all"
    IN_HEAT = "in_heat"
    NOT_IN_HEAT = "not_in_heat"
    NOT_INSEMINATED = "not_inseminated"
    NOT_PREGNANT = "not_pregnant"


class Inseminate(StrEnum):
    """How a heat seen on watch becomes an insemination."""

    AM_PM = "am_pm"
    AFTER_12H = "after_12h"
    ONCE_DAILY = "once_daily"
    NONE = "none"


class Standing(StrEnum):
    """How the trade regards a protocol today."""

    RECOMMENDED = "recommended"
    OLDER = "older"
    RESEARCH = "research"


class Style(StrEnum):
    """What the people have to do to get semen into the female."""

    HEAT = "heat"
    HEAT_AND_TIMED_AI = "heat_and_timed_ai"
    SPLIT_TIME_AI = "split_time_ai"
    TIMED_AI = "timed_ai"
    NATURAL_SERVICE = "natural_service"
    RESYNCHRONISATION = "resynchronisation"


class Cattle(StrEnum):
    """The kind of cattle a protocol was worked out in."""

    ANY = "any"
    TAURUS = "taurus"
    INDICUS_INFLUENCED = "indicus_influenced"
    INDICUS = "indicus"


class CyclingNeed(StrEnum):
    """How much a protocol relies on females that already cycle."""

    ALL = "all"  # females not cycling do not respond
    MOST = "most"
    HALF = "half"  # a progestin helps those not cycling; aim for half or more cycling
    NONE = "none"
    ONLY_NOT_CYCLING = "only_not_cycling"


class Zero(StrEnum):
    """The instant the protocol's hours count from."""

    FIRST_TREATMENT = "first_treatment"
    FIRST_AI = "first_ai"  # resynchronisation: hour 0 is an insemination already done


@dataclass(frozen=True, slots=True)
class Step:
    """One thing done at one time. Exactly one of `day`, `with_` and `after` is set.

    `until` (watch only) counts hours from the step named in `after`, or from zero for a step
    given by `day`. `dose` is a share of the full dose. `optional` says for whom a step may be
    left out.
    """

    id: str
    do: Do
    day: int | None = None
    with_: str | None = None
    after: str | None = None
    hours: float = 0.0
    early_h: float = 0.0
    late_h: float = 0.0
    until: float | None = None
    who: Who | None = None
    inseminate: Inseminate | None = None
    times_per_day: int | None = None
    minutes: int | None = None
    aid: str | None = None
    dose: float = 1.0
    active: str | None = None
    method: str | None = None
    optional: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class Result:
    """A published result of a protocol, in per cent of the females named."""

    measure: str  # pregnancy_to_ai | conception | in_heat | season_pregnancy
    low_pct: float
    high_pct: float
    of: str
    source: tuple[str, ...]
    seen: Seen
    n: int | None = None
    semen: str = "conventional"
    note: str = ""

    @property
    def classes(self) -> frozenset[str]:
        """Classes of the females it was got in, by the words of `of`.

        "Cows" are of both ages unless the words say which; words that name neither heifers nor
        cows ("females", "cattle") are of all.
        """
        words = self.of.lower()
        found: set[str] = {"heifer"} if "heifer" in words else set()
        if "first-calf" in words or "two-year-old" in words:
            found.add("first_calf_cow")
        elif "mature cow" in words:
            found.add("cow")
        elif "cow" in words:
            found |= {"first_calf_cow", "cow"}
        return frozenset(found or {"heifer", "first_calf_cow", "cow"})


@dataclass(frozen=True, slots=True)
class Statement:
    """A sentence with its sources: a caution, a prerequisite, a reason not to use."""

    text: str
    source: tuple[str, ...]
    seen: Seen


@dataclass(frozen=True, slots=True)
class WhenNot(Statement):
    """A reason not to use a protocol, and of whom it speaks where a herd list can tell.

    `share` is the share of the group over which it speaks against the protocol for all of it.
    """

    classes: tuple[str, ...] = ()
    cattle: Cattle | None = None
    condition_most: float | None = None  # body condition, 1 to 9
    tract_under: float | None = None  # tract score, 1 to 5
    not_cycling_over: float | None = None  # not met where examination found fewer than this share
    share: float | None = None

    @property
    def is_open(self) -> bool:
        """Whether nothing of it can be held against a herd list."""
        return (
            not self.classes
            and self.cattle is None
            and self.condition_most is None
            and self.tract_under is None
        )


@dataclass(frozen=True, slots=True)
class Protocol:
    """A published treatment schedule."""

    key: str
    name: str
    standing: Standing
    standing_note: str
    style: Style
    classes: tuple[str, ...]
    cattle: Cattle
    order: int
    why: str
    suits: str
    cycling_need: CyclingNeed
    zero: Zero
    clock: str | None
    steps: tuple[Step, ...]
    results: tuple[Result, ...]
    prerequisites: tuple[Statement, ...]
    cautions: tuple[Statement, ...]
    when_not: tuple[WhenNot, ...]
    disagree: tuple[Statement, ...]
    source: tuple[str, ...]
    seen: Seen
    steps_note: str = ""
    regions: tuple[str, ...] = ()  # rule packs whose label it follows; empty: of no one region

    def step(self, step_id: str) -> Step:
        """Return the step of that id; KeyError if there is none."""
        for step in self.steps:
            if step.id == step_id:
                return step
        raise KeyError(step_id)
