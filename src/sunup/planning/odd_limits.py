"""The limits from where on a record is odd, taken from the library's figures."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.records.odd import OddLimits

if TYPE_CHECKING:
    from sunup.library.library import Library


def odd_limits(library: Library) -> OddLimits:
    """Return the limits ``sunup.records.odd_herd.find_odd`` judges by."""
    figure = library.figure
    shortest, longest = figure("practice.calving_after_service_days").span
    return OddLimits(
        insert_longest_d=figure("practice.insert_longest_days").number,
        exposed_before_pgf_d=figure("practice.exposure_before_pgf_days").number,
        gestation_d=(shortest, longest),
        twice_h=figure("practice.double_entry_hours").number,
        entered_late_d=figure("practice.late_entry_days").number,
        entered_ahead_h=figure("practice.early_entry_hours").number,
        clock_off_s=60.0 * figure("practice.clock_off_minutes").number,
        weight_kg=figure("practice.weight_believed_kg").span,
        born_kg=figure("practice.birth_weight_believed_kg").span,
        weaned_kg=figure("practice.weaning_weight_believed_kg").span,
        dose_most_ml=figure("practice.hormone_dose_most_ml").number,
    )
