"""What a protocol costs a female: drugs, inserts, semen, technician, labour, supplies.

Before a forecast is there nobody knows how many will be seen in heat: where only females in heat
are inseminated, semen, technician and supplies are counted for every female, and a note says so.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.planning.capacity import work_rate
from sunup.planning.options import SEXED
from sunup.planning.plan import Money
from sunup.planning.schedule import straws_per_female
from sunup.planning.visits import feed_days, find_visits
from sunup.protocols.protocol import ESTRADIOLS, Do, Who
from sunup.protocols.timing import watch_days

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.base.figures import Figure
    from sunup.forecast.watches import Watches
    from sunup.library.library import Library
    from sunup.planning.request import Sire
    from sunup.protocols.protocol import Protocol

LABOUR, WATCHING = "chute labour", "watching"
NOT_BOUGHT = frozenset({LABOUR, WATCHING, "bulls"})  # items of a cost no shopping list holds
_PRICE_OF = {
    Do.GNRH: "prices.gnrh_dose",
    Do.PGF: "prices.pgf_dose",
    Do.ECG: "prices.ecg_dose",
    Do.INSERT_IN: "prices.insert",
}
_ITEM = {
    Do.GNRH: "GnRH",
    Do.PGF: "PGF",
    Do.ECG: "eCG",
    Do.INSERT_IN: "progesterone inserts",
    Do.ESTRADIOL_BENZOATE: "estradiol",
    Do.ESTRADIOL_CYPIONATE: "estradiol",
}


def middle(figure: Figure) -> float:
    """The middle of a price range."""
    low, high = figure.span
    return (low + high) / 2


def _money(item: str, amount: float, figure: Figure, note: str = "") -> Money:
    return Money(item, "female", amount, figure.example, figure.key, note)


def cost_lines(
    protocol: Protocol,
    *,
    head: int,
    library: Library,
    chutes: int,
    options: Sequence[str] = (),
    sires: Sequence[Sire] = (),
    watches: Watches | None = None,
) -> tuple[Money, ...]:
    """Cost per female, line by line.

    Parameters
    ----------
    protocol : Protocol
        With its options applied.
    head : int
        Females treated; fixed labour (watching) is shared among them. At least 1 is taken.
    library : Library
    chutes : int
    options, sires
        Decide which semen is paid.
    watches : Watches, optional
        How heats are watched, where it was said; the library's usual way if absent.

    Returns
    -------
    tuple of Money
        Amounts in the currency of the prices file, per female treated.
    """
    head = max(1, head)
    lines: list[Money] = []
    totals: dict[str, tuple[float, Figure, bool]] = {}
    for step in protocol.steps:
        key = "prices.estradiol_dose" if step.do in ESTRADIOLS else _PRICE_OF.get(step.do)
        if key is None:
            continue
        figure = library.figure(key)
        item = _ITEM[step.do]
        before, _, partial = totals.get(item, (0.0, figure, False))
        totals[item] = (
            before + middle(figure) * step.dose,
            figure,
            partial or step.who not in {None, Who.ALL},
        )
    for item, (amount, figure, partial) in totals.items():
        note = "counted for every female; some will not need it" if partial else ""
        lines.append(_money(item, amount, figure, note))
    days = feed_days(protocol)
    if days:
        figure = library.figure("prices.mga_day")
        lines.append(_money("melengestrol", middle(figure) * days, figure, f"{days} days"))
    straws = straws_per_female(protocol)
    if straws:
        lines += _semen_lines(straws, library=library, options=options, sires=sires)
        note = _heat_note(protocol)
        for key, item in (("prices.technician", "technician"), ("prices.supplies", "supplies")):
            figure = library.figure(key)
            lines.append(_money(item, middle(figure) * straws, figure, note))
    wage = library.figure("prices.chute_wage_h")
    labour = 0.0
    for visit in find_visits(protocol):
        rate = work_rate(visit, library=library, chutes=chutes)
        if rate:
            crew = "practice.crew_ai" if Do.AI in visit.does else "practice.crew_treat"
            labour += middle(wage) * library.number(crew) * chutes / rate
    if straws and not any(s.do is Do.AI for s in protocol.steps):
        rate = library.number("practice.work_rate_ai")
        labour += middle(wage) * library.number("practice.crew_ai") / rate
    if labour:
        lines.append(_money(LABOUR, labour, wage))
    watched = watch_days(protocol)
    if watched:
        watch_wage = library.figure("prices.watch_wage_h")
        minutes = library.number("practice.watch_minutes")
        times = library.number("practice.watch_times_per_day")
        if watches is not None:
            minutes, times = watches.minutes, watches.times_per_day
        people = library.number("practice.watch_people")
        hours = watched * times * minutes / 60 * people
        lines.append(
            _money(
                WATCHING,
                hours * middle(watch_wage) / head,
                watch_wage,
                f"{hours:.0f} hours in all, shared by {head} head",
            )
        )
    return tuple(lines)


def _semen_lines(
    straws: int, *, library: Library, options: Sequence[str], sires: Sequence[Sire]
) -> list[Money]:
    share = sum(s.share for s in sires if s.semen == "sexed")
    if not sires and SEXED in options:
        share = 1.0
    lines: list[Money] = []
    for part, key, item in (
        (1.0 - share, "prices.semen_conventional", "semen"),
        (share, "prices.semen_sexed", "sexed semen"),
    ):
        if part > 0:
            figure = library.figure(key)
            lines.append(_money(item, middle(figure) * straws * part, figure))
    return lines


def _heat_note(protocol: Protocol) -> str:
    if any(s.do is Do.AI for s in protocol.steps):
        return ""
    return "as if every female were seen in heat"


def total(lines: Sequence[Money]) -> float:
    """Sum of the lines, per female."""
    return sum(line.amount for line in lines)
