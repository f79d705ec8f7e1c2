"""What an event is about: a female, a group, or the ranch."""

from __future__ import annotations

from sunup.records.event import Kind

# says nothing without a female
OF_A_FEMALE = frozenset(
    {
        Kind.FEMALE_ADDED,
        Kind.IDENTIFIED,
        Kind.TAG_CHANGED,
        Kind.CALVED,
        Kind.WEIGHED,
        Kind.CONDITION_SCORED,
        Kind.TRACT_SCORED,
        Kind.PELVIS_MEASURED,
        Kind.OVARY_SCANNED,
        Kind.INSERT_PLACED,
        Kind.INSERT_REMOVED,
        Kind.HEAT_AID_READ,
        Kind.HEAT_SEEN,
        Kind.INSEMINATED,
        Kind.PREGNANCY_CHECKED,
        Kind.ABORTED,
        Kind.MOVED,
        Kind.LEFT_HERD,
    }
)
# said of the ranch; a group named beside it is only told
OF_THE_RANCH = frozenset(
    {
        Kind.BULL_EXAMINED,
        Kind.TALLIED,
        Kind.STOCK_MOVED,
        Kind.NITROGEN_READ,
        Kind.PLAN_ADOPTED,
        Kind.PLAN_CHANGED,
        Kind.FORECAST_KEPT,
        Kind.SETTING_CHANGED,
    }
)
# the rest is said of a female or of a group as a whole; a correction is said of an event
EITHER = frozenset(Kind) - OF_A_FEMALE - OF_THE_RANCH - {Kind.CORRECTED}
