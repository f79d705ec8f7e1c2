"""What a forecast says: frozen, in counts of females, with what it rests on and leaves out.

Counts are of the females of the group (`Forecast.n`). A count is a float: quantiles and means are
not rounded here; renderers round.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

DOTS = 50  # equally likely seasons shown as dots

# what a comparison counts
TO_AI = "pregnant to AI"
IN_SEASON = "conceived in the season"

SMALL = 0.5  # females: what is fewer on average is not shown by itself
FEW = 10  # females: in a smaller group a mean is told to the tenth, and `SMALL` is its part of it


def small_of(n: int) -> float:
    """How many of `n` females are too few on average to be shown by themselves."""
    return SMALL * min(1.0, n / FEW)


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """A quantity over equally likely seasons.

    Parameters
    ----------
    mean, median : float
    low50, high50, low80, high80, low95, high95 : float
        Limits that hold the middle 50, 80 and 95 of 100 seasons.
    of : int, optional
        Females the count is of; None where the quantity is not a count of females (money).
    """

    mean: float
    median: float
    low50: float
    high50: float
    low80: float
    high80: float
    low95: float
    high95: float
    of: int | None = None

    def share(self, count: float) -> float:
        """Return a count of this interval as a share of its females; 0 where it has none."""
        return count / self.of if self.of else 0.0

    @property
    def has_range(self) -> bool:
        """Whether its limits are more than one number."""
        return self.low95 < self.high95


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """Where the spread of females pregnant to AI comes from, as standard deviations.

    In points: of 100 females. `luck` is the luck of the draw among this many females, `herd` how
    herds differ from each other, `parameters` what is not known of the animal (0 while only one
    parameter set is held; `sets` says how many). Their squares sum to that of `total`.
    """

    luck: float
    herd: float
    parameters: float
    total: float
    sets: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatSpan:
    """Heats that begin in some `hours`, true, and first seen in them: a half-day, a day, a week.

    Seen is all that the crew takes for a heat: more may be seen than begin.

    `start_h` counts hours from the clock step (the PGF heats are counted from; zero where there is
    none). Means and the limits of 80 in 100 seasons, in females.
    """

    start_h: float
    true_mean: float
    true_low80: float
    true_high80: float
    seen_mean: float
    seen_low80: float
    seen_high80: float
    hours: float = 12.0

    @property
    def span(self) -> str:
        """What `hours` are called."""
        return {12.0: "half-day", 24.0: "day"}.get(self.hours, "week")

    @property
    def larger(self) -> float:
        """The larger of both means."""
        return max(self.true_mean, self.seen_mean)


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonPeriod:
    """Twenty-one days of the breeding season, from the first insemination on.

    `conceived` counts females that conceive in the period a pregnancy standing at day 30;
    `by_end` those up to its end.
    """

    number: int
    from_day: int
    to_day: int
    conceived: Interval
    by_end: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class CalvingWeek:
    """Calves born in a week. `from_day` counts from the first insemination day.

    `by_end` counts the calves born up to the end of the week.
    """

    from_day: int
    calves: Interval
    of_ai_mean: float  # of them by AI
    starts_on: date | None = None
    by_end: Interval | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterfallStep:
    """Females lost at one step on the way to pregnant; the last step counts the pregnant.

    The counts of all steps sum to the females of the group.
    """

    key: str
    words: str
    count: float
    low80: float
    high80: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondRound:
    """The second AI of those not pregnant.

    `inseminated` counts the females inseminated in it, `pregnant` those of them pregnant to it at
    day 30, `pregnant_to_first` those pregnant to the first AI; the last two add up to
    `Forecast.pregnant_to_ai` season by season.
    """

    protocol: str
    name: str
    pregnant_to_first: Interval
    inseminated: Interval
    pregnant: Interval


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """What one protocol will do to one group.

    Parameters
    ----------
    n : int
        Females.
    group : str
    protocol, name : str
        Key and name; "bulls_alone" where no protocol is used.
    options : tuple of str
    seed, replicates : int
    rests_on, assumed, left_out : tuple of str
        Sentences: what it stands on, what was not on file and drawn, what it does not know of.
    clock_h : float
        Hour of the clock step, from zero.
    clock_words : str
        The same in words.
    heats : tuple of HeatSpan
    on_heat, on_time : Interval
        Females inseminated first after a heat seen, and first at a set time.
    inseminations : Interval
        Straws: females inseminated twice count twice, so that it is a count of no group.
    pregnant_to_ai : Interval
        To any insemination of the protocol and of a second AI after it, standing at day 30.
    dots : tuple of int
        `DOTS` equally likely seasons as counts pregnant to AI (without AI: conceived in the
        season), from the least on.
    sources : Spread
        Of `pregnant_to_ai`.
    season : tuple of SeasonPeriod
    calving : tuple of CalvingWeek
    ready_next_year : Interval, optional
        Of the females pregnant, those that calve early enough to be ready in time for the same
        day next year.
    cost_per_pregnancy : Interval, optional
        Per AI pregnancy (per pregnancy of the season for bulls alone); without a range, as what
        all seasons pay over all their pregnancies, where some of them end without one.
    waterfall : tuple of WaterfallStep
    library_version, params_version : str
    params_words : str
        How far the parameters of the animal are from a fit.
    second : SecondRound, optional
        The second AI, if one was asked for.
    heats_summed : tuple of HeatSpan
        The same by day, or by week, where the half-days are too many or too empty to read; else
        empty.
    after_season : Interval, optional
        Pregnant to an insemination after the last day of the season; None where none is so late.
    without_pregnancy : float
        Share of the seasons without a pregnancy, which have no cost of one by themselves.
    seen_if : str
        On what condition heats are seen at all, where the plan has nobody watch; else empty.
    """

    n: int
    group: str
    protocol: str
    name: str
    options: tuple[str, ...]
    seed: int
    replicates: int
    rests_on: tuple[str, ...]
    assumed: tuple[str, ...]
    left_out: tuple[str, ...]
    clock_h: float
    clock_words: str
    heats: tuple[HeatSpan, ...]
    on_heat: Interval
    on_time: Interval
    inseminations: Interval
    pregnant_to_ai: Interval
    dots: tuple[int, ...]
    sources: Spread
    season: tuple[SeasonPeriod, ...]
    calving: tuple[CalvingWeek, ...]
    ready_next_year: Interval | None
    cost_per_pregnancy: Interval | None
    waterfall: tuple[WaterfallStep, ...]
    library_version: str
    params_version: str
    params_words: str
    second: SecondRound | None = None
    heats_summed: tuple[HeatSpan, ...] = ()
    after_season: Interval | None = None
    without_pregnancy: float = 0.0
    seen_if: str = ""

    @property
    def full_name(self) -> str:
        """The name of the protocol with that of the second AI after it."""
        return self.name if self.second is None else f"{self.name}; then {self.second.name}"

    @property
    def rests_on_heats(self) -> bool:
        """Whether most are inseminated on a heat: herds differ in heats too, which is not in it."""
        return self.on_heat.mean > self.on_time.mean

    @property
    def seen_words(self) -> str:
        """What the heats first seen are of: marks without a heat too; or on what condition."""
        if self.seen_if:
            return f"{self.seen_if}; in this plan nobody does"
        return "all that the crew takes for a heat, true or not"

    @property
    def small(self) -> float:
        """Females that are too few on average to be shown by themselves."""
        return small_of(self.n)

    @property
    def waterfall_to_show(self) -> tuple[WaterfallStep, ...]:
        """The steps that lose no `small` number, the others as one without a range, the end."""
        if not self.waterfall:
            return ()
        *lost, end = self.waterfall
        small = self.small
        large = [step for step in lost if step.count >= small]
        rest = sum(step.count for step in lost if step.count < small)
        if rest >= small:
            large.append(
                WaterfallStep(
                    key="rest", words="smaller reasons together", count=rest,
                    low80=math.nan, high80=math.nan,
                )
            )  # fmt: skip
        return (*large, end)

    @property
    def heats_to_show(self) -> tuple[HeatSpan, ...]:
        """What a table or a picture has room for: half-days, or the days or weeks summed."""
        return self.heats_summed or self.heats

    @property
    def other_heats(self) -> tuple[float, float]:
        """Means that begin and are seen in spans too `small` to be shown, together."""
        few = [span for span in self.heats_to_show if span.larger < self.small]
        return sum(span.true_mean for span in few), sum(span.seen_mean for span in few)


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two protocols on the same females with the same luck, season by season.

    `counted` says what of: females pregnant to AI where both inseminate, else those that conceive
    in the season, by AI or bulls. `chance_a_better` is the share of seasons in which A has more of
    them, ties counted half. `more_*` is how many more: median and the limits of 80 in 100.
    """

    group: str
    a: str
    b: str
    chance_a_better: float
    more_median: float
    more_low80: float
    more_high80: float
    more_mean: float
    counted: str = TO_AI
