"""Cows whose calving on file is of an earlier season than the one planned."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.base.problems import Problem, Severity
from sunup.planning.exposure import as_calved

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from sunup.library.library import Library
    from sunup.records.female import Female


def find_old_calvings(
    group: str, females: Sequence[Female], *, ai_on: date, library: Library
) -> Problem | None:
    """Warn where cows will have calved again between the calving on file and the insemination.

    Long enough for that is the time from a calving to when she may be inseminated again, and a
    pregnancy. A due date on file counts as the calving it leads to.

    Parameters
    ----------
    group : str
        Named in the warning.
    females : sequence of Female
    ai_on : date
        First insemination day.
    library : Library
        For ``readiness.days_since_calving_at_ai`` and ``gestation.default``.

    Returns
    -------
    Problem or None
    """
    open_days, _ = library.figure("readiness.days_since_calving_at_ai").span
    again = timedelta(days=open_days + library.number("gestation.default"))
    calved = [
        on
        for f in females
        if f.class_.has_calved
        and f.hold_reason is None
        and (on := as_calved(f, ai_on).calved_on) is not None
    ]
    old = [on for on in calved if on + again <= ai_on]
    if not old:
        return None
    last = max(old)
    return Problem(
        group,
        f"{len(old)} of {len(calved)} cows last calved {last.day} {last:%b %Y} or before, by the "
        f"list; by {ai_on.day} {ai_on:%b %Y} they will have calved again, or be open for a reason. "
        "They are judged by the calving on file, so that who is ready is not known yet.",
        "Plan again with the calvings of that season, or give due dates in the list.",
        Severity.WARNING,
    )
