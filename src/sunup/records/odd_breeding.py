"""What is odd in what a female's records say of heat, pregnancy and calving."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.base.problems import Severity
from sunup.records import observations as o
from sunup.records.odd import day
from sunup.records.odd_case import TAKE_BACK, days, exposures_of, n_days

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date

    from sunup.records.odd import Odd
    from sunup.records.odd_case import Case

_ONE_SIGHTING = timedelta(minutes=1)


def _pregnant(case: Case) -> Iterator[Odd]:
    found: o.PregnancyChecked | None = None
    for x in case.female.log:
        if isinstance(x, o.PregnancyChecked):
            found = x if x.result == "pregnant" else None if x.result == "not_pregnant" else found
        elif isinstance(x, o.Calved | o.Aborted):
            found = None
        elif isinstance(x, o.Inseminated) and found is not None:
            yield case.odd(
                "inseminated_pregnant",
                x,
                f"She was inseminated, and found pregnant on {day(found.on)}.",
                "Have her checked: passing the cervix can end a pregnancy. If she had lost it, "
                "record that; if the tag is wrong, put it right.",
                found,
            )
            found = None
        elif isinstance(x, o.HeatSeen) and x.sign == "standing" and found is not None:
            yield case.odd(
                "heat_when_pregnant",
                x,
                f"She stood in heat, and was found pregnant on {day(found.on)}.",
                "Check first; if unsure do not pass the cervix. Some pregnant females show heat; "
                "if she lost it, record the loss; look at the tag again.",
                found,
            )


def _calvings(case: Case) -> Iterator[Odd]:
    shortest, longest = case.limits.gestation_d
    exposures = exposures_of(case)
    calved = _calved_before(case)
    for x in case.female.of(o.Calved):
        earlier = [one for one in calved if one[0] < x.on]
        before = earlier[-1] if earlier else None
        since = None if before is None else (x.on - before[0]).days
        lost = [a for a in case.female.of(o.Aborted) if a.at <= x.at]
        if lost and (before is None or lost[-1].on > before[0]):
            days_since = days(lost[-1].at, x.at)
            if days_since < shortest:
                yield case.odd(
                    "calved_after_abortion",
                    x,
                    f"She calved {n_days(days_since)} after an abortion of hers on "
                    f"{day(lost[-1].on)}.",
                    "One of the two is not hers, or did not happen: look at tag and dates, and "
                    "take that one back (sunup record undo NUMBER).",
                    lost[-1],
                )
        mine = [
            e
            for e in exposures
            if e[0] <= x.at
            and (before is None or e[1] is None or o.local_day(e[1], x.zone) > before[0])
        ]
        fits = any(
            days(start, x.at) >= shortest and (end is None or days(end, x.at) <= longest)
            for start, end, _ in mine
        )
        is_recorded = before is not None and isinstance(before[1], o.Calved)
        # of a calving on her list alone a service that does not fit tells more
        if (
            before is not None
            and since is not None
            and since < shortest
            and (is_recorded or not mine or fits)
        ):
            yield case.odd(
                "calved_twice",
                x,
                f"She calved, {n_days(since)} after calving on {day(before[0])}.",
                f"If it is one calving entered twice, {TAKE_BACK}; twins are one calving. If the "
                "tag is another's, put it right.",
                before[1],
            )
        if mine and not fits:
            start, _, words = mine[-1]
            yield case.odd(
                "calving_fits_no_service",
                x,
                f"She calved {n_days(days(start, x.at))} after she was {words}, and nothing else "
                f"that is recorded fits ({shortest:.0f} to {longest:.0f} days).",
                "Check both dates and the tag. If it was an early loss record it as such; if she "
                "was with a bull, record when.",
            )
        yield from _calved_open(case, x, before)
        if not mine:
            yield from _calved_unserved(case, x, before)


def _calved_before(case: Case) -> list[tuple[date, o.Observation]]:
    """Days she calved with what said so, the list's calving among them; in order."""
    told: list[tuple[date, o.Observation]] = [(x.on, x) for x in case.female.of(o.Calved)]
    added = case.female.added
    if added is not None and added.calved_on is not None:
        told.append((added.calved_on, added))
    return sorted(told, key=lambda one: one[0])


def _calved_open(
    case: Case, x: o.Calved, before: tuple[date, o.Observation] | None
) -> Iterator[Odd]:
    """A calving too soon after she was found open to have been conceived since."""
    found = [
        c
        for c in case.female.of(o.PregnancyChecked)
        if c.result != "unsure" and c.at <= x.at and (before is None or c.on > before[0])
    ]
    last = found[-1] if found else None
    if last is None or last.result != "not_pregnant":
        return
    since = days(last.at, x.at)
    if since < case.limits.gestation_d[0]:
        yield case.odd(
            "calved_found_open",
            x,
            f"She calved {n_days(since)} after she was found open on {day(last.on)}.",
            "Read the tag again. If the calf is hers the finding was wrong, or another's: take it "
            "back (sunup record undo NUMBER).",
            last,
        )


def _calved_unserved(
    case: Case, x: o.Calved, before: tuple[date, o.Observation] | None
) -> Iterator[Odd]:
    """A calving of a heifer that is on file as never served."""
    added = case.female.added
    if before is not None or added is None or added.class_ != "heifer" or added.at > x.at:
        return  # a cow may have been in calf when she came on file
    if any(c.result == "pregnant" and c.at <= x.at for c in case.female.of(o.PregnancyChecked)):
        return
    yield case.odd(
        "calved_unserved",
        x,
        "She came on file as a heifer and calved, and no insemination or bull of hers is on file.",
        "Read the tag again. If it is hers, record when she was with a bull: who is due and whose "
        "calf it is hang on it.",
        severity=Severity.NOTICE,
    )


def _both_ways(case: Case) -> Iterator[Odd]:
    before: o.PregnancyChecked | None = None
    for x in case.female.of(o.PregnancyChecked):
        if x.result == "unsure":
            continue
        if before is not None and before.on == x.on and before.result != x.result:
            yield case.odd(
                "found_both_ways",
                x,
                "She was found pregnant and open on one day; the later word is taken.",
                "Ask who checked, and take the wrong one back (sunup record undo NUMBER).",
                before,
            )
        before = x


def _heat_twice(case: Case) -> Iterator[Odd]:
    last: dict[str, o.HeatSeen] = {}
    for x in case.female.of(o.HeatSeen):
        first = last.get(x.sign)
        if first is not None and x.at - first.at < _ONE_SIGHTING:
            yield case.odd(
                "heat_twice",
                x,
                f"Heat ({x.sign}) is recorded twice for the same minute.",
                f"If two people saw her, leave both; if it is one entered twice, {TAKE_BACK}.",
                first,
                severity=Severity.NOTICE,
            )
        last[x.sign] = x


BREEDING_RULES: tuple[Callable[[Case], Iterator[Odd]], ...] = (
    _pregnant,
    _calvings,
    _both_ways,
    _heat_twice,
)
