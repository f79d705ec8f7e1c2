"""A season's review: was the plan kept, what came of it, is it luck, what to change."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from sunup.planning.review_breakdown import (
    break_down,
    conception_of,
    first_service_of,
    pregnancy_of,
    response_of,
)
from sunup.planning.review_compliance import join_compliance
from sunup.planning.review_lessons import Lesson, LessonFigures, find_lessons
from sunup.planning.review_luck import read_kept, set_against
from sunup.planning.review_pooled import Figures, compare_pooled
from sunup.planning.review_rows import Outcome
from sunup.planning.review_share import Share, share_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime
    from typing import Any

    from sunup.base.problems import Problem
    from sunup.library.library import Library
    from sunup.planning.review_breakdown import Breakdown
    from sunup.planning.review_compliance import Compliance
    from sunup.planning.review_luck import Against
    from sunup.planning.review_performance import CalvingSpread, Performance
    from sunup.planning.review_pooled import Comparison
    from sunup.planning.review_rows import FemaleResult

ALL = "all groups"


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupCounts:
    """What one group (or all of them) got, in counts.

    `inseminations`: heats served; two inseminations of one heat are one. `straws_beyond`: straws
    used beyond one a heat. `response`: seen in heat of those treated and looked at. `conception`:
    pregnant of the heats served with a known end. `pregnancy`: pregnant to AI of the females
    treated with a known end. `season`: pregnant at all of those with a known end. `unsure`:
    treated, pregnant to AI or to a bull, counted by their chance. `unknown`: treated, no known end.
    """

    group: str
    protocol: str
    treated: int
    inseminated: int
    inseminations: int
    response: Share
    conception: Share
    pregnancy: Share
    season: Share
    unsure: int
    unknown: int
    straws_beyond: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class HerdMeasures:
    """Standard performance measures with the spread of calvings; `note` says what is missing."""

    group: str
    performance: Performance
    calvings: CalvingSpread | None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """What another way would have brought to the same females with the same luck, simulated.

    Counts are females pregnant to AI; `beats` is of 50 seasons. `more` holds the low and high of 8
    in 10 seasons about its middle. `n` differs from `n_now` where more females would be ready.
    """

    group: str
    key: str
    words: str
    n: int
    n_now: int
    now: float
    then: float
    more_low80: float
    more_median: float
    more_high80: float
    beats: float
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathered:
    """One season's rows, gathered from the ledger: what a review is made of.

    `kept` holds the forecast kept before the season, by group, as the ledger holds it.
    """

    ranch: str
    season: str
    zone: str
    at: datetime
    results: tuple[FemaleResult, ...]
    compliance: tuple[Compliance, ...]
    kept: Mapping[str, Mapping[str, Any]]
    measures: tuple[HerdMeasures, ...]
    protocols: Mapping[str, str]  # names, by key
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Review:
    """Everything a review says; renderers only word and round."""

    ranch: str
    season: str
    zone: str
    at: datetime
    compliance: Compliance
    counts: tuple[GroupCounts, ...]
    against: tuple[Against, ...]
    breakdowns: tuple[Breakdown, ...]
    comparisons: tuple[Comparison, ...]
    compared_words: str
    measures: tuple[HerdMeasures, ...]
    lessons: tuple[Lesson, ...]
    results: tuple[FemaleResult, ...]
    protocols: Mapping[str, str]  # names, by key
    goal_first_window: float  # share of the calves by day 21
    goal_calving: tuple[float, float]  # calves born of the exposed
    next_season: tuple[Changed, ...] = ()
    next_words: str = ""
    problems: tuple[Problem, ...] = field(default=())

    @property
    def tags(self) -> dict[str, str]:
        """Tag of every female, by id."""
        return {result.female: result.tag for result in self.results}


def make_review(
    gathered: Gathered,
    library: Library,
    *,
    group: str | None = None,
    others: tuple[Problem, ...] = (),
) -> Review:
    """Review a season.

    Parameters
    ----------
    gathered : Gathered
    library : Library
    group : str, optional
        One group only.
    others : tuple of Problem
        Found on the way here.

    Returns
    -------
    Review
        Without the simulated part, which `app` adds.
    """
    results = tuple(r for r in gathered.results if group is None or r.group == group)
    named = list(dict.fromkeys(r.group for r in results))
    compliance = join_compliance(
        [c for c in gathered.compliance if group is None or any(s.group == group for s in c.steps)]
    )
    counts = [_counts(name, [r for r in results if r.group == name]) for name in named]
    if len(named) > 1:
        counts.append(_counts(ALL, results))
    against, problems = _against(gathered, counts, results)
    compared, words = compare_pooled(results, Figures.from_library(library))
    review = Review(
        ranch=gathered.ranch,
        season=gathered.season,
        zone=gathered.zone,
        at=gathered.at,
        compliance=compliance,
        counts=tuple(counts),
        against=tuple(against),
        breakdowns=break_down(results),
        comparisons=compared,
        compared_words=words,
        measures=tuple(
            m for m in gathered.measures if group is None or m.group == group
        ),
        lessons=(),
        results=results,
        protocols=gathered.protocols,
        goal_first_window=library.number("review.calved_first_21_days_goal"),
        goal_calving=library.figure("review.herd_calving_goal").span,
        problems=(*others, *gathered.problems, *problems),
    )  # fmt: skip
    lessons = find_lessons(
        compliance,
        against,
        compared,
        breakdowns=review.breakdowns,
        results=results,
        words=words,
        figures=LessonFigures.from_library(library),
    )
    return replace(review, lessons=lessons)


def _counts(group: str, results: Sequence[FemaleResult]) -> GroupCounts:
    treated = [r for r in results if r.treated]
    ends = [r.pregnant for r in results if r.pregnant is not None]
    protocols = list(dict.fromkeys(r.protocol for r in results if r.protocol))
    return GroupCounts(
        group=group,
        protocol=protocols[0] if len(protocols) == 1 else "",
        treated=len(treated),
        inseminated=sum(bool(r.services) for r in results),
        inseminations=sum(len(r.services) for r in results),
        response=response_of(results),
        conception=conception_of(s for r in results for s in r.services),
        pregnancy=pregnancy_of(results),
        season=share_of(sum(ends), len(ends)),
        unsure=sum(r.outcome is Outcome.UNSURE for r in treated),
        unknown=sum(r.outcome is Outcome.UNKNOWN for r in treated),
        straws_beyond=sum(s.straws - 1 for r in results for s in r.services),
    )


def _against(
    gathered: Gathered, counts: Sequence[GroupCounts], results: Sequence[FemaleResult]
) -> tuple[list[Against], list[Problem]]:
    found: list[Against] = []
    problems: list[Problem] = []
    for told in counts:
        kept = gathered.kept.get(told.group)
        if kept is None:
            continue
        predicted, faults = read_kept(told.group, kept)
        problems += faults
        treated = [r for r in results if r.group == told.group and r.treated]
        on_heat = sum(bool(r.services) and r.services[0].timed is False for r in treated)
        on_time = sum(bool(r.services) and r.services[0].timed is True for r in treated)
        there = sum(not r.gone for r in treated)  # who left before was never to be inseminated
        # the forecast holds the planned insemination only; returns served again are not in it
        first = first_service_of(treated)
        # a pregnancy to AI counts once the end is known; who was inseminated is known at once
        seen = {
            "on_heat": (on_heat, there, 0),
            "on_time": (on_time, there, 0),
            "pregnant_to_ai": (first.count, first.of, told.unknown),
            "pregnant_in_season": (
                told.season.count, told.season.of, len(treated) - told.season.of,
            ),
        }  # fmt: skip
        for measure, (count, of, unknown) in seen.items():
            one = predicted.get(measure)
            if one is None:
                continue
            set_ = set_against(told.group, one, seen=count, of=of, unknown=max(0, unknown))
            if set_ is not None:
                found.append(set_)
    return found, problems
