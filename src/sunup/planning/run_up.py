"""What must be done from half a year before the season, as dated items."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from sunup.base.figures import Seen
from sunup.base.quantities import KG_PER_LB
from sunup.planning.plan import RunUpItem
from sunup.records.female import Female, FemaleClass

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sunup.library.library import Library


def needed_gain_kg(weight_kg: float, *, mature_kg: float, share: float, days: int) -> float:
    """Daily gain to reach a share of mature weight: (target - now) / days.

    Returns
    -------
    float
        Kilograms a day; 0 where the target is reached, infinity where no day is left.
    """
    short = share * mature_kg - weight_kg
    if short <= 0:
        return 0.0
    return short / days if days > 0 else float("inf")


def find_gain_item(
    group: str,
    females: Iterable[Female],
    *,
    ai_on: date,
    today: date,
    weighed_on: date,
    library: Library,
    unit: str,
) -> RunUpItem | None:
    """Say what daily gain the lighter heifers need to reach their target by insemination.

    Give those that are to be bred: a heifer on hold for her weight is not fed for this day. Weights
    are taken as of `weighed_on`, the day of the herd list.
    """
    figure = library.figure("practice.heifer_target_share")
    _, share = figure.span
    days = (ai_on - weighed_on).days
    gains = sorted(
        needed_gain_kg(f.weight_kg, mature_kg=f.mature_weight_kg, share=share, days=days)
        for f in females
        if f.class_ is FemaleClass.HEIFER and f.weight_kg and f.mature_weight_kg
    )
    short = [g for g in gains if g > 0]
    if not short or days <= 0:
        return None
    limit = library.number("practice.heifer_gain_most_kg")
    can = [g for g in short if g <= limit]
    cannot = len(short) - len(can)
    factor, word = (1 / KG_PER_LB, "lb") if unit == "lb" else (1.0, "kg")
    told = []
    if can:
        told.append(
            f"{len(can)} can get there with up to {can[-1] * factor:.1f} {word} a day (the middle "
            f"one {can[len(can) // 2] * factor:.1f} {word} a day)"
        )
    if cannot:
        told.append(
            f"{cannot} would need more than {limit * factor:.1f} {word} a day and will not get "
            "there: breed them as they are, later or not at all"
        )
    return RunUpItem(
        key="heifer_gain_needed",
        from_on=today,
        to_on=ai_on,
        text=f"{len(short)} of {len(gains)} weighed heifers are under {share * 100:g} % of mature "
        f"weight: {'; '.join(told)}. Set the ration with your nutritionist and weigh again in four "
        "to six weeks.",
        why="Heifers that reach puberty before the season conceive earlier in it.",
        source=figure.source,
        from_memory=figure.seen is Seen.MEMORY,
        overdue=False,
        group=group,
    )


def find_run_up(
    first_ai_on: date, *, library: Library, classes: Iterable[str], feeds: bool, today: date
) -> tuple[RunUpItem, ...]:
    """Date the run-up table back from the first insemination day.

    `feeds` says whether any group is fed melengestrol. An item whose last day is past is marked
    overdue, never dropped.
    """
    has = set(classes)
    wanted = {"all"}
    if "heifer" in has:
        wanted.add("heifers")
    if has - {"heifer"}:
        wanted.add("cows")
    if feeds:
        wanted.add("melengestrol")
    items = [
        RunUpItem(
            key=entry.key,
            from_on=first_ai_on - timedelta(days=entry.from_days),
            to_on=first_ai_on - timedelta(days=entry.to_days),
            text=entry.text,
            why=entry.why,
            source=entry.source,
            from_memory=entry.seen is Seen.MEMORY,
            overdue=first_ai_on - timedelta(days=entry.to_days) < today,
        )
        for entry in library.run_up
        if entry.for_ in wanted
    ]
    return tuple(sorted(items, key=lambda item: (item.from_on, item.to_on, item.key)))


def merge_run_up(*parts: Sequence[RunUpItem]) -> tuple[RunUpItem, ...]:
    """Put items of several origins in one order of dates."""
    return tuple(sorted((i for p in parts for i in p), key=lambda i: (i.from_on, i.to_on, i.key)))
