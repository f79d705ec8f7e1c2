"""Melengestrol in feed: how much carrier gives each heifer her milligrams."""

from __future__ import annotations

from sunup.base.problems import DomainError


class FeedStrengthError(DomainError):
    """A strength or amount of feed that cannot be."""

    def __init__(self, name: str, value: float) -> None:
        super().__init__(f"{name} = {value:g} cannot be used: it must be above 0")


def carrier_lb_per_day(head: int, mg_per_head: float, *, mg_per_lb: float) -> float:
    """Return the feed a group is given each day so that every heifer can eat her dose.

    Parameters
    ----------
    head : int
        Heifers fed; 0 gives 0.
    mg_per_head : float
        Melengestrol a head and day. [mg]
    mg_per_lb : float
        Strength of the feed as it is fed. [mg/lb]

    Returns
    -------
    float
        Pounds a day for the whole group. [lb/d]

    Raises
    ------
    FeedStrengthError
        If an amount is not above 0, or `head` is negative.

    Notes
    -----
    21 CFR 558.342(e)(1)(ii), 2024 table: pounds a head and day times mg a pound is 0.5 mg.

    Examples
    --------
    >>> carrier_lb_per_day(100, 0.5, mg_per_lb=0.25)
    200.0
    """
    if head < 0:
        raise FeedStrengthError("head", head)
    for name, value in (("mg_per_head", mg_per_head), ("mg_per_lb", mg_per_lb)):
        if not value > 0:
            raise FeedStrengthError(name, value)
    return head * mg_per_head / mg_per_lb
