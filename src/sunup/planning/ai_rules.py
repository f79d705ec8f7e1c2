"""The rules on an insemination: her heat, her sire, the straw, a bull, an insert still in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.base.hours import hours_between, to_local
from sunup.planning.exposure import is_found_pregnant
from sunup.planning.warnings import Flag, Her, Intent, Weight, say_day, say_when
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from sunup.planning.warnings import Rule, WarningFigures
    from sunup.records.female import Female


def _insert_still_in(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != Do.AI or her.insert_since is None or her.insert_since > act.at:
        return None
    # an insert holds back heat and ovulation while it is in (label texts held)
    return Flag(
        "insert_still_in",
        Weight.WARN,
        f"an insert went in {say_when(her.insert_since, act.zone)} and none is recorded out",
        "Feel for its tail. If it is in, take it out now and count her as not bred: with it in she "
        "does not ovulate. If it was taken out or lost, record that with its time.",
    )


def _low_fertility_heat(her: Her, act: Intent, q: WarningFigures) -> Flag | None:
    ended = her.progestin_ended
    if act.do != Do.AI or act.timed or ended is None or her.progestin_days < q.long_days.number:
        return None
    since = hours_between(ended, act.at) / 24
    if not 0 <= since <= q.pass_days.number:
        return None
    return Flag(
        "first_heat_after_progestin",
        Weight.WARN,
        f"the heat {since:.0f} days after {her.progestin_days:.0f} days of progestin is of low "
        "fertility: it is passed over",
        "Expect less, and watch for her return. She may be pregnant now: no PGF to her before the "
        "veterinarian has said so.",
        (*q.long_days.source, *q.pass_days.source),
    )


def _heat_over(_: Her, act: Intent, __: WarningFigures) -> Flag | None:
    """Speak where a fixed time comes too late for the heat she had, as the list says."""
    if act.do != Do.AI or act.heat_over is None:
        return None
    hours = hours_between(act.heat_over, act.at)
    return Flag(
        "heat_over",
        Weight.WARN,
        f"seen in heat {say_when(act.heat_over, act.zone)}, {hours:.0f} h before: too late for it",
        "Expect little of this straw and watch for her next heat. If she was left out as Today "
        "says, take this back (sunup record undo).",
        size=hours,
    )


def is_her_sire(facts: Female, name: str) -> bool:
    """Whether a bull of this name or code is the female's own sire, as her facts name him."""
    return facts.sire is not None and facts.sire.strip().casefold() == name.strip().casefold()


def _own_father(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != Do.AI or act.sire is None or not is_her_sire(her.facts, act.sire):
        return None
    return Flag(
        "own_father",
        Weight.WARN,
        f"{act.sire} is her own sire",
        "Note it: her calf would be inbred; keep it out of the replacements.",
    )


def _straw(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != Do.AI or act.sire is None or act.straws is None or act.straws >= 1:
        return None
    others = [code for code in her.assigned if code != act.sire]
    other = f"; her alternates: {', '.join(others)}" if others else ""
    return Flag(
        "no_straw",
        Weight.WARN,
        f"no straw of {act.sire} in stock{other}",
        "Read the straw again. If the code is right, count the tank (sunup stock count).",
    )


def _other_sire(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != Do.AI or act.sire is None or not her.assigned or act.sire in her.assigned:
        return None
    return Flag(
        "other_sire",
        Weight.WARN,
        f"{her.assigned[0]} was chosen for her, not {act.sire}",
        "Read the straw again; if it was this one, nothing more is to be done.",
    )


def _found_pregnant(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != Do.AI or not is_found_pregnant(her.facts):
        return None
    return Flag(
        "found_pregnant",
        Weight.REFUSE,
        "she was found pregnant",
        "A pregnant female may show heat. Have her checked; count her by the scan, not by this AI.",
        ("memory",),
    )


def _with_bull(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != Do.AI:
        return None
    there = [
        span.from_at
        for span in her.with_bulls
        if span.from_at <= act.at and (span.until_at is None or span.until_at > act.at)
    ]
    if not there:
        return None
    return Flag(
        "with_bull",
        Weight.WARN,
        f"with a bull since {say_day(to_local(min(there), act.zone).date())}",
        "The calf may be the bull's: tell them apart at the scan, or by DNA.",
    )


AI_RULES: tuple[Rule, ...] = (
    _insert_still_in,
    _low_fertility_heat,
    _heat_over,
    _own_father,
    _straw,
    _other_sire,
    _found_pregnant,
    _with_bull,
)
