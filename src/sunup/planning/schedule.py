"""A protocol bound to a group: instants, windows, heads, doses, cautions, label notes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from sunup.base.hours import add_hours, same_clock
from sunup.planning.dosing import dose_line
from sunup.planning.labels import find_label_note
from sunup.planning.plan import ScheduledStep
from sunup.protocols.protocol import Do, Inseminate, Protocol, Step, Who

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from zoneinfo import ZoneInfo

    from sunup.library.region import RegionPack
    from sunup.planning.dosing import Chosen
    from sunup.planning.visits import Visit

WORDS = {
    Do.GNRH: "GnRH",
    Do.PGF: "PGF",
    Do.INSERT_IN: "progesterone insert in",
    Do.INSERT_OUT: "insert out",
    Do.MGA_START: "start feeding melengestrol",
    Do.MGA_END: "last feeding of melengestrol",
    Do.WATCH: "watch for heat",
    Do.HEAT_AID_ON: "heat aid on",
    Do.AI: "inseminate",
    Do.CALVES_OFF: "calves off",
    Do.CALVES_ON: "calves back",
    Do.ESTRADIOL_BENZOATE: "estradiol benzoate",
    Do.ESTRADIOL_CYPIONATE: "estradiol cypionate",
    Do.ECG: "eCG",
    Do.PREG_CHECK: "pregnancy check",
    Do.BULLS_IN: "bulls in",
    Do.BULLS_OUT: "bulls out",
}
WHO_WORDS = {
    Who.ALL: "all",
    Who.IN_HEAT: "those seen in heat",
    Who.NOT_IN_HEAT: "those not seen in heat",
    Who.NOT_INSEMINATED: "those not yet inseminated",
    Who.NOT_PREGNANT: "those found not pregnant",
}
RULE_WORDS = {
    Inseminate.AM_PM: "seen in the morning: inseminate that evening; evening: next morning",
    Inseminate.AFTER_12H: "inseminate 12 h after first seen",
    Inseminate.ONCE_DAILY: "inseminate once a day all seen since the last session",
    Inseminate.NONE: "write down, do not inseminate",
}


@dataclass(frozen=True, slots=True)
class Binding:
    """All that a schedule of one group is made from."""

    group: str
    classes: tuple[str, ...]
    head: int
    protocol: Protocol
    visits: tuple[Visit, ...]
    starts: tuple[datetime, ...]
    durations_h: tuple[float, ...]
    zone: ZoneInfo
    pack: RegionPack
    chosen: Mapping[str, Chosen]
    prescriber: str | None


def find_window(binding: Binding, visit: Visit) -> tuple[datetime, datetime]:
    """Earliest and latest start of a visit that keep its promise for the first female.

    Soft: the clock of zero on its day, bent by its tolerance. Hard: elapsed hours from the start
    chosen for the visit it hangs on.
    """
    if visit.anchor is not None:
        anchor = binding.starts[visit.anchor]
        return (
            add_hours(anchor, visit.hours - visit.early_h),
            add_hours(anchor, visit.hours + visit.late_h),
        )
    zero = binding.starts[0]
    centre = same_clock(zero, visit.day or 0, binding.zone).utc if visit.day else zero
    if visit.index == 0:
        centre = zero
    return add_hours(centre, -visit.early_h), add_hours(centre, visit.late_h)


def _until(binding: Binding, visit: Visit, step: Step) -> datetime | None:
    if step.until is None:
        return None
    origin = binding.starts[visit.anchor] if visit.anchor is not None else binding.starts[0]
    return add_hours(origin, step.until)


def _flags(step: Step, binding: Binding) -> tuple[str, ...]:
    flags: list[str] = []
    if step.do in {Do.GNRH, Do.PGF} and not binding.prescriber:
        flags.append("Not yet authorised: no prescriber named.")
    if step.do is Do.MGA_START:
        flags.append("Every heifer must eat her dose every day; never to cows.")
    if step.do is Do.PGF:
        flags.append("Ends a pregnancy: only females that cannot be pregnant.")
    if step.optional:
        flags.append(f"May be left out except for {step.optional}.")
    return tuple(flags)


def _note(step: Step) -> str | None:
    parts = [step.note] if step.note else []
    if step.do is Do.WATCH and step.inseminate is not None:
        parts.append(RULE_WORDS[step.inseminate].capitalize() + ".")
    if step.method:
        parts.append(f"By {step.method}.")
    return " ".join(parts) or None


def inseminate_rule(step: ScheduledStep) -> Inseminate | None:
    """How a watch step turns heats into inseminations, as the plan's page says it."""
    if step.do != Do.WATCH.value or not step.note:
        return None
    for rule, words in RULE_WORDS.items():
        if words.capitalize() in step.note:
            return rule
    return None


def straws_at(protocol: Protocol, step: Step, head: int) -> int:
    """Straws to have at hand at an AI step.

    A split (in heat first, the rest later) needs one straw a female over both steps: they are
    counted at the first, since nobody knows the split before the day.
    """
    if step.do is not Do.AI:
        return 0
    ais = [s for s in protocol.steps if s.do is Do.AI]
    named = {Who.IN_HEAT, Who.NOT_IN_HEAT, Who.NOT_INSEMINATED}
    if step.who in named and ais.index(step) > 0:
        return 0
    return head


def straws_per_female(protocol: Protocol) -> int:
    """Straws one female may need over the whole protocol, before spares."""
    ais = [s for s in protocol.steps if s.do is Do.AI]
    everyone = sum(s.who in {None, Who.ALL} for s in ais)
    named = any(s.who not in {None, Who.ALL} for s in ais)
    watched = any(
        s.do is Do.WATCH and s.inseminate not in {None, Inseminate.NONE} for s in protocol.steps
    )
    return everyone + (1 if (named or watched) and not everyone else 0)


def bind_schedule(binding: Binding, *, new_uid: Callable[[], str]) -> tuple[ScheduledStep, ...]:
    """Lay the protocol out on the calendar for one group.

    Parameters
    ----------
    binding : Binding
    new_uid : callable
        Gives a random id for each step; kept in the plan file from then on.

    Returns
    -------
    tuple of ScheduledStep
        In time order; steps of one visit keep the order of the protocol.
    """
    steps: list[tuple[datetime, int, ScheduledStep]] = []
    as_laid = _as_laid(binding)
    for visit in binding.visits:
        start = binding.starts[visit.index]
        end = start + timedelta(seconds=round(binding.durations_h[visit.index] * 3600))
        window = find_window(binding, visit)
        anchor_id = None if visit.anchor is None else binding.visits[visit.anchor].id
        since = (
            None
            if visit.anchor is None
            else (start - binding.starts[visit.anchor]).total_seconds() / 3600
        )
        for step in visit.steps:
            used = binding.chosen.get(step.do.value)
            gives = used is not None and step.do is not Do.INSERT_OUT
            line = (
                dose_line(step, used, head=binding.head, pack=binding.pack)
                if gives and used
                else None
            )
            steps.append(
                (
                    start,
                    visit.index,
                    ScheduledStep(
                        uid=new_uid(),
                        sequence=0,
                        group=binding.group,
                        id=step.id,
                        visit=visit.id,
                        do=step.do.value,
                        words=WORDS[step.do],
                        at_utc=start,
                        window_utc=window,
                        ends_utc=end,
                        hard=visit.anchor is not None,
                        head=binding.head,
                        who=WHO_WORDS[step.who or Who.ALL],
                        doses=binding.head if gives else 0,
                        dose=line,
                        after_step=anchor_id,
                        hours_after=since,
                        until_utc=_until(binding, visit, step),
                        label_note=find_label_note(
                            as_laid,
                            as_laid.step(step.id),
                            pack=binding.pack,
                            chosen=binding.chosen,
                            classes=binding.classes,
                        ),
                        flags=_flags(step, binding),
                        note=_note(step),
                        straws=straws_at(binding.protocol, step, binding.head),
                        looks=step.times_per_day if step.do is Do.WATCH else None,
                    ),
                )
            )
    return tuple(s for _, _, s in sorted(steps, key=lambda item: (item[0], item[1])))


def _as_laid(binding: Binding) -> Protocol:
    """The protocol with the elapsed hours of its schedule, for the label to be held against."""
    hours = {
        visit.id: (binding.starts[visit.index] - binding.starts[visit.anchor]).total_seconds()
        / 3600
        for visit in binding.visits
        if visit.anchor is not None
    }
    steps = (replace(s, hours=hours.get(s.id, s.hours)) for s in binding.protocol.steps)
    return replace(binding.protocol, steps=tuple(steps))


def slots(start: datetime, end: datetime, count: int) -> Sequence[datetime]:
    """Planned minute of each female of a run, in treatment order."""
    if count <= 0:
        return ()
    pace = (end - start) / count
    return tuple(start + pace * i for i in range(count))
