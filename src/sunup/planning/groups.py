"""From a herd to groups: classes, breeds, splits, treatment order."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from sunup.library.cattle import breed_names, indicus_share
from sunup.planning.fit import GroupContext, NotCycling
from sunup.planning.readiness import found_not_cycling
from sunup.planning.review_share import FEW

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sunup.library.library import Library
    from sunup.planning.plan import FemaleLine
    from sunup.planning.readiness import ReadinessFigures
    from sunup.records.female import Female

_DIGITS = re.compile(r"(\d+)")


def natural_key(tag: str) -> tuple[tuple[int, int, str], ...]:
    """Sort key that puts tag 9 before tag 10 and keeps letters together.

    Examples
    --------
    >>> sorted(["10", "9", "A2"], key=natural_key)
    ['9', '10', 'A2']
    """
    return tuple(
        (0, int(part), "") if part.isdecimal() else (1, 0, part.lower())
        for part in _DIGITS.split(tag)
        if part
    )


def split_herd(females: Iterable[Female]) -> dict[str, list[Female]]:
    """Females by group, groups in the order they first appear, cows before heifers if both."""
    groups: dict[str, list[Female]] = {}
    for female in females:
        groups.setdefault(female.group, []).append(female)
    return groups


def describe_group(
    name: str,
    females: Sequence[Female],
    lines: Sequence[FemaleLine],
    *,
    library: Library,
    figures: ReadinessFigures,
) -> GroupContext:
    """What fit is judged on, from the females the plan counts on (all if it counts none)."""
    treated = [line for line in lines if line.is_treated] or list(lines)
    limit = library.number("practice.indicus_influenced_share")
    names = breed_names(library)
    shares = [s for f in females if (s := indicus_share(f, names)) is not None]
    return GroupContext(
        name=name,
        classes=tuple(dict.fromkeys(sorted(line.class_ for line in treated))),
        head=sum(line.is_treated for line in lines),
        not_cycling=_not_cycling(females, {line.tag for line in treated}, figures),
        is_indicus=sum(shares) / len(shares) >= limit if shares else None,
        females=tuple(f for f in females if f.tag in {line.tag for line in treated}),
    )


def _not_cycling(
    females: Sequence[Female], tags: set[str], figures: ReadinessFigures
) -> NotCycling:
    """Class by class: what was found of first-calf cows says nothing of older ones.

    A class of which fewer than `FEW` were examined, and not all, may cycle or not.
    """
    counted = [f for f in females if f.tag in tags]
    least = most = 0.0
    told: list[str] = []
    for class_ in dict.fromkeys(f.class_ for f in counted):
        of_class = [f for f in counted if f.class_ is class_]
        found = [x for f in of_class if (x := found_not_cycling(f, figures)) is not None]
        if len(found) < min(FEW, len(of_class)):
            most += len(of_class)
            continue
        known = sum(found) / len(found) * len(of_class)
        least += known
        most += known
        told.append(f"{sum(found)} of {len(found)} {class_.value.replace('_calf_', '-calf ')}s")
    if not told:
        return NotCycling()
    return NotCycling(least / len(counted), most / len(counted), f"{' and '.join(told)} examined")


def treatment_order(lines: Iterable[FemaleLine], previous: Sequence[str] = ()) -> tuple[str, ...]:
    """Tags of the treated females in the order they go through the chute.

    The order of a former plan is kept; new females are added at the end.
    """
    tags = {line.tag for line in lines if line.is_treated}
    kept = [tag for tag in previous if tag in tags]
    new = sorted(tags - set(kept), key=lambda tag: (natural_key(tag), tag))
    return (*kept, *new)
