"""Steps that were not a female's: she had left the herd, gone to another group, or not come yet."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from sunup.planning.progress import Phase
from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    from sunup.planning.females_now import Noted
    from sunup.planning.progress import FemaleStep, GroupProgress

_EVER = datetime.min.replace(tzinfo=UTC)
_NEVER = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Stays:
    """When a female was in a group, from instant to instant; `went` says how each stay ended."""

    spans: tuple[tuple[datetime, datetime], ...]
    went: str = ""

    def holds(self, at: datetime) -> bool:
        """Whether she was in it at an instant."""
        return any(since <= at < until for since, until in self.spans)

    def gone_by(self, at: datetime) -> bool:
        """Whether she had been in it and was not in it any more."""
        return not self.holds(at) and any(until <= at for _, until in self.spans)


def find_stays(notes: Iterable[Noted], names: Collection[str], *, is_planned: bool) -> Stays:
    """Find when a female was in a group.

    Parameters
    ----------
    notes : iterable of Noted
        Of her, in time order.
    names : collection of str
        What the group is called.
    is_planned : bool
        The plan counts on her: until her first move she is taken to have been in it, as a plan may
        be adopted after its first treatment.
    """
    spans: list[tuple[datetime, datetime]] = []
    since = _EVER if is_planned else None
    went = ""
    for note in notes:
        is_in = note.kind is Kind.MOVED and str(note.body.get("to") or "") in names
        if is_in and since is None:
            since = note.at
        elif since is not None and not is_in and note.kind in {Kind.MOVED, Kind.LEFT_HERD}:
            if since == _EVER and note.kind is Kind.MOVED and not _came(notes, names, note.at):
                continue  # where she was before she was put into the group
            spans.append((since, note.at))
            since = None
            went = "left the herd" if note.kind is Kind.LEFT_HERD else "in another group"
    if since is not None:
        spans.append((since, _NEVER))
    return Stays(tuple(spans), went)


def _came(notes: Iterable[Noted], names: Collection[str], at: datetime) -> bool:
    """Whether she was put into the group before an instant."""
    return any(
        n.kind is Kind.MOVED and n.at <= at and str(n.body.get("to") or "") in names for n in notes
    )


def cut_away(progress: GroupProgress, stays: Mapping[str, Stays]) -> GroupProgress:
    """Take from every female the steps whose window closed while she was not in the group.

    What was done to her in the group stays; what was done before she came belongs to the group she
    was in then.

    Parameters
    ----------
    progress : GroupProgress
    stays : mapping of female to Stays
    """
    return replace(
        progress,
        steps=tuple(
            replace(
                step, females=tuple(_cut(line, stays.get(line.female)) for line in step.females)
            )
            for step in progress.steps
        ),
    )


def _cut(line: FemaleStep, stays: Stays | None) -> FemaleStep:
    if stays is None or line.phase is Phase.NOT_HERS:
        return line
    if line.done is not None:
        early = all(line.done.at < since for since, _ in stays.spans)
        return replace(line, phase=Phase.NOT_HERS, why="before she came") if early else line
    closes = line.until or line.window[1]
    if stays.holds(closes):
        return line
    why = stays.went if stays.gone_by(closes) else "before she came"
    return replace(line, phase=Phase.NOT_HERS, why=why)
