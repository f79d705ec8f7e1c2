"""What is odd of an entry, said as it is made: the same rules as sunup check, of those females."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.base.problems import some
from sunup.planning.ai_rules import is_her_sire
from sunup.planning.odd_limits import odd_limits
from sunup.planning.warnings import Flag, Weight
from sunup.records.event import Kind
from sunup.records.fold import fold
from sunup.records.identity import find_same
from sunup.records.odd_bulls import bulls_twice
from sunup.records.odd_case import Case
from sunup.records.odd_female import check_female

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sunup.app.desk import Desk
    from sunup.app.record import Line
    from sunup.records.event import Event
    from sunup.records.odd import Odd

# acts that have rules of their own at entry are left to those (planning.warning_rules)
_SAID = frozenset(
    {
        "calved_twice",
        "calving_fits_no_service",
        "calved_after_abortion",
        "calved_found_open",
        "calved_unserved",
        "found_both_ways",
        "heat_twice",
        "heat_when_pregnant",
        "weight_not_believed",
        "before_birth",
    }
)
_KINDS = frozenset(
    {
        Kind.CALVED,
        Kind.ABORTED,
        Kind.PREGNANCY_CHECKED,
        Kind.HEAT_SEEN,
        Kind.WEIGHED,
        Kind.WEANED,
    }
)


def odd_of(desk: Desk, events: Iterable[Event]) -> dict[str, tuple[Flag, ...]]:
    """Return what is odd of events just made, by the female's id; nothing is refused for it.

    Parameters
    ----------
    desk : Desk
        With or without the events on file.
    events : iterable of Event
        As they stand.
    """
    told = [e for e in events if e.kind in _KINDS and e.female is not None]
    if not told:
        return {}
    same = find_same(desk.standing)
    hers = {same.get(str(e.female), str(e.female)) for e in told}
    ids = {e.id for e in told}
    around = [
        e
        for e in desk.standing
        if e.id not in ids
        and (same.get(e.female, e.female) in hers if e.female is not None else e.group is not None)
    ]
    state = fold([*around, *told])
    limits = odd_limits(desk.library)
    found: dict[str, tuple[Flag, ...]] = {}
    for one in (*state.females.values(), *state.unplaced.values()):
        case = Case(female=one, with_bulls=state.with_bulls(one), limits=limits, at=desk.latest)
        flags = [
            flag_of(odd)
            for odd in check_female(case)
            if odd.rule in _SAID and ids & set(odd.events)
        ]
        if flags:
            found.update(dict.fromkeys(one.ids, tuple(flags)))
    return found


def with_odd(desk: Desk, lines: Sequence[Line], words: str) -> tuple[Line, ...]:
    """The lines of an entry with what is odd of each added to what speaks against it."""
    found = odd_of(desk, [event for line in lines for event in line.events])
    return tuple(
        replace(line, flags=(*line.flags, *((words, flag) for flag in found[line.female])))
        if line.female in found
        else line
        for line in lines
    )


def odd_bulls(desk: Desk, event: Event) -> tuple[Flag, ...]:
    """What is odd of bulls turned in: who is in already, and whose daughters are in the group."""
    kinds = {Kind.BULLS_IN, Kind.BULLS_OUT}
    turned = [e for e in desk.standing if e.kind in kinds and e.group and e.id != event.id]
    state = fold([*turned, event])
    found = bulls_twice(state, odd_limits(desk.library))
    twice = tuple(flag_of(odd) for odd in found if event.id in odd.events)
    return twice + _own_daughters(desk, event)


def _own_daughters(desk: Desk, event: Event) -> tuple[Flag, ...]:
    there = [f for f in desk.season.females.values() if f.is_here and f.group == event.group]
    flags = []
    for bull in event.body["bulls"]:
        tags = sorted(f.tag for f in there if is_her_sire(f.facts, bull))
        if tags:
            text = f"{bull} is the own sire of {some(tags)} in {event.group}"
            now = (
                "Put him with another group, or move them; where he stays, keep their calves out "
                "of the replacements."
            )
            flags.append(Flag("own_father", Weight.WARN, text, now))
    return tuple(flags)


def flag_of(odd: Odd) -> Flag:
    """What is odd as it is said at entry."""
    text = odd.what[:1].lower() + odd.what[1:].removesuffix(".")
    return Flag(odd.rule, Weight.WARN, text, odd.fix)
