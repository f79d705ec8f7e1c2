"""What to buy and book, how much, and by when."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import to_local
from sunup.planning.cost import NOT_BOUGHT, middle
from sunup.planning.feed import carrier_lb_per_day
from sunup.planning.plan import TO_CHOOSE, ShoppingLine, SireUse
from sunup.planning.schedule import straws_per_female
from sunup.planning.visits import feed_days
from sunup.protocols.protocol import INJECTIONS, Do

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from zoneinfo import ZoneInfo

    from sunup.library.library import Library
    from sunup.planning.dosing import Chosen
    from sunup.planning.plan import Plan, ScheduledStep
    from sunup.planning.request import Sire
    from sunup.protocols.protocol import Protocol


@dataclass(frozen=True, slots=True)
class GroupNeed:
    """What supplies are counted from, for one group."""

    name: str
    head: int
    protocol: Protocol
    steps: Sequence[ScheduledStep]
    sires: Sequence[SireUse]
    first_treatment_on: date
    first_ai_on: date


@dataclass(frozen=True, slots=True)
class Reconciled:
    """The costs of the groups beside the shopping list: two counts of one season.

    `groups` is what the groups cost together; `work` the part of it that nothing is bought for
    here (labour, watching, bulls); `spare` what the list holds beyond the rest: spare doses,
    inserts and straws, and what stays in bottles.
    """

    groups: float
    work: float
    spare: float


def _whole(pieces: float) -> int:
    """Pieces to buy: part of one is one, but for the noise of a sum (220.00000000000003 is 220)."""
    return math.ceil(pieces - 1e-9)


def unit_of(line: ShoppingLine) -> str:
    """The unit as said beside the quantity: ``inseminations``, of one ``insemination``."""
    return line.unit.removesuffix("s") if line.quantity == 1 else line.unit


def choose_bottles(need_ml: float, sizes: Sequence[float]) -> tuple[tuple[float, int], ...]:
    """The bottles that cover a volume with least waste, then fewest bottles.

    Parameters
    ----------
    need_ml : float
    sizes : sequence of float
        Bottle sizes, mL.

    Returns
    -------
    tuple of (size, count)
        Largest size first; empty when nothing is needed or no size is held.

    Examples
    --------
    >>> choose_bottles(110, (20, 100))
    ((100, 1), (20, 1))
    """
    if need_ml <= 0 or not sizes:
        return ()
    ordered = sorted(sizes, reverse=True)
    fewer = [_fewer_of(size, ordered[i + 1 :]) for i, size in enumerate(ordered)]
    best: tuple[float, int, tuple[int, ...]] | None = None

    def fill(left: float, index: int, counts: tuple[int, ...]) -> None:
        nonlocal best
        size = ordered[index]
        if index == len(ordered) - 1:
            full = (*counts, max(0, _whole(left / size)))
            bought = sum(c * s for c, s in zip(full, ordered, strict=True))
            offer = (bought, sum(full), full)
            if best is None or offer < best:
                best = offer
            return
        most = max(0, _whole(left / size))
        for count in range(max(0, most - fewer[index]), most + 1):
            fill(left - count * size, index + 1, (*counts, count))

    fill(need_ml, 0, ())
    if best is None:
        return ()
    return tuple((s, c) for s, c in zip(ordered, best[2], strict=True) if c)


def _fewer_of(size: float, smaller: Sequence[float]) -> int:
    """How many bottles of a size fewer than cover everything the best choice may take.

    As many of a smaller size as make up whole bottles of this one would be taken as this one, so
    that of each smaller size fewer are bought than that.
    """
    tenths = round(size * 10)
    volume = sum(
        (tenths // math.gcd(tenths, round(other * 10)) - 1) * round(other * 10) for other in smaller
    )
    return volume // tenths + 1


def sire_use(
    group: str, *, head: int, straws_each: int, sires: Sequence[Sire], spare_share: float
) -> tuple[SireUse, ...]:
    """Share a group's straws among its bulls; the spare is counted on each bull."""
    wanted = [s for s in sires if s.group == group]
    if not straws_each or not head:
        return ()
    if not wanted:
        straws = head * straws_each
        return (
            SireUse(group, TO_CHOOSE, "conventional", 1.0, straws, _whole(straws * spare_share)),
        )
    straws_all = head * straws_each
    total_share = sum(s.share for s in wanted) or 1.0
    uses: list[SireUse] = []
    given, upto = 0, 0.0
    for i, sire in enumerate(wanted):
        share = sire.share / total_share
        upto += share
        # rounding what is given so far, not each part, keeps every part at 0 or more
        ends = straws_all if i == len(wanted) - 1 else round(straws_all * upto)
        straws, given = ends - given, ends
        uses.append(
            SireUse(group, sire.code, sire.semen, share, straws, _whole(straws * spare_share))
        )
    return tuple(uses)


def _drug_lines(
    needs: Sequence[GroupNeed], *, library: Library, drugs: Mapping[str, Chosen], zone: ZoneInfo
) -> list[ShoppingLine]:
    spare = library.number("practice.spare_doses_share")
    lead = timedelta(days=int(library.number("practice.order_before_days_drugs")))
    doses: dict[str, int] = defaultdict(int)
    full_doses: dict[str, float] = defaultdict(float)
    volume: dict[str, float] = defaultdict(float)
    first: dict[str, date] = {}
    change = library.number("practice.needle_change_head")
    needles: dict[str, int] = defaultdict(int)
    for need in needs:
        for step in need.steps:
            if step.dose is None or Do(step.do) not in INJECTIONS:
                continue
            key = step.dose.active
            doses[key] += step.head
            full_doses[key] += step.head * need.protocol.step(step.id).dose
            volume[key] += step.dose.ml_total or 0.0
            needles[key] += math.ceil(step.head / change)  # every visit begins with a clean one
            on = to_local(step.at_utc, zone).date()
            first[key] = min(first.get(key, on), on)
    lines: list[ShoppingLine] = []
    price_of = {"gnrh": "prices.gnrh_dose", "pgf": "prices.pgf_dose", "ecg": "prices.ecg_dose"}
    for key, count in doses.items():
        drug = drugs[key]
        with_spare = volume[key] * (1 + spare)
        bottles = choose_bottles(with_spare, drug.strength.pack_ml)
        bought = sum(size * n for size, n in bottles)
        paid = bought / volume[key] if bottles else 1.0 + spare
        packed = ", ".join(f"{n} x {size:g} mL" for size, n in bottles)
        price = library.figure(price_of.get(drug.active.does, "prices.estradiol_dose"))
        detail = (
            f"{count} doses, {volume[key]:g} mL, with {spare * 100:g} % spare {with_spare:.0f} mL"
        )
        if bottles:
            detail += f"; {packed} leaves {bought - with_spare:.0f} mL over (check sizes sold)"
        lines.append(
            ShoppingLine(
                item=f"{drug.active.name} {drug.strength.amount}",
                quantity=count,
                unit="doses",
                detail=detail,
                order_by=first[key] - lead,
                cost=full_doses[key] * middle(price) * paid,
                example_price=price.example,
                kind="drug",
            )
        )
        lines.append(
            ShoppingLine(
                item=f"needles for {drug.active.name}",
                quantity=_whole(needles[key] * (1 + spare)),
                unit="needles",
                detail=f"{drug.active.needle}; {needles[key]} for a clean one every {change:g} "
                "head at each visit, the others for bends; one marked syringe for this drug alone",
                order_by=first[key] - lead,
                cost=None,
                example_price=False,
                kind="supply",
            )
        )
    return lines


def _insert_lines(
    needs: Sequence[GroupNeed], library: Library, zone: ZoneInfo
) -> list[ShoppingLine]:
    steps = [(n, s) for n in needs for s in n.steps if s.do == Do.INSERT_IN.value]
    count = sum(s.head for _, s in steps)
    if not count:
        return []
    spare = _whole(count * library.number("practice.spare_inserts_share"))
    lead = timedelta(days=int(library.number("practice.order_before_days_drugs")))
    price = library.figure("prices.insert")
    return [
        ShoppingLine(
            item="progesterone inserts",
            quantity=count + spare,
            unit="inserts",
            detail=f"{count} to place, {spare} spare; single use; count in = count out; an "
            "applicator, lubricant, disinfectant, gloves, a closed container for used ones",
            order_by=min(to_local(s.at_utc, zone).date() for _, s in steps) - lead,
            cost=(count + spare) * middle(price),
            example_price=price.example,
            kind="insert",
        )
    ]


def _feed_lines(needs: Sequence[GroupNeed], library: Library) -> list[ShoppingLine]:
    lines: list[ShoppingLine] = []
    for need in needs:
        days = feed_days(need.protocol)
        if not days:
            continue
        mg = library.number("practice.mga_mg_per_head_day")
        low, high = library.figure("practice.mga_type_c_mg_per_lb").span
        price = library.figure("prices.mga_day")
        lead = timedelta(days=int(library.number("practice.order_before_days_drugs")))
        fewest, most = (
            carrier_lb_per_day(need.head, mg, mg_per_lb=strength) * days for strength in (high, low)
        )
        lines.append(
            ShoppingLine(
                item=f"melengestrol feed, {need.name}",
                quantity=mg * need.head * days,
                unit="mg",
                detail=f"{mg:g} mg a head and day, {need.head} head, {days} days: "
                f"{fewest:.0f} lb of feed at {high:g} mg/lb to {most:.0f} lb at "
                f"{low:g} mg/lb; bunk room for every heifer",
                order_by=need.first_treatment_on - lead,
                cost=middle(price) * need.head * days,
                example_price=price.example,
                kind="feed",
            )
        )
    return lines


def _semen_lines(needs: Sequence[GroupNeed], library: Library) -> list[ShoppingLine]:
    lead = timedelta(days=int(library.number("practice.order_before_days_semen")))
    spare = library.number("practice.spare_straws_share")
    lines: list[ShoppingLine] = []
    for need in needs:
        for use in need.sires:
            key = "prices.semen_sexed" if use.semen == "sexed" else "prices.semen_conventional"
            price = library.figure(key)
            lines.append(
                ShoppingLine(
                    item=f"semen, {use.code} ({use.semen}), {need.name}",
                    quantity=use.straws + use.spare,
                    unit="straws",
                    detail=f"{use.straws} and {use.spare} spare ({spare * 100:g} %)"
                    + ("; calving ease for heifers" if need.name.startswith("heifer") else ""),
                    order_by=need.first_ai_on - lead,
                    cost=(use.straws + use.spare) * middle(price),
                    example_price=price.example,
                    kind="semen",
                )
            )
    return lines


def _supply_lines(
    needs: Sequence[GroupNeed], library: Library, zone: ZoneInfo
) -> list[ShoppingLine]:
    spare = library.number("practice.spare_straws_share")
    lead = timedelta(days=int(library.number("practice.order_before_days_supplies")))
    inseminations = sum(n.head * straws_per_female(n.protocol) for n in needs)
    lines: list[ShoppingLine] = []
    if inseminations:
        first = min(n.first_ai_on for n in needs if straws_per_female(n.protocol))
        each = _whole(inseminations * (1 + spare))
        price = library.figure("prices.supplies")
        for item, detail in (
            ("AI sheaths", "one a straw"),
            ("long sleeves", "one a female; more where dirty"),
        ):
            lines.append(
                ShoppingLine(item, each, "pieces", detail, first - lead, None, False, "supply")
            )
        lines.append(
            ShoppingLine(
                "sheaths, sleeves and heat aids together",
                inseminations,
                "females",
                "priced per insemination",
                first - lead,
                inseminations * middle(price),
                price.example,
                "supply",
            )
        )
        technician = library.figure("prices.technician")
        lines.append(
            ShoppingLine(
                "technician",
                inseminations,
                "inseminations",
                "book with the dates of the plan; ask about head per day and a second thawer",
                first - timedelta(days=int(library.number("practice.order_before_days_semen"))),
                inseminations * middle(technician),
                technician.example,
                "service",
            )
        )
        lines += _nitrogen_lines(needs, library)
    lines += _aid_lines(needs, spare=spare, lead=lead, zone=zone)
    return lines


def _aid_lines(
    needs: Sequence[GroupNeed], *, spare: float, lead: timedelta, zone: ZoneInfo
) -> list[ShoppingLine]:
    steps = [s for n in needs for s in n.steps if s.do == Do.HEAT_AID_ON.value]
    if not steps:
        return []
    count = sum(s.head for s in steps)
    days = {s.group: to_local(s.at_utc, zone).date() for s in steps}
    put_on = "; ".join(f"{group} {on:%a} {on.day} {on:%b}" for group, on in days.items())
    return [
        ShoppingLine(
            "heat aids (patch or paint)",
            _whole(count * (1 + spare)),
            "pieces",
            f"{count} to put on ({put_on}); at least half rubbed off counts as heat; a lost patch "
            "is unknown, not no",
            min(days.values()) - lead,
            None,
            False,
            "supply",
        )
    ]


def _nitrogen_lines(needs: Sequence[GroupNeed], library: Library) -> list[ShoppingLine]:
    first = min(n.first_ai_on for n in needs if straws_per_female(n.protocol))
    every = library.number("practice.nitrogen_check_days")
    least = library.number("practice.nitrogen_min_inches")
    return [
        ShoppingLine(
            "liquid nitrogen",
            1,
            "refill",
            f"measure the level every {every:g} days from the day semen arrives, never under "
            f"{least:g} in; refill before the first insemination. Nitrogen displaces air: never "
            "in a closed cab; eye and hand protection",
            first - timedelta(days=int(every)),
            None,
            False,
            "supply",
        )
    ]


def reconcile(plan: Plan) -> Reconciled:
    """Set the costs of a plan's groups against its shopping list."""
    groups = work = 0.0
    for group in plan.groups:
        chosen = next((fit for fit in group.fits if fit.protocol == group.chosen), None)
        if chosen is None or group.cost_total is None:
            continue
        groups += group.cost_total
        work += group.ready * sum(m.amount for m in chosen.costs if m.item in NOT_BOUGHT)
    bought = sum(line.cost or 0.0 for line in plan.shopping)
    return Reconciled(groups, work, bought - (groups - work))


def find_shopping(
    needs: Sequence[GroupNeed], *, library: Library, drugs: Mapping[str, Chosen], zone: ZoneInfo
) -> tuple[ShoppingLine, ...]:
    """List everything to buy and book for all groups together, earliest order date first.

    `drugs` maps "active/strength" to what it stands for.

    Bottle sizes are examples (what is sold differs); doses are counted for every female, since
    nobody knows before the day who will need none.
    """
    lines = [
        *_drug_lines(needs, library=library, drugs=drugs, zone=zone),
        *_insert_lines(needs, library, zone),
        *_feed_lines(needs, library),
        *_semen_lines(needs, library),
        *_supply_lines(needs, library, zone),
    ]
    return tuple(sorted(lines, key=lambda line: (line.order_by or date.max, line.kind, line.item)))
