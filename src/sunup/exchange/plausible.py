"""Limits between a slip of the pen and a rare animal.

All are assumed and wide: from memory of the trade, no source. They decide only whether a cell is
believed, never whether a female is ready.
"""

from __future__ import annotations

from sunup.base.quantities import KG_PER_LB
from sunup.records.female import FemaleClass

YOUNGEST_CALVING_DAYS = 510  # about 17 months: conceived at 8 months and carried 280 days
SURELY_FIRST_CALF_DAYS = 913  # 30 months: too young at this calving for a second calf
SURELY_LATER_CALF_DAYS = 1461  # 4 years: older at this calving than any usual first calf
SURELY_HEIFER_DAYS = 730  # 2 years: younger, and no calving date, means never calved
WEIGHT_KG = {
    FemaleClass.HEIFER: (150.0, 600.0),
    FemaleClass.FIRST_CALF_COW: (250.0, 950.0),
    FemaleClass.COW: (250.0, 950.0),
}
ANY_WEIGHT_KG = (150.0, 950.0)
MATURE_WEIGHT_KG = (250.0, 950.0)


def weight_fault(kg: float, limits: tuple[float, float]) -> str | None:
    """Say what is odd about a live weight, with the unit that would mend it; None if nothing.

    Examples
    --------
    >>> weight_fault(1200.0, (250.0, 950.0))
    '1200 kg (2646 lb) is not a weight of such a female; 1200 lb would be.'
    """
    low, high = limits
    if low <= kg <= high:
        return None
    text = f"{kg:.0f} kg ({kg / KG_PER_LB:.0f} lb) is not a weight of such a female"
    if low <= kg * KG_PER_LB <= high:
        return f"{text}; {kg:.0f} lb would be."
    if low <= kg / KG_PER_LB <= high:
        return f"{text}; {kg / KG_PER_LB:.0f} kg would be."
    return f"{text}."
