"""Does a step differ from the label text held for the region? Says so; never says it is legal.

A step is compared with each held text for its active. If one text is met in full nothing is said;
otherwise the difference to the nearest text is put in words.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.planning.visits import feed_days
from sunup.protocols.protocol import CHUTE, Do
from sunup.protocols.timing import nominal_hours

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.library.region import Held, RegionPack
    from sunup.planning.dosing import Chosen
    from sunup.protocols.protocol import Protocol, Step

DRUG_STEPS = (CHUTE - {Do.AI, Do.PREG_CHECK, Do.HEAT_AID_ON, Do.INSERT_OUT}) | {Do.MGA_START}


@dataclass(frozen=True, slots=True)
class _Surroundings:
    """Hours to the neighbours a label speaks of; None where there is no such neighbour."""

    days_to_next_pgf: float | None
    hours_since_pgf: float | None
    days_since_gnrh: float | None
    hours_to_gnrh: float | None
    days_since_last_pgf_dose: float | None
    insert_days: float | None
    hours_to_removal: float | None
    feed_days: int


def _surroundings(protocol: Protocol, step: Step) -> _Surroundings:
    at = nominal_hours(protocol)
    here = at[step.id]

    def times(do: Do) -> list[float]:
        return sorted(at[s.id] for s in protocol.steps if s.do is do)

    pgfs, ins, outs = times(Do.PGF), times(Do.INSERT_IN), times(Do.INSERT_OUT)
    earlier_gnrh = [h for h in times(Do.GNRH) if h < here]
    later_gnrh = [h for h in times(Do.GNRH) if h > here]
    later_pgf = [h for h in pgfs if h > here]
    earlier_pgf = [h for h in pgfs if h < here]
    stay = None
    if step.do is Do.INSERT_IN:
        stay = next((h - here for h in outs if h >= here), None)
    inserted = any(i <= here <= o for i, o in zip(ins, outs, strict=False))
    removal = next((h for h in outs if h >= here), None) if inserted else None
    return _Surroundings(
        days_to_next_pgf=(later_pgf[0] - here) / 24 if later_pgf else None,
        hours_since_pgf=here - earlier_pgf[-1] if earlier_pgf else None,
        days_since_gnrh=(here - earlier_gnrh[-1]) / 24 if earlier_gnrh else None,
        hours_to_gnrh=later_gnrh[0] - here if later_gnrh else None,
        days_since_last_pgf_dose=(here - earlier_pgf[-1]) / 24 if earlier_pgf else None,
        insert_days=None if stay is None else stay / 24,
        hours_to_removal=None if removal is None else removal - here,
        feed_days=feed_days(protocol),
    )


def _outside(span: tuple[float, float], value: float) -> bool:
    return not span[0] - 1e-9 <= value <= span[1] + 1e-9


def _span(span: tuple[float, float]) -> str:
    low, high = span
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"


def _class_words(classes: tuple[str, ...]) -> str:
    return ", ".join(c.replace("_calf_", "-calf ") + "s" for c in classes)


def _differences(
    held: Held,
    around: _Surroundings,
    *,
    classes: tuple[str, ...],
    chosen: Mapping[str, Chosen],
    do: Do,
) -> list[str]:
    found: list[str] = []
    missing = [c for c in classes if c not in held.classes]
    if missing:
        found.append(
            f"the text is for {_class_words(held.classes)}, not {_class_words(tuple(missing))}"
        )
    used = chosen.get(do.value)
    if held.strengths and used is not None and used.strength.key not in held.strengths:
        found.append(f"the text is for strength {', '.join(held.strengths)}")
    if held.partner is not None:
        other = chosen.get("gnrh" if do is Do.PGF else "pgf")
        if other is not None and other.active.key != held.partner:
            found.append(f"the text pairs it with {held.partner.replace('_', ' ')}")
    if held.indication == "suppression_of_estrus":
        found.append("the text is for suppression of estrus, not for synchronisation")
    if do is Do.GNRH:
        days, hours = around.days_to_next_pgf, around.hours_since_pgf
        if hours is not None and held.pgf_to_gnrh_h is not None:
            if _outside(held.pgf_to_gnrh_h, hours):
                found.append(f"GnRH {hours:g} h after PGF, text {_span(held.pgf_to_gnrh_h)} h")
        elif days is not None and held.gnrh_to_pgf_days is not None:
            if _outside(held.gnrh_to_pgf_days, days):
                found.append(f"PGF {days:g} days after GnRH, text {_span(held.gnrh_to_pgf_days)}")
        elif held.indication == "fixed_time_ai":
            found.append("the text is for a GnRH-PGF-GnRH schedule")
    if do is Do.PGF:
        removal = around.hours_to_removal
        if held.indication == "with_insert" and removal is None:
            found.append("the text is for use with an insert")
        if held.pgf_before_removal_h is not None and removal is not None:
            if _outside(held.pgf_before_removal_h, removal):
                when = "at removal" if removal == 0 else f"{removal:g} h before removal"
                found.append(f"PGF {when} of the insert, text about 24 h before")
        elif removal is not None and held.indication != "with_insert":
            found.append("the text does not speak of an insert")
        if held.indication == "fixed_time_ai":
            found += _around_pgf(held, around)
        gap = around.days_since_last_pgf_dose
        if gap is not None and held.repeat_days is not None and _outside(held.repeat_days, gap):
            found.append(f"second PGF after {gap:.2g} days, text {_span(held.repeat_days)}")
    stay = around.insert_days
    if do is Do.INSERT_IN and held.days_in and stay and _outside(held.days_in, stay):
        found.append(f"insert in for {stay:g} days, text {_span(held.days_in)}")
    if do is Do.MGA_START and held.max_days is not None and around.feed_days > held.max_days:
        found.append(f"fed {around.feed_days} days, text at most {held.max_days:g}")
    return found


def _around_pgf(held: Held, around: _Surroundings) -> list[str]:
    """Differences of a PGF from a GnRH-PGF-GnRH text."""
    before, after = around.days_since_gnrh, around.hours_to_gnrh
    if before is None or after is None:
        return ["the text is for a GnRH-PGF-GnRH schedule"]
    found: list[str] = []
    if held.gnrh_to_pgf_days is not None and _outside(held.gnrh_to_pgf_days, before):
        found.append(f"PGF {before:g} days after GnRH, text {_span(held.gnrh_to_pgf_days)}")
    if held.pgf_to_gnrh_h is not None and _outside(held.pgf_to_gnrh_h, after):
        found.append(f"GnRH {after:g} h after PGF, text {_span(held.pgf_to_gnrh_h)} h")
    return found


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
    """
    if step.do not in DRUG_STEPS:
        return None
    used = chosen.get(step.do.value)
    held = [
        h
        for h in pack.held
        if h.does == step.do.value
        and (h.active is None or used is None or h.active == used.active.key)
    ]
    if not held:
        name = used.active.name if used is not None else step.do.value.replace("_", " ")
        return (
            f"No label text is held for {name} in {pack.name}: read the label in hand and ask "
            "the veterinarian."
        )
    around = _surroundings(protocol, step)
    best = min(
        (_differences(h, around, classes=classes, chosen=chosen, do=step.do) for h in held),
        key=len,
    )
    if not best:
        return None
    return f"Differs from the label text held: {'; '.join(best)}. Ask the veterinarian."


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
