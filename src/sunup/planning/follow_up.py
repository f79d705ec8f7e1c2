"""What follows the inseminations: bulls in, bulls out, the pregnancy check, as dated suggestions.

The days are those the forecast and the season's own lists reckon with; ranch and veterinarian
decide, and nothing is laid out for them.
"""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.base.figures import Seen
from sunup.base.hours import to_local
from sunup.planning.plan import RunUpItem
from sunup.planning.schedule import inseminate_rule
from sunup.protocols.protocol import Do, Inseminate

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date
    from zoneinfo import ZoneInfo

    from sunup.base.figures import Figure
    from sunup.library.library import Library
    from sunup.planning.plan import FemaleLine, GroupPlan, ScheduledStep

_DECIDE = "A suggestion: you and your veterinarian decide."


def find_follow_up(
    group: GroupPlan,
    females: Sequence[FemaleLine],
    *,
    library: Library,
    zone: ZoneInfo,
    today: date,
) -> tuple[RunUpItem, ...]:
    """Date what follows the inseminations of a group; nothing where nobody is inseminated.

    Parameters
    ----------
    group : GroupPlan
    females : sequence of FemaleLine
        Of the group; whether it is heifers or cows decides the length of its season.
    library : Library
    zone : ZoneInfo
    today : date

    Returns
    -------
    tuple of RunUpItem
        Bulls in and out where the protocol turns none out by itself, and the one scan that tells AI
        from bull. The season counts from the first service, bulls from the last insemination, as
        in the forecast. Of a watch the first service is its first session, where one is laid out.
    """
    live = [s for s in group.schedule if not s.cancelled]
    serving = [s for s in live if s.do == Do.AI or _inseminates(s)]
    if not serving or not group.ready:
        return ()
    sessions = [s for s in group.sessions if not s.cancelled]
    timed = [s for s in serving if s.do == Do.AI]
    first = min(to_local(s.at_utc, zone).date() for s in [*timed, *(sessions or serving)])
    last = max(to_local(s.until_utc or s.at_utc, zone).date() for s in serving)
    treated = [f for f in females if f.is_treated]
    heifers = 2 * sum(f.class_ == "heifer" for f in treated) > len(treated)
    gap = library.figure("practice.cleanup_bulls_after_days")
    season = library.figure(f"practice.season_days_{'heifers' if heifers else 'cows'}")
    scan = library.figure("practice.scan_days_after_ai")

    def item(key: str, figure: Figure, span: tuple[date, date], text: str, why: str) -> RunUpItem:
        return RunUpItem(
            key=key,
            from_on=span[0],
            to_on=span[1],
            text=f"{text} {_DECIDE}",
            why=why,
            source=figure.source,
            from_memory=figure.seen is Seen.MEMORY,
            overdue=span[1] < today,
            group=group.name,
        )

    checked = item(
        "scan",
        scan,
        (_after(last, scan.span[0]), max(_after(first, scan.span[1]), _after(last, scan.span[0]))),
        f"Check for pregnancy, by scan, {_days(scan)} after the inseminations. sunup scan sheet "
        "says what to expect in each.",
        "One scan in these days tells AI calves from the bulls' by size.",
    )
    turned_in = _after(last, gap.span[0]), _after(last, gap.span[1])
    taken_out = _after(first, season.span[0]), _after(first, season.span[1])
    if any(s.do == Do.BULLS_IN for s in live) or turned_in[0] >= taken_out[1]:
        return (checked,)
    return (
        item(
            "bulls_in",
            gap,
            turned_in,
            f"Turn clean-up bulls in, {_days(gap)} after the last insemination.",
            "A gap tells AI calves from the bulls'. Unless told otherwise a forecast reckons with "
            f"day {sum(gap.span) / 2:g}.",
        ),
        item(
            "bulls_out",
            season,
            taken_out,
            f"Take the bulls out, {_days(season)} after the first service.",
            "A forecast ends its season there unless told otherwise.",
        ),
        checked,
    )


def _inseminates(step: ScheduledStep) -> bool:
    return inseminate_rule(step) not in {None, Inseminate.NONE}


def _after(day: date, days: float) -> date:
    return day + timedelta(days=round(days))


def _days(figure: Figure) -> str:
    low, high = figure.span
    return f"{low:g} days" if low == high else f"{low:g} to {high:g} days"
