"""How many come to a step, and when its last is done: fewer than are listed where it is for some.

Those not yet inseminated at a timed AI are the group less those inseminated after a heat seen;
nobody knows how many before the day, and a forecast knows about.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.planning.progress import ON_HEAT
from sunup.planning.schedule import WHO_WORDS
from sunup.protocols.protocol import Who
from sunup.reports import words

if TYPE_CHECKING:
    from datetime import datetime

    from sunup.planning.plan import GroupPlan, ScheduledStep


def about(step: ScheduledStep, group: GroupPlan | None) -> int | None:
    """Return how many of those not yet inseminated come by the forecast; None where none knows."""
    if group is None or group.forecast is None or not group.sessions:
        return None
    if step.who != WHO_WORDS[Who.NOT_INSEMINATED]:
        return None
    return min(step.head, round(group.forecast.on_time))


def ends(step: ScheduledStep, group: GroupPlan | None) -> datetime:
    """Return when the last of a step is planned to be done, at the pace of the plan, UTC.

    Of a step to which nobody knows how many come, its beginning.
    """
    if step.do == ON_HEAT:
        return step.at_utc
    some = about(step, group)
    if some is None or not step.head:
        return step.ends_utc
    return step.at_utc + (step.ends_utc - step.at_utc) * some / step.head


def head(step: ScheduledStep, group: GroupPlan | None) -> str:
    """Return how many come: ``40 head``, ``at most 40 head``, ``about 20, at most 40 head``."""
    if step.who == "all":
        return words.count(step.head, "head", "head")
    some = about(step, group)
    return f"{'' if some is None else f'about {some:,}, '}at most {step.head:,} head"


def straws(step: ScheduledStep) -> str:
    """Return the straws to have at hand, or nothing."""
    if not step.straws:
        return ""
    return f"{'' if step.who == 'all' else 'at most '}{words.count(step.straws, 'straw')}"
