"""What a season's results tell to change, in the order in which a rancher should look."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.planning.review_breakdown import tell_once
from sunup.planning.review_luck import MEASURES, Verdict, against_words
from sunup.planning.review_power import chance_alike
from sunup.planning.review_rows import Outcome
from sunup.planning.review_share import FEW, points, share_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.library.library import Library
    from sunup.planning.review_breakdown import Breakdown, Line
    from sunup.planning.review_compliance import Compliance
    from sunup.planning.review_luck import Against
    from sunup.planning.review_pooled import Comparison, Pair
    from sunup.planning.review_rows import FemaleResult
    from sunup.planning.review_share import Share

_INSEMINATED = "who inseminated, which straws, condition and days since calving"
# what a count lower than foreseen is most likely to come from, likeliest first
LOOK_AT = {
    "on_heat": "how often somebody watched and how long, the aids, condition, days since calving",
    "on_time": "who was not inseminated and why, the hour the visit ended",
    "pregnant_to_ai": _INSEMINATED,
    "pregnant_in_season": f"{_INSEMINATED}, the bulls",
}


@dataclass(frozen=True, slots=True)
class LessonFigures:
    """From where on slips are many, and a difference is told as sure or as a lean."""

    many_slips: float
    sure: float
    lean: float

    @classmethod
    def from_library(cls, library: Library) -> LessonFigures:
        """Take them out of the library."""
        number = library.number
        return cls(
            many_slips=number("review.slips_many_share"),
            sure=number("review.better_sure_chance"),
            lean=number("review.better_lean_chance"),
        )


@dataclass(frozen=True, slots=True)
class Lesson:
    """One thing to do or to leave, and why."""

    kind: str  # plan kept | results | forecast | sires | technicians | records
    words: str
    why: str


def find_lessons(
    compliance: Compliance,
    against: Sequence[Against],
    compared: Sequence[Comparison],
    *,
    breakdowns: Sequence[Breakdown],
    results: Sequence[FemaleResult],
    words: str,
    figures: LessonFigures,
) -> tuple[Lesson, ...]:
    """Find what to change, compliance first.

    Parameters
    ----------
    compliance : Compliance
    against : sequence of Against
    compared : sequence of Comparison
    breakdowns : sequence of Breakdown
    results : sequence of FemaleResult
    words : str
        Why nothing was compared, or what was allowed for.
    figures : LessonFigures

    Returns
    -------
    tuple of Lesson
    """
    kept = _kept(compliance, results, figures)
    found = [*kept, *_unknown(results), *_luck(compliance, against)]
    found += _apart(breakdowns, figures)
    found += [_pair(one, one.pair, figures) for one in compared if one.pair is not None]
    if not compared:
        found.append(Lesson("records", "Sires and technicians are not compared.", words))
    return tuple(found)


def _kept(
    compliance: Compliance, results: Sequence[FemaleResult], figures: LessonFigures
) -> list[Lesson]:
    treated = sum(r.treated for r in results)
    found = []
    slips = compliance.of_kind("late", "missed", "early")
    late = {slip.female for slip in slips}
    slipped = len(late)
    # who was never treated missed a treatment too: the plan was for her as well
    meant = len({r.female for r in results if r.treated} | late)
    if treated and slipped:
        words, n = Counter(slip.words for slip in slips).most_common(1)[0]
        worst = max((slip.hours for slip in slips if slip.words == words), default=0.0)
        off = f", up to {worst:.0f} h outside" if worst >= 1.0 else ""
        much = (
            "Mend this before anything else."
            if slipped >= figures.many_slips * meant
            else "That is few; it will not explain a poor result."
        )
        found.append(
            Lesson(
                "plan kept",
                f"{slipped} of {meant} females had a treatment outside its window or missed one, "
                f"most often {words} ({n}{off}). {much}",
                "A protocol's published results are those of doses given in time.",
            )
        )
    elif treated:
        found.append(
            Lesson(
                "plan kept", "Every treatment was given in its window.", "Keep the crew and plan."
            )
        )
    lost = len(compliance.of_kind("lost insert"))
    if lost:
        found.append(
            Lesson(
                "plan kept",
                "1 insert was lost before its day."
                if lost == 1
                else f"{lost} inserts were lost before their day.",
                "Clip the tails short and check for pen mates that pull them.",
            )
        )
    parts = len(compliance.of_kind("part dose"))
    if parts:
        found.append(
            Lesson("plan kept", f"{parts} got only part of a dose.", "Check syringes and bottles.")
        )
    found += [
        Lesson(
            "plan kept",
            f"{watch.group}: somebody watched for heat in {watch.looked} of {watch.half_days} "
            f"half-days, {watch.minutes:.0f} minutes in all.",
            "A heat nobody saw is an insemination not made, or made at a worse time.",
        )
        for watch in compliance.watches
        if watch.looked < watch.half_days
    ]
    return found


def _unknown(results: Sequence[FemaleResult]) -> list[Lesson]:
    treated = [r for r in results if r.treated]
    unknown = [r for r in treated if r.outcome is Outcome.UNKNOWN]
    if not unknown:
        return []
    checked = len(treated) - len(unknown)
    if not checked:
        return [
            Lesson(
                "records",
                "No result is on record yet: nothing below can be told.",
                "Record pregnancy checks, with the fetus aged where bulls followed.",
            )
        ]
    return [
        Lesson(
            "records",
            f"{len(unknown)} of {len(treated)} have no settled result; shares are of the "
            f"{checked} others.",
            "If those left out differ (sold because open, say), the shares are too high.",
        )
    ]


def _luck(compliance: Compliance, against: Sequence[Against]) -> list[Lesson]:
    rare = [one for one in against if one.verdict is Verdict.RARE]
    more_on_heat = {one.group for one in rare if one.measure == "on_heat" and not one.is_low}
    found = []
    for one in rare:
        is_left_over = one.measure == "on_time"  # whoever was not inseminated on a heat
        if is_left_over and (not one.is_low or one.group in more_on_heat):
            continue
        what = f"{one.group}: {one.seen} of {one.of} {MEASURES[one.measure]}, {against_words(one)}."
        if one.is_low:
            slipped = any(slip.group == one.group for slip in compliance.slips)
            first = "the slips above, then " if slipped else ""
            why = (
                f"Look at {first}{LOOK_AT[one.measure]}, in this order. One season can still be "
                "bad luck."
            )
        else:
            why = (
                "Better than foreseen. Keep what you did; next year will likely be nearer to usual."
            )
        found.append(Lesson("forecast", what, why))
    return found


def _apart(breakdowns: Sequence[Breakdown], figures: LessonFigures) -> list[Lesson]:
    """Levels whose females did otherwise than all others, where luck does not explain it.

    All levels of all subjects are looked at, so that the chance of each is counted as often as
    there are levels (Bonferroni): one season in 20 tells of a difference that is not there. Of a
    subject the level farthest beyond luck is told.
    """
    looked = [
        (chance_alike(a.count, a.of, b.count, b.of), one, line.level, a, b)
        for one in tell_once(breakdowns)
        for line in one.known[: 1 if len(one.known) == 2 else None]  # two are one comparison
        for a, b in [_and_others(one, line)]
        if min(a.of, b.of) >= FEW
    ]
    rare = [row for row in looked if row[0] * len(looked) <= 1.0 - figures.sure]
    first: dict[str, Lesson] = {}
    for _, one, level, a, b in sorted(rare, key=lambda row: row[0]):
        what = "pregnant to AI" if one.lines[0].pregnancy is not None else "conceived"
        first.setdefault(
            one.key,
            Lesson(
                "results",
                f"{one.title}, {level}: {a.count} of {a.of} {what} ({points(a.share)} of 100), the "
                f"others {b.count} of {b.of} ({points(b.share)} of 100). Luck alone hardly makes "
                f"that, though {_comparisons(len(looked))}.",
                "A finding, not yet a cause: they were not parted by lot and may differ in more "
                "than this. See what else they share before you act on it.",
            ),
        )
    return list(first.values())


def _comparisons(n: int) -> str:
    return "one comparison was made" if n == 1 else f"{n} comparisons were made"


def _and_others(one: Breakdown, line: Line) -> tuple[Share, Share]:
    def count(part: Line) -> Share:
        return part.conception if part.pregnancy is None else part.pregnancy

    others = [count(other) for other in one.known if other is not line]
    return count(line), share_of(sum(s.count for s in others), sum(s.of for s in others))


def _pair(comparison: Comparison, pair: Pair, figures: LessonFigures) -> Lesson:
    better, worse = pair.better.pooled.level, pair.worse.pooled.level
    what = (
        f"{comparison.title}: the chance that {better} is truly better than {worse} is "
        f"{points(pair.chance)} in 100."
    )
    if pair.chance >= figures.sure:
        why = "That is worth acting on; look at what else differed between their females first."
    elif pair.chance >= figures.lean:
        why = f"A lean, no proof. {needed_words(pair)}"
    else:
        why = f"Not told apart: do not choose by it. {needed_words(pair)}"
    return Lesson(comparison.title.lower(), what, why)


def needed_words(pair: Pair) -> str:
    """Say how many more records it takes to tell the two apart.

    Examples
    --------
    "A true difference of 10 in 100 takes about 388 inseminations of each to show; you have 31 and
    28, which would show it in 12 of 100 such seasons."
    """
    a, b = pair.better.raw.of, pair.worse.raw.of
    worth = points(pair.worth_knowing)
    if pair.needed_worth is None:
        return ""
    said = (
        f"A true difference of {worth} in 100 takes about {pair.needed_worth} inseminations of "
        f"each to show"
    )
    more = pair.more(pair.needed_worth)
    if not more:
        return f"{said}; you have {a} and {b}."
    return (
        f"{said}, {more} more; the {a} and {b} on record would show it in "
        f"{points(pair.power_worth)} of 100 such seasons."
    )
