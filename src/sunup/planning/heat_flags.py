"""What a heat may mean: too close, too long, off the usual interval, or in a female that is bred.

Nothing recorded is refused. A flag says what was seen, what it may mean, and what to do now.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import hours_between

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.base.figures import Figure
    from sunup.planning.heats import Heat, HeatFigures

CHECK_FIRST = (
    "Check her first: have her scanned or palpated. If unsure, do not pass the cervix; "
    "that would end a pregnancy."
)
VETERINARIAN = "If it comes again, have the veterinarian look at her."


@dataclass(frozen=True, slots=True)
class ProgestinTime:
    """A time under progestin: melengestrol fed or an insert in; UTC. None: still on.

    `is_renewed`: GnRH or an estradiol ester inside it started a fresh follicle, and the heat that
    follows is taken as normal (common teaching, from memory).
    """

    what: str  # melengestrol | insert
    from_at: datetime
    until_at: datetime | None
    is_renewed: bool = False


@dataclass(frozen=True, slots=True)
class Past:
    """What is on file of one female that bears on her heats; all times UTC.

    Findings older than her last service do not belong here.
    """

    services_at: tuple[datetime, ...] = ()
    pgf_at: tuple[datetime, ...] = ()
    progestins: tuple[ProgestinTime, ...] = ()
    found_pregnant_at: datetime | None = None
    found_open_at: datetime | None = None
    with_bull_from: datetime | None = None


@dataclass(frozen=True, slots=True)
class HeatFlag:
    """One remark on one heat.

    `is_stop` means: she is not to be inseminated on this heat as things stand.
    """

    key: str
    heat: Heat
    text: str
    do: str
    is_stop: bool
    figures: tuple[Figure, ...]


def flag_heats(heats: Sequence[Heat], past: Past, *, figures: HeatFigures) -> tuple[HeatFlag, ...]:
    """Return what is to be said about the heats of one female, in their order.

    Parameters
    ----------
    heats : sequence of Heat
        Oldest first, as `find_heats` gives them.
    past : Past
    figures : HeatFigures

    Notes
    -----
    Returns and cycles of 18 to 24 days: common practice; 92 % of cycles took 17 to 25 days in a
    study of dairy cattle. Short cycles of 8 to 15 days after calving: Murphy 1990.
    Heats of pregnant females: 3.4 % of all heats in a dairy study; `physiology.pregnant_heat_share`
    of pregnant beef females, the figure the simulator reads too.
    """
    found: list[HeatFlag] = []
    before: Heat | None = None
    for heat in heats:
        found += [
            flag
            for flag in (
                _long(heat, figures),
                _unsure(heat, figures),
                _after_progestin(heat, past, figures),
                _bred(heat, past, figures),
                _interval(before, heat, past, figures) if before is not None else None,
            )
            if flag is not None
        ]
        before = heat
    return tuple(found)


def _long(heat: Heat, figures: HeatFigures) -> HeatFlag | None:
    if heat.was_missed or heat.hours_seen <= figures.too_long.number:
        return None
    return HeatFlag(
        "too_long",
        heat,
        f"In heat over {heat.hours_seen:.0f} hours. It may be a cyst, a misread tag, or two "
        "females taken for one.",
        f"Read her tag again before inseminating. {VETERINARIAN}",
        is_stop=False,
        figures=(figures.too_long, figures.length_range),
    )


def _unsure(heat: Heat, figures: HeatFigures) -> HeatFlag | None:
    if heat.was_missed:
        return HeatFlag(
            "blood",
            heat,
            "Blood was seen: her heat was one to three days ago and nobody saw it.",
            "Do not inseminate. Watch her 18 to 20 days after the blood.",
            is_stop=True,
            figures=(figures.blood,),
        )
    if heat.is_sure:
        return None
    return HeatFlag(
        "secondary_signs",
        heat,
        "Secondary signs only; she was not seen to stand and no rubbed aid was read.",
        "Watch her again at the next check; she may be coming in or going out of heat.",
        is_stop=False,
        figures=(),
    )


def _after_progestin(heat: Heat, past: Past, figures: HeatFigures) -> HeatFlag | None:
    worse, usual = figures.after_progestin.span
    seen = heat.first_seen_at
    for time in past.progestins:
        # a heat that began before the progestin did may still be seen on its first day
        is_on = time.from_at + timedelta(days=1) <= seen
        if is_on and (time.until_at is None or seen < time.until_at):
            return HeatFlag(
                "under_progestin",
                heat,
                f"She was in heat while on {_progestin(time)}.",
                "Look whether the insert is still in her, or whether she eats her feed; read "
                "her tag again. Do not inseminate on this heat.",
                is_stop=True,
                figures=(),
            )
        if time.until_at is None:
            continue
        days_on = hours_between(time.from_at, time.until_at) / 24
        since = hours_between(time.until_at, seen) / 24
        if (
            days_on >= figures.long_progestin.number
            and 0 <= since <= figures.pass_days.number
            and not time.is_renewed
        ):
            return HeatFlag(
                "first_heat_after_progestin",
                heat,
                f"First heat {since:.0f} days after {days_on:.0f} days of {_progestin(time)}: "
                f"of low fertility ({worse:.0f} against {usual:.0f} of 100 pregnant).",
                "Do not inseminate and put no bull to her; go on with the plan.",
                is_stop=True,
                figures=(figures.long_progestin, figures.pass_days, figures.after_progestin),
            )
    return None


def _bred(heat: Heat, past: Past, figures: HeatFigures) -> HeatFlag | None:
    services = [at for at in past.services_at if at < heat.first_seen_at]
    if past.found_pregnant_at is not None and past.found_pregnant_at <= heat.first_seen_at:
        return HeatFlag(
            "pregnant",
            heat,
            "She was found pregnant and was seen in heat. Some pregnant females stand; she may "
            "also have lost the calf.",
            CHECK_FIRST,
            is_stop=True,
            figures=(figures.pregnant_heat,),
        )
    if past.found_open_at is not None and (
        not services or services[-1] < past.found_open_at <= heat.first_seen_at
    ):
        return None
    if not services:
        return _with_bull(heat, past, figures)
    since = hours_between(services[-1], heat.first_seen_at)
    if since <= figures.one_heat_gap.number:
        return None  # still the heat she was inseminated on
    days = since / 24
    low, high = figures.returns.span
    shown = f"In heat {days:.0f} days after insemination"
    if round(days) < low:
        return HeatFlag(
            "early_return",
            heat,
            f"{shown}: early for a return ({low:.0f} to {high:.0f} days). The insemination may "
            "have fallen outside heat, or she has a short cycle or a cyst.",
            f"If she stands well she may be inseminated again. {VETERINARIAN}",
            is_stop=False,
            figures=(figures.returns, figures.short_cycle),
        )
    if round(days) <= high:
        return HeatFlag(
            "return",
            heat,
            f"{shown}: a return on time; she is most likely not pregnant.",
            "Inseminate again, or leave her to the clean-up bull. Some pregnant females stand: "
            "if unsure, do not pass the cervix.",
            is_stop=False,
            figures=(figures.returns, figures.pregnant_heat),
        )
    text = "A heat may have been missed, or she lost an embryo late; or she is pregnant and stands."
    return HeatFlag(
        "late_return",
        heat,
        f"{shown}: late for a return ({low:.0f} to {high:.0f} days). {text}",
        CHECK_FIRST,
        is_stop=True,
        figures=(figures.returns, figures.two_cycles, figures.pregnant_heat),
    )


def _with_bull(heat: Heat, past: Past, figures: HeatFigures) -> HeatFlag | None:
    if past.with_bull_from is None or past.with_bull_from > heat.first_seen_at:
        return None
    days = hours_between(past.with_bull_from, heat.first_seen_at) / 24
    if days <= figures.returns.span[1]:
        return None
    return HeatFlag(
        "with_bull",
        heat,
        f"In heat {days:.0f} days after a bull came to her. She may be pregnant and stand, or the "
        "bull does not settle his cows.",
        f"{CHECK_FIRST} Watch the bull: several such females are a reason to have him examined.",
        is_stop=True,
        figures=(figures.returns, figures.pregnant_heat),
    )


def _interval(before: Heat, heat: Heat, past: Past, figures: HeatFigures) -> HeatFlag | None:
    if any(before.first_seen_at < at < heat.first_seen_at for at in past.services_at):
        served = [at for at in past.services_at if before.first_seen_at < at < heat.first_seen_at]
        if hours_between(served[-1], heat.first_seen_at) > figures.one_heat_gap.number:
            return None  # said as a return
    if any(
        before.first_seen_at <= p.from_at < heat.first_seen_at
        or (p.until_at is not None and before.first_seen_at <= p.until_at < heat.first_seen_at)
        for p in past.progestins
    ) or any(before.first_seen_at <= at < heat.first_seen_at for at in past.pgf_at):
        return None  # a drug moved the cycle: the interval means nothing
    days = hours_between(before.first_seen_at, heat.first_seen_at) / 24
    low, high = figures.usual_cycle.span
    if days < figures.too_close.number:
        return HeatFlag(
            "too_close",
            heat,
            f"In heat again after {days:.1f} days. One of the two was no true heat, a tag was "
            "misread, or she has a cyst.",
            f"Read her tag again and look whether she stands. {VETERINARIAN}",
            is_stop=False,
            figures=(figures.too_close,),
        )
    if low <= round(days) <= high:
        return None
    if days < low:
        worse, usual = figures.after_short.span
        first, last = figures.short_cycle.span
        text = (
            "A short cycle, as after the first heat of the season, or one of the two was no true "
            "heat."
            if first <= round(days) <= last
            else "A short interval: one of the two may have been no true heat."
        )
        return HeatFlag(
            "short_interval",
            heat,
            f"In heat again after {days:.0f} days (usual: {low:.0f} to {high:.0f}). {text}",
            "She may be inseminated if she stands. After short intervals fewer hold "
            f"({worse:.0f} against {usual:.0f} of 100 in a dairy herd).",
            is_stop=False,
            figures=(figures.usual_cycle, figures.short_cycle, figures.after_short),
        )
    first, last = figures.two_cycles.span
    text = (
        "One heat between was most likely missed."
        if first <= round(days) <= last
        else "A heat may have been missed, or she stopped cycling for a while."
    )
    return HeatFlag(
        "long_interval",
        heat,
        f"In heat again after {days:.0f} days (usual: {low:.0f} to {high:.0f}). {text}",
        "Watch more often or use a heat aid; she may be inseminated.",
        is_stop=False,
        figures=(figures.usual_cycle, figures.two_cycles),
    )


def _progestin(time: ProgestinTime) -> str:
    return "melengestrol" if time.what == "melengestrol" else "a progesterone insert"
