"""What is odd in one female's records."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.base.problems import Severity
from sunup.records import observations as o
from sunup.records.odd import Odd, OddLimits, day, name_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from sunup.records.bull_times import WithBulls
    from sunup.records.state import FemaleRecord

_DAY_S = 86_400.0
_TAKE_BACK = "take one back (sunup record undo)"
# what may be told of a female that is gone
_AFTER_LEAVING = (o.Added, o.Identified, o.TagChanged, o.Weaned, o.LeftHerd, o.HoldLifted)


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A female with what her records are judged by; `at` is the instant looked from."""

    female: FemaleRecord
    with_bulls: tuple[WithBulls, ...]
    limits: OddLimits
    at: datetime

    def odd(
        self,
        rule: str,
        x: o.Observation,
        what: str,
        fix: str,
        *more: o.Observation,
        severity: Severity = Severity.WARNING,
    ) -> Odd:
        """Something odd about what was recorded at `x`."""
        return Odd(
            rule=rule,
            where=f"{name_of(self.female)}, {day(x.on)}",
            what=what,
            fix=fix,
            at=x.at,
            female=self.female.id,
            events=(x.event, *(m.event for m in more)),
            severity=severity,
        )


def days(earlier: datetime, later: datetime) -> float:
    """Elapsed days."""
    return (later - earlier).total_seconds() / _DAY_S


def check_female(case: Case) -> Iterator[Odd]:
    """Yield everything odd of one female."""
    for rule in _RULES:
        yield from rule(case)


def _inserts(case: Case) -> Iterator[Odd]:
    inside: o.InsertPlaced | None = None
    longest = case.limits.insert_longest_d
    for x in case.female.log:
        if isinstance(x, o.InsertPlaced):
            if inside is not None:
                yield case.odd(
                    "insert_twice",
                    x,
                    f"An insert went in, and one of {day(inside.on)} was not recorded out.",
                    "Record when the first came out or was lost; if it is the same one entered "
                    f"twice, {_TAKE_BACK}. If not, feel for two tails.",
                    inside,
                )
            inside = x
        elif isinstance(x, o.InsertRemoved):
            if inside is None and x.found:
                yield case.odd(
                    "insert_never_in",
                    x,
                    "An insert came out that was never recorded in.",
                    "Was it another female's tag? Put the tag right, or record when it went in.",
                )
            elif inside is not None and days(inside.at, x.at) > longest:
                yield case.odd(
                    "insert_too_long",
                    x,
                    f"The insert was in for {days(inside.at, x.at):.0f} days.",
                    "Check both dates. If they are right she had a long progestin: her first heat "
                    "is less fertile; ask the veterinarian how to go on.",
                    inside,
                )
            inside = None
        elif isinstance(x, o.Inseminated) and inside is not None:
            yield case.odd(
                "inseminated_with_insert",
                x,
                f"She was inseminated with the insert of {day(inside.on)} still in.",
                "Record when it came out; if it is still in, take it out and tell the "
                "veterinarian.",
                inside,
            )
        elif isinstance(x, o.LeftHerd) and inside is not None:
            yield case.odd(
                "left_with_insert",
                x,
                f"She left with the insert of {day(inside.on)} not recorded out.",
                "Record when it came out. If it was in her, tell whoever has her: it is a drug, "
                "and its withdrawal runs.",
                inside,
            )
            inside = None
    if inside is not None and days(inside.at, case.at) > longest:
        yield case.odd(
            "insert_still_in",
            inside,
            f"The insert put in that day is not recorded out, {days(inside.at, case.at):.0f} days "
            "on.",
            "Look whether it is in her. Take it out, or record when it came out or was lost.",
        )


def _exposures(case: Case) -> list[tuple[datetime, datetime | None, str]]:
    """Times she was exposed: from, until (None: still), how it is said."""
    found = [(s.at, s.at, f"inseminated on {day(s.on)}") for s in case.female.of(o.Inseminated)]
    zone = case.female.log[-1].zone if case.female.log else ""
    found_bulls = [
        (w.from_at, w.until_at, f"with a bull from {day(o.local_day(w.from_at, zone))}")
        for w in case.with_bulls
    ]
    return sorted([*found, *found_bulls], key=lambda e: e[0])


def _pgf(case: Case) -> Iterator[Odd]:
    exposures = _exposures(case)
    if not exposures:
        return
    cleared: datetime | None = None  # she carried nothing at that time
    for x in case.female.log:
        if isinstance(x, o.Calved | o.Aborted) or (
            isinstance(x, o.PregnancyChecked) and x.result == "not_pregnant"
        ):
            cleared = x.at
        elif isinstance(x, o.Treated) and x.act == "pgf":
            for start, end, words in exposures:
                if start >= x.at:
                    break
                if cleared is not None and end is not None and end <= cleared:
                    continue
                since = start if cleared is None else max(start, cleared)
                if days(since, x.at) >= case.limits.exposed_before_pgf_d:
                    yield case.odd(
                        "pgf_when_exposed",
                        x,
                        f"PGF was given, and she was {words}, {days(start, x.at):.0f} days before, "
                        "with no finding that she was open: PGF ends a pregnancy.",
                        "Tell the veterinarian. Count her as not bred, watch her for heat and "
                        "have her checked. If the tag or a date is wrong, put it right.",
                    )
                    break


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
    exposures = _exposures(case)
    before: o.Calved | None = None
    for x in case.female.of(o.Calved):
        if before is not None and days(before.at, x.at) < shortest:
            yield case.odd(
                "calved_twice",
                x,
                f"She calved, {days(before.at, x.at):.0f} days after calving on {day(before.on)}.",
                f"If it is one calving entered twice, {_TAKE_BACK}; twins are one calving. If the "
                "tag is another's, put it right.",
                before,
            )
        mine = [
            e
            for e in exposures
            if e[0] <= x.at and (before is None or e[1] is None or e[1] > before.at)
        ]
        fits = any(
            days(start, x.at) >= shortest and (end is None or days(end, x.at) <= longest)
            for start, end, _ in mine
        )
        if mine and not fits:
            start, _, words = mine[-1]
            yield case.odd(
                "calving_fits_no_service",
                x,
                f"She calved {days(start, x.at):.0f} days after she was {words}, and nothing else "
                f"that is recorded fits ({shortest:.0f} to {longest:.0f} days).",
                "Check both dates and the tag. If it was an early loss record it as such; if she "
                "was with a bull, record when.",
            )
        before = x


def _twice(case: Case) -> Iterator[Odd]:
    last: dict[tuple[str, str], o.Observation] = {}
    within = timedelta(hours=case.limits.twice_h)
    for x in case.female.log:
        if isinstance(x, o.Treated):
            if x.act == "other" and not x.active:
                continue
            key, words = ("given", f"{x.act}/{x.active or ''}"), x.active or x.act
            words = f"{words.replace('_', ' ')} was given"
        elif isinstance(x, o.Inseminated):
            key, words = ("inseminated", ""), "She was inseminated"
        else:
            continue
        first = last.get(key)
        if first is not None and x.at - first.at <= within:
            yield case.odd(
                "twice",
                x,
                f"{words[0].upper()}{words[1:]} twice within "
                f"{(x.at - first.at).total_seconds() / 3600:.1f} hours.",
                f"If it is one entered twice, {_TAKE_BACK}. If she truly got it twice, leave both "
                "and ask the veterinarian about the withdrawal.",
                first,
            )
        last[key] = x


def _straws(case: Case) -> Iterator[Odd]:
    for x in case.female.of(o.Inseminated):
        if x.straws > 1:
            yield case.odd(
                "several_straws",
                x,
                f"{x.straws} straws were used in one insemination.",
                "If one was dropped or spoiled, record it as stock lost; else nothing to do.",
                severity=Severity.NOTICE,
            )


def _after_leaving(case: Case) -> Iterator[Odd]:
    gone: o.LeftHerd | None = None
    after: list[o.Observation] = []
    for x in (*case.female.log, None):
        if x is None or isinstance(x, o.Moved):
            if gone is not None and after:
                n = len(after)
                yield case.odd(
                    "after_leaving",
                    after[0],
                    f"{n} thing{'s were' if n > 1 else ' was'} recorded of her after she left the "
                    f"herd ({gone.why}) on {day(gone.on)}.",
                    "Read the tag again. If it is she, take back the record that she left.",
                    gone,
                    *after[1:],
                )
            gone, after = None, []
        elif isinstance(x, o.LeftHerd):
            gone = gone or x
        elif gone is not None and not isinstance(x, _AFTER_LEAVING):
            after.append(x)


def _expired(case: Case) -> Iterator[Odd]:
    for x in case.female.log:
        if isinstance(x, o.Treated | o.InsertPlaced) and x.expires_on and x.expires_on < x.on:
            what = "An insert" if isinstance(x, o.InsertPlaced) else (x.active or x.act)
            yield case.odd(
                "expired",
                x,
                f"{what.replace('_', ' ')} was used after its expiry, {day(x.expires_on)}.",
                "Check the date on the pack. If it is right, set the pack aside and ask the "
                "veterinarian whether the dose counts.",
            )


_RULES: tuple[Callable[[Case], Iterator[Odd]], ...] = (
    _inserts,
    _pgf,
    _pregnant,
    _calvings,
    _twice,
    _straws,
    _after_leaving,
    _expired,
)
