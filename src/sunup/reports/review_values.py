"""What a review says, as sentences and table rows: the same on a terminal and on paper."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.base.hours import find_zone, to_local
from sunup.planning.review_breakdown import tell_once
from sunup.planning.review_luck import MEASURES, against_words
from sunup.planning.review_share import points
from sunup.reports import words
from sunup.reports.charts.counts import span, whole

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.planning.review import Changed, GroupCounts, HerdMeasures, Review
    from sunup.planning.review_breakdown import Breakdown
    from sunup.planning.review_compliance import Slip, StepKept
    from sunup.planning.review_luck import Against
    from sunup.planning.review_performance import CalvingSpread
    from sunup.planning.review_pooled import Comparison
    from sunup.planning.review_share import Share

Row = tuple[str, ...]
_TAGS_A_ROW = 36  # a row is not broken over two pages
FEW_WORDS = "Rows marked (few) rest on fewer than 10: they say next to nothing."
_NOT_KEPT = (
    "No forecast with a range was kept before this season, so results cannot be set against one. "
    "Adopt next season's plan with its forecast."
)
_SET_AGAINST = (
    "Set against the forecast kept before the season. Only what happens in one season of 40 or "
    "less is worth a look; among many such rows one will be by luck."
)
_BEST_GUESS = (
    "The best guess is what each would have reached on everybody's females; few records are drawn "
    "to the middle, since most of their difference is luck."
)
_NOT_BY_LOT = (
    "Females were not shared out by lot: what differs between rows may come from what else differs "
    "between them."
)
LUCK_WORDS = (
    "Ranges after a share hold what luck alone leaves open: the true share may lie anywhere in "
    "them (95 of 100 times)."
)


@dataclass(frozen=True, slots=True)
class Table:
    """A titled table; `left` columns are text, the others counts. `note` stands under it.

    With `ends_in_words` the last column is text too.
    """

    title: str
    head: Row
    rows: tuple[Row, ...]
    left: int = 1
    note: str = ""
    ends_in_words: bool = False

    def is_words(self, column: int) -> bool:
        """Whether a column, counted from 0, holds text."""
        return column < self.left or (self.ends_in_words and column == len(self.head) - 1)


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the review: sentences, then tables."""

    title: str
    sentences: tuple[str, ...]
    tables: tuple[Table, ...]


def review_parts(review: Review) -> tuple[Part, ...]:
    """Return the review's parts in the order in which they should be read.

    Whether the plan was kept comes first, then what came of it, then whether that is luck, then
    what to change; details follow.
    """
    parts = (_kept(review), _got(review), _luck(review), _change(review), _compared(review))
    more = (_broken_down(review), _performance(review), _next(review))
    return tuple(part for part in (*parts, *more) if part.sentences or part.tables)


def count_of(share: Share) -> str:
    """Say a share with its limits, shortest: ``22 of 40 (40 to 69)``."""
    if not share.of:
        return "-"
    few = " (few)" if share.is_few else ""
    return f"{share.count} of {share.of} ({points(share.low)} to {points(share.high)}){few}"


def of_100(share: Share | None) -> str:
    """Say a share as of 100; a dash where it has none."""
    return "-" if share is None or not share.of else points(share.share)


def _kept(review: Review) -> Part:
    kept = review.compliance
    zone = find_zone(review.zone)
    said = [lesson.words for lesson in review.lessons if lesson.kind == "plan kept"]

    def row(step: StepKept) -> Row:
        worst = max(step.worst_late_h, step.worst_early_h)
        clock = words.clock(step.planned_at, zone)
        return (
            step.group,
            step.words,
            f"{words.short_day(to_local(step.planned_at, zone).date())} {clock}",
            str(step.of),
            str(step.in_time),
            str(step.early or "-"),
            str(step.late or "-"),
            str(step.missed or "-"),
            _off(worst),
        )

    tables = [
        Table(
            "Step by step",
            ("group", "step", "planned", "for", "in time", "early", "late", "missed", "worst"),
            tuple(row(step) for step in kept.steps),
            left=3,
            note="Windows are each female's own: they move with when she got the step before.",
        )
    ]
    tags = review.tags
    if kept.slips:
        tables.append(
            Table(
                "Female by female",
                ("tag", "group", "what", "which", "by"),
                _slip_rows(kept.slips, tags),
                left=4,
            )
        )
    return Part("Was the plan kept?", tuple(said), tuple(t for t in tables if t.rows))


def _slip_rows(slips: Sequence[Slip], tags: dict[str, str]) -> tuple[Row, ...]:
    """Slips alike share a row, or where a whole group was missed a page would name few of it."""
    alike: dict[Row, list[str]] = {}
    for slip in slips:
        what = (slip.group, slip.kind, slip.words.replace("_", " "), _off(slip.hours))
        alike.setdefault(what, []).append(tags.get(slip.female, slip.female or "group"))
    return tuple(
        (", ".join(worn[i : i + _TAGS_A_ROW]), *what)
        for what, worn in alike.items()
        for i in range(0, len(worn), _TAGS_A_ROW)
    )


def _off(hours: float) -> str:
    """How far outside a window; in minutes where it is less than an hour."""
    if not hours:
        return "-"
    return f"{hours:.1f} h" if hours >= 1.0 else f"{max(1, round(hours * 60))} min"


def _got(review: Review) -> Part:
    def row(told: GroupCounts) -> Row:
        return (
            told.group,
            str(told.treated),
            count_of(told.response),
            str(told.inseminated),
            count_of(told.conception) if told.inseminations else "no AI",
            count_of(told.pregnancy) if told.inseminations else "no AI",
            count_of(told.season),
        )

    said = [LUCK_WORDS]
    said += [
        f"{told.group}: {told.unsure} pregnant to AI or to a bull, dates cannot tell; each counts "
        "by her chance."
        for told in review.counts
        if told.unsure
    ]
    beyond = max((told.straws_beyond for told in review.counts), default=0)
    if beyond:
        straws = "1 straw was" if beyond == 1 else f"{beyond} straws were"
        said.append(f"{straws} used beyond one a heat: two inseminations of one heat count as one.")
    table = Table(
        "In counts",
        (
            "group", "treated", "seen in heat", "inseminated", "conceived of inseminations",
            "pregnant to AI of treated", "pregnant in the season",
        ),
        tuple(row(told) for told in review.counts),
        note=FEW_WORDS if any(_has_few(c) for c in review.counts) else "",
    )  # fmt: skip
    return Part("What did we get?", tuple(said) if review.counts else (), (table,))


def _has_few(told: GroupCounts) -> bool:
    shares = (told.response, told.conception, told.pregnancy, told.season)
    return any(share.of and share.is_few for share in shares)


def _luck(review: Review) -> Part:
    if not review.against:
        return Part(
            "Is it luck?",
            (_NOT_KEPT,),
            (),
        )

    def row(one: Against) -> Row:
        return (
            one.group,
            MEASURES[one.measure],
            f"{one.seen} of {one.of}",
            f"{whole(one.middle)} ({span(one.low80, one.high80)})",
            against_words(one),
        )

    notes = []
    for one in review.against:
        if one.measure == "pregnant_to_ai" and (one.of != one.foreseen_of or one.unknown):
            unknown = f"; {one.unknown} without a result are left out" if one.unknown else ""
            notes.append(
                f"{one.group}: the forecast was made for {one.foreseen_of} females and is drawn to "
                f"the {one.of} counted{unknown}."
            )
    return Part(
        "Is it luck?",
        (_SET_AGAINST,),
        (
            Table(
                "Seen and foreseen",
                ("group", "what", "seen", "foreseen: middle (8 of 10 seasons)", "luck"),
                tuple(row(one) for one in review.against if not one.is_certain),
                left=2,
                ends_in_words=True,
                note=" ".join(notes),
            ),
        ),
    )


def _change(review: Review) -> Part:
    return Part(
        "What to change",
        tuple(f"{lesson.words} {lesson.why}" for lesson in review.lessons),
        (),
    )


def _compared(review: Review) -> Part:
    if not review.comparisons:
        return Part("Sires and technicians", (), ())

    def table(comparison: Comparison) -> Table:
        return Table(
            comparison.title,
            (
                comparison.key, "pregnant of inseminations", "as counted, of 100",
                "best guess, of 100", "8 of 10 sure between",
            ),
            tuple(
                (
                    line.pooled.level,
                    count_of(line.raw),
                    of_100(line.raw),
                    points(line.pooled.share),
                    f"{points(line.pooled.low80)} to {points(line.pooled.high80)}",
                )
                for line in comparison.lines
            ),
        )  # fmt: skip

    said = (_BEST_GUESS, review.compared_words)
    return Part("Sires and technicians", said, tuple(table(c) for c in review.comparisons))


def _broken_down(review: Review) -> Part:
    told = tell_once(review.breakdowns)

    def table(breakdown: Breakdown) -> Table:
        by_female = any(line.response is not None for line in breakdown.lines)
        head: Row = ("", "conceived of inseminations")
        if by_female:
            head = ("", "seen in heat", "conceived of inseminations", "pregnant to AI of treated")
        rows = []
        for line in breakdown.lines:
            name = review.protocols.get(line.level, line.level)
            row: Row = (name, count_of(line.conception))
            if by_female and line.response is not None and line.pregnancy is not None:
                row = (
                    name, count_of(line.response), count_of(line.conception),
                    count_of(line.pregnancy),
                )  # fmt: skip
            rows.append(row)
        note = f"{breakdown.unknown} without a known end are left out." if breakdown.unknown else ""
        return Table(breakdown.title, head, tuple(rows), note=note)

    return Part("Broken down", (_NOT_BY_LOT,) if told else (), tuple(table(b) for b in told))


def _performance(review: Review) -> Part:
    def pct(share: float | None) -> str:
        return "n/a" if share is None else f"{100.0 * share:.0f} of 100"

    def row(told: HerdMeasures) -> Row:
        p = told.performance
        kg = p.kg_weaned_per_exposed
        pregnancy = pct(p.pregnancy) if p.checked == p.exposed else f"{p.pregnant} so far"
        return (
            told.group, str(p.exposed), pregnancy, pct(p.calving), pct(p.live_calving),
            pct(p.weaning), "n/a" if kg is None else f"{kg:.0f} kg",
        )  # fmt: skip

    if not review.measures:
        return Part("Standard measures", (), ())
    tables = [
        Table(
            "Of the females exposed",
            (
                "group", "exposed", "pregnant", "calves born", "born alive", "weaned",
                "weaned a female exposed",
            ),
            tuple(row(told) for told in review.measures),
            note="Open females that were sold stay among the exposed; those that died or left for "
            "another reason before calving are taken out. Extension services tell a goal of "
            f"{points(review.goal_calving[0])} to {points(review.goal_calving[1])} calves born of "
            "100 exposed.",
        )
    ]  # fmt: skip
    spreads = [(told.group, told.calvings) for told in review.measures if told.calvings]
    if spreads:
        tables.append(_calving_table(spreads, review.goal_first_window))
    said = tuple(f"{told.group}: {told.note}" for told in review.measures if told.note)
    return Part("Standard measures", said, tuple(tables))


def _calving_table(spreads: Sequence[tuple[str, CalvingSpread]], goal: float) -> Table:
    first = spreads[0][1]
    return Table(
        f"Calved by day, counted from {first.words}",
        ("group", "day 0 is", "calved", "by day 21", "by day 42", "by day 63", "later"),
        tuple(
            (
                group, words.short_day(told.opens_on), str(told.calved),
                *(f"{told.by_end(i)} ({points(told.by_end(i) / told.calved)})" for i in range(3)),
                str(told.by_window[3] or "-"),
            )
            for group, told in spreads
        ),
        note=f"In brackets of 100 that calved. A goal often told is {points(goal)} or "
        "more by day 21.",
    )  # fmt: skip


def _next(review: Review) -> Part:
    def row(told: Changed) -> Row:
        return (
            told.group,
            told.words,
            f"{whole(told.then)} of {told.n}",
            f"{whole(told.now)} of {told.n_now}",
            f"{told.more_median:+.0f} ({told.more_low80:+.0f} to {told.more_high80:+.0f})",
            f"{told.beats:.0f} of 50",
        )

    if not review.next_season:
        return Part("Another way", (), ())
    notes = dict.fromkeys(told.note for told in review.next_season if told.note)
    return Part(
        "Another way",
        (review.next_words,),
        (
            Table(
                "Pregnant to AI, simulated",
                (
                    "group", "had it been", "then", "as planned", "more (8 of 10 seasons)",
                    "better in",
                ),
                tuple(row(told) for told in review.next_season),
                left=2,
                note=" ".join(notes),
            ),
        ),
    )  # fmt: skip
