"""What stands in the way of a forecast or of reading it right, in words for the user."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from sunup.app.forecast_group import chosen_protocol
from sunup.app.forecast_timing import planned_timing
from sunup.base.problems import Problem, Severity
from sunup.forecast.forecast import FEW
from sunup.planning.choice import without_barred
from sunup.planning.labels import find_refusal
from sunup.planning.readiness import RULE_WORDS, months_after
from sunup.planning.setting import base_name
from sunup.protocols.protocol import Standing
from sunup.records.female import FemaleClass

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sunup.app.forecast_group import Bench
    from sunup.forecast.forecast import Forecast
    from sunup.forecast.run import Run
    from sunup.library import Library
    from sunup.planning.plan import GroupPlan, Plan
    from sunup.protocols.protocol import Protocol
    from sunup.records.female import Female

_CARRIED = frozenset({"capacity", "outside_hours"})


def no_forecast(group: GroupPlan, why: str | None = None, *, asked: str | None = None) -> Problem:
    """Say that a group has no forecast, and why.

    Parameters
    ----------
    group : GroupPlan
    why : str, optional
        Why what is chosen cannot be simulated; where absent, nothing is laid out for the group or
        nobody in it is ready.
    asked : str, optional
        Key of the protocol asked for it.
    """
    what, fix = why, "Choose another protocol that fits."
    if what is None and group.ready == 0:
        reasons = ", ".join(f"{RULE_WORDS[rule]} {n}" for rule, n in group.by_reason)
        what = f"of {_count(group.n)} none is ready on the day wanted" + _in_brackets(reasons)
        fix = "Take a later day, or mend what the list says of them: sunup plan shows each."
    elif what is None:
        what, fix = _why_none_laid_out(group, asked)
    return Problem(group.name, f"No forecast: {what}.", fix, Severity.WARNING)


def _why_none_laid_out(group: GroupPlan, asked: str | None) -> tuple[str, str]:
    """Why no protocol is laid out for females that are ready, and what to do."""
    refused = {r.protocol: r for r in group.rejected if r.refused}
    if asked in refused:
        return f"{refused[asked].name}, asked for, is refused", "Choose another protocol."
    if asked is None and not any(f.standing == Standing.RECOMMENDED.value for f in group.fits):
        counts = Counter(r.reason.rstrip(".") for r in group.rejected)
        reasons = "; ".join(f"{reason}: {n}" for reason, n in counts.most_common())
        verb = "is" if group.ready == 1 else "are"
        return (
            f"no recommended protocol fits the {_count(group.ready)} that {verb} ready"
            + _in_brackets(reasons),
            "Name one with --protocol, or take another day.",
        )
    return (
        "no clock times can be laid out",
        "See the problems of the plan; move the day or the working hours.",
    )


def _in_brackets(reasons: str) -> str:
    return f" ({reasons})" if reasons else ""


def not_run_beside(group: str, key: str, why: str) -> Problem:
    """Say that one of the protocols to run beside what is chosen could not be."""
    return Problem(
        group,
        f"--against {key} was not run: {why.rstrip('.')}.",
        "Leave it out or name another: sunup protocol list --all.",
    )


def objection(bench: Bench, group: GroupPlan, key: str) -> str | None:
    """Why a plan would not lay out a protocol for a group; None where it might."""
    first = key.partition("+")[0]
    for rejected in group.rejected:
        if rejected.protocol == first:
            word = "refused" if rejected.refused else "does not fit"
            return f"{word} for {group.name}: {rejected.reason.rstrip('.')}"
    protocol = bench.library.protocols.get(first)
    if protocol is None:
        return None
    classes = {line.class_ for line in bench.plan.females if line.group == group.name}
    return refused_in(bench.request.region, protocol, classes, library=bench.library)


def refused_in(
    region: str, protocol: Protocol, classes: Iterable[str], *, library: Library
) -> str | None:
    """Why a region's rules refuse a protocol for females of some classes; None where they do not.

    Parameters
    ----------
    region : str
        One the library holds.
    protocol : Protocol
    classes : iterable of str
    library : Library
    """
    pack = library.regions[region]
    kept = without_barred(protocol, pack)
    refusal = find_refusal(kept, pack=pack, classes=tuple(sorted(classes)), chosen={})
    return None if refusal is None else f"refused in region {region}: {refusal}"


def clash_problems(plan: Plan) -> tuple[Problem, ...]:
    """The plan's clashes of the chute and the working day, which the forecast does not feel."""
    carried = [clash for clash in plan.clashes if clash.kind in _CARRIED]
    found = tuple(
        Problem(clash.group, f"{clash.text.rstrip('.')}.", clash.fix, Severity.WARNING)
        for clash in carried
    )
    groups = tuple(dict.fromkeys(clash.group for clash in carried))
    return found + tuple(
        Problem(
            group,
            "The forecast treats every female at the planned hour, which the plan cannot keep.",
            "Make a plan that fits first (sunup plan --split, --chutes), or expect less.",
            Severity.WARNING,
        )
        for group in groups
    )


def season_problems(bench: Bench, forecast: Forecast, run: Run) -> tuple[Problem, ...]:
    """What of a plan falls after the end of the season."""
    orders, found = run.orders, []
    if not orders.has_season:
        return ()
    days = orders.season_days
    if forecast.after_season is not None:
        digits = 0 if forecast.n >= FEW else 1
        what = "The second AI falls" if orders.second is not None else "Inseminations fall"
        found.append(
            Problem(
                forecast.group,
                f"{what} after the last day of the season (day {days:g}): about "
                f"{forecast.after_season.mean:.{digits}f} of {forecast.n} conceive after it and "
                "are counted apart.",
                "Give more --season-days, or leave the second AI out.",
                Severity.WARNING,
            )
        )
    if orders.has_ai and orders.bulls_in_h is None and not bench.asked.no_bulls:
        after = bench.asked.bulls_after_days
        after = bench.figures.bulls_after_days if after is None else after
        last = (orders.turnout_from_h - orders.first_service_h) / 24.0
        found.append(
            Problem(
                forecast.group,
                f"No bulls go in: {after:g} days after the last insemination is day "
                f"{last + after:.0f}, and the season ends on day {days:g}.",
                "Give more --season-days or fewer --bulls-after, or say --no-bulls.",
                Severity.WARNING,
            )
        )
    return tuple(found)


def past_problems(bench: Bench, group: GroupPlan) -> tuple[Problem, ...]:
    """Past seasons of a group with a protocol for females of another class."""
    base = base_name(group.name, bench.request)
    classes = {line.class_ for line in bench.plan.females if line.group == group.name}
    found = []
    for season in bench.asked.past.get(base, ()):
        protocol = bench.library.protocols.get(season.protocol)
        if protocol is not None and not classes & set(protocol.classes):
            others = " and ".join(c.replace("_calf_", "-calf ") + "s" for c in protocol.classes)
            found.append(
                Problem(
                    group.name,
                    f"--past {base}={season.protocol}: that protocol is for {others}.",
                    "It is taken as done; name another if it was not.",
                    Severity.WARNING,
                )
            )
    return tuple(found)


def old_cows(bench: Bench, group: GroupPlan, females: Sequence[Female]) -> tuple[Problem, ...]:
    """Say how many cows are so old that fewer conceive, which the forecast does not know."""
    years = round(bench.library.number("forecast.old_cow_years"))
    laid = chosen_protocol(bench, group)
    _, _, first_on = planned_timing(group, laid, zone_name=bench.plan.zone)
    old = sum(
        f.class_ is not FemaleClass.HEIFER
        and f.born_on is not None
        and months_after(f.born_on, 12 * years) <= first_on
        for f in females
    )
    if not old:
        return ()
    return (
        Problem(
            group.name,
            f"{old} of {_count(len(females))} {'is' if old == 1 else 'are'} {years} years or older "
            "at the first insemination. Fewer of such cows conceive; the forecast takes no account "
            "of age.",
            "Expect less of them, and look at their teeth, feet and condition first.",
            Severity.WARNING,
        ),
    )


def nothing_slips(bench: Bench, forecast: Forecast, run: Run) -> tuple[Problem, ...]:
    """Say that shares late or missed change nothing where no PGF is given."""
    if not (bench.asked.share_late or bench.asked.share_missed) or run.orders.has_pgf:
        return ()
    return (
        Problem(
            forecast.group,
            f"--late and --missed change nothing in {forecast.name}: it gives no PGF.",
            "Leave them out, or name a protocol that gives one.",
            Severity.WARNING,
        ),
    )


def unknown_keys(keys: Sequence[str], known: Sequence[str]) -> tuple[str, ...]:
    """Those of some keys, KEY+KEY taken apart, that are no protocol."""
    parts = [part for key in keys for part in key.split("+")]
    return tuple(dict.fromkeys(part for part in parts if part not in known))


def _count(n: int) -> str:
    return f"{n} female{'' if n == 1 else 's'}"
