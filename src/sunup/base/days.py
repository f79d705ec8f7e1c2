"""Counting days: from service to calving and between two dates. The first day is day 0."""

from __future__ import annotations

from datetime import date, timedelta

from sunup.base.problems import DomainError


class GestationDaysError(DomainError):
    """A gestation of no days or less."""

    def __init__(self, days: int) -> None:
        super().__init__(f"{days} is no length of gestation; it is a number of days above 0")


def due_on(service_on: date, gestation_days: int) -> date:
    """Return the day a calf is due.

    Parameters
    ----------
    service_on : date
        Day of insemination or service; it counts as day 0.
    gestation_days : int
        Elapsed days to calving. [d]

    Raises
    ------
    GestationDaysError
        If `gestation_days` is not above 0.

    Notes
    -----
    Counted as in Clemson Extension BC-1001 (June 2006). Many printed tables count the day of
    service as day 1 and so come out a day early.

    Examples
    --------
    >>> due_on(date(1995, 2, 10), 283)
    datetime.date(1995, 11, 20)
    """
    _check(gestation_days)
    return service_on + timedelta(days=gestation_days)


def days_between(earlier: date, later: date) -> int:
    """Elapsed days from one date to another; negative where `later` comes first.

    Examples
    --------
    >>> days_between(date(1995, 1, 25), date(1996, 3, 5))
    405
    """
    return (later - earlier).days


def _check(gestation_days: int) -> None:
    if gestation_days <= 0:
        raise GestationDaysError(gestation_days)
