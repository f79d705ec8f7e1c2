"""Who is who: ids found to be one female, the tags she wore, the groups she was in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.records import observations as o
from sunup.records.event import Kind
from sunup.records.state import FemaleRecord, Stay, TagWorn

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from sunup.records.event import Event


def find_same(events: Iterable[Event]) -> dict[str, str]:
    """Return, for each id found to be another, the id she really has; events as they stand.

    Of several findings about one id the last holds. Findings that go in a ring make one female of
    the ring, under its smallest id.
    """
    said: dict[str, str] = {}
    for event in events:
        if event.kind is Kind.IDENTIFIED and event.female:
            same_as = event.body.get("same_as")
            if isinstance(same_as, str) and same_as and same_as != event.female:
                said[event.female] = same_as
    found: dict[str, str] = {}
    for start in said:
        path = [start]
        seen = {start}
        while path[-1] in said and path[-1] not in found:
            step = said[path[-1]]
            if step in seen:
                ring = path[path.index(step) :]
                real = min(ring)
                break
            path.append(step)
            seen.add(step)
        else:
            real = found.get(path[-1], path[-1])
        found.update((id_, real) for id_ in path if id_ != real)
    return found


def build_female(
    id_: str,
    log: Sequence[o.Observation],
    *,
    ids: Iterable[str] = (),
    added_as: Mapping[str, str] | None = None,
) -> FemaleRecord:
    """Return one female from her observations in order.

    Parameters
    ----------
    id_ : str
        The id she really has.
    log : sequence of Observation
        In order.
    ids : iterable of str
        The other ids she was recorded under.
    added_as : mapping of event id to id, optional
        The id she was added under where it is not `id_`.
    """
    added = _find_added(log, added_as or {})
    return FemaleRecord(
        id=id_,
        ids=tuple(sorted({id_, *ids})),
        log=tuple(log),
        added=added,
        tags=tuple(_tags(log, added)),
        stays=tuple(_stays(log)),
    )


def _find_added(log: Sequence[o.Observation], added_as: Mapping[str, str]) -> o.Added | None:
    """How she came on file: from a list first, under her real id first, the earliest first."""
    best: o.Added | None = None
    best_rank = -1
    for x in log:
        if isinstance(x, o.Added):
            rank = 2 * x.listed + (x.event not in added_as)
            if rank > best_rank:
                best, best_rank = x, rank
    return best


def _tags(log: Sequence[o.Observation], added: o.Added | None) -> Iterator[TagWorn]:
    """All she wore: what she was met with at the chute first, then as on file, then changes."""
    tag, rfid = "", None
    met = [x for x in log if isinstance(x, o.Added) and x is not added]
    changes = [x for x in log if isinstance(x, o.TagChanged)]
    for x in (*met, *((added,) if added is not None else ()), *changes):
        tag = x.tag or tag
        rfid = x.rfid or rfid
        yield TagWorn(tag, rfid, x.at, x.event)


def _stays(log: Sequence[o.Observation]) -> list[Stay]:
    stays: list[Stay] = []
    for x in log:
        if isinstance(x, o.Moved):
            to = x.to
        elif isinstance(x, o.LeftHerd):
            to = ""
        else:
            continue
        if stays and stays[-1].until_at is None:
            last = stays[-1]
            if last.group == to:
                continue
            stays[-1] = Stay(last.group, last.from_at, x.at, last.event)
        if to:
            stays.append(Stay(to, x.at, None, x.event))
    return stays
