"""Laying a protocol out for a group: clock times, the bound schedule, what could not be kept."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import same_clock, to_local
from sunup.base.problems import Problem, Severity
from sunup.planning.capacity import describe_capacity, durations, find_paced_times
from sunup.planning.clock_times import Wish
from sunup.planning.fit import choose_drugs
from sunup.planning.schedule import Binding, bind_schedule
from sunup.planning.setting import Days, base_name
from sunup.planning.visits import FirstService, find_first_service, find_visits
from sunup.protocols.protocol import INJECTIONS, Do

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from sunup.library.library import Library
    from sunup.library.region import RegionPack
    from sunup.planning.dosing import Chosen
    from sunup.planning.plan import Capacity, FemaleLine, ScheduledStep
    from sunup.planning.setting import Setting
    from sunup.planning.visits import Visit
    from sunup.protocols.protocol import Protocol


@dataclass(frozen=True, slots=True)
class Laid:
    """A schedule and what it rests on."""

    steps: tuple[ScheduledStep, ...]
    capacity: tuple[Capacity, ...]
    days: Days
    drugs: Mapping[str, Chosen]
    problems: tuple[Problem, ...]


def _service(protocol: Protocol, library: Library) -> FirstService:
    found = find_first_service(
        protocol,
        first_heat_after_pgf_h=library.number("practice.first_heat_after_pgf_h"),
        morning_evening_h=library.number("practice.morning_evening_h"),
    )
    return found or FirstService(0, 0.0, 0.0)


def lay_out(
    name: str,
    protocol: Protocol,
    lines: Sequence[FemaleLine],
    days: Days,
    *,
    setting: Setting,
    busy: tuple[tuple[int, int], ...],
) -> Laid | None:
    """Choose clock times and bind the protocol to the group; None when the day cannot be had."""
    request, library = setting.request, setting.library
    visits = find_visits(protocol)
    head = sum(line.is_treated for line in lines)
    hours = durations(visits, head=head, library=library, chutes=request.chutes)
    forward = request.first_treatment_on is not None
    wish = Wish(
        service=_service(protocol, library),
        open_at=request.open_at,
        close_at=request.close_at,
        durations_h=hours,
        service_on=None if forward else days.ai_on,
        service_at=request.first_ai_at,
        zero_on=days.treatment_on if forward else None,
        busy=busy,
    )
    times, used_h, is_slowed = find_paced_times(visits, wish, clock=setting.clock)
    if times is None:
        return None
    starts = tuple(setting.clock.instant(minute) for minute in times.starts)
    drugs = choose_drugs(protocol, library=library, pack=setting.pack, asked=request.drugs)
    zone = setting.clock.zone
    binding = Binding(
        group=name,
        classes=tuple(dict.fromkeys(sorted(x.class_ for x in lines if x.is_treated))),
        head=head,
        protocol=protocol,
        visits=visits,
        starts=starts,
        durations_h=used_h,
        zone=zone,
        pack=setting.pack,
        chosen=drugs,
        prescriber=request.prescriber,
    )
    base = base_name(name, request)
    service_at = starts[wish.service.visit] + timedelta(hours=wish.service.offset_h)
    capacity = describe_capacity(
        visits,
        wish,
        group=base,
        head=head,
        starts=1 if base == name else request.splits[base],
        library=library,
        chutes=request.chutes,
        times=times,
        is_slowed=is_slowed,
        clock=setting.clock,
    )
    return Laid(
        steps=bind_schedule(binding, new_uid=setting.new_uid),
        capacity=capacity,
        days=Days(
            to_local(starts[0], zone).date(),
            to_local(service_at, zone).date(),
        ),
        drugs=drugs,
        problems=(
            *_drug_problems(name, protocol, drugs, setting.pack),
            *_gap_notices(name, visits, starts, zone),
        ),
    )


def _gap_notices(
    name: str, visits: Sequence[Visit], starts: Sequence[datetime], zone: ZoneInfo
) -> tuple[Problem, ...]:
    """Say where a step that keeps the clock of zero meets a change of clocks."""
    found: list[Problem] = []
    for visit in visits:
        if visit.anchor is None and visit.day:
            kept = same_clock(starts[0], visit.day, zone)
            if kept.notice is not None and kept.utc == starts[visit.index]:
                found.append(replace(kept.notice, where=f"{name}, {kept.notice.where}"))
    return tuple(found)


def _drug_problems(
    name: str, protocol: Protocol, drugs: Mapping[str, Chosen], pack: RegionPack
) -> tuple[Problem, ...]:
    """Say which drug steps have no strength chosen, so that no dose can be shown."""
    does = dict.fromkeys(s.do for s in protocol.steps if s.do in INJECTIONS | {Do.INSERT_IN})
    return tuple(
        Problem(
            name,
            f"No {do.value.replace('_', ' ')} is held for {pack.name}; no dose is shown.",
            f"Name one with --drug {do.value}=ACTIVE/STRENGTH, from the label in hand.",
            Severity.WARNING,
        )
        for do in does
        if do.value not in drugs
    )


def no_times(name: str, protocol: Protocol, days: Days) -> Problem:
    """Say that the day or clock time asked for cannot be had."""
    return Problem(
        name,
        f"{protocol.name} cannot put the first insemination on {days.ai_on:%a} {days.ai_on.day} "
        f"{days.ai_on:%b} at the time asked for and keep the hours between its steps.",
        "Leave the clock time open (give the day only), widen --hours, or choose another day.",
    )
