"""What is odd in one female's records."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from sunup.base.problems import Severity
from sunup.records import observations as o
from sunup.records.odd import day
from sunup.records.odd_breeding import BREEDING_RULES
from sunup.records.odd_case import TAKE_BACK, days, exposures_of
from sunup.records.odd_values import VALUE_RULES

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from sunup.records.odd import Odd
    from sunup.records.odd_case import Case

# what may be told of a female that is gone
_AFTER_LEAVING = (o.Added, o.Identified, o.TagChanged, o.Weaned, o.LeftHerd, o.HoldLifted)


def check_female(case: Case) -> Iterator[Odd]:
    """Yield everything odd of one female."""
    for rule in (*_RULES, *VALUE_RULES, *BREEDING_RULES):
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
                    f"twice, {TAKE_BACK}. If not, feel for two tails.",
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


def _pgf(case: Case) -> Iterator[Odd]:
    exposures = exposures_of(case)
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
                f"If it is one entered twice, {TAKE_BACK}. If she truly got it twice, leave both "
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
    _twice,
    _straws,
    _after_leaving,
    _expired,
)
