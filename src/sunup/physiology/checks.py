"""When heats are looked for on a day: for the simulator, and for those who stand in the pasture."""

from __future__ import annotations

FIRST_CHECK, LAST_CHECK = 6.0, 18.0  # the clock hours of trials.toml: checks at 06:00 and 18:00
SOON_H = 12.0  # from a heat seen to the insemination by the am/pm rule, about


def check_hours(times_per_day: int) -> tuple[float, ...]:
    """Clock hours of the checks of a day, spread evenly from the first to the last."""
    if times_per_day <= 1:
        return (FIRST_CHECK,)
    gap = (LAST_CHECK - FIRST_CHECK) / (times_per_day - 1)
    return tuple(FIRST_CHECK + k * gap for k in range(times_per_day))
