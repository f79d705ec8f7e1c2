"""The rules on what befalls a female beside her treatments: an abortion, a weaning, a vaccine."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.planning.warnings import ABORTS, VACCINATES, WEANS, Flag, Her, Intent, Weight, say_day
from sunup.records.female import PregnancyFinding

if TYPE_CHECKING:
    from sunup.planning.warnings import Rule, WarningFigures


def _abortion(_: Her, act: Intent, __: WarningFigures) -> Flag | None:
    if act.do != ABORTS:
        return None
    return Flag(
        "abortion",
        Weight.WARN,
        "some causes of abortion spread through a herd, and some reach people",
        "Gloves on. Keep her apart, keep fetus and afterbirth cold, and call the veterinarian "
        "today. Write down every other one: several make a herd matter of it.",
        ("memory",),
    )


def _nothing_to_lose(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    f = her.facts
    if act.do != ABORTS or f.exposure is not None or her.served_at is not None:
        return None
    if f.pregnancy is PregnancyFinding.PREGNANT:
        return None
    return Flag(
        "not_bred",
        Weight.WARN,
        "no service, bull or pregnancy of hers is on file",
        "Read the tag again. If it is she, a bull has been with her: ask which group she was in.",
    )


def _not_calved(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    calved = her.facts.calved_on
    if act.do != WEANS or (calved is not None and calved <= act.on):
        return None
    return Flag(
        "not_calved",
        Weight.WARN,
        "no calving of hers is on file",
        "Read the tag again. If it is she, record her calving with its day (sunup record calving "
        "TAG --at DAY).",
    )


def _weaned_before(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    calved = her.facts.calved_on
    if act.do != WEANS or calved is None:
        return None
    days = [at.astimezone(act.zone).date() for do, at in her.acts if do == WEANS]
    since = [day for day in days if calved <= day < act.on]
    if not since:
        return None
    return Flag(
        "weaned_before",
        Weight.WARN,
        f"her calf was weaned {say_day(since[-1])}",
        "If this is the same one entered twice, take it back (sunup record undo).",
    )


def _vaccine_near_breeding(_: Her, act: Intent, q: WarningFigures) -> Flag | None:
    if act.do != VACCINATES or act.modified_live is False or act.first_ai_on is None:
        return None
    days = (act.first_ai_on - act.on).days
    if abs(days) >= q.vaccine_days.number:
        return None
    when = "on the day of" if days == 0 else f"{abs(days)} days {'before' if days > 0 else 'after'}"
    kind = "a modified-live vaccine" if act.modified_live else "a vaccine, if modified-live,"
    return Flag(
        "vaccine_near_breeding",
        Weight.WARN,
        f"{kind} {when} the first insemination ({say_day(act.first_ai_on)}): "
        f"{q.vaccine_days.number:g} days or more before it is the rule in use",
        "Ask the veterinarian; expect less of the first insemination, and look for returns.",
        q.vaccine_days.source,
    )


def _vaccine_in_pregnancy(her: Her, act: Intent, _: WarningFigures) -> Flag | None:
    f = her.facts
    if act.do != VACCINATES or not act.modified_live:
        return None
    if f.pregnancy is not PregnancyFinding.PREGNANT and f.exposure is None:
        return None
    if f.pregnancy is PregnancyFinding.NOT_PREGNANT:
        return None
    return Flag(
        "vaccine_in_pregnancy",
        Weight.WARN,
        "she may be pregnant: some modified-live vaccines end a pregnancy",
        "Read on the label whether it may be given to a pregnant female, and under which "
        "conditions; if it may not, tell the veterinarian today.",
        ("memory",),
    )


def _part_dose(_: Her, act: Intent, __: WarningFigures) -> Flag | None:
    if act.share is None or act.share >= 1.0:
        return None
    text = (
        f"about {act.share * 100:.0f} of 100 parts of the dose went in: it counts as a part dose, "
        "and nobody can say how far it works"
    )
    if act.share <= 0.0:
        text = "none of the dose went in: count her as not treated"
    return Flag(
        "part_dose",
        Weight.WARN,
        text,
        "Ask the veterinarian today whether she gets the rest; give nothing more unasked. Leave "
        "her in her group, watch her for heat and inseminate on heat; the withdrawal runs as for a "
        "full dose.",
        ("memory",),
    )


FACT_RULES: tuple[Rule, ...] = (
    _nothing_to_lose,
    _abortion,
    _not_calved,
    _weaned_before,
    _vaccine_near_breeding,
    _vaccine_in_pregnancy,
    _part_dose,
)
