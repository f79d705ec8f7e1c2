"""What a review counts: one row a female, one row a heat served, each with what went with it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime


class Outcome(StrEnum):
    """What became of a female, or of one insemination."""

    PREGNANT = "pregnant to AI"
    NOT = "not pregnant to AI"
    UNSURE = "pregnant, AI or bull"
    UNKNOWN = "unknown"


def outcome_of(chance: float | None, *, called_from: float) -> Outcome:
    """Return the word for a chance of being pregnant to AI; None: nothing is known.

    From `called_from` on, or that near to none, it is called; between she is unsure.
    """
    if chance is None:
        return Outcome.UNKNOWN
    if chance >= called_from:
        return Outcome.PREGNANT
    return Outcome.NOT if 1.0 - chance >= called_from else Outcome.UNSURE


@dataclass(frozen=True, slots=True, kw_only=True)
class Service:
    """One heat served: its insemination, or its inseminations where it had several.

    Parameters
    ----------
    female : str
        Her UUID.
    number : int
        1 for the first heat served of the season.
    at : datetime
        True time of its first insemination, UTC.
    half : str
        "morning" or "evening" by the ranch's clock; noon is evening.
    sire, technician, semen : str
        Empty where not known, and where `shared` names it.
    timed, in_heat, on_time : bool or None
        At a fixed time rather than on heat; in heat by then; all her treatments before it inside
        their windows. None where not known.
    condition : float or None
        Body condition, 1 to 9.
    days_since_calving : int or None
    chance : float or None
        That she is pregnant to this insemination: 1 or 0 where settled, between where a bull may
        be the sire, None where no result is on record.
    called_from : float
        From this chance on it is called: `practice.sire_called_from_chance`.
    straws : int
        Straws the heat took.
    shared : tuple of str
        In what its inseminations differ: sire, technician, semen, half, timed.
    """

    female: str
    group: str
    class_: str
    protocol: str
    number: int
    at: datetime
    half: str
    called_from: float
    sire: str = ""
    technician: str = ""
    semen: str = ""
    timed: bool | None = None
    in_heat: bool | None = None
    on_time: bool | None = None
    condition: float | None = None
    days_since_calving: int | None = None
    chance: float | None = None
    straws: int = 1
    shared: tuple[str, ...] = ()

    @property
    def outcome(self) -> Outcome:
        """What became of it."""
        return outcome_of(self.chance, called_from=self.called_from)


@dataclass(frozen=True, slots=True, kw_only=True)
class FemaleResult:
    """One female of the season.

    `treated` says whether any step of the plan was done to her; `seen_in_heat` whether a heat was
    seen from the first treatment to her first insemination or the end of the watch, None where
    nobody looked. `chance` is that of being pregnant to AI, to any insemination of the season;
    `pregnant` is any pregnancy, AI or bull; both None where not known. `gone`: she left the herd or
    the group and was not inseminated before.
    """

    female: str
    tag: str
    group: str
    class_: str
    protocol: str
    treated: bool
    seen_in_heat: bool | None
    condition: float | None
    days_since_calving: int | None
    services: tuple[Service, ...]
    chance: float | None
    called_from: float
    pregnant: bool | None
    on_time: bool | None = None
    note: str = ""
    gone: bool = False

    @property
    def outcome(self) -> Outcome:
        """Whether she is pregnant to AI."""
        return outcome_of(self.chance, called_from=self.called_from)
