"""The plan: everything a season's packet is made from.

All instants are aware and in UTC; the plan's zone turns them into clock time. Nothing here is
rounded; renderers round.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from datetime import date, datetime

    from sunup.base.problems import Problem

PLAN_SCHEMA_VERSION = 1


class State(StrEnum):
    """May she start a treatment."""

    READY = "ready"
    EXPECT_LESS = "ready_expect_less"
    READY_ON = "ready_on"
    HOLD = "hold"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a female stands where she stands: the rule, the words, the figure behind them."""

    rule: str  # key of the rule, e.g. days_since_calving
    state: State
    text: str
    figure: str  # key of the figure
    source: tuple[str, ...]
    ready_on: date | None = None
    yours: bool = False


@dataclass(frozen=True, slots=True)
class FemaleLine:
    """A female in the plan. `needs_progestin` is None where nothing on file tells."""

    tag: str
    rfid: str | None
    class_: str
    group: str
    state: State
    reasons: tuple[Reason, ...]
    needs_progestin: bool | None = None
    ready_on: date | None = None
    row: int = 0

    @property
    def is_treated(self) -> bool:
        """Whether the schedule counts on her."""
        return self.state in {State.READY, State.EXPECT_LESS}


@dataclass(frozen=True, slots=True)
class Money:
    """An amount with where it came from. `example` prices are not held: the user replaces them."""

    item: str
    per: str  # "female" or "group"
    amount: float
    example: bool
    figure: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Published:
    """A published result as shown beside a protocol."""

    text: str
    low_pct: float
    high_pct: float
    source: tuple[str, ...]
    from_memory: bool
    cited: str = ""  # the sources as a reader finds them: author and year
    note: str = ""  # how it was got: hours watched, females of the whole trial, the control


@dataclass(frozen=True, slots=True)
class ForecastSummary:
    """What a simulation says of one choice for a group, in females of the `n` treated.

    The ranges hold 80 of 100 seasons: (low, median, high). `better_than_chosen` is the chance that
    this choice leaves more females pregnant to AI than the one chosen (where one of the two has no
    AI: that more conceive in the season), on the same females with the same luck;
    `more_than_chosen` how many more. The `spread` is (luck of the draw, herd to herd, parameters
    of the animal): standard deviations in females of 100; None where not asked.
    """

    n: int
    seed: int
    replicates: int
    pregnant_to_ai: tuple[float, float, float] | None
    on_heat: float
    on_time: float
    pregnant_in_season: tuple[float, float, float] | None
    cost_per_pregnancy: tuple[float, float, float] | None
    spread: tuple[float, float, float] | None
    better_than_chosen: float | None
    more_than_chosen: tuple[float, float, float] | None
    rests_on: tuple[str, ...]
    assumed: tuple[str, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Fit:
    """A protocol that fits a group."""

    protocol: str
    name: str
    standing: str
    style: str
    passes: int
    days: float
    watch_days: float
    cost_per_female: float
    costs: tuple[Money, ...]
    published: tuple[Published, ...]
    notes: tuple[str, ...]
    first_treatment_on: date | None = None
    forecast: ForecastSummary | None = None  # where one was asked for
    advised_against: bool = False  # by its own page, or for want of the law: after all others
    not_when: tuple[str, ...] = ()  # when not to use it, of what no herd list tells


@dataclass(frozen=True, slots=True)
class Rejected:
    """A protocol that does not fit, and why."""

    protocol: str
    name: str
    reason: str
    refused: bool  # True: the plan refuses it even when asked for


@dataclass(frozen=True, slots=True)
class BullsAlone:
    """Bulls alone as a choice beside AI."""

    bulls: int
    cost_per_female: float
    cost_per_pregnancy: float
    lines: tuple[Money, ...]
    earlier_calf_value_per_day: float
    note: str
    cleanup_per_female: float = 0.0  # bulls after AI, a female; not in any protocol's cost
    forecast: ForecastSummary | None = None


@dataclass(frozen=True, slots=True)
class DoseLine:
    """One drug at one step."""

    active: str  # key of the active
    name: str  # words for the page
    strength: str
    dose: str  # "500 ug"
    ml_each: float | None
    ml_total: float | None
    route: str
    needle: str
    prescription: bool
    cautions: tuple[str, ...]  # safety lines, of people and of the animal
    note: str = ""  # what else is held of the drug
    asks: tuple[str, ...] = ()  # what is to be asked of law and market before it is given


@dataclass(frozen=True, slots=True)
class ScheduledStep:
    """One step of one group at one time.

    `uid` is random, made once, and kept when the plan is made again. `window_utc` is the window of
    the first female; from when to when the whole line may start, `start_span` says. `ends_utc` is
    when the last female is done at the work rate used. `hours_after` counts from the step named in
    `after_step`. Steps of one visit share `visit`.
    """

    uid: str
    sequence: int
    group: str
    id: str
    visit: str
    do: str
    words: str
    at_utc: datetime
    window_utc: tuple[datetime, datetime]
    ends_utc: datetime
    hard: bool
    head: int
    who: str
    doses: int
    dose: DoseLine | None
    after_step: str | None = None
    hours_after: float | None = None
    until_utc: datetime | None = None
    label_note: str | None = None
    flags: tuple[str, ...] = ()
    note: str | None = None
    straws: int = 0
    cancelled: bool = False
    looks: int | None = None  # of a watch: times a day


@dataclass(frozen=True, slots=True)
class Capacity:
    """Whether a group gets through the chute inside its windows."""

    visit: str
    head: int
    head_per_hour: float
    hours_needed: float
    hours_available: float
    fits: bool
    offer: str = ""


@dataclass(frozen=True, slots=True)
class Clash:
    """Two things that want the same time, or a time that is not good. Nothing is moved silently."""

    # weekend | holiday | outside_hours | other_group | vaccination | haul_or_diet | capacity
    kind: str
    group: str
    step: str
    on: date
    text: str
    fix: str


@dataclass(frozen=True, slots=True)
class ShoppingLine:
    """Something to buy or book, with how much, why so much and by when."""

    item: str
    quantity: float
    unit: str
    detail: str
    order_by: date | None
    cost: float | None
    example_price: bool
    kind: str  # drug | insert | feed | semen | supply | service


@dataclass(frozen=True, slots=True)
class RunUpItem:
    """Something to be done before the season, with its dates and the reason."""

    key: str
    from_on: date
    to_on: date
    text: str
    why: str
    source: tuple[str, ...]
    from_memory: bool
    overdue: bool
    group: str | None = None


TO_CHOOSE = "to choose"  # stands where a group's sire is still open


@dataclass(frozen=True, slots=True)
class SireUse:
    """Semen of one bull for one group."""

    group: str
    code: str
    semen: str  # conventional | sexed
    share: float
    straws: int
    spare: int


@dataclass(frozen=True, slots=True)
class LaterView:
    """How many more would be ready if the date moved."""

    days: int
    ready: int


@dataclass(frozen=True, slots=True)
class GroupPlan:
    """One group's part of the plan."""

    name: str
    class_: str
    n: int
    ready: int
    by_state: tuple[tuple[str, int], ...]
    by_reason: tuple[tuple[str, int], ...]
    later: tuple[LaterView, ...]
    fits: tuple[Fit, ...]
    rejected: tuple[Rejected, ...]
    bulls_alone: BullsAlone
    chosen: str | None
    chosen_name: str | None
    chosen_by: str  # asked | default | none
    options: tuple[str, ...]
    schedule: tuple[ScheduledStep, ...]
    order: tuple[str, ...]  # tags in treatment order
    capacity: tuple[Capacity, ...]
    sires: tuple[SireUse, ...]
    cost_per_female: float | None = None
    cost_total: float | None = None
    forecast: ForecastSummary | None = None  # of what is chosen, with its planned hours
    sessions: tuple[ScheduledStep, ...] = ()  # inseminations on heat that follow from its watches


@dataclass(frozen=True, slots=True)
class Plan:
    """All groups' schedules of a season with supplies and cost: what plan.json holds."""

    ranch: str
    zone: str
    region: str
    season: str
    made_at_utc: datetime
    library_version: str
    program_version: str
    settings: dict[str, Any]
    females: tuple[FemaleLine, ...]
    groups: tuple[GroupPlan, ...]
    clashes: tuple[Clash, ...]
    shopping: tuple[ShoppingLine, ...]
    run_up: tuple[RunUpItem, ...]
    problems: tuple[Problem, ...]
    cautions: tuple[str, ...]
    label_differences: tuple[str, ...]
    prescriber: str | None = None
    changes: tuple[str, ...] = ()  # against the plan file this one was made from
    currency: str = ""  # of the prices used
    region_name: str = ""
    rests_on: tuple[tuple[str, str], ...] = ()  # figures and protocol steps as they stood
    region_notes: tuple[str, ...] = ()  # what is held of the region's labels and law
    called_off: tuple[ScheduledStep, ...] = ()  # of groups that are no more; calendars hold them
