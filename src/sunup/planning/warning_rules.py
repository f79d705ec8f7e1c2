"""The rules on an act: each looks at one female and one act, and speaks or is silent.

Here are those on who she is and on the step; on drugs, inseminations and what befalls her see
``drug_rules``, ``ai_rules`` and ``fact_rules``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.base.hours import hours_between
from sunup.planning.ai_rules import AI_RULES
from sunup.planning.drug_rules import DRUG_RULES
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
    Weight,
    say_when,
)
from sunup.protocols.protocol import Do

if TYPE_CHECKING:
    from sunup.planning.warnings import Rule, WarningFigures


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


def _held_back(_: Her, act: Intent, q: WarningFigures) -> Flag | None:
    """Speak where a treatment begins what she must not end; PGF and AI have rules of their own."""
    own = {Do.PGF, Do.AI, Do.INSERT_OUT}
    if act.held is None or not act.held.is_refused or act.do in own:
        return None
    return Flag(
        "held_back",
        Weight.REFUSE,
        act.held.why,
        "Leave her out of what follows: no PGF before the veterinarian has said so. An insert must "
        "come out of her on its day all the same.",
        q.exposure.days_before_pgf.source,
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
        f"already recorded {say_when(at, act.zone)}",
        "If this is the same one entered twice, take it back (sunup record undo). If she truly got "
        "it twice, leave both, write it down, and ask the veterinarian about the withdrawal.",
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
        f"{_hours(hours)} too {word}: her window is {say_when(early, act.zone)} to "
        f"{say_when(late, act.zone)}",
        "What follows counts from this time: her own hours stand in sunup today.",
        size=hours,
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


def _not_hers(_: Her, act: Intent, __: WarningFigures) -> Flag | None:
    if act.step is None or act.step.phase is not Phase.NOT_HERS:
        return None
    return Flag(
        "not_hers",
        Weight.WARN,
        f"this step is not for her: {act.step.why}",
        "Leave it as recorded; look at what is due to her next.",
    )


def _hours(hours: float) -> str:
    if hours >= 48:
        return f"{hours / 24:.0f} days"
    if hours >= 1:
        return f"{hours:.0f} h"
    return f"{max(1, round(hours * 60))} min"


RULES: tuple[Rule, ...] = (
    _not_here,
    _wrong_group,
    _off_list,
    _on_hold,
    _held_back,
    _twice,
    _outside_window,
    _anchor_missing,
    _not_hers,
    *DRUG_RULES,
    *AI_RULES,
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
