"""What was asked of a plan, checked before any file is read through: days, region, numbers."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.base.problems import UsageError
from sunup.planning.options import SEXED

if TYPE_CHECKING:
    from datetime import date

    from sunup.library import Library
    from sunup.planning.request import Request


class PastSeasonError(UsageError):
    """A plan was asked for a first insemination that is past."""

    def __init__(self, day: date, today: date) -> None:
        super().__init__(
            f"--first-ai {day} is past (the plan is made on {today}). Give a day to come; for a "
            "season gone by say with --as-of which day it is planned on."
        )


def checked(request: Request, library: Library) -> Request:
    """Return the request with its region as the library writes it.

    Parameters
    ----------
    request : Request
        Its `today` is the day it is planned on.
    library : Library

    Returns
    -------
    Request

    Raises
    ------
    UsageError
        If its first insemination is before `today`, AI calves are to come earlier by a number of
        days that no calf can, or sexed semen is asked for where no sire's is.
    """
    if request.first_ai_on is not None and request.first_ai_on < request.today:
        raise PastSeasonError(request.first_ai_on, request.today)
    earlier = request.earlier_days
    most = library.number("practice.earlier_calves_most_days")
    if earlier is not None and not 0.0 <= earlier <= most:
        message = (
            f"--earlier-days {earlier:g}: give by how many days AI calves come earlier on your "
            f"ranch, 0 to {most:g}."
        )
        raise UsageError(message)
    for group, options in request.options.items():
        semen = {sire.semen for sire in request.sires if sire.group == group}
        if SEXED in options and semen and "sexed" not in semen:
            code = next(sire.code for sire in request.sires if sire.group == group)
            message = (
                f"--option {group}={SEXED} and --sire {group}={code} contradict: that semen is "
                f"not sexed. Write --sire {group}={code}:sexed, or leave the option out."
            )
            raise UsageError(message)
    asked = request.region.strip().casefold()
    known = {key.casefold(): key for key in library.regions}
    return replace(request, region=known.get(asked, request.region))
