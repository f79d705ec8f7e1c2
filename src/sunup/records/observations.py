"""What was observed or done, one record each: an event's body read into fields.

Every record carries the id of its event, when it happened by a right clock, who entered it, and
the correction in force if there is one. They are facts as recorded; conclusions are for planning.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """What every record has.

    Parameters
    ----------
    event : str
        Id of the event.
    at : datetime
        When it happened, UTC: the device's time less its measured offset, or the corrected time.
    entered_at : datetime
        When it was entered, UTC, less the same offset.
    zone : str
        IANA zone of the place.
    by : str
        Who entered it; empty where nobody said.
    group : str or None
        Group the event names.
    corrected_by : str or None
        Id of the correction whose version this is; the other versions stand in
        ``HerdState.corrected``.
    note : str
    """

    event: str
    at: datetime
    entered_at: datetime
    zone: str
    by: str = ""
    group: str | None = None
    corrected_by: str | None = None
    note: str = ""

    @property
    def on(self) -> date:
        """The local day; the day in UTC where the zone is not known."""
        return local_day(self.at, self.zone)


def local_day(at: datetime, zone: str) -> date:
    """Return the calendar day of an instant at a place; the day in UTC where it is not known.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> local_day(datetime(2027, 5, 2, 3, tzinfo=UTC), "America/Denver")
    datetime.date(2027, 5, 1)
    """
    try:
        return at.astimezone(ZoneInfo(zone)).date()
    except (LookupError, ValueError, OSError, OverflowError):
        return at.date()


@dataclass(frozen=True, slots=True, kw_only=True)
class Added(Observation):
    """She came on file; `listed` is false where her tag was met at the chute and on no list."""

    tag: str
    listed: bool = True
    class_: str | None = None
    rfid: str | None = None
    born_on: date | None = None
    breed_shares: tuple[tuple[str, float], ...] = ()
    sire: str | None = None
    dam: str | None = None
    calved_on: date | None = None
    calving_ease: int | None = None
    mature_weight_kg: float | None = None
    ever_given_estradiol: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Identified(Observation):
    """She was found to be a female already on file."""

    same_as: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TagChanged(Observation):
    """New tag, new electronic code, or both; None is no change."""

    tag: str | None = None
    rfid: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CalfBorn:
    """One calf of a calving; None is not recorded."""

    sex: str | None = None
    alive: bool | None = None
    weight_kg: float | None = None
    tag: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Calved(Observation):
    """A calving."""

    ease: int | None = None
    retained_membranes: bool | None = None
    calves: tuple[CalfBorn, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Weaned(Observation):
    """Calves weaned from her; the weight is of all of them together, kg."""

    calves: int | None = None
    weight_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed(Observation):
    """Body weight, kg."""

    weight_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ConditionScored(Observation):
    """Body condition, 1 to 9."""

    score: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TractScored(Observation):
    """Reproductive tract score, 1 to 5."""

    score: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PelvisMeasured(Observation):
    """Pelvic area, cm2."""

    area_cm2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OvaryScanned(Observation):
    """What a scan of the ovaries found; follicle in mm."""

    luteum: bool | None = None
    follicle_mm: float | None = None
    cycling: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Vaccinated(Observation):
    """A vaccination."""

    against: str
    modified_live: bool | None = None
    lot: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fed(Observation):
    """A day of feeding; `feed` is melengestrol or other."""

    feed: str
    mg_per_head: float | None = None
    first_day: bool = False
    last_day: bool = False
    step: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Treated(Observation):
    """A drug given; `act` as in the body of the event, `dose_share` 1 for the full dose."""

    act: str
    active: str | None = None
    dose_ml: float | None = None
    dose_share: float | None = None
    lot: str | None = None
    expires_on: date | None = None
    withdrawal_days: float | None = None
    site: str | None = None
    step: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class InsertPlaced(Observation):
    """A progesterone insert put in."""

    lot: str | None = None
    expires_on: date | None = None
    withdrawal_days: float | None = None
    step: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class InsertRemoved(Observation):
    """An insert taken out; `found` is false where she had none left to take out."""

    found: bool
    step: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatAidRead(Observation):
    """A patch, chalk or collar read; `lost` means unknown, not no."""

    aid: str
    score: int | None = None
    lost: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatSeen(Observation):
    """A sign of heat seen by eye."""

    sign: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched(Observation):
    """Time spent watching, minutes, also where nothing was seen."""

    minutes: float
    aid: str | None = None
    n_seen: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SireAssigned(Observation):
    """The sire she is meant for, with those to use when he is out."""

    sire: str
    alternates: tuple[str, ...] = ()
    semen: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Inseminated(Observation):
    """An insemination; `technician` is who entered it where nobody was named."""

    sire: str
    batch: str | None = None
    semen: str | None = None
    technician: str = ""
    tank: str | None = None
    canister: str | None = None
    timed: bool | None = None
    in_heat: bool | None = None
    straws: int = 1
    step: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BullExamined(Observation):
    """A breeding soundness exam; circumference in cm."""

    bull: str
    result: str
    scrotum_cm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BullsIn(Observation):
    """Bulls turned in with a group, or with one female."""

    bulls: tuple[str, ...]
    n_females: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BullsOut(Observation):
    """Bulls taken out; all of them where none is named."""

    bulls: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PregnancyChecked(Observation):
    """A pregnancy finding; fetal age in days."""

    method: str
    result: str
    fetal_age_days: float | None = None
    fetuses: int | None = None
    fetal_sex: str | None = None
    operator: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Aborted(Observation):
    """A pregnancy lost and noticed."""

    found: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved(Observation):
    """She joined a group; `to` is empty where she is in none."""

    to: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftHerd(Observation):
    """She left the herd."""

    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldSet(Observation):
    """She may not be started; the hold ends by itself on `until_on` where that is given."""

    why: str
    until_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldLifted(Observation):
    """All her holds are over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tallied(Observation):
    """A count, and what the records said at that moment.

    Parameters
    ----------
    what : str
        head, inserts, straws, doses or units.
    count : float
        As counted.
    unit : str or None
        ml where a drug was counted.
    item, lot, place : str or None
    expected : float or None
        By the records, carried on from the last count of the same thing; None where nothing was
        recorded to compare with.
    """

    what: str
    count: float
    unit: str | None = None
    item: str | None = None
    lot: str | None = None
    place: str | None = None
    expected: float | None = None

    @property
    def difference(self) -> float | None:
        """Counted less expected: below 0 some are missing."""
        return None if self.expected is None else self.count - self.expected


@dataclass(frozen=True, slots=True, kw_only=True)
class StockMoved(Observation):
    """Supplies in (+) or out (-); `unit` is of `amount`."""

    item: str
    unit: str
    amount: float
    why: str
    lot: str | None = None
    expires_on: date | None = None
    bottle_ml: float | None = None
    sire: str | None = None
    batch: str | None = None
    semen: str | None = None
    tank: str | None = None
    canister: str | None = None
    cost: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NitrogenRead(Observation):
    """Liquid in a tank, cm on the stick."""

    tank: str
    level_cm: float
    filled: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSet(Observation):
    """A plan adopted, or changed from `based_on`; `plan` holds the plan file's plain values."""

    plan_id: str
    plan: Mapping[str, Any] = field(repr=False)
    season: str = ""
    based_on: str | None = None
    why: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastKept(Observation):
    """A forecast kept before the season, to be compared with what happens."""

    plan_id: str
    forecast: Mapping[str, Any] = field(repr=False)
    library_version: str
    kernel_version: str
    seed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingChanged(Observation):
    """A setting given a value; `based_on` is the event the person saw when changing it."""

    key: str
    value: Any
    based_on: str | None = None
