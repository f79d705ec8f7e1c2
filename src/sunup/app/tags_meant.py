"""Which females of a list are meant by tags typed beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.app.season import find_female

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sunup.app.desk import Desk


@dataclass(frozen=True, slots=True)
class Meant:
    """The tags of the list that are meant, and tags typed that are on file but not in the list."""

    tags: frozenset[str]
    elsewhere: tuple[str, ...] = ()


def find_meant(desk: Desk, typed: Iterable[str], among: Sequence[str]) -> Meant:
    """Find who of a list is meant: as written there, else by her tag or her electronic code.

    Parameters
    ----------
    desk : Desk
    typed : iterable of str
    among : sequence of str
        The list, as tags or codes.

    Raises
    ------
    NotFoundError, AmbiguousTagError
        If a tag typed is not in the list and nobody on file, or more than one, wears it.
    """
    known = desk.season.by_tag()
    meant: set[str] = set()
    elsewhere: list[str] = []
    for word in typed:
        if word in among:
            meant.add(word)
            continue
        her = find_female(desk, word).id
        hers = {tag for tag in among if any(f.id == her for f in known.get(tag, ()))}
        meant |= hers
        if not hers:
            elsewhere.append(word)
    return Meant(frozenset(meant), tuple(elsewhere))
