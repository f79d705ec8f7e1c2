"""One female under a protocol, hour by hour, from the same kernel as a herd of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sunup.physiology.females import FemaleKind, uniform_group
from sunup.physiology.fertility import NO_OVULATION
from sunup.physiology.orders import Act, Who
from sunup.physiology.trace import trace

if TYPE_CHECKING:
    from sunup.forecast.orders import Orders
    from sunup.physiology.orders import Order, OrderTable
    from sunup.physiology.params import Params
    from sunup.physiology.trace import Trace

WORDS = {
    "wave": "a wave of follicles begins",
    "dominance_lost": "the dominant follicle gives way",
    "surge": "estradiol high enough: surge and heat follow",
    "heat": "standing heat begins",
    "ovulation": "ovulation",
    "ai": "inseminated",
    "gnrh": "GnRH",
    "pgf": "PGF",
    "embryo_lost": "embryo lost",
}
# What the simulator writes no line for; its hour is that of the order.
ORDERED = {
    Act.INSERT_IN: ("insert_in", "progesterone insert in"),
    Act.INSERT_OUT: ("insert_out", "insert out"),
    Act.MGA_START: ("mga_start", "melengestrol fed from here on"),
    Act.MGA_END: ("mga_end", "last feeding of melengestrol"),
    Act.CALVES_OFF: ("calves_off", "calf taken away"),
    Act.CALVES_ON: ("calves_on", "calf back"),
    Act.ESTRADIOL_BENZOATE: ("estradiol_benzoate", "estradiol benzoate"),
    Act.ESTRADIOL_CYPIONATE: ("estradiol_cypionate", "estradiol cypionate"),
    Act.ECG: ("ecg", "eCG"),
    Act.PREG_CHECK: ("preg_check", "pregnancy check"),
    Act.BULLS_IN: ("bulls_in", "bulls in"),
    Act.BULLS_OUT: ("bulls_out", "bulls out"),
}
DONE = frozenset({"ai", "gnrh", "pgf", *(key for key, _ in ORDERED.values())})
_WRITTEN = {Act.GNRH: "gnrh", Act.PGF: "pgf", Act.AI: "ai"}
_IF = {
    Who.IN_HEAT: "if seen in heat",
    Who.NOT_IN_HEAT: "if not seen in heat",
    Who.NOT_INSEMINATED: "if not inseminated",
    Who.NOT_PREGNANT: "if found not pregnant",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Hour:
    """What is in her at an hour: progesterone [ng/mL], of it luteal, dominant follicle [mm].

    `estradiol` is her exposure to it, scaled so that 1 calls a surge in the middle female.
    """

    hour: float
    progesterone: float
    luteal: float
    follicle_mm: float
    estradiol: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """Something that happened to her, or was done."""

    hour: float
    key: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """One female's trace.

    Parameters
    ----------
    hours : tuple of Hour
        Whole hours from zero; negative before it.
    happenings : tuple of Happening
        In their order.
    was_cycling, is_pregnant : bool
    chance : float
        Of pregnancy at day 30 to her first insemination, before its luck; 0 without one.
    because : str
        Why there is no chance, of a female that is inseminated; else empty.
    """

    hours: tuple[Hour, ...]
    happenings: tuple[Happening, ...]
    was_cycling: bool
    is_pregnant: bool
    chance: float
    because: str = ""

    @property
    def is_inseminated(self) -> bool:
        """Whether she is inseminated at all."""
        return any(happening.key == "ai" for happening in self.happenings)


def follow_female(
    orders: Orders,
    *,
    params: Params,
    kind: FemaleKind,
    seed: int,
    cycle_day: float | None = None,
    days_postpartum: float = 70.0,
    condition: float = 5.3,
    indicus: float = 0.0,
    from_h: float = -48.0,
) -> Followed:
    """Follow one female under the first table of some orders.

    Parameters
    ----------
    orders : Orders
    params : Params
    kind : FemaleKind
    seed : int
        Her luck.
    cycle_day : float, optional
        Days since the start of her last heat at zero; None: not cycling.
    days_postpartum, condition, indicus : float
        At zero.
    from_h : float
        First hour shown.

    Returns
    -------
    Followed
    """
    table = uniform_group(
        1,
        kind=kind,
        indicus=indicus,
        days_postpartum=days_postpartum,
        condition=condition,
        share_cycling=0.0 if cycle_day is None else 1.0,
        cycle_day=float("nan") if cycle_day is None else cycle_day,
    )
    kept = trace(
        table, orders.tables[0], params=params, seed=seed, from_h=from_h, end_h=orders.end_h
    )
    return Followed(
        hours=_by_hour(kept, from_h=from_h, end_h=orders.end_h, calls_surge=params.surge_threshold),
        happenings=_happenings(kept, orders.tables[0]),
        was_cycling=bool(kept.outcome["was_cycling"]),
        is_pregnant=bool(kept.outcome["pregnant_first"]),
        chance=float(kept.outcome["chance_first"]),
        because=_why_no_chance(kept),
    )


def _why_no_chance(kept: Trace) -> str:
    """Why her first insemination cannot have made her pregnant; empty where it can, or is none."""
    outcome = kept.outcome
    if outcome["n_ai"] == 0 or outcome["chance_first"] > 0.0:
        return ""
    if outcome["first_is_false"] == 1:
        return "she was taken to be in heat and was not"
    if outcome["cause_first"] == NO_OVULATION:
        return "no ovum meets the sperm: none is shed within their lives"
    if kept.is_barren:
        return "she is one of the few in which nothing is ever fertilised"
    return (
        "her first corpus luteum ends within days, and with it any embryo, as after the first "
        "ovulation of a female that did not cycle"
    )


def _happenings(kept: Trace, table: OrderTable) -> tuple[Happening, ...]:
    """What the simulator wrote down, and between it what it carried out without a line."""
    written = [
        Happening(hour=float(hour), key=key, words=WORDS[key])
        for hour, key in zip(kept.hour, kept.event, strict=True)
        if key in WORDS
    ]
    # a heat under way at zero began before the record or at its edge
    under_way = kept.outcome["heat_on"][0] <= 0.0 and kept.outcome["n_heats"] > 0
    if under_way and not any(event.key == "heat" and event.hour <= 0.0 for event in written):
        began = float(kept.outcome["heat_on"][0]) + 0.0
        written.append(Happening(hour=began, key="heat", words=WORDS["heat"]))
    done = {(event.hour, event.key) for event in written}
    ordered = [
        Happening(hour=order.hour, key=ORDERED[order.act][0], words=words)
        for order in table.orders
        if order.act in ORDERED and (words := _words_of(order, table, done))
    ]
    return tuple(sorted([*written, *ordered], key=lambda event: event.hour))


def _words_of(order: Order, table: OrderTable, done: set[tuple[float, str]]) -> str:
    """Words of an order without a line; empty where the visit it belongs to passed her by.

    What else was ordered at that hour for the same females tells whether it was for her.
    """
    words = ORDERED[order.act][1]
    if order.who is Who.ALL:
        return words
    beside = [
        (other.hour, _WRITTEN[other.act])
        for other in table.orders
        if other.hour == order.hour and other.who is order.who and other.act in _WRITTEN
    ]
    if not beside:
        return f"{words} ({_IF[order.who]})"
    return words if any(one in done for one in beside) else ""


def _by_hour(kept: Trace, *, from_h: float, end_h: float, calls_surge: float) -> tuple[Hour, ...]:
    """Read the trace at whole hours; between its lines all moves slowly, but follicles come and go.

    A follicle stands until the line that has none, and begins at the line that has one.
    """
    if kept.hour.size == 0:
        return ()
    first = np.ceil(max(from_h, float(kept.hour[0])))
    at = np.arange(first, np.floor(min(end_h, float(kept.hour[-1]))) + 1.0)
    p4, luteal, exposure = (
        np.interp(at, kept.hour, values) for values in (kept.p4, kept.luteal_p4, kept.exposure)
    )
    before = np.searchsorted(kept.hour, at, side="right") - 1
    left = kept.diameter[before]
    right = kept.diameter[np.minimum(before + 1, kept.hour.size - 1)]
    grows = (left > 0.0) & (right > 0.0)
    columns = (p4, luteal, np.where(grows, np.interp(at, kept.hour, kept.diameter), left), exposure)
    return tuple(
        Hour(
            hour=float(hour),
            progesterone=float(p4),
            luteal=float(luteal),
            follicle_mm=float(mm),
            estradiol=float(exposure / calls_surge),
        )
        for hour, p4, luteal, mm, exposure in zip(at, *columns, strict=True)
    )
