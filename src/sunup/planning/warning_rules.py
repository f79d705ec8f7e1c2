"""The rules on an act: each looks at one female and one act, and speaks or is silent."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.base.hours import hours_between, to_local
from sunup.planning.exposure import find_doubt
from sunup.planning.fact_rules import FACT_RULES
from sunup.planning.progress import Phase, hours_outside
from sunup.planning.warnings import (
    ABORTS,
    LEAVES,
    VACCINATES,
    WEANS,
    Flag,
    Her,
    Intent,
    WarningFigures,
    Weight,
)
from sunup.protocols.protocol import INJECTIONS, Do
from sunup.records.female import FemaleClass, PregnancyFinding

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date, datetime
    from zoneinfo import ZoneInfo

_INJECTED = frozenset(do.value for do in INJECTIONS)


def _when(moment: datetime, zone: ZoneInfo) -> str:
    local = to_local(moment, zone)
    return f"{local:%a} {local.day} {local:%b} {local:%H:%M}"


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def _not_here(her: Her, _: Intent, __: WarningFigures) -> Flag | None:
    if her.is_here:
        return None
    return Flag(
        "left_herd",
        Weight.WARN,
        "she left the herd",
        "Read the tag again. If it is she, take back the record that she left.",
    )


def _wrong_group(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.group is None or act.group == her.group:
        return None
    return Flag(
        "wrong_group",
        Weight.WARN,
        f"she is in {her.group or 'no group'}, not in {act.group}",
        f"Read the tag again. If she got it: her own group's drugs may not suit any more; decide "
        f"with the veterinarian, and if she is to go on with {act.group}, move her there "
        "(sunup season move).",
    )


def _off_list(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.off_list is None or her.hold is not None:  # a hold says why already
        return None
    return Flag(
        "off_list",
        Weight.WARN,
        f"she is not on the list of this treatment: {act.off_list}",
        "Read the tag again. If she got it: what follows is due to her too from now on, or record "
        "a hold and leave her out; an insert must come out of her either way.",
    )


def _on_hold(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if her.hold is None or act.do in {LEAVES, ABORTS, WEANS, VACCINATES}:
        return None
    return Flag(
        "hold",
        Weight.WARN,
        f"on hold: {her.hold}",
        "Lift the hold if it is over; if not, leave her out from here on.",
    )


def _twice(her: Her, act: Intent, q: WarningFigures) -> Flag | None:
    """Speak where the act is on record already; a dose the plan repeats in a day is another act."""
    done = act.step.done if act.step is not None and act.step.phase is Phase.DONE else None
    at = done.at if done is not None else None
    if at is None:
        within = q.twice.number
        if act.step is not None:  # to do yet: what lies further off than its own hour was another
            within = min(within, abs(hours_between(act.step.at, act.at)))
        near = [
            moment
            for do, moment in her.acts
            if do == act.do and abs(hours_between(moment, act.at)) <= within
        ]
        at = near[-1] if near else None
    if at is None or act.do == Do.WATCH:
        return None
    return Flag(
        "already_done",
        Weight.WARN,
        f"already recorded {_when(at, act.zone)}",
        "If this is the same one entered twice, take it back (sunup record undo). If she truly got "
        "it twice, leave both, write it down, and ask the veterinarian about the withdrawal.",
    )


def _may_be_pregnant(her: Her, act: Intent, q: WarningFigures) -> Flag | None:
    if act.do != Do.PGF:
        return None
    doubt = find_doubt(her.facts, pgf_on=act.on, figures=q.exposure)
    if doubt is None:
        return None
    return Flag(
        "may_be_pregnant",
        Weight.REFUSE,
        f"{doubt.text}: PGF ends a pregnancy",
        "Tell the veterinarian today. Count her as not bred, watch her for heat, and have her "
        "checked before anything more is given.",
        doubt.figure.source,
    )


def _melengestrol_to_a_cow(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do not in {Do.MGA_START, Do.MGA_END} or her.facts.class_ is FemaleClass.HEIFER:
        return None
    return Flag(
        "melengestrol_cow",
        Weight.REFUSE,
        "melengestrol is for heifers only: feed use outside the label is barred",
        "Stop feeding it to her, keep her from slaughter and milk from sale until the veterinarian "
        "has said for how long, and write down how much she ate.",
    )


def _second_insert(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != Do.INSERT_IN or her.insert_since is None or her.insert_since > act.at:
        return None
    return Flag(
        "second_insert",
        Weight.REFUSE,
        f"an insert went in {_when(her.insert_since, act.zone)} and none is recorded out",
        "Feel for two tails: take one out now, or record the first as lost. Count inserts in and "
        "out at the end.",
    )


def _no_insert(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != Do.INSERT_OUT:
        return None
    if act.found and her.insert_since is None:
        return Flag(
            "insert_never_in",
            Weight.WARN,
            "no insert is recorded as put in her",
            "Read the tag again; if it was hers, record when it went in (with --at).",
        )
    if not act.found:
        # practice notes of the trade, from memory: lost is "no progestin"
        return Flag(
            "insert_lost",
            Weight.WARN,
            "her insert was lost",
            "PGF is still due. Count her as a female without progestin: watch her, inseminate on "
            "heat, and expect less at a fixed time.",
            ("memory",),
        )
    return None


def _calved_too_lately(her: Her, act: Intent, q: WarningFigures) -> Flag | None:
    calved = her.facts.calved_on
    if calved is None or calved > act.on:
        return None
    if act.do == Do.AI:
        figure = q.calved_at_ai
    elif act.do in _INJECTED or act.do == Do.INSERT_IN:
        figure = q.calved_at_start
    else:
        return None
    days = (act.on - calved).days
    if days >= figure.number:
        return None
    return Flag(
        "calved_too_lately",
        Weight.WARN,
        f"calved {_day(calved)}: {days} days, {figure.number:g} wanted",
        "Go on with her group; expect less, and look for her among the returns."
        if act.do == Do.AI
        else "Go on or leave her out from here; expect less of her.",
        figure.source,
    )


def _low_fertility_heat(her: Her, act: Intent, q: WarningFigures) -> Flag | None:
    ended = her.progestin_ended
    if act.do != Do.AI or act.timed or ended is None or her.progestin_days < q.long_days.number:
        return None
    since = hours_between(ended, act.at) / 24
    if not 0 <= since <= q.pass_days.number:
        return None
    return Flag(
        "first_heat_after_progestin",
        Weight.WARN,
        f"the heat {since:.0f} days after {her.progestin_days:.0f} days of progestin is of low "
        "fertility: it is passed over",
        "Expect less, and watch for her return. She may be pregnant now: no PGF to her before the "
        "veterinarian has said so.",
        (*q.long_days.source, *q.pass_days.source),
    )


def _heat_over(_: Her, act: Intent, __: WarningFigures) -> Flag | None:
    """Speak where a fixed time comes too late for the heat she had, as the list says."""
    if act.do != Do.AI or act.heat_over is None:
        return None
    hours = hours_between(act.heat_over, act.at)
    return Flag(
        "heat_over",
        Weight.WARN,
        f"seen in heat {_when(act.heat_over, act.zone)}, {hours:.0f} h before: too late for it",
        "Expect little of this straw and watch for her next heat. If she was left out as Today "
        "says, take this back (sunup record undo).",
        size=hours,
    )


def _straw(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != Do.AI or act.sire is None or act.straws is None or act.straws >= 1:
        return None
    others = [code for code in her.assigned if code != act.sire]
    other = f"; her alternates: {', '.join(others)}" if others else ""
    return Flag(
        "no_straw",
        Weight.WARN,
        f"no straw of {act.sire} in stock{other}",
        "Read the straw again. If the code is right, count the tank (sunup stock count).",
    )


def _own_father(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    sire = her.facts.sire
    if act.do not in {Do.AI, Do.BULLS_IN} or act.sire is None or sire is None:
        return None
    if act.sire.strip().casefold() != sire.strip().casefold():
        return None
    return Flag(
        "own_father",
        Weight.WARN,
        f"{act.sire} is her own sire",
        "Note it: her calf would be inbred; keep it out of the replacements.",
    )


def _other_sire(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != Do.AI or act.sire is None or not her.assigned or act.sire in her.assigned:
        return None
    return Flag(
        "other_sire",
        Weight.WARN,
        f"{her.assigned[0]} was chosen for her, not {act.sire}",
        "Read the straw again; if it was this one, nothing more is to be done.",
    )


def _found_pregnant(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    f = her.facts
    if act.do != Do.AI or f.pregnancy is not PregnancyFinding.PREGNANT:
        return None
    checked = f.pregnancy_checked_on
    if f.calved_on is not None and checked is not None and checked < f.calved_on:
        return None
    return Flag(
        "found_pregnant",
        Weight.REFUSE,
        "she was found pregnant",
        "A pregnant female may show heat. Have her checked; count her by the scan, not by this AI.",
        ("memory",),
    )


def _with_bull(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != Do.AI:
        return None
    there = [
        span.from_at
        for span in her.with_bulls
        if span.from_at <= act.at and (span.until_at is None or span.until_at > act.at)
    ]
    if not there:
        return None
    return Flag(
        "with_bull",
        Weight.WARN,
        f"with a bull since {_day(to_local(min(there), act.zone).date())}",
        "The calf may be the bull's: tell them apart at the scan, or by DNA.",
    )


def _withdrawal(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != LEAVES or not act.for_slaughter:
        return None
    running = [w for w in her.withdrawals if w.ends_on is not None and w.ends_on > act.on]
    unknown = [w for w in her.withdrawals if w.ends_on is None]
    if running:
        last = max(running, key=lambda w: w.ends_on or w.given_on)
        ends = last.ends_on
        return Flag(
            "withdrawal",
            Weight.REFUSE,
            f"withdrawal of {last.what.replace('_', ' ')} runs until {_day(ends)}"
            if ends
            else "withdrawal runs",
            "Tell the buyer in writing, with drug, day and withdrawal, before she is slaughtered.",
        )
    if unknown:
        named = {f"{w.what.replace('_', ' ')} on {_day(w.given_on)}" for w in unknown}
        what = ", ".join(sorted(named))
        return Flag(
            "withdrawal_not_noted",
            Weight.WARN,
            f"no withdrawal was written down for {what}",
            "Read the label of what she got and hand its withdrawal on with her.",
        )
    return None


def _expired(_: Her, act: Intent, __: WarningFigures) -> Flag | None:
    if act.expires_on is None or act.expires_on >= act.on:
        return None
    return Flag(
        "expired",
        Weight.WARN,
        f"the bottle expired {_day(act.expires_on)} {act.expires_on.year}",
        "Set the bottle aside, note the lot, and ask the veterinarian whether to count the dose.",
    )


def _outside_window(_: Her, act: Intent, __: WarningFigures) -> Flag | None:
    line = act.step
    if line is None:
        return None
    early, late = line.window
    off = hours_outside(line.window, act.at)
    if not off:
        return None
    hours, word = abs(off), "early" if off < 0 else "late"
    return Flag(
        "outside_window",
        Weight.WARN,
        f"{_hours(hours)} too {word}: her window is {_when(early, act.zone)} to "
        f"{_when(late, act.zone)}",
        "What follows counts from this time: her own hours stand in sunup today.",
        size=hours,
    )


def _not_hers(_: Her, act: Intent, __: WarningFigures) -> Flag | None:
    if act.step is None or act.step.phase is not Phase.NOT_HERS:
        return None
    return Flag(
        "not_hers",
        Weight.WARN,
        f"this step is not for her: {act.step.why}",
        "Leave it as recorded; look at what is due to her next.",
    )


def _anchor_missing(_: Her, act: Intent, __: WarningFigures) -> Flag | None:
    """Speak where the step her hours count from is not on file: a PGF before an insemination."""
    if act.step is None or act.step.phase is not Phase.WAITS:
        return None
    return Flag(
        "anchor_missing",
        Weight.WARN,
        act.step.why,
        "If she got it, record it with its time (--at). If not, expect little of what follows, and "
        "ask the veterinarian before anything more is given.",
    )


def _insert_still_in(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != Do.AI or her.insert_since is None or her.insert_since > act.at:
        return None
    # an insert holds back heat and ovulation while it is in (label texts held)
    return Flag(
        "insert_still_in",
        Weight.WARN,
        f"an insert went in {_when(her.insert_since, act.zone)} and none is recorded out",
        "Feel for its tail. If it is in, take it out now and count her as not bred: with it in she "
        "does not ovulate. If it was taken out or lost, record that with its time.",
    )


def _hours(hours: float) -> str:
    if hours >= 48:
        return f"{hours / 24:.0f} days"
    if hours >= 1:
        return f"{hours:.0f} h"
    return f"{max(1, round(hours * 60))} min"


RULES: tuple[Callable[[Her, Intent, WarningFigures], Flag | None], ...] = (
    _may_be_pregnant,
    _melengestrol_to_a_cow,
    _second_insert,
    _found_pregnant,
    _withdrawal,
    _not_here,
    _wrong_group,
    _off_list,
    _on_hold,
    _twice,
    _no_insert,
    _outside_window,
    _anchor_missing,
    _insert_still_in,
    _not_hers,
    _calved_too_lately,
    _low_fertility_heat,
    _heat_over,
    _own_father,
    _straw,
    _other_sire,
    _with_bull,
    _expired,
    *FACT_RULES,
)


def find_flags(her: Her, act: Intent, figures: WarningFigures) -> tuple[Flag, ...]:
    """Return everything that speaks against an act, what is refused first.

    Parameters
    ----------
    her : Her
        As she was known before the act.
    act : Intent
    figures : WarningFigures

    Returns
    -------
    tuple of Flag
        Before the act, one whose weight is refuse stops it; after the act each says what to do
        now.
    """
    found = (rule(her, act, figures) for rule in RULES)
    flags = [flag for flag in found if flag is not None]
    return tuple(sorted(flags, key=lambda f: f.weight is not Weight.REFUSE))
