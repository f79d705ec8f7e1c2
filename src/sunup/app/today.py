"""Use-case: what today asks for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.app.heats import expected_heats, find_ai_lines
from sunup.app.step_meant import her_times
from sunup.app.stock import find_needs, find_tanks, stock_now
from sunup.planning.after_ai import herd_females
from sunup.planning.ahead import Coming, look_ahead
from sunup.planning.insemination_list import half_day_words, local_day, of_half_day
from sunup.planning.insemination_times import Timeliness
from sunup.planning.parentage import ParentageFigures
from sunup.planning.passed_over import find_passed_over
from sunup.planning.returns import ReturnFigures
from sunup.planning.scan_sheet import ScanFigures
from sunup.planning.stock import find_shortages
from sunup.planning.today import TodayFigures, find_work
from sunup.records.event import Kind
from sunup.records.fold import fold

if TYPE_CHECKING:
    from datetime import date, datetime

    from sunup.app.desk import Desk
    from sunup.planning.ahead import Ahead
    from sunup.planning.expected_heats import HeatsSoFar
    from sunup.planning.females_now import FemaleNow
    from sunup.planning.insemination_list import AiLine
    from sunup.planning.insemination_times import Half
    from sunup.planning.nitrogen import TankState
    from sunup.planning.season_now import SeasonNow
    from sunup.planning.stock import Balance, RunsOut
    from sunup.planning.today import Work


@dataclass(frozen=True, slots=True)
class Today:
    """Everything Today shows, at one instant.

    `inseminate` is this half-day's list of females in heat, `later` those whose time is to come,
    `too_late` those no straw is worth any more. `runs_out` names coming steps that what is on
    hand does not reach for; `stock` lines something is wrong with. `ahead` is what comes after
    insemination: told where nothing is due now, and while returns are to be looked for.
    """

    ranch: str
    season: str
    at: datetime
    zone: str
    half_day: tuple[date, Half]
    work: Work
    inseminate: tuple[AiLine, ...]
    later: tuple[AiLine, ...]
    too_late: tuple[AiLine, ...]
    heats: tuple[HeatsSoFar, ...]
    runs_out: tuple[RunsOut, ...]
    stock: tuple[Balance, ...]
    tanks: tuple[TankState, ...]
    unlisted: tuple[FemaleNow, ...]
    ahead: tuple[Ahead, ...] = ()


def find_today(desk: Desk) -> Today:
    """Draw Today at the desk's instant.

    Raises
    ------
    NoSeasonError
        If no plan was adopted.
    """
    in_force = desk.need_plan()
    season = desk.season
    passed = find_passed_over(season, her_times(desk))
    work = find_work(season, TodayFigures.of(desk.library), passed=passed)
    lines = find_ai_lines(desk)
    due = of_half_day(lines, season)
    over = tuple(line for line in lines if line.standing is Timeliness.TOO_LATE)
    later = tuple(line for line in lines if line not in due and line not in over)
    stock = stock_now(desk)
    on, _ = half_day_words(season)
    return Today(
        ranch=season.ranch or in_force.plan.ranch,
        season=in_force.season,
        at=season.at,
        zone=desk.zone_name,
        half_day=half_day_words(season),
        work=work,
        inseminate=due,
        later=later,
        too_late=over,
        heats=expected_heats(desk, work.progress),
        runs_out=find_shortages(find_needs(desk, work.progress), stock, on=on),
        stock=tuple(line for line in stock if line.flags),
        tanks=find_tanks(desk),
        unlisted=tuple(f for f in season.females.values() if not f.listed and f.is_here),
        ahead=_ahead(desk, work),
    )


# what the days after an insemination are read from
_BREEDING = frozenset(
    {
        Kind.FEMALE_ADDED,
        Kind.TAG_CHANGED,
        Kind.MOVED,
        Kind.INSEMINATED,
        Kind.BULLS_IN,
        Kind.BULLS_OUT,
        Kind.PREGNANCY_CHECKED,
        Kind.CALVED,
        Kind.ABORTED,
        Kind.LEFT_HERD,
    }
)


def _ahead(desk: Desk, work: Work) -> tuple[Ahead, ...]:
    season = desk.season
    figures = ReturnFigures.of(desk.library)
    on = local_day(season.at, season)
    if work.now and not _returns_run(season, on, figures):
        return ()
    told = [
        e
        for e in desk.standing
        if (e.occurred_at <= season.at and e.kind in _BREEDING) or e.kind is Kind.IDENTIFIED
    ]
    females = herd_females(
        fold(told), zone=season.zone, until=season.at, sire_breeds=season.sire_breeds
    )
    lines = look_ahead(
        females,
        on=on,
        returns=figures,
        scan=ScanFigures.of(desk.library),
        parents=ParentageFigures.of(desk.library),
    )
    # beside the day's work only what must be done too
    return tuple(one for one in lines if not work.now or one.kind is Coming.RETURNS)


def _returns_run(season: SeasonNow, on: date, figures: ReturnFigures) -> bool:
    """Whether anybody's return may come today, from her last insemination alone."""
    last = (f.services[-1].at for f in season.females.values() if f.is_here and f.services)
    low, high = figures.watch.span
    return any(low <= (on - local_day(at, season)).days <= high for at in last)
