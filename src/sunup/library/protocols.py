"""Protocols from ``protocols/KEY.toml`` and from a ranch's overlay."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from sunup.base.figures import Seen
from sunup.library.actives import DRUG_WORDS
from sunup.protocols.protocol import (
    CHUTE,
    FEEDINGS,
    Cattle,
    CyclingNeed,
    Do,
    Inseminate,
    Protocol,
    Result,
    Standing,
    Statement,
    Step,
    Style,
    WhenNot,
    Who,
    Zero,
)
from sunup.protocols.rules import check_protocol
from sunup.records.female import CheckMethod, FemaleClass

if TYPE_CHECKING:
    from sunup.library.actives import ActiveIndex
    from sunup.library.toml_tables import Table
    from sunup.protocols.rules import RuleLimits

MEASURES = ("pregnancy_to_ai", "conception", "in_heat", "season_pregnancy")
KEY = re.compile(r"[a-z0-9_]+")
_LAST_PLACE = 999  # older and research protocols stand after every recommended one
_TAKES_ACTIVE = frozenset(DRUG_WORDS) | {Do.INSERT_OUT} | FEEDINGS


def read_protocol(
    table: Table, *, key: str, actives: ActiveIndex, limits: RuleLimits
) -> Protocol | None:
    """Read one protocol and check it against the rules; None where anything is at fault.

    Parameters
    ----------
    table : Table
        The file itself, or ``protocol.KEY`` of an overlay.
    key : str
    actives : ActiveIndex
    limits : RuleLimits
        Figures the rules rest on.
    """
    before = table.reading.count
    steps = _read_steps(table, actives)
    are_steps_sound = table.reading.count == before
    standing = table.word("standing", Standing)
    protocol = Protocol(
        key=key,
        name=table.text("name"),
        standing=standing,
        standing_note=table.text_or("standing_note", ""),
        style=table.word("style", Style),
        classes=table.some_of("classes", tuple(FemaleClass)),
        cattle=table.word("cattle", Cattle),
        order=_read_order(table, standing),
        why=table.text("why"),
        suits=table.text("suits"),
        cycling_need=table.word("cycling_need", CyclingNeed),
        zero=table.word("zero", Zero),
        clock=table.text_or("clock", None),
        steps=steps,
        results=tuple(_read_result(one) for one in table.subtables("results")),
        prerequisites=_read_statements(table, "prerequisites"),
        cautions=_read_statements(table, "cautions"),
        when_not=tuple(_read_when_not(one) for one in table.subtables("when_not")),
        disagree=_read_statements(table, "disagree"),
        source=table.sources(),
        seen=table.word("seen", Seen),
        steps_note=table.text_or("steps_note", ""),
        regions=table.texts_or_empty("regions"),
    )
    table.finish()
    if are_steps_sound:
        ids = {step.id for step in steps}
        for problem in check_protocol(protocol, limits=limits):
            path = f"steps.{problem.where}" if problem.where in ids else problem.where
            table.wrong(path, problem.what, problem.fix)
    return protocol if table.reading.count == before else None


def _read_order(table: Table, standing: Standing) -> int:
    if standing is Standing.RECOMMENDED:
        return table.whole("order", low=1, high=_LAST_PLACE)
    return table.whole_or("order", _LAST_PLACE, low=1, high=_LAST_PLACE)


def _read_steps(table: Table, actives: ActiveIndex) -> tuple[Step, ...]:
    if not table.has("steps"):
        table.raw("steps")
        table.wrong("steps", "the key 'steps' is missing.", "Add steps = [ { ... }, ].")
        return ()
    return tuple(_read_step(one, actives) for one in table.subtables("steps"))


def _read_step(table: Table, actives: ActiveIndex) -> Step:
    before = table.reading.count
    do = table.word("do", Do)
    is_do_known = table.reading.count == before
    table.one_of_or("clock", None, ("same",))
    step = Step(
        id=table.text("id"),
        do=do,
        day=table.whole_or("day", None, high=400),
        with_=table.text_or("with", None),
        after=table.text_or("after", None),
        hours=table.number_or("hours", 0.0, low=0.0, high=9600.0),
        early_h=table.number_or("early_h", 0.0, low=0.0, high=240.0),
        late_h=table.number_or("late_h", 0.0, low=0.0, high=240.0),
        until=table.number_or("until", None, low=0.0, high=9600.0),
        who=table.word("who", Who) if table.has("who") else None,
        inseminate=table.word("inseminate", Inseminate) if table.has("inseminate") else None,
        times_per_day=table.whole_or("times_per_day", None, low=1, high=24),
        minutes=table.whole_or("minutes", None, low=1, high=1440),
        aid=table.text_or("aid", None),
        dose=table.number_or("dose", 1.0, low=0.0, high=1.0),
        active=table.text_or("active", None),
        method=table.one_of_or("method", None, tuple(CheckMethod)),
        optional=table.text_or("optional", None),
        note=table.text_or("note", None),
    )
    for key in ("who", "inseminate"):
        table.raw(key)
    table.finish()
    if step.id and not KEY.fullmatch(step.id):
        table.wrong(
            "id", f"'{step.id}' is no id.", "Use lower-case letters, digits and underscores."
        )
    if is_do_known:
        _check_form(table, step)
        _check_drug(table, step, actives)
    return step


def _check_form(table: Table, step: Step) -> None:
    """Check which keys stand together: soft, same visit or hard."""
    if step.day is not None and not table.has("clock"):
        table.wrong("clock", "a step by day keeps the clock of zero.", 'Add clock = "same".')
    if step.day is None and table.has("clock"):
        table.wrong("clock", "'clock' belongs to a step by day.", "Delete clock.")
    if step.day is not None and step.do is not Do.WATCH:
        for key in ("early_h", "late_h"):
            if not table.has(key):
                table.wrong(
                    key,
                    f"a step by day needs its window; '{key}' is missing.",
                    f"Add {key} = hours (0 where it may not bend).",
                )
    if step.after is not None and not table.has("hours"):
        table.wrong("hours", "'after' needs hours.", "Add hours = elapsed hours from that step.")
    if step.after is None and table.has("hours"):
        table.wrong("hours", "'hours' belongs to a step given by 'after'.", "Delete hours.")
    if step.with_ is not None:
        for key in ("early_h", "late_h"):
            if table.has(key):
                table.wrong(
                    key,
                    f"a step given by 'with' has the window of '{step.with_}'.",
                    f"Delete {key}, or write it there.",
                )
    if step.method is not None and step.do is not Do.PREG_CHECK:
        table.wrong("method", "'method' belongs to a preg_check.", "Delete method.")
    if table.has("dose") and table.raw("dose") == 0:
        table.wrong("dose", "the dose is not more than 0.", "Write a share of the full dose.")


def _check_drug(table: Table, step: Step, actives: ActiveIndex) -> None:
    if step.active is not None and step.do in _TAKES_ACTIVE:
        actives.find_for(table, "active", name=step.active, does=step.do)
    elif step.active is not None:
        table.wrong("active", f"{step.do} takes no drug.", "Delete active.")
    if table.has("dose") and step.do not in _TAKES_ACTIVE & CHUTE:
        table.wrong("dose", f"{step.do} takes no dose.", "Delete dose.")


def _read_result(table: Table) -> Result:
    before = table.reading.count
    result = Result(
        measure=table.one_of("measure", MEASURES),
        low_pct=table.number("low_pct", low=0.0, high=100.0),
        high_pct=table.number("high_pct", low=0.0, high=100.0),
        of=table.text("of"),
        source=table.sources(),
        seen=table.word("seen", Seen),
        n=table.whole_or("n", None, low=1),
        semen=table.one_of_or("semen", "conventional", ("conventional", "sexed")),
        note=table.text_or("note", ""),
    )
    table.finish()
    if table.reading.count == before and result.low_pct > result.high_pct:
        table.wrong(
            "low_pct",
            f"low_pct ({result.low_pct:g}) is above high_pct ({result.high_pct:g}).",
            "Write the lower figure in low_pct.",
        )
    return result


def _read_statements(table: Table, key: str) -> tuple[Statement, ...]:
    return tuple(_read_statement(one) for one in table.subtables(key))


def _read_when_not(table: Table) -> WhenNot:
    """Read a reason not to use a protocol; what it says of the females is optional."""
    classes = table.some_of("classes", tuple(FemaleClass)) if table.has("classes") else ()
    reason = WhenNot(
        text=table.text("text"),
        source=table.sources(),
        seen=table.word("seen", Seen),
        classes=classes,
        cattle=table.word("cattle", Cattle) if table.has("cattle") else None,
        condition_most=table.number_or("condition_most", None, low=1.0, high=9.0),
        tract_under=table.number_or("tract_under", None, low=1.0, high=5.0),
        not_cycling_over=table.number_or("not_cycling_over", None, low=0.0, high=1.0),
        share=table.number_or("share", None, low=0.0, high=1.0),
    )
    table.raw("classes")
    table.raw("cattle")
    table.finish()
    if reason.share is not None and reason.is_open:
        table.wrong(
            "share",
            "a share of whom is not said.",
            "Add classes, cattle, condition_most or tract_under, or delete share.",
        )
    return reason


def _read_statement(table: Table) -> Statement:
    statement = Statement(
        text=table.text("text"), source=table.sources(), seen=table.word("seen", Seen)
    )
    table.finish()
    return statement
