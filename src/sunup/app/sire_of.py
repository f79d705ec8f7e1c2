"""Which sire is put down where nobody named one: the one Today names for her."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.planning.heats import HeatFigures
from sunup.planning.insemination_list import choose_sires, find_inseminations
from sunup.planning.insemination_times import TimeFigures
from sunup.planning.plan import TO_CHOOSE
from sunup.planning.progress import Phase
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from sunup.app.desk import Desk
    from sunup.planning.females_now import FemaleNow
    from sunup.planning.plan import GroupPlan, ScheduledStep
    from sunup.planning.progress import FemaleStep

UNKNOWN_SIRE = "unknown"


def sires_on_heat(desk: Desk, females: Iterable[FemaleNow]) -> dict[str, str]:
    """Sires of females inseminated on heat, by id: as the list of this half-day gives them out."""
    listed = find_inseminations(
        desk.season,
        heat_figures=HeatFigures.of(desk.library),
        time_figures=TimeFigures.of(desk.library),
        protocols=desk.library.protocols,
    )
    return _given_out(desk, [line.female for line in listed], females)


def sires_at_step(
    desk: Desk,
    steps: Sequence[ScheduledStep],
    lines: Mapping[tuple[str, str], FemaleStep],
    out: Collection[str],
    females: Iterable[FemaleNow],
) -> dict[str, str]:
    """Sires of females inseminated at a fixed time, by id: as Today gives them out to those to go.

    Parameters
    ----------
    desk : Desk
    steps : sequence of ScheduledStep
        Of the visit.
    lines : mapping of (female, step) to FemaleStep
    out : collection of str
        Females left out of the visit.
    females : iterable of FemaleNow
        Those recorded; who is not to go comes after those who are.
    """
    ids = {step.id for step in steps if step.do == Do.AI}
    group = steps[0].group
    to_go = [
        line
        for (female, step), line in lines.items()
        if step in ids
        and line.phase in {Phase.DUE, Phase.COMING}
        and female not in out
        and desk.season.females[female].group == group
    ]
    to_go.sort(key=lambda line: (line.window[1], line.at))
    return _given_out(desk, [line.female for line in to_go], females)


def _given_out(desk: Desk, first: Iterable[str], females: Iterable[FemaleNow]) -> dict[str, str]:
    every = {key: desk.season.females[key] for key in first}
    every |= {female.id: female for female in females}
    chosen = choose_sires(every.values(), desk.season)
    return {key: sire for key, sire in chosen.items() if sire is not None}


def only_sire(group: GroupPlan | None) -> str:
    """The group's only sire, for a female not on file; else unknown."""
    codes = {s.code for s in group.sires} if group is not None else set()
    return codes.pop() if len(codes) == 1 and TO_CHOOSE not in codes else UNKNOWN_SIRE


def semen_of(group: GroupPlan | None, sire: str | None) -> str | None:
    """The kind of semen the plan has of a sire."""
    for use in group.sires if group is not None else ():
        if use.code == sire:
            return use.semen
    return None
