"""Use-case: what another way would have brought to the same females, through the simulator."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from sunup.app.forecast_asked import PastSeason
from sunup.app.forecast_group import (
    chosen_protocol,
    forecast_chosen,
    forecast_other,
    forecast_protocol,
    make_bench,
    treated,
)
from sunup.app.forecast_second import find_protocol
from sunup.app.forecast_timing import planned_timing
from sunup.base.problems import Problem, Severity
from sunup.forecast.slips import OrdersError
from sunup.planning.female_reading import read_female
from sunup.planning.heats import HeatFigures
from sunup.planning.review import Changed
from sunup.planning.season import make_plan
from sunup.planning.setting import base_name
from sunup.protocols.protocol import Do, Standing, Style

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from sunup.app.forecast_asked import Asked
    from sunup.app.forecast_group import Bench
    from sunup.app.review import Reviewed
    from sunup.forecast.run import Run
    from sunup.planning.plan import GroupPlan
    from sunup.protocols.protocol import Protocol
    from sunup.records.female import Female

LATER_DAYS = (14, 21)  # how much later the first insemination might be
MOST_PROTOCOLS = 3  # others tried a group, in the order in which they fit


@dataclass(frozen=True, slots=True)
class _Told:
    """The group as it was, with its run."""

    bench: Bench
    group: GroupPlan
    females: Sequence[Female]
    run: Run
    tell: Callable[[str, float], None] | None


def foresee_next(
    reviewed: Reviewed,
    *,
    asked: Asked,
    tell: Callable[[str, float], None] | None = None,
) -> Reviewed:
    """Add to a review what another ready-date, protocol or watch would have brought.

    The same females as they stood before the season, the same luck, and the herd's own level moved
    by what the season brought.

    Parameters
    ----------
    reviewed : Reviewed
    asked : Asked
        Seed and replicates; past results of the season itself are added.
    tell : callable, optional
        Called with what is run and the share done.

    Returns
    -------
    Reviewed
        Groups that cannot be forecast are left out, with a problem that says why.
    """
    record, review = reviewed.record, reviewed.review
    plan = record.plan
    bench = make_bench(plan, reviewed.library, asked=asked)
    past = {
        base_name(told.group, bench.request): (
            PastSeason(
                protocol=told.protocol,
                pregnant=told.conception.count,
                inseminated=told.conception.of,
            ),
        )
        for told in review.counts
        if told.protocol and told.conception.of and told.group in {g.name for g in plan.groups}
    }
    bench = replace(bench, asked=replace(asked, past=asked.past or past))
    females = list(females_then(reviewed))
    found: list[Changed] = []
    problems: list[Problem] = []
    for group in plan.groups:
        here = treated(females, group)
        shown = {c.group for c in review.counts}
        if group.chosen is None or group.name not in shown or not here:
            continue
        try:
            found += _change_group(bench, group, here, females, tell)
        except OrdersError as error:
            problems.append(
                Problem(
                    group.name,
                    f"Nothing is simulated: {str(error).rstrip('.')}.",
                    "The rest of the review stands.",
                    Severity.NOTICE,
                )
            )
    words = (
        "The same females as they stood before the season, with the same luck, and this herd's "
        "level moved part of the way to what it got. Simulated, so only as good as the simulator; "
        "costs and work are not in it."
    )
    told = replace(
        review,
        next_season=tuple(found),
        next_words=words if found else "",
        problems=(*review.problems, *problems),
    )
    return replace(reviewed, review=told)


def females_then(reviewed: Reviewed) -> Iterator[Female]:
    """The females of the season as a herd list would have known them before it."""
    record = reviewed.record
    figures = HeatFigures.of(reviewed.library)
    base = {tag: g.name.rpartition(", start ")[0] or g.name for g in record.plan.groups
            for tag in g.order}  # fmt: skip
    starts = [s.window_utc[0] for g in record.plan.groups for s in g.schedule if not s.cancelled]
    before = min(starts, default=record.at)
    group_of = {line.tag: line.group for line in record.plan.females}
    for female, notes in record.females.items():
        known = [n for n in notes if n.at <= before] or list(notes[:1])
        told = read_female(female, known, group="", zone=record.zone, figures=figures)
        tag = next((t for t in (told.tag, *told.tags) if t in group_of), None)
        if tag is not None:
            group = base.get(tag) or group_of[tag].rpartition(", start ")[0] or group_of[tag]
            # bred after the list was made: what she was exposed to before it is past
            yield replace(told.facts, tag=tag, group=group)


def _change_group(
    bench: Bench,
    group: GroupPlan,
    females: Sequence[Female],
    herd: Sequence[Female],
    tell: Callable[[str, float], None] | None,
) -> list[Changed]:
    chosen = chosen_protocol(bench, group)
    if not any(step.do in {Do.AI, Do.WATCH} for step in chosen.steps):
        return []
    _, now = forecast_chosen(bench, group, females, tell=tell)
    told = _Told(bench, group, females, now, tell)
    return [*_protocols(told), *_watching(told, chosen), *_later(told, herd)]


def _protocols(told: _Told) -> Iterator[Changed]:
    tried = 0
    for fit in told.group.fits:
        own = fit.protocol == told.group.chosen or fit.style == Style.NATURAL_SERVICE.value
        if own or fit.standing != Standing.RECOMMENDED.value or tried == MOST_PROTOCOLS:
            continue
        try:
            _, run = forecast_other(
                told.bench, told.group, told.females, key=fit.protocol, chosen=told.run,
                tell=_named(told.tell, f"{told.group.name}, {fit.protocol}"),
            )  # fmt: skip
        except OrdersError:
            continue
        tried += 1
        name = find_protocol(told.bench, fit.protocol, "--protocol").name
        yield _changed(told, "protocol", f"protocol {name}", run)


def _watching(told: _Told, chosen: Protocol) -> Iterator[Changed]:
    """One watch a day more, and patches read at each."""
    if not any(step.do is Do.WATCH for step in chosen.steps):
        return
    usual = told.bench.figures.watch_times_per_day
    times = max(s.times_per_day or usual for s in chosen.steps if s.do is Do.WATCH)
    changes: tuple[tuple[str, dict[str, object]], ...] = (
        (f"watched {times + 1} times a day instead of {times}", {"times_per_day": times + 1}),
        ("heat patches read at each watch", {"aid": "patch"}),
    )
    for words, change in changes:
        steps = tuple(
            replace(step, **change) if step.do is Do.WATCH else step  # type: ignore[arg-type]
            for step in chosen.steps
        )
        if steps == chosen.steps:
            continue
        protocol = replace(chosen, steps=steps)
        timing, zero_on, first_on = planned_timing(
            told.group, protocol, zone_name=told.bench.plan.zone
        )
        _, run = forecast_protocol(
            told.bench, told.group, told.females, protocol=protocol, zero_on=zero_on,
            first_service_on=first_on, timing=timing, level=told.run.level,
            tell=_named(told.tell, f"{told.group.name}, {words}"),
        )  # fmt: skip
        yield _changed(told, "watching", words, run)


def _later(told: _Told, herd: Sequence[Female]) -> Iterator[Changed]:
    """The first insemination later, so that more are ready: the group planned anew."""
    request = told.bench.request
    if request.first_ai_on is None:
        return
    base = base_name(told.group.name, request)
    for days in LATER_DAYS:
        numbers = itertools.count(1)
        plan = make_plan(
            herd,
            replace(request, first_ai_on=request.first_ai_on + timedelta(days=days)),
            library=told.bench.library,
            holidays={},
            made_at_utc=told.bench.plan.made_at_utc,
            new_uid=lambda numbers=numbers: f"later-{next(numbers)}",  # type: ignore[misc]
            program_version=told.bench.plan.program_version,
        )
        for group in plan.groups:
            here = treated(herd, group)
            is_same = base_name(group.name, request) == base
            if not is_same or group.chosen is None or len(here) <= len(told.females):
                continue
            _, run = forecast_chosen(
                replace(told.bench, plan=plan), group, here,
                tell=_named(told.tell, f"{told.group.name}, {days} days later"),
            )  # fmt: skip
            more = len(here) - len(told.females)
            words = f"first insemination {days} days later: {more} more females ready"
            note = "Calves come that much later; set it against the calves gained."
            yield _changed(told, "ready date", words, run, note=note)
            break


def _changed(told: _Told, key: str, words: str, run: Run, *, note: str = "") -> Changed:
    then = run.tally.pregnant.astype(float)
    now = told.run.tally.pregnant.astype(float)
    more = then - now
    low, middle, high = (float(x) for x in np.quantile(more, (0.1, 0.5, 0.9)))
    return Changed(
        group=told.group.name,
        key=key,
        words=words,
        n=len(run.facts),
        n_now=len(told.run.facts),
        now=float(np.median(now)),
        then=float(np.median(then)),
        more_low80=low,
        more_median=middle,
        more_high80=high,
        beats=50.0 * float(((more > 0) + 0.5 * (more == 0)).mean()),
        note=note,
    )


def _named(
    tell: Callable[[str, float], None] | None, name: str
) -> Callable[[str, float], None] | None:
    return None if tell is None else lambda _group, share: tell(name, share)
