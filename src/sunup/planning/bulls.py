"""What a bull costs for each cow and each pregnancy, line by line."""

from __future__ import annotations

from dataclasses import dataclass

from sunup.base.problems import DomainError


class BullCostError(DomainError):
    """A price, count or share that no bull can have."""

    def __init__(self, name: str, value: float, allowed: str) -> None:
        super().__init__(f"{name} = {value:g} cannot be used; allowed: {allowed}")


@dataclass(frozen=True, slots=True)
class BullCost:
    """A year's cost of one bull, in the currency of the prices given.

    The five lines add up to `per_year`; `cows` are those of one season.
    """

    depreciation: float
    interest: float
    feed: float
    exams: float
    death: float
    cows: float
    seasons: float

    @property
    def lines(self) -> tuple[tuple[str, float], ...]:
        """The lines of a table: words and amount a year."""
        return (
            ("loss of value", self.depreciation),
            ("interest", self.interest),
            ("feed and care", self.feed),
            ("breeding soundness exams", self.exams),
            ("risk of death", self.death),
        )

    @property
    def per_year(self) -> float:
        """All lines of one season."""
        return self.depreciation + self.interest + self.feed + self.exams + self.death

    @property
    def total(self) -> float:
        """All lines over the seasons he is kept."""
        return self.per_year * self.seasons

    @property
    def per_cow(self) -> float:
        """Cost for each cow exposed."""
        return self.per_year / self.cows


def bull_cost(
    *,
    price: float,
    salvage: float,
    seasons: float,
    cows: float,
    feed_per_year: float,
    exam_cost: float,
    exams: float,
    interest_share: float,
    death_share: float,
    death_value: float | None = None,
) -> BullCost:
    """Return what one bull costs a year and for each cow.

    Parameters
    ----------
    price, salvage : float
        Paid for him, and got for him at the end. [money]
    seasons : float
        Breeding seasons he is kept; more than 0.
    cows : float
        Cows exposed to him in a season; more than 0.
    feed_per_year : float
        Feed, pasture and care. [money/year]
    exam_cost, exams : float
        One breeding soundness exam, and how many over all his seasons. [money], [-]
    interest_share : float
        Share of the price paid a year for the money in him, in [0, 1].
    death_share : float
        Chance a year that he dies or is lost, in [0, 1].
    death_value : float, optional
        What is lost then; the price where it is not given. [money]

    Returns
    -------
    BullCost

    Raises
    ------
    BullCostError
        If an amount is negative, a share is outside its bounds, or seasons or cows are 0.

    Notes
    -----
    Loss of value + interest + feed + exams + risk of death, over cows times the share pregnant:
    the form of a Kansas State University study (trade press account: 4 seasons, interest 9 %,
    death 10 %, 94 % pregnant); `per_pregnancy` divides by the last. With interest 0 and
    `death_value` 3,000 it is the worked example of the University of Nebraska: 5,965 over four
    seasons, 92 pregnancies, 65 dollars each.
    """
    amounts = {
        "price": price,
        "salvage": salvage,
        "feed_per_year": feed_per_year,
        "exam_cost": exam_cost,
        "exams": exams,
        "death_value": price if death_value is None else death_value,
    }
    for name, value in amounts.items():
        if not value >= 0:
            raise BullCostError(name, value, "0 or more")
    for name, value in (("seasons", seasons), ("cows", cows)):
        if not value > 0:
            raise BullCostError(name, value, "more than 0")
    for name, value in (("interest_share", interest_share), ("death_share", death_share)):
        if not 0 <= value <= 1:
            raise BullCostError(name, value, "a share from 0 to 1")
    return BullCost(
        depreciation=(price - salvage) / seasons,
        interest=price * interest_share,
        feed=feed_per_year,
        exams=exam_cost * exams / seasons,
        death=amounts["death_value"] * death_share,
        cows=cows,
        seasons=seasons,
    )


def per_pregnancy(per_cow: float, *, pregnancy_share: float) -> float:
    """Return the cost of each cow that gets pregnant, from that of each cow exposed.

    Raises
    ------
    BullCostError
        If the share is not above 0 and at most 1.
    """
    if not 0 < pregnancy_share <= 1:
        raise BullCostError("pregnancy_share", pregnancy_share, "a share above 0, at most 1")
    return per_cow / pregnancy_share
