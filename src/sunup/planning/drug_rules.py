"""The rules on drugs, inserts and feed: PGF in a pregnancy, a second insert, a withdrawal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.planning.exposure import find_doubt
from sunup.planning.warnings import LEAVES, Flag, Her, Intent, Weight, say_day, say_when
from sunup.protocols.protocol import INJECTIONS, Do
from sunup.records.female import FemaleClass

if TYPE_CHECKING:
    from sunup.planning.warnings import Rule, WarningFigures

_INJECTED = frozenset(do.value for do in INJECTIONS)


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


def _nothing_known(her: Her, act: Intent, q: WarningFigures) -> Flag | None:
    if act.do != Do.PGF or her.unknown is None:
        return None
    return Flag(
        "exposure_unknown",
        Weight.REFUSE,
        f"{her.unknown}: she may be pregnant, and PGF ends a pregnancy",
        "Tell the veterinarian today and ask where she came from. Count her as not bred, and have "
        "her checked before anything more is given.",
        q.exposure.days_before_pgf.source,
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
        f"an insert went in {say_when(her.insert_since, act.zone)} and none is recorded out",
        "Feel for two tails: take one out now, or record the first as lost. Count inserts in and "
        "out at the end.",
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
            f"withdrawal of {last.what.replace('_', ' ')} runs until {say_day(ends)}"
            if ends
            else "withdrawal runs",
            "Tell the buyer in writing, with drug, day and withdrawal, before she is slaughtered.",
        )
    if unknown:
        named = {f"{w.what.replace('_', ' ')} on {say_day(w.given_on)}" for w in unknown}
        what = ", ".join(sorted(named))
        return Flag(
            "withdrawal_not_noted",
            Weight.WARN,
            f"no withdrawal was written down for {what}",
            "Read the label of what she got and hand its withdrawal on with her.",
        )
    return None


def _leaves_with_insert(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    if act.do != LEAVES or her.insert_since is None or her.insert_since > act.at:
        return None
    # common sense of a drug that is still inside; from memory
    return Flag(
        "leaves_with_insert",
        Weight.REFUSE,
        f"an insert went in {say_when(her.insert_since, act.zone)} and none is recorded out",
        "Take it out before she goes, or record when it came out (sunup record drug insert_out "
        "TAG --at WHEN). If it is in her, tell whoever has her, in writing: it is a drug, and its "
        "withdrawal is not over.",
        ("memory",),
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
        f"calved {say_day(calved)}: {days} days, {figure.number:g} wanted",
        "Go on with her group; expect less, and look for her among the returns."
        if act.do == Do.AI
        else "Go on or leave her out from here; expect less of her.",
        figure.source,
    )


def _big_dose(_: Her, act: Intent, q: WarningFigures) -> Flag | None:
    if act.do not in _INJECTED or act.ml is None or act.ml <= q.dose_most.number:
        return None
    return Flag(
        "dose_not_believed",
        Weight.WARN,
        f"{act.ml:g} mL; more than {q.dose_most.number:g} mL is no dose of such a drug",
        "If it was another amount, put it right (sunup record correct). If she truly got so much, "
        "call the veterinarian.",
        q.dose_most.source,
        size=act.ml,
    )


def _expired(_: Her, act: Intent, __: WarningFigures) -> Flag | None:
    ended = act.expires_on or act.lot_expires_on
    if ended is None or ended >= act.on:
        return None
    what = "the bottle expired" if act.expires_on else "by what stock holds, this lot expired"
    return Flag(
        "expired",
        Weight.WARN,
        f"{what} {say_day(ended)} {ended.year}",
        "Set the bottle or bag aside, note the lot, and ask the veterinarian whether to count the "
        "dose.",
    )


DRUG_RULES: tuple[Rule, ...] = (
    _may_be_pregnant,
    _nothing_known,
    _melengestrol_to_a_cow,
    _second_insert,
    _withdrawal,
    _leaves_with_insert,
    _no_insert,
    _calved_too_lately,
    _big_dose,
    _expired,
)
