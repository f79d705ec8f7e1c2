"""Region rule packs: what label text is held, from which edition, and how stale it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.base.figures import Seen

if TYPE_CHECKING:
    from datetime import date

_OWN_EYES = frozenset({Seen.READ, Seen.PART_READ})


@dataclass(frozen=True, slots=True)
class Held:
    """One piece of label or rule text held for a region, in our own words.

    The numeric fields are the conditions a step is compared with; None where the text says
    nothing. A step that meets none of the held texts for its active differs from the text held.
    """

    key: str
    does: str  # step word: gnrh, pgf, insert_in, mga_start, ecg, estradiol_benzoate, ...
    active: str | None  # None: any active serving `does`
    strengths: tuple[str, ...]  # empty: any strength
    classes: tuple[str, ...]  # heifer, first_calf_cow, cow; empty: `animals` are none of ours
    text: str
    indication: str  # synchronisation | fixed_time_ai | suppression_of_estrus | with_insert | other
    edition: str
    source: tuple[str, ...]
    seen: Seen
    partner: str | None = None
    gnrh_to_pgf_days: tuple[float, float] | None = None
    pgf_to_gnrh_h: tuple[float, float] | None = None
    days_in: tuple[float, float] | None = None
    pgf_before_removal_h: tuple[float, float] | None = None
    max_days: float | None = None
    mg_per_day: float | None = None
    min_days_postpartum: float | None = None
    repeat_days: tuple[float, float] | None = None
    removal_to_gnrh_h: tuple[float, float] | None = None  # of a text with GnRH at insertion too
    animals: str = ""  # whom the text is for, where it names no class of beef female
    text_use: str = ""  # what the text is for, where its indication is "other"


@dataclass(frozen=True, slots=True)
class Barred:
    """What a plan for this region refuses."""

    active: str
    text: str
    source: tuple[str, ...]
    seen: Seen


@dataclass(frozen=True, slots=True)
class Ask:
    """What is known of the law or the market for a drug that a plan gives but does not settle."""

    actives: tuple[str, ...]
    text: str
    source: tuple[str, ...]
    seen: Seen
    law_open: bool = False  # whether the law lets it be given here is not known


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """A withdrawal period held for an active; None means not found: the program asks."""

    active: str
    meat_hours: float | None
    milk_hours: float | None
    source: tuple[str, ...]
    seen: Seen
    note: str = ""


@dataclass(frozen=True, slots=True)
class RegionPack:
    """The rule pack of one region."""

    key: str  # US, CA, UK, EU, AU, BR, AR, other
    name: str
    holds: str  # what is held, in a sentence
    last_checked: date
    valid_until: date
    currency: str
    weight_unit: str  # lb | kg
    holidays: str | None  # ISO country code for public holidays
    defaults: tuple[tuple[str, str], ...]  # step word -> "active/strength"
    held: tuple[Held, ...]
    barred: tuple[Barred, ...]
    withdrawal: tuple[Withdrawal, ...]
    notes: tuple[str, ...]
    source: tuple[str, ...]
    ask: tuple[Ask, ...] = ()
    all_on_prescription: bool = False  # whatever the active says elsewhere

    def asks_of(self, active: str) -> tuple[str, ...]:
        """Return what is to be asked before that active is given, with a mark where not read."""
        return tuple(
            a.text if a.seen in _OWN_EYES else f"{a.text} [{a.seen.value.replace('_', ' ')}]"
            for a in self.ask
            if active in a.actives
        )

    def is_law_open(self, active: str) -> bool:
        """Whether it is not known if the law of the region lets an active be given."""
        return any(a.law_open and active in a.actives for a in self.ask)

    def default(self, does: str) -> str | None:
        """Return "active/strength" used for a step word when the user names none."""
        return dict(self.defaults).get(does)

    def is_stale(self, on: date) -> bool:
        """Whether the pack is past the date to which it was thought valid."""
        return on > self.valid_until
