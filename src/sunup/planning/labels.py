"""Does a step differ from the label text held for the region? Says so; never says it is legal.

A step is compared with each held text for its active and strength. If one text is met in full
nothing is said; otherwise the texts nearest in use are named, each with what it says otherwise and
with what it does not tell: a figure nobody saw is never taken as met.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sunup.physiology.orders import CLUSTER_H
from sunup.planning.visits import feed_days
from sunup.protocols.protocol import CHUTE, Do
from sunup.protocols.timing import nominal_hours

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sunup.library.region import Held, RegionPack
    from sunup.planning.dosing import Chosen
    from sunup.protocols.protocol import Protocol, Step

DRUG_STEPS = (CHUTE - {Do.AI, Do.PREG_CHECK, Do.HEAT_AID_ON, Do.INSERT_OUT}) | {Do.MGA_START}
_SCHEDULE = "the text is for a GnRH-PGF-GnRH schedule"
_WITH_INSERT = "the text is for use with an insert"


@dataclass(frozen=True, slots=True)
class _Surroundings:
    """Hours to the neighbours a label speaks of; None where there is no such neighbour.

    PGF given twice for one luteolysis counts from the first dose.
    """

    days_to_next_pgf: float | None  # from a GnRH
    hours_since_pgf: float | None  # to a GnRH
    has_gnrh_before_pgf: bool  # a GnRH before the PGF that a GnRH follows
    has_gnrh_after_pgf: bool  # a GnRH after the PGF that follows a GnRH
    days_since_gnrh: float | None  # to a PGF
    hours_to_gnrh: float | None  # from a PGF
    days_since_last_pgf_dose: float | None
    doses_of_pgf: float  # within `CLUSTER_H` up to and with this one, in full doses
    hours_in: float | None  # since the insert in place was put in
    hours_out: float | None  # since the last insert came out
    insert_days: float | None  # of the insert put in, or in place or just out
    hours_to_removal: float | None
    has_insert: bool
    feed_days: int


@dataclass(slots=True)
class _Gap:
    """What keeps a step from meeting a text: another use, other figures, what it does not tell."""

    use: list[str] = field(default_factory=list)
    figures: list[str] = field(default_factory=list)
    untold: list[str] = field(default_factory=list)

    @property
    def is_met(self) -> bool:
        return not (self.use or self.figures or self.untold)

    @property
    def reasons(self) -> frozenset[str]:
        return frozenset((*self.use, *self.figures, *self.untold))

    @property
    def words(self) -> str:
        return "; ".join(
            [*self.use, *self.figures, *(f"it does not tell {u}" for u in self.untold)]
        )


def _first_of_pair(pgfs: Sequence[float], before: float) -> float | None:
    """Hour of the first of the doses of PGF that end with the last one before an hour."""
    first = None
    for hour in sorted((h for h in pgfs if h < before), reverse=True):
        if first is not None and first - hour > CLUSTER_H:
            break
        first = hour
    return first


def _surroundings(protocol: Protocol, step: Step) -> _Surroundings:
    at = nominal_hours(protocol)
    here = at[step.id]

    def times(do: Do) -> list[float]:
        return sorted(at[s.id] for s in protocol.steps if s.do is do)

    pgfs, gnrhs = times(Do.PGF), times(Do.GNRH)
    stays = list(zip(times(Do.INSERT_IN), times(Do.INSERT_OUT), strict=False))
    earlier_pgf = [h for h in pgfs if h < here]
    later_pgf = [h for h in pgfs if h > here]
    since = _first_of_pair(pgfs, here)
    # a second dose of PGF stands where the first one does, for the GnRH before and after it
    pair = here if since is None or here - max(earlier_pgf) > CLUSTER_H else since
    before = [h for h in gnrhs if h < pair]
    after = [h for h in gnrhs if h > here]
    now = next((stay for stay in stays if stay[0] <= here <= stay[1]), None)
    return _Surroundings(
        days_to_next_pgf=(later_pgf[0] - here) / 24 if later_pgf else None,
        hours_since_pgf=None if since is None else here - since,
        has_gnrh_before_pgf=since is not None and any(h < since for h in gnrhs),
        has_gnrh_after_pgf=bool(later_pgf) and any(h > later_pgf[0] for h in gnrhs),
        days_since_gnrh=(pair - before[-1]) / 24 if before else None,
        hours_to_gnrh=after[0] - pair if after else None,
        days_since_last_pgf_dose=(here - earlier_pgf[-1]) / 24 if earlier_pgf else None,
        doses_of_pgf=sum(
            s.dose
            for s in protocol.steps
            if s.do is Do.PGF and here - CLUSTER_H <= at[s.id] <= here
        ),
        hours_in=None if now is None else here - now[0],
        hours_out=next((here - out for _, out in reversed(stays) if out < here), None),
        insert_days=None if now is None else (now[1] - now[0]) / 24,
        hours_to_removal=None if now is None else now[1] - here,
        has_insert=bool(stays),
        feed_days=feed_days(protocol),
    )


def _outside(span: tuple[float, float], value: float) -> bool:
    return not span[0] - 1e-9 <= value <= span[1] + 1e-9


def _span(span: tuple[float, float]) -> str:
    low, high = span
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


def _class_words(classes: tuple[str, ...]) -> str:
    return ", ".join(c.replace("_calf_", "-calf ") + "s" for c in classes)


def _hold(
    gap: _Gap, span: tuple[float, float] | None, value: float, *, said: str, text: str, untold: str
) -> None:
    """Hold a figure against a text: noted where it lies outside, or where the text tells none."""
    if span is None:
        gap.untold.append(untold)
    elif _outside(span, value):
        gap.figures.append(f"{said}, text {_span(span)}{text}")


def _find_gap(
    held: Held,
    around: _Surroundings,
    *,
    classes: tuple[str, ...],
    chosen: Mapping[str, Chosen],
    step: Step,
) -> _Gap:
    gap = _Gap()
    missing = tuple(c for c in classes if c not in held.classes)
    if not held.classes:
        gap.use.append(f"the text is for {held.animals} only")
    elif missing:
        gap.use.append(f"the text is for {_class_words(held.classes)}, not {_class_words(missing)}")
    used = chosen.get(step.do.value)
    if held.strengths and used is not None and used.strength.key not in held.strengths:
        gap.use.append(f"the text is for strength {', '.join(held.strengths)}")
    if held.partner is not None:
        other = chosen.get("gnrh" if step.do is Do.PGF else "pgf")
        if other is not None and other.active.key != held.partner:
            gap.use.append(f"the text pairs it with {held.partner.replace('_', ' ')}")
    if held.indication == "suppression_of_estrus":
        gap.use.append("the text is for suppression of estrus, not for synchronisation")
    if held.indication == "other":
        gap.use.append(f"the text is for {held.text_use}, not for synchronisation")
    if held.indication == "with_insert" and step.do is not Do.PGF and not around.has_insert:
        gap.use.append(_WITH_INSERT)
    if step.do in {Do.GNRH, Do.PGF} and step.dose != 1:
        gap.figures.append(f"{step.dose:g} of a full dose, text one")
    if step.do is Do.GNRH:
        _hold_gnrh(gap, held, around)
    elif step.do is Do.PGF:
        _hold_pgf(gap, held, around)
    elif step.do is Do.INSERT_IN and around.insert_days:
        _hold(
            gap,
            held.days_in,
            around.insert_days,
            said=f"insert in for {around.insert_days:g} days",
            text="",
            untold="how many days the insert stays in",
        )
    elif step.do is Do.ECG and held.days_in and around.insert_days:
        if _outside(held.days_in, around.insert_days):
            gap.figures.append(
                f"insert in for {around.insert_days:g} days, text {_span(held.days_in)}"
            )
    elif step.do is Do.MGA_START and held.max_days and around.feed_days > held.max_days:
        gap.figures.append(f"fed {around.feed_days} days, text at most {held.max_days:g}")
    return gap


def _hold_gnrh(gap: _Gap, held: Held, around: _Surroundings) -> None:
    """Hold a GnRH against a text as the second of GnRH-PGF-GnRH, else as the first."""
    days, hours = around.days_to_next_pgf, around.hours_since_pgf
    is_whole_schedule = held.indication == "fixed_time_ai"
    if hours is not None and (around.has_gnrh_before_pgf or days is None):
        if not around.has_gnrh_before_pgf:
            gap.use.append(_SCHEDULE if is_whole_schedule else "the text has a GnRH before the PGF")
        _hold(
            gap,
            held.pgf_to_gnrh_h,
            hours,
            said=f"GnRH {hours:g} h after PGF",
            text=" h",
            untold="the hours from PGF to GnRH",
        )
        out = around.hours_out
        if held.removal_to_gnrh_h and out is not None and _outside(held.removal_to_gnrh_h, out):
            gap.figures.append(
                f"GnRH {out:g} h after the insert came out, text {_span(held.removal_to_gnrh_h)} h"
            )
    elif days is not None:
        if is_whole_schedule and not around.has_gnrh_after_pgf:
            gap.use.append(_SCHEDULE)
        _hold(
            gap,
            held.gnrh_to_pgf_days,
            days,
            said=f"PGF {days:g} days after GnRH",
            text="",
            untold="the days from GnRH to PGF",
        )
        if held.removal_to_gnrh_h and around.hours_in:
            gap.figures.append(
                f"GnRH {_days_or_hours(around.hours_in / 24)} after the insert went in, text when "
                "it goes in"
            )
    else:
        gap.use.append(_SCHEDULE)


def _hold_pgf(gap: _Gap, held: Held, around: _Surroundings) -> None:
    removal = around.hours_to_removal
    if held.indication == "with_insert" and removal is None:
        gap.use.append(_WITH_INSERT)
    elif held.indication == "with_insert" and removal is not None:
        when = "at removal" if removal == 0 else f"{removal:g} h before removal"
        if held.pgf_before_removal_h is None:
            gap.untold.append("when PGF comes before removal of the insert")
        elif _outside(held.pgf_before_removal_h, removal):
            gap.figures.append(f"PGF {when} of the insert, text about 24 h before")
    elif removal is not None:
        gap.use.append("the text does not speak of an insert")
    if held.indication == "fixed_time_ai":
        _hold_pgf_between(gap, held, around)
    since = around.days_since_last_pgf_dose
    if since is not None and held.indication in {"with_insert", "fixed_time_ai"}:
        if around.doses_of_pgf > 1:
            gap.figures.append(f"second PGF after {_days_or_hours(since)}, text one dose")
    elif since is not None:
        _hold(
            gap,
            held.repeat_days,
            since,
            said=f"second PGF after {_days_or_hours(since)}",
            text=" days",
            untold="the days between two doses of PGF",
        )


def _days_or_hours(days: float) -> str:
    return f"{days * 24:.2g} h" if days < 1 else f"{days:.2g} days"


def _hold_pgf_between(gap: _Gap, held: Held, around: _Surroundings) -> None:
    """Hold a PGF against a GnRH-PGF-GnRH text."""
    before, after = around.days_since_gnrh, around.hours_to_gnrh
    if before is None or after is None:
        gap.use.append(_SCHEDULE)
        return
    _hold(
        gap,
        held.gnrh_to_pgf_days,
        before,
        said=f"PGF {before:g} days after GnRH",
        text="",
        untold="the days from GnRH to PGF",
    )
    _hold(
        gap,
        held.pgf_to_gnrh_h,
        after,
        said=f"GnRH {after:g} h after PGF",
        text=" h",
        untold="the hours from PGF to GnRH",
    )


def _find_held(step: Step, pack: RegionPack, used: Chosen | None) -> list[Held]:
    """Texts for a step's active; only those of its strength where there are such."""
    held = [
        h
        for h in pack.held
        if h.does == step.do.value
        and (h.active is None or used is None or h.active == used.active.key)
    ]
    if used is None:
        return held
    of_strength = [h for h in held if not h.strengths or used.strength.key in h.strengths]
    return of_strength or held


def find_label_note(
    protocol: Protocol,
    step: Step,
    *,
    pack: RegionPack,
    chosen: Mapping[str, Chosen],
    classes: tuple[str, ...],
) -> str | None:
    """Return how a drug step differs from the label text held, or None.

    Parameters
    ----------
    protocol, step
        The step is one of the protocol's.
    pack : RegionPack
    chosen : mapping
        Step word to the drug used.
    classes : tuple of str
        Classes of female in the group.

    Returns
    -------
    str or None
        None for a step that gives no drug, or one that meets a held text in every point compared.
        Of several texts equally near in use each is named.
    """
    if step.do not in DRUG_STEPS:
        return None
    used = chosen.get(step.do.value)
    around = _surroundings(protocol, step)
    held = _find_held(step, pack, used)
    if not held:
        name = used.active.name if used is not None else step.do.value.replace("_", " ")
        note = f"No label text is held for {name} in {pack.name}: read the label in hand and ask "
        return f"{note}the veterinarian.{_more_than_one_dose(step, around)}"
    gaps = [_find_gap(h, around, classes=classes, chosen=chosen, step=step) for h in held]
    if any(gap.is_met for gap in gaps):
        return None
    nearest = min(len(gap.use) for gap in gaps)
    near = [gap for gap in gaps if len(gap.use) == nearest]
    told = list(
        dict.fromkeys(
            gap.words for gap in near if not any(other.reasons < gap.reasons for other in near)
        )
    )
    differs = any(gap.use or gap.figures for gap in near)
    word = "Differs from" if differs else "Not settled by"
    return (
        f"{word} the label text held: {'. Another text: '.join(told)}. Ask the veterinarian."
        f"{_more_than_one_dose(step, around)}"
    )


def _more_than_one_dose(step: Step, around: _Surroundings) -> str:
    """Say that more PGF is given within a day than one dose; what the label reckons with is one."""
    if step.do is not Do.PGF or around.doses_of_pgf <= 1:
        return ""
    return (
        f" With the dose before it, {around.doses_of_pgf:g} doses within {CLUSTER_H:g} h: "
        "more than the label dose may leave residues; ask which withdrawal then holds."
    )


def find_refusal(
    protocol: Protocol, *, pack: RegionPack, classes: tuple[str, ...], chosen: Mapping[str, Chosen]
) -> str | None:
    """Return why a plan refuses a protocol outright for a group, or None.

    Melengestrol for cows; what the region's rule pack bars.
    """
    does = {step.do for step in protocol.steps}
    if Do.MGA_START in does and any(c != "heifer" for c in classes):
        return (
            "melengestrol is for heifers only: feed use outside the label is barred, so a plan "
            "never gives it to cows"
        )
    barred = {b.active: b for b in pack.barred}
    for step in protocol.steps:
        used = chosen.get(step.do.value)
        names = {step.active, used.active.key if used else None, step.do.value}
        if step.do is Do.MGA_START:
            names.add("melengestrol_acetate")
        for name in names:
            if name in barred and not step.optional:
                return barred[name].text.rstrip(".")
    return None
