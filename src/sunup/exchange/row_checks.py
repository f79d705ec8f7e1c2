"""What the cells of one row say together: contradictions, her class, what she was exposed to.

Where two facts cannot both be true and a treatment could harm, she goes on hold; nothing is
chosen for the reader.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sunup.base.problems import Severity
from sunup.exchange.faults import Fault
from sunup.exchange.plausible import weight_fault
from sunup.exchange.vocabulary import ClassHint
from sunup.records.female import Exposure, ExposureKind, FemaleClass

if TYPE_CHECKING:
    from collections.abc import Set as AbstractSet
    from datetime import date

    from sunup.exchange.plausible import Limits

_CLASS_FIX = "Write heifer, first-calf cow or cow."


@dataclass(slots=True)
class RowState:
    """One row while it is looked at: facts by field, what was not readable, what was found."""

    facts: dict[str, Any]
    unread: AbstractSet[str]
    on: date
    limits: Limits
    holds: list[str] = field(default_factory=list)
    findings: list[tuple[str, Fault]] = field(default_factory=list)
    class_: FemaleClass = FemaleClass.COW
    is_class_sure: bool = True
    exposure: Exposure | None = None

    def find(self, key: str, what: str, fix: str, *, hold: str | None = None) -> None:
        """Report an error at the cell of a field and hold her if a reason is given."""
        self.findings.append((key, Fault(what, fix)))
        if hold is not None:
            self.holds.append(hold)

    def warn(self, key: str, what: str, fix: str) -> None:
        """Report something to look at; the facts stay."""
        self.findings.append((key, Fault(what, fix, severity=Severity.WARNING)))


def check_row(state: RowState) -> None:
    """Look at a row's facts together; fills the state's class, exposure, holds and findings."""
    _check_calving(state)
    _settle_class(state)
    _check_weights(state)
    _settle_exposure(state)
    _check_birth(state)


def _check_calving(state: RowState) -> None:
    """Find a heifer that calved, a cow born after her calf, a mother too young."""
    facts = state.facts
    calved, told = facts.get("calved_on"), facts.get("class")
    if calved is None:
        return
    if told in {FemaleClass.HEIFER, ClassHint.BRED_HEIFER} or facts.get("calvings") == 0:
        word = "a heifer" if told is not None else "never calved"
        state.find(
            "calved_on",
            f"she is listed as {word} but has a calving date.",
            "Mend her class or number of calvings, or take the calving date out.",
            hold=f"listed as {word} but with a calving date ({calved.isoformat()})",
        )
        facts["calved_on"] = None
        return
    born = facts.get("born_on")
    if born is None:
        return
    days = (calved - born).days
    if days < state.limits.youngest_calving_days:
        at = f"at {days / 30.4375:.0f} months" if days > 0 else "before she was born"
        state.find(
            "born_on",
            f"born {born.isoformat()} and calved {calved.isoformat()}: she would have calved {at}.",
            "Check both dates.",
            hold=f"birth and calving dates disagree ({born.isoformat()}, {calved.isoformat()})",
        )
        facts["born_on"] = None


def _settle_class(state: RowState) -> None:
    """Take the class as told, or derive it where the facts leave no doubt."""
    told, calvings = state.facts.get("class"), state.facts.get("calvings")
    if isinstance(told, FemaleClass):
        state.class_ = told
        if calvings is not None:
            _compare_calvings(state, told, calvings)
    elif told is ClassHint.FIRST_CALF_IF_CALVED:
        state.class_ = FemaleClass.FIRST_CALF_COW
        if not (_has_calved(state) or "calved_on" in state.unread):
            state.find(
                "class",
                "this word is used for females before and after their first calf, and there is"
                " no calving date.",
                "Write heifer, or give her calving date.",
                hold="class not sure: no calving date",
            )
    elif told is ClassHint.BRED_HEIFER:
        state.class_ = FemaleClass.HEIFER
        if not any(state.facts.get(key) for key in ("bull_in", "ai_on", "pregnancy")):
            state.find(
                "class",
                "she is listed as bred, but without bull or AI dates or a pregnancy finding.",
                "Give the dates, or write heifer.",
                hold="listed as bred; dates not given",
            )
    else:
        _derive_class(state)


def _has_calved(state: RowState) -> bool:
    return state.facts.get("calved_on") is not None or bool(state.facts.get("calvings"))


def _compare_calvings(state: RowState, told: FemaleClass, calvings: int) -> None:
    if told is FemaleClass.COW and calvings == 1:
        state.class_ = FemaleClass.FIRST_CALF_COW
        state.warn(
            "calvings",
            "she is listed as a cow with one calving and was taken as a first-calf cow.",
            "Write her class as first-calf cow, or mend the number.",
        )
    elif (told is FemaleClass.HEIFER) != (calvings == 0) or (
        told is FemaleClass.FIRST_CALF_COW and calvings > 1
    ):
        if state.findings:
            return  # the calving date has told it already
        state.find(
            "calvings",
            f"she is listed as {told.words} with {calvings} calvings.",
            "Mend her class or the number.",
            hold=f"class ({told.words}) and number of calvings ({calvings}) disagree",
        )


def _derive_class(state: RowState) -> None:
    """Class from the number of calvings, or from calving date and age."""
    facts, limits = state.facts, state.limits
    hint, calvings = facts.get("class"), facts.get("calvings")
    calved, born = facts.get("calved_on"), facts.get("born_on")
    if calvings is not None:
        state.class_ = (FemaleClass.HEIFER, FemaleClass.FIRST_CALF_COW, FemaleClass.COW)[
            min(calvings, 2)
        ]
        return
    if calved is not None:
        days = (calved - born).days if born is not None else None
        if days is not None and days < limits.first_calf_days:
            state.class_ = FemaleClass.FIRST_CALF_COW
        elif (days is None or days < limits.later_calf_days) and "class" not in state.unread:
            state.warn(
                "class",
                "her class is not told and her dates do not tell whether this was her first calf;"
                " she was taken as a cow.",
                _CLASS_FIX,
            )
        elif days is None or days < limits.later_calf_days:
            _hold_for_class(state)
        return
    young = born is not None and (state.on - born).days < limits.never_calved_days
    if young and hint is None and "calved_on" not in state.unread:
        state.class_ = FemaleClass.HEIFER
        return
    _hold_for_class(state)
    if "class" not in state.unread and "calved_on" not in state.unread:
        state.find(
            "class",
            "her class is not told and cannot be derived: no calving date, no number of calvings,"
            f" and not surely under {limits.never_calved_days / 30.4375:.0f} months.",
            _CLASS_FIX,
        )


def _hold_for_class(state: RowState) -> None:
    state.is_class_sure = False
    if "class" not in state.unread:
        state.holds.append("class not known")


def _check_weights(state: RowState) -> None:
    """Find weights no such female has, most often the wrong unit."""
    facts = state.facts
    limits = state.limits
    hers = limits.weight_of(state.class_) if state.is_class_sure else limits.weight_kg
    for key, bounds in (("weight", hers), ("mature_weight", limits.cow_kg)):
        kg = facts.get(key)
        if kg is not None and (what := weight_fault(kg, bounds)):
            state.find(key, what, "Check the number and the column's unit (lb or kg).")
            facts[key] = None


def _settle_exposure(state: RowState) -> None:
    """Bring bull and AI dates to one exposure: the span a pregnancy could date from."""
    facts = state.facts
    bull_in, bull_out, ai = facts.get("bull_in"), facts.get("bull_out"), facts.get("ai_on")
    if bull_out is not None and bull_in is None and "bull_in" not in state.unread:
        state.find(
            "bull_out",
            "there is a date bulls went out but none they came in.",
            "Give the date bulls came in.",
            hold="exposure not clear: bull out without bull in",
        )
    if bull_in is not None and bull_out is not None and bull_out < bull_in:
        state.find(
            "bull_out",
            f"bulls went out ({bull_out.isoformat()}) before they came in ({bull_in.isoformat()}).",
            "Check both dates.",
            hold=f"exposure not clear: bull out {bull_out.isoformat()} before bull in"
            f" {bull_in.isoformat()}",
        )
        bull_out = None
    if bull_in is not None:
        state.exposure = Exposure(ExposureKind.BULL, bull_in, bull_out)
        if ai is not None:
            state.exposure = Exposure(
                ExposureKind.BULL,
                min(bull_in, ai),
                None if bull_out is None else max(bull_out, ai),
                ai_days=(ai, ai),
                bull_days=(bull_in, bull_out),
            )
    elif ai is not None:
        state.exposure = Exposure(ExposureKind.AI, ai, ai)
    checked = facts.get("pregnancy_checked_on")
    if state.exposure is not None and checked is not None and checked < state.exposure.from_on:
        start = state.exposure.from_on.isoformat()
        state.find(
            "pregnancy_checked_on",
            f"the pregnancy check ({checked.isoformat()}) is before she was exposed ({start});"
            " it says nothing of that exposure.",
            "Check the dates, or give the finding after the exposure.",
            hold=f"pregnancy check {checked.isoformat()} is before her exposure {start}",
        )


def _check_birth(state: RowState) -> None:
    """See that nothing happened to her before she was born."""
    born = state.facts.get("born_on")
    if born is None:
        return
    start = state.exposure.from_on if state.exposure else None
    checked = state.facts.get("pregnancy_checked_on")
    first = min((day for day in (start, checked) if day is not None), default=None)
    if first is not None and first <= born:
        state.find(
            "born_on",
            f"born {born.isoformat()}, but bred or checked on {first.isoformat()}.",
            "Check both dates.",
            hold="birth date and breeding dates disagree",
        )
        state.facts["born_on"] = None
