"""Heats from what was seen: sightings by eye, patch and chalk readings, watches without a find.

A sighting is a fact, a heat is a conclusion. Several sightings of one heat are merged; its onset is
an interval, from the last time she was looked at and not in heat to the first sighting. An aid that
stays rubbed says nothing new until an intact one was read, and a lost aid is "not known", not "no".
What a heat may mean stands in ``heat_flags``.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING

from sunup.base.hours import hours_between

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sunup.base.figures import Figure
    from sunup.library.library import Library, Score

AIDS = frozenset({"patch", "chalk", "collar"})


class Says(StrEnum):
    """What one sighting or reading says about her at that time."""

    HEAT = "heat"
    MAYBE = "maybe"  # secondary signs only: watch her again
    NOT_IN_HEAT = "not_in_heat"
    UNKNOWN = "unknown"
    OVER = "over"  # blood: the heat was one to three days ago


@dataclass(frozen=True, slots=True)
class Sighting:
    """One thing seen on one female.

    Parameters
    ----------
    seen_at : datetime
        UTC, the device's measured offset taken off.
    what : str
        standing | mounting | mucus | blood | other, or an aid: patch | chalk | collar.
    score : int, optional
        Of an aid: 1 intact to 4 rubbed off; 0 lost.
    is_lost : bool
        The aid is no longer on her.
    event : str
        Id of the event it comes from.
    """

    seen_at: datetime
    what: str
    score: int | None = None
    is_lost: bool = False
    event: str = ""


@dataclass(frozen=True, slots=True)
class HeatFigures:
    """The figures behind merging and flags."""

    rubbed_from: dict[str, int]
    one_heat_gap: Figure
    length_range: Figure
    too_long: Figure
    stale: Figure
    blood: Figure
    too_close: Figure
    short_cycle: Figure
    usual_cycle: Figure
    two_cycles: Figure
    returns: Figure
    long_progestin: Figure
    pass_days: Figure
    pregnant_heat: Figure
    after_progestin: Figure
    after_short: Figure

    @staticmethod
    def of(library: Library) -> HeatFigures:
        """Take them from the library; an aid counts from the share of coating gone (50 %)."""
        share = library.number("practice.heat_aid_rubbed_share")
        rubbed = rubbed_score(library.scores["heat_patch"], share)
        figure = library.figure
        return HeatFigures(
            # chalk is written on the same ladder: 1 intact, 4 gone
            rubbed_from={"patch": rubbed, "chalk": rubbed},
            one_heat_gap=figure("breeding.one_heat_gap_h"),
            length_range=figure("breeding.heat_length_range_h"),
            too_long=figure("breeding.heat_too_long_h"),
            stale=figure("breeding.patch_stale_d"),
            blood=figure("breeding.blood_after_heat_d"),
            too_close=figure("breeding.heats_too_close_d"),
            short_cycle=figure("breeding.short_cycle_d"),
            usual_cycle=figure("breeding.usual_cycle_d"),
            two_cycles=figure("breeding.two_cycles_d"),
            returns=figure("practice.return_watch_days"),
            long_progestin=figure("practice.long_progestin_days"),
            pass_days=figure("practice.heat_to_pass_days"),
            pregnant_heat=figure("physiology.pregnant_heat_share"),
            after_progestin=figure("breeding.first_heat_after_progestin_pct"),
            after_short=figure("breeding.after_short_interval_pct"),
        )


@dataclass(frozen=True, slots=True)
class Heat:
    """One heat of one female.

    Onset lies between `onset_after` (last time she was looked at and not in heat; None: nobody
    looked) and `first_seen_at`. `over_by` is the first look after it that found her out of heat.
    `is_sure` is false where only secondary signs were seen. `was_missed` is true where only blood
    tells of a heat nobody saw: then the times are those of the blood, and she is not inseminated.
    """

    first_seen_at: datetime
    last_seen_at: datetime
    onset_after: datetime | None
    over_by: datetime | None
    sightings: tuple[Sighting, ...]
    is_sure: bool = True
    was_missed: bool = False

    @property
    def hours_seen(self) -> float:
        """Hours from the first to the last sighting."""
        return hours_between(self.first_seen_at, self.last_seen_at)

    @property
    def by(self) -> str:
        """What first told of it."""
        return self.sightings[0].what

    def onset_guess(self, usual_gap_h: float) -> datetime:
        """Middle of the time in which it must have begun.

        Where nobody looked before, the last look is taken to be `usual_gap_h` before the first
        sighting: what the watch would have been at its usual times. [h]
        """
        gap = usual_gap_h
        if self.onset_after is not None:
            gap = min(hours_between(self.onset_after, self.first_seen_at), usual_gap_h)
        return self.first_seen_at - timedelta(hours=max(gap, 0.0) / 2)


def rubbed_score(score: Score, share: float) -> int:
    """Lowest level of an aid's ladder whose coating gone is at least a share, 0 to 1."""
    for level in score.levels:
        gone = dict(level.facts).get("coating_gone_pct", "").lstrip(">").split("-")[0]
        if gone.strip().isdigit() and int(gone) >= share * 100:
            return int(level.score)
    return int(score.highest)


def read_sighting(sighting: Sighting, *, figures: HeatFigures) -> Says:
    """Return what one sighting says by itself."""
    what = sighting.what
    if what == "standing":
        return Says.HEAT
    if what == "blood":
        return Says.OVER
    if what in AIDS or sighting.score is not None or sighting.is_lost:
        if sighting.is_lost or sighting.score == 0:
            return Says.UNKNOWN
        if sighting.score is None:
            # an alert of a collar is a find; a patch read without a score tells nothing
            return Says.HEAT if what == "collar" else Says.UNKNOWN
        limit = figures.rubbed_from.get(what, figures.rubbed_from["patch"])
        return Says.HEAT if sighting.score >= limit else Says.NOT_IN_HEAT
    return Says.MAYBE


def read_all(
    sightings: Iterable[Sighting], *, figures: HeatFigures
) -> tuple[tuple[Sighting, Says], ...]:
    """Read the sightings of one female in time order, minding aids that stay rubbed.

    A patch or chalk read rubbed again, with no intact one read since, belongs to the first reading;
    after `patch_stale_d` it is not known any more.
    """
    rubbed_since: dict[str, datetime] = {}
    found: list[tuple[Sighting, Says]] = []
    for one in sorted(sightings, key=_order):
        says = read_sighting(one, figures=figures)
        if one.what in {"patch", "chalk"}:
            if says is Says.HEAT:
                since = rubbed_since.setdefault(one.what, one.seen_at)
                if one.seen_at > since:
                    if hours_between(since, one.seen_at) <= figures.stale.number * 24:
                        continue
                    says = Says.UNKNOWN
            else:
                rubbed_since.pop(one.what, None)
        found.append((one, says))
    return tuple(found)


def _order(one: Sighting) -> tuple[datetime, str, str, int]:
    return one.seen_at, one.event, one.what, -1 if one.score is None else one.score


def find_heats(
    sightings: Iterable[Sighting],
    looked_at: Iterable[datetime] = (),
    *,
    figures: HeatFigures,
) -> tuple[Heat, ...]:
    """Merge the sightings of one female into heats, oldest first.

    Parameters
    ----------
    sightings : iterable of Sighting
        In any order.
    looked_at : iterable of datetime
        Watches of her group, UTC, also those at which nothing was seen.
    figures : HeatFigures

    Returns
    -------
    tuple of Heat
        Onset of each as an interval.

    Notes
    -----
    Half or more of the coating gone counts as heat (abstract of a heifer trial, six against seven
    days; Rodrigues 2018). A watch that did not find her may still have missed her: twice a day
    finds 56 % of heats (Michigan State). The interval is what was seen, not a certainty.
    """
    read = read_all(sightings, figures=figures)
    runs: list[list[tuple[Sighting, Says]]] = []
    overs = []
    for one, says in read:
        if says is Says.OVER:
            overs.append(one)
        if says not in {Says.HEAT, Says.MAYBE}:
            continue
        if runs and _gap(runs[-1][-1][0], one) <= figures.one_heat_gap.number:
            runs[-1].append((one, says))
        else:
            runs.append([(one, says)])
    quiet = sorted(
        {s.seen_at for s, says in read if says is Says.NOT_IN_HEAT} | set(_without(looked_at, read))
    )
    heats = [_heat_of(run, quiet) for run in runs]
    low, high = figures.blood.span
    for one in overs:
        if not any(
            _is_told_by(heat, one, most_d=high + figures.length_range.span[1] / 24)
            for heat in heats
        ):
            heats.append(
                Heat(
                    first_seen_at=one.seen_at - timedelta(days=high),
                    last_seen_at=one.seen_at - timedelta(days=low),
                    onset_after=None,
                    over_by=one.seen_at,
                    sightings=(one,),
                    was_missed=True,
                )
            )
    return tuple(sorted(heats, key=lambda heat: heat.first_seen_at))


def _gap(earlier: Sighting, later: Sighting) -> float:
    return hours_between(earlier.seen_at, later.seen_at)


def _without(
    looked_at: Iterable[datetime], read: Sequence[tuple[Sighting, Says]]
) -> Iterable[datetime]:
    """Watches at which she was not seen in heat: no sighting of her within half an hour."""
    finds = [s.seen_at for s, says in read if says in {Says.HEAT, Says.MAYBE}]
    near = timedelta(minutes=30)
    return (at for at in looked_at if not any(abs(at - find) <= near for find in finds))


def _heat_of(run: Sequence[tuple[Sighting, Says]], quiet: Sequence[datetime]) -> Heat:
    first, last = run[0][0].seen_at, run[-1][0].seen_at
    before = [at for at in quiet if at < first]
    after = [at for at in quiet if at > last]
    return Heat(
        first_seen_at=first,
        last_seen_at=last,
        onset_after=before[-1] if before else None,
        over_by=after[0] if after else None,
        sightings=tuple(one for one, _ in run),
        is_sure=any(says is Says.HEAT for _, says in run),
    )


def _is_told_by(heat: Heat, blood: Sighting, *, most_d: float) -> bool:
    """Whether blood is the end of a heat already seen."""
    gap_d = hours_between(heat.last_seen_at, blood.seen_at) / 24
    return -1.0 <= gap_d <= most_d


class InHeat(StrEnum):
    """Was she in heat before an insemination."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


def in_heat_before(
    sightings: Iterable[Sighting],
    *,
    since: datetime,
    until: datetime,
    looked_at: Iterable[datetime] = (),
    figures: HeatFigures,
) -> InHeat:
    """Say whether she was in heat between an instant (the PGF) and her insemination.

    Secondary signs alone, a lost aid, or no look at all leave it unknown.
    """
    inside = [
        (one, says)
        for one, says in read_all(sightings, figures=figures)
        if since <= one.seen_at <= until
    ]
    kinds = {says for _, says in inside}
    if Says.HEAT in kinds or Says.OVER in kinds:
        return InHeat.YES
    if kinds & {Says.MAYBE, Says.UNKNOWN}:
        return InHeat.UNKNOWN
    if Says.NOT_IN_HEAT in kinds or any(since <= at <= until for at in looked_at):
        return InHeat.NO
    return InHeat.UNKNOWN
