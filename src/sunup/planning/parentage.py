"""AI or bull: who sired the calf, as a chance, from service dates, fetal age and gestation.

Nothing here is a verdict. Where a herd must know, the calf's DNA tells; until then the chance is
shown as such ("9 in 10 the AI sire").
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from sunup.forecast.gestation import GestationFigures, Shares, expect_gestation
from sunup.planning.conceptions import ConceptionFigures, conception_days

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from sunup.base.figures import Figure
    from sunup.forecast.gestation import Gestation
    from sunup.library.library import Library
    from sunup.planning.conceptions import BullTime, Conceptions, Insemination

Z95 = 1.959964  # 95 of 100 of a normal distribution lie within this many standard deviations
SURE = "99 in 100 or more"
FAR_SD = 3.5  # a finding further than this from every service on file fits none of them


class Way(StrEnum):
    """How she conceived."""

    AI = "ai"
    BULL = "bull"
    OTHER = "other"  # a service that is not on file: only the age of the fetus tells of it


@dataclass(frozen=True, slots=True)
class Check:
    """A pregnancy check. `method`: ultrasound | palpation | blood | other."""

    on: date
    method: str
    result: str  # pregnant | not_pregnant | unsure
    fetal_age_d: float | None = None
    fetal_sex: str | None = None
    fetuses: int | None = None


@dataclass(frozen=True, slots=True)
class Calving:
    """A calving. `sex` of a single calf: female | male; None: twins of both, or not known."""

    on: date
    n_calves: int = 1
    sex: str | None = None


@dataclass(frozen=True, slots=True)
class Dam:
    """What of the dam bears on gestation."""

    breeds: Shares = ()
    is_heifer: bool = False


@dataclass(frozen=True, slots=True)
class ParentageFigures:
    """Everything the chance rests on."""

    conception: ConceptionFigures
    gestation: GestationFigures
    called_from: Figure
    age_error: Figure
    age_good: Figure
    age_error_outside: Figure
    seen_from: dict[str, Figure]
    sure_from: dict[str, Figure]

    @staticmethod
    def of(library: Library) -> ParentageFigures:
        """Take them from the library."""
        figure = library.figure
        return ParentageFigures(
            conception=ConceptionFigures.of(library),
            gestation=GestationFigures.of(library),
            called_from=figure("practice.sire_called_from_chance"),
            age_error=figure("breeding.fetal_age_error_d"),
            age_good=figure("breeding.fetal_age_good_days"),
            age_error_outside=figure("breeding.fetal_age_error_outside_d"),
            seen_from={
                way: figure(f"breeding.{way}_possible_days")
                for way in ("ultrasound", "palpation", "blood")
            },
            sure_from={
                way: figure(f"readiness.{way}_earliest_days")
                for way in ("ultrasound", "palpation", "blood")
            },
        )


@dataclass(frozen=True, slots=True)
class Candidate:
    """One service she can have conceived to, with its chance and the days it can have been."""

    way: Way
    sires: tuple[str, ...]
    from_on: date
    until_on: date
    chance: float
    gestation: Gestation
    heat: int | None = None  # inseminations of one number were of one heat


@dataclass(frozen=True, slots=True)
class Parentage:
    """Who the sire can be.

    Attributes
    ----------
    candidates : tuple of Candidate
        Likeliest first; chances add up to 1.
    days : tuple of (date, int, float)
        Day of conception, index of its candidate, chance; for due dates.
    fits : bool
        False where a finding lies far from every service on file: then no sire is told, and the
        days go by the age of the fetus where one was judged.
    remarks : tuple of str
        What was left out or does not fit, in words.
    called_from : float
        From this chance on the pregnancy is called the AI's or the bull's.
    age_off_d : float
        How far the age of the fetus lies from the nearest service, where that is further than 95 of
        100 lie; else 0. She is then not called the AI's or the bull's.
    believed : tuple of Check, optional
        The findings that are left where the calving has shown some to be wrong; else None.
    """

    candidates: tuple[Candidate, ...]
    days: tuple[tuple[date, int, float], ...]
    fits: bool
    remarks: tuple[str, ...]
    figures: tuple[Figure, ...]
    called_from: float
    age_off_d: float = 0.0
    believed: tuple[Check, ...] | None = None

    def chance(self, way: Way) -> float:
        """Chance that she conceived by AI, or to a bull."""
        return sum(c.chance for c in self.candidates if c.way is way)

    @property
    def called(self) -> Way | None:
        """How she is said to have conceived; None where it is not sure enough."""
        if not self.fits or self.age_off_d:
            return None
        return next((way for way in Way if self.chance(way) >= self.called_from), None)

    @property
    def words(self) -> str:
        """The chances in a line: likeliest first, those under 1 in 100 left out."""
        if not self.candidates:
            return "no service on file"
        if self.candidates[0].way is Way.OTHER:
            day = max(self.days, key=lambda told: told[2])[0]
            return (
                "fits no service on file; conceived about "
                f"{day.day} {day:%b %Y} by the age of the fetus"
            )
        alike: dict[object, list[Candidate]] = {}
        for i, one in enumerate(self.candidates):
            key = i if one.heat is None else (one.heat, one.sires)
            alike.setdefault(key, []).append(one)
        told = sorted(
            ((sum(c.chance for c in some), some) for some in alike.values()),
            key=lambda pair: -pair[0],
        )
        shown = [pair for pair in told if pair[0] >= 0.01] or told[:1]
        said = "; ".join(f"{say_chance(chance)} {_who(some)}" for chance, some in shown)
        if self.age_off_d:
            said += f"; doubtful, the age of the fetus lies {self.age_off_d:.0f} days off"
        return said if self.fits else "fits no service on file"


def say_chance(chance: float) -> str:
    """Say a chance in natural counts.

    Examples
    --------
    >>> [say_chance(p) for p in (0.999, 0.97, 0.88, 0.5, 0.04, 0.001)]
    ['99 in 100 or more', '97 in 100', '9 in 10', '5 in 10', '4 in 100', 'under 1 in 100']
    """
    if chance >= 0.99:
        return SURE
    if chance < 0.01:
        return "under 1 in 100"
    if chance >= 0.95 or chance < 0.05:
        return f"{chance * 100:.0f} in 100"
    return f"{max(1, min(9, round(chance * 10)))} in 10"


def find_parentage(
    inseminations: Sequence[Insemination],
    bulls: Sequence[BullTime],
    *,
    dam: Dam,
    checks: Sequence[Check] = (),
    calving: Calving | None = None,
    asked_on: date,
    figures: ParentageFigures,
) -> Parentage:
    """Return who the sire can be, from everything on file of one pregnancy.

    Parameters
    ----------
    inseminations, bulls : sequence
        Services since her last calving (or abortion).
    dam : Dam
    checks : sequence of Check
        Since the first of those services.
    calving : Calving, optional
        The calving the pregnancy ended in.
    asked_on : date
        Today; services after it, after a calving or after the last pregnant finding do not count.
    figures : ParentageFigures

    Returns
    -------
    Parentage

    Notes
    -----
    Bayes' rule over days of conception. Before any finding: ``conception_days``. A pregnant finding
    leaves out days younger than the method can see; an open finding those old enough that it is
    sure. A fetal age has a normal error: 95 of 100 within 15 d between 32 and 110 d (trade press
    account; younger ones are taken alike), wider above and by palpation (ours). A calving day has a
    normal error around the gestation of that sire's and her breed, calf's sex, her parity, twins. A
    calving that fits a service only without an open finding or a fetal age overrules it.
    """
    told = [c for c in checks if c.on <= asked_on and c.result != "unsure"]
    first: Parentage | None = None
    for wrong in _tries(told, calving, figures):
        kept = tuple(one for c in told if (one := _put_right(c, wrong)) is not None)
        found = _judge(
            inseminations,
            bulls,
            dam=dam,
            sure_checks=kept,
            calving=calving,
            asked_on=asked_on,
            figures=figures,
        )
        if first is None:
            first = found
        if wrong and calving is not None and found.candidates and found.fits:
            said = " and ".join(one.what.format(day=_day(one.check.on)) for one in wrong)
            remark = f"by the calving of {_day(calving.on)} {said}"
            return replace(found, believed=kept, remarks=(remark, *found.remarks))
        if not wrong and found.candidates and found.fits:
            break
    return first if first is not None else found


def _tries(
    told: Sequence[Check], calving: Calving | None, figures: ParentageFigures
) -> Iterator[tuple[_Wrong, ...]]:
    """Findings to take as wrong, fewest first: none, then those that a calving speaks against.

    A calf is a fact, a finding may be wrong: an open one of a female in calf by her calving, a
    fetal age far from it, a pregnant one of before it was conceived.
    """
    yield ()
    if calving is None:
        return
    conceived_on = calving.on - timedelta(days=round(figures.gestation.default.number))
    ages = {c: (c.on - conceived_on).days for c in told}
    open_ = [_Wrong(c, _OPEN) for c in told if c.result == "not_pregnant" and ages[c] > 0]
    early = [_Wrong(c, _EARLY) for c in told if c.result == "pregnant" and ages[c] < 0]
    aged = [
        _Wrong(c, _AGE)
        for c in told
        if c.fetal_age_d is not None
        and ages[c] >= 0
        and abs(ages[c] - c.fetal_age_d) > _age_error(c, figures).number
    ]
    sets = [open_, aged, [*open_, *aged], [*open_, *aged, *early]]
    yield from dict.fromkeys(tuple(some) for some in sets if some)


_OPEN = "she was found open {day} though in calf"
_AGE = "the age of the fetus found {day} was wrong"
_EARLY = "the pregnancy found {day} was lost, or not hers"


class _Wrong(NamedTuple):
    """A finding that a calving speaks against, and what of it is wrong, in words."""

    check: Check
    what: str


def _put_right(check: Check, wrong: Sequence[_Wrong]) -> Check | None:
    """The finding without what is wrong of it: its age, or all of it."""
    what = {one.what for one in wrong if one.check == check}
    if not what:
        return check
    return replace(check, fetal_age_d=None) if what == {_AGE} else None


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"


def _judge(
    inseminations: Sequence[Insemination],
    bulls: Sequence[BullTime],
    *,
    dam: Dam,
    sure_checks: Sequence[Check],
    calving: Calving | None,
    asked_on: date,
    figures: ParentageFigures,
) -> Parentage:
    """Who the sire can be by all these findings. Parameters as ``find_parentage``."""
    pregnant = [c for c in sure_checks if c.result == "pregnant"]
    until_on = asked_on
    if calving is not None:
        until_on = min(until_on, calving.on)
    if pregnant:
        until_on = min(until_on, pregnant[-1].on)
    called_from = figures.called_from.number
    before = conception_days(inseminations, bulls, until_on=until_on, figures=figures.conception)
    none = ("no service on file",)
    if before is None and calving is None and any(c.fetal_age_d is not None for c in pregnant):
        return _by_age(pregnant, dam, remarks=none, used=(), figures=figures)
    if before is None:
        return Parentage((), (), fits=True, remarks=none, figures=(), called_from=called_from)
    weights = before.weights.copy()
    columns = np.arange(weights.shape[1])
    first = before.first_on.toordinal()
    remarks: list[str] = []
    used: list[Figure] = [figures.conception.ai, figures.conception.bull]
    for check in sure_checks:
        ages = check.on.toordinal() - first - columns
        weights *= _given_check(check, ages, used, figures)
    total = weights.sum()
    if total <= 0.0:
        remarks.append(
            "the findings rule out every service on file: a service, a bull or a date is missing "
            "or wrong"
        )
        if calving is None and any(c.fetal_age_d is not None for c in pregnant):
            return _by_age(pregnant, dam, remarks=remarks, used=used, figures=figures)
        return Parentage(
            (),
            (),
            fits=False,
            remarks=tuple(remarks),
            figures=tuple(used),
            called_from=called_from,
        )
    breeds = [*(one.breeds for one in inseminations), *(one.breeds for one in bulls)]
    gestations = [_gestation(shares, dam, sure_checks, calving, figures) for shares in breeds]
    # standard deviations from each day to the finding that agrees with it least
    off = _off_ages(pregnant, first + columns, figures)
    possible = weights.sum(axis=0) > 0
    age_off_d = (
        0.0 if calving is not None else _too_far_d(pregnant, first + columns[possible], figures)
    )
    if calving is not None:
        ages = calving.on.toordinal() - first - columns
        used.append(figures.gestation.default)
        z = np.vstack([(ages - g.mean_d) / g.sd_d for g in gestations])
        scale = np.array([g.sd_d for g in gestations])[:, None]
        # least squares taken off first, so that a calving far from all still ranks the services
        log = -0.5 * (z**2 - (z[weights > 0] ** 2).min()) - np.log(scale)
        off = np.maximum(off, np.abs(z))[weights > 0]
        weights = weights * np.exp(log)
        total = weights.sum()
    else:
        off = off[possible]
    fits = float(off.min()) <= FAR_SD
    if not fits and calving is None:
        remarks.append(_far(calving, pregnant))
        return _by_age(pregnant, dam, remarks=remarks, used=used, figures=figures)
    if not fits:
        remarks.append(_far(calving, pregnant))
    weights /= total
    return _gathered(
        before,
        weights,
        inseminations=inseminations,
        bulls=bulls,
        gestations=gestations,
        fits=fits,
        remarks=remarks,
        used=used,
        called_from=called_from,
        age_off_d=age_off_d,
    )


def _given_check(
    check: Check, ages: NDArray[np.int64], used: list[Figure], figures: ParentageFigures
) -> NDArray[np.float64]:
    """How well each age at the check agrees with its finding. Shape (days,)."""
    method = check.method if check.method in figures.seen_from else "palpation"
    if check.result == "not_pregnant":
        used.append(figures.sure_from[method])
        return np.where(ages >= figures.sure_from[method].number, 0.0, 1.0)
    used.append(figures.seen_from[method])
    fit = np.where(ages >= figures.seen_from[method].number, 1.0, 0.0)
    if check.fetal_age_d is not None:
        figure = _age_error(check, figures)
        used.append(figure)
        z = (ages - check.fetal_age_d) / (figure.number / Z95)
        possible = z[fit > 0]
        if possible.size:
            fit = fit * np.exp(-0.5 * (z**2 - (possible**2).min()))
    return fit


def _age_error(check: Check, figures: ParentageFigures) -> Figure:
    age = check.fetal_age_d or 0.0
    is_good = check.method == "ultrasound" and age <= figures.age_good.span[1]
    return figures.age_error if is_good else figures.age_error_outside


def _off_ages(
    pregnant: Sequence[Check], days: NDArray[np.int64], figures: ParentageFigures
) -> NDArray[np.float64]:
    """Standard deviations from each day of conception to the fetal age furthest from it."""
    off = np.zeros(len(days))
    for check in pregnant:
        if check.fetal_age_d is not None:
            sd = _age_error(check, figures).number / Z95
            off = np.maximum(off, np.abs(check.on.toordinal() - days - check.fetal_age_d) / sd)
    return off


def _too_far_d(
    pregnant: Sequence[Check], days: NDArray[np.int64], figures: ParentageFigures
) -> float:
    """Days from a fetal age to the nearest day she can have conceived; 0 where within its error."""
    far = 0.0
    for check in pregnant:
        if check.fetal_age_d is None:
            continue
        off = float(np.abs(check.on.toordinal() - days - check.fetal_age_d).min())
        if off > _age_error(check, figures).number:
            far = max(far, off)
    return far


def _by_age(
    pregnant: Sequence[Check],
    dam: Dam,
    *,
    remarks: Sequence[str],
    used: Sequence[Figure],
    figures: ParentageFigures,
) -> Parentage:
    """A pregnancy that fits no service on file: its days go by the age of the fetus alone."""
    aged = [c for c in pregnant if c.fetal_age_d is not None]
    # the surest age; of two as sure the later
    check = min(reversed(aged), key=lambda c: _age_error(c, figures).number)
    sd = _age_error(check, figures).number / Z95
    middle = check.on.toordinal() - (check.fetal_age_d or 0.0)
    first, last = math.floor(middle - 3 * sd), min(math.ceil(middle + 3 * sd), check.on.toordinal())
    days = np.arange(first, last + 1)
    weights = np.exp(-0.5 * ((days - middle) / sd) ** 2)
    weights /= weights.sum()
    one = Candidate(
        way=Way.OTHER,
        sires=(),
        from_on=date.fromordinal(first),
        until_on=date.fromordinal(last),
        chance=1.0,
        gestation=_gestation((), dam, pregnant, None, figures),
    )
    return Parentage(
        candidates=(one,),
        days=tuple(
            (date.fromordinal(int(day)), 0, float(weight))
            for day, weight in zip(days, weights, strict=True)
        ),
        fits=False,
        remarks=tuple(remarks),
        figures=tuple(dict.fromkeys(used)),
        called_from=figures.called_from.number,
    )


def _gestation(
    breeds: Shares,
    dam: Dam,
    checks: Sequence[Check],
    calving: Calving | None,
    figures: ParentageFigures,
) -> Gestation:
    sexes = [c.fetal_sex for c in checks if c.fetal_sex]
    counts = [c.fetuses for c in checks if c.fetuses]
    if calving is not None:
        sex, n_calves = calving.sex, calving.n_calves
    else:
        sex = sexes[-1] if sexes else None
        n_calves = counts[-1] if counts else 1
    return expect_gestation(
        sire=breeds,
        dam=dam.breeds,
        is_heifer=dam.is_heifer,
        sex=sex,
        n_calves=n_calves,
        figures=figures.gestation,
    )


def _far(calving: Calving | None, pregnant: Sequence[Check]) -> str:
    what = "the fetal age" if calving is None else "the calving day"
    if calving is not None and any(c.fetal_age_d is not None for c in pregnant):
        what = "the fetal age or the calving day"
    return (
        f"{what} lies far from what any service on file would give: look for a service not "
        "recorded, another bull, or a wrong tag or date"
    )


def _gathered(
    before: Conceptions,
    weights: NDArray[np.float64],
    *,
    inseminations: Sequence[Insemination],
    bulls: Sequence[BullTime],
    gestations: Sequence[Gestation],
    fits: bool,
    remarks: Sequence[str],
    used: Sequence[Figure],
    called_from: float,
    age_off_d: float,
) -> Parentage:
    found: list[tuple[Candidate, int]] = []
    for row, chance in enumerate(weights.sum(axis=1)):
        if chance <= 0.0:
            continue
        columns = np.flatnonzero(weights[row] > 0)
        is_ai = row < len(inseminations)
        sires = (inseminations[row].sire,) if is_ai else bulls[row - len(inseminations)].bulls
        found.append(
            (
                Candidate(
                    way=Way.AI if is_ai else Way.BULL,
                    sires=sires,
                    from_on=before.day(int(columns[0])),
                    until_on=before.day(int(columns[-1])),
                    chance=min(float(chance), 1.0),
                    gestation=gestations[row],
                    heat=next((i for i, rows in enumerate(before.heats) if row in rows), None),
                ),
                row,
            )
        )
    found.sort(key=lambda pair: (-pair[0].chance, pair[0].from_on))
    days = tuple(
        (before.first_on + timedelta(days=int(column)), index, float(weights[row, column]))
        for index, (_, row) in enumerate(found)
        for column in np.flatnonzero(weights[row] > 1e-9)
    )
    return Parentage(
        candidates=tuple(candidate for candidate, _ in found),
        days=days,
        fits=fits,
        remarks=tuple(remarks),
        figures=tuple(dict.fromkeys(used)),
        called_from=called_from,
        age_off_d=age_off_d,
    )


def _who(same: Sequence[Candidate]) -> str:
    """Whom one or more candidates of one heat and sire are, in words."""
    one = same[0]
    if one.way is Way.AI:
        days = sorted({c.from_on for c in same})
        said = " and ".join(f"{day.day} {day:%b}" for day in days)
        return f"the AI sire {one.sires[0]} ({said})"
    named = f" {', '.join(one.sires)}" if one.sires else ""
    return f"the {'bulls' if len(one.sires) > 1 else 'bull'}{named}"
