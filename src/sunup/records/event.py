"""What happened, as it was recorded: one immutable event.

An event states a fact in the past tense. It is never changed and never removed; a mistake is put
right by a later event whose `corrects` names it. The id is made on the device that recorded it, so
two devices merge by union in any order.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime


class Kind(StrEnum):
    """The kinds of event; their bodies stand in ``sunup.records.bodies``."""

    FEMALE_ADDED = "FemaleAdded"
    IDENTIFIED = "Identified"
    TAG_CHANGED = "TagChanged"
    CALVED = "Calved"
    WEANED = "Weaned"
    WEIGHED = "Weighed"
    CONDITION_SCORED = "ConditionScored"
    TRACT_SCORED = "TractScored"
    PELVIS_MEASURED = "PelvisMeasured"
    OVARY_SCANNED = "OvaryScanned"
    VACCINATED = "Vaccinated"
    FED = "Fed"
    TREATED = "Treated"
    INSERT_PLACED = "InsertPlaced"
    INSERT_REMOVED = "InsertRemoved"
    HEAT_AID_READ = "HeatAidRead"
    HEAT_SEEN = "HeatSeen"
    WATCHED = "Watched"
    SIRE_ASSIGNED = "SireAssigned"
    INSEMINATED = "Inseminated"
    BULL_EXAMINED = "BullExamined"
    BULLS_IN = "BullsIn"
    BULLS_OUT = "BullsOut"
    PREGNANCY_CHECKED = "PregnancyChecked"
    ABORTED = "Aborted"
    MOVED = "Moved"
    LEFT_HERD = "LeftHerd"
    HOLD_SET = "HoldSet"
    HOLD_LIFTED = "HoldLifted"
    TALLIED = "Tallied"
    STOCK_MOVED = "StockMoved"
    NITROGEN_READ = "NitrogenRead"
    PLAN_ADOPTED = "PlanAdopted"
    PLAN_CHANGED = "PlanChanged"
    FORECAST_KEPT = "ForecastKept"
    SETTING_CHANGED = "SettingChanged"
    CORRECTED = "Corrected"


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened or was decided.

    Parameters
    ----------
    id : str
        UUID, lower case with hyphens, made on the device.
    ranch : str
        The owner of the ledger.
    kind : Kind
    version : int
        Version of the body's form; older ones are brought up when read.
    occurred_at : datetime
        When it happened, UTC, as the device's clock said.
    zone : str
        IANA zone of the place, for telling the local hour.
    entered_at : datetime
        When it was entered, UTC, as the device's clock said.
    entered_by : str
        Who did or entered it; empty where nobody said.
    device : str
        What it was entered on.
    clock_offset_s : float or None
        Device clock minus true time, where measured. Both times above stay as the device said;
        order and elapsed hours use the time less this offset.
    female : str or None
        UUID of the female it is about.
    group : str or None
        Name of the group, for what is done to a group as a whole.
    body : mapping
        Plain JSON values; see ``sunup.records.bodies``.
    corrects : str or None
        Id of the event this one replaces or takes back.
    """

    id: str
    ranch: str
    kind: Kind
    version: int
    occurred_at: datetime
    zone: str
    entered_at: datetime
    entered_by: str = ""
    device: str = ""
    clock_offset_s: float | None = None
    female: str | None = None
    group: str | None = None
    body: Mapping[str, Any] = field(default_factory=dict)
    corrects: str | None = None
