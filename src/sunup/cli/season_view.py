"""How a running season reads: its plan in force, and how far every step is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.app.held import follow_held
from sunup.base.problems import some
from sunup.cli.desk import clock, head, tell
from sunup.cli.record_view import print_held
from sunup.cli.show import print_table
from sunup.planning.held_back import held_of
from sunup.planning.progress import ON_HEAT, GroupStep, Phase
from sunup.planning.schedule import inseminate_rule
from sunup.planning.season_now import members

if TYPE_CHECKING:
    from sunup.app.desk import Desk
    from sunup.planning.plan import GroupPlan
    from sunup.planning.progress import GroupProgress

HEAD = [
    ("visit", "left"),
    ("what", "left"),
    ("planned", "left"),
    ("done", "right"),
    ("off", "right"),
    ("due", "right"),
    ("to come", "right"),
    ("missed", "right"),
]


def print_season(desk: Desk) -> None:
    """Print every group's schedule with how many are done, outside their window, due, missed."""
    in_force = desk.need_plan()
    season = desk.season
    tell(
        f"{season.ranch}: season {in_force.season}, adopted "
        f"{clock(in_force.adopted_at, season.zone)} ({desk.zone_name})"
    )
    for group in in_force.plan.groups:
        _print_group(desk, group)
    outside = [f for f in season.females.values() if not f.group and f.is_here]
    if outside:
        head(f"In no group: {len(outside)} ({some([f.tag for f in outside])})")


def _print_group(desk: Desk, group: GroupPlan) -> None:
    season = desk.season
    scheduled = members(season, group)
    there = sum(f.group == group.name and f.is_here for f in season.females.values())
    head(
        f"{group.name.upper()}: {there} head, {len(scheduled)} on the schedule; "
        f"{group.chosen_name or 'no protocol'}"
    )
    progress = follow_held(desk, group)
    if not progress.steps:
        return
    print_table(HEAD, [_row(line, desk) for line in progress.steps])
    tell("off: done outside her window; missed: window closed and nothing recorded", 2)
    _print_held(desk, progress)
    _print_missed(desk, progress)
    watched = any(inseminate_rule(s.step) is not None for s in progress.steps)
    extra = [(season.females[f].tag, act) for f, act in progress.extra if f in season.females]
    if extra:
        on_heat = [tag for tag, act in extra if watched and act.do == ON_HEAT]
        if on_heat:
            tell(f"inseminated on heat: {len(on_heat)} ({some(on_heat, 5)})", 2)
        told = [
            f"{tag} {act.do.replace('_', ' ')} {clock(act.at, season.zone)}"
            for tag, act in extra
            if tag not in on_heat or act.do != ON_HEAT
        ]
        if told:
            tell(f"not in the plan: {some(told, 5)}", 2)


def _row(line: GroupStep, desk: Desk) -> tuple[str, ...]:
    done = line.of_phase(Phase.DONE)
    off = sum(f.hours_off != 0 for f in done)
    counts = [
        len(done) if not line.is_group_act else int(line.done_as_group is not None),
        off,
        len(line.of_phase(Phase.DUE)) if not line.is_group_act else 0,
        len(line.of_phase(Phase.COMING)) if not line.is_group_act else 0,
        len(line.of_phase(Phase.BEYOND)) if not line.is_group_act else 0,
    ]
    return (
        line.step.visit,
        line.step.words,
        clock(line.step.at_utc, desk.season.zone),
        *(str(n) if n else "-" for n in counts),
    )


def _print_held(desk: Desk, progress: GroupProgress) -> None:
    told = held_of(progress.steps)
    if told:
        tell("held back, in none of these counts:", 2)
        print_held([(desk.season.females[her].tag, why) for her, why in told.items()], 4)


def _print_missed(desk: Desk, progress: GroupProgress) -> None:
    """Name those who missed a visit, and those who wait at it for a step they missed, with why."""
    found: dict[str, dict[str, None]] = {}
    for line in progress.steps:
        if line.is_group_act:
            continue
        for f in line.of_phase(Phase.BEYOND, Phase.WAITS):
            waits = f.phase is Phase.WAITS
            words = f"waiting at {line.step.visit} ({f.why})" if waits else ""
            found.setdefault(words or f"missed {line.step.visit}", {})[f.female] = None
    for words, females in found.items():
        tell(f"{words}: {some([desk.season.females[f].tag for f in females])}", 2)


def season_to_json(desk: Desk) -> dict[str, Any]:
    """A running season as plain values: every female's line of every step."""
    in_force = desk.need_plan()
    season = desk.season
    return {
        "schema_version": 1,
        "ranch": season.ranch,
        "season": in_force.season,
        "plan_id": in_force.plan_id,
        "plan_event": in_force.event,
        "at_utc": season.at.isoformat(),
        "zone": desk.zone_name,
        "groups": [
            {
                "name": group.name,
                "protocol": group.chosen,
                "steps": [_step_json(line, desk) for line in follow_held(desk, group).steps],
            }
            for group in in_force.plan.groups
        ],
    }


def _step_json(line: GroupStep, desk: Desk) -> dict[str, Any]:
    return {
        "id": line.step.id,
        "visit": line.step.visit,
        "do": line.step.do,
        "planned_utc": line.step.at_utc.isoformat(),
        "females": [
            {
                "tag": desk.season.females[f.female].tag,
                "female": f.female,
                "phase": f.phase.value,
                "at_utc": f.at.isoformat(),
                "window_utc": [moment.isoformat() for moment in f.window],
                "done_utc": f.done.at.isoformat() if f.done else None,
                "hours_off": f.hours_off,
                "why": f.why,
            }
            for f in line.females
        ],
    }
