"""From a herd to groups: classes, breeds, splits, treatment order."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from sunup.library.cattle import breed_names, indicus_share
from sunup.planning.fit import GroupContext

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sunup.library.library import Library
    from sunup.planning.plan import FemaleLine
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
) -> GroupContext:
    """What fit is judged on, from the females the plan counts on (all if it counts none)."""
    treated = [line for line in lines if line.is_treated] or list(lines)
    known = [line.needs_progestin for line in treated if line.needs_progestin is not None]
    limit = library.number("practice.indicus_influenced_share")
    names = breed_names(library)
    shares = [s for f in females if (s := indicus_share(f, names)) is not None]
    return GroupContext(
        name=name,
        classes=tuple(dict.fromkeys(sorted(line.class_ for line in treated))),
        head=sum(line.is_treated for line in lines),
        not_cycling_share=sum(known) / len(known) if known else None,
        is_indicus=sum(shares) / len(shares) >= limit if shares else None,
    )


def treatment_order(lines: Iterable[FemaleLine], previous: Sequence[str] = ()) -> tuple[str, ...]:
    """Tags of the treated females in the order they go through the chute.

    The order of a former plan is kept; new females are added at the end.
    """
    tags = {line.tag for line in lines if line.is_treated}
    kept = [tag for tag in previous if tag in tags]
    new = sorted(tags - set(kept), key=lambda tag: (natural_key(tag), tag))
    return (*kept, *new)
