"""A female as a herd list knows her."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date


class FemaleClass(StrEnum):
    """Never calved; rearing her first calf; older."""

    HEIFER = "heifer"
    FIRST_CALF_COW = "first_calf_cow"
    COW = "cow"

    @property
    def words(self) -> str:
        """The class as people say it."""
        return self.value.replace("_calf_", "-calf ")

    @property
    def has_calved(self) -> bool:
        """Whether a calving date is to be expected."""
        return self is not FemaleClass.HEIFER


class Cycling(StrEnum):
    """What a scan of the ovaries, or two weeks of watching, found."""

    CYCLING = "cycling"
    NOT_CYCLING = "not_cycling"


class PregnancyFinding(StrEnum):
    """The last pregnancy finding."""

    PREGNANT = "pregnant"
    NOT_PREGNANT = "not_pregnant"
    UNSURE = "unsure"


class CheckMethod(StrEnum):
    """How a pregnancy finding was made."""

    ULTRASOUND = "ultrasound"
    PALPATION = "palpation"
    BLOOD = "blood"


class ExposureKind(StrEnum):
    """What she was exposed to."""

    BULL = "bull"
    AI = "ai"


@dataclass(frozen=True, slots=True)
class Exposure:
    """The time a female was with a bull or inseminated: what a pregnancy could date from.

    `until_on` is None while the bull is still with her. Where she was both inseminated and with a
    bull the span holds both, and `ai_days` and `bull_days` are each one's own; else they are None.
    """

    kind: ExposureKind
    from_on: date
    until_on: date | None = None
    ai_days: tuple[date, date] | None = None
    bull_days: tuple[date, date | None] | None = None

    @property
    def parts(self) -> tuple[Exposure, ...]:
        """The insemination and the bull apart, earlier first; itself where it is only one."""
        if self.ai_days is None or self.bull_days is None:
            return (self,)
        ai = Exposure(ExposureKind.AI, *self.ai_days)
        bull = Exposure(ExposureKind.BULL, *self.bull_days)
        return (ai, bull) if ai.from_on <= bull.from_on else (bull, ai)


@dataclass(frozen=True, slots=True)
class Female:
    """One female of the herd; anything not known is None.

    Weights are kilograms, pelvic area cm2, body condition 1-9, tract score 1-5, calving ease 1
    (unassisted) to 5 (caesarean or abnormal), breed shares fractions summing to 1 at most.
    `row` is the spreadsheet row she came from (the header is row 1).
    """

    tag: str
    class_: FemaleClass
    group: str
    rfid: str | None = None
    breed_shares: tuple[tuple[str, float], ...] = ()
    born_on: date | None = None
    calved_on: date | None = None
    due_on: date | None = None  # expected calving, of a pregnancy still running
    calving_ease: int | None = None
    retained_membranes: bool | None = None
    condition: float | None = None
    weight_kg: float | None = None
    mature_weight_kg: float | None = None
    tract_score: int | None = None
    pelvic_area_cm2: float | None = None
    cycling: Cycling | None = None
    last_heat_on: date | None = None
    exposure: Exposure | None = None
    pregnancy: PregnancyFinding | None = None
    pregnancy_checked_on: date | None = None
    pregnancy_method: CheckMethod | None = None
    hold_reason: str | None = None
    sire: str | None = None
    dam: str | None = None
    ever_given_estradiol: bool | None = None
    remarks: str | None = None
    row: int = field(default=0, compare=False)
