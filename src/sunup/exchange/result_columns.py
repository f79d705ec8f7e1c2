"""Readers of the columns of result lists."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.exchange import result_words as words
from sunup.exchange import vocabulary
from sunup.exchange.columns import Column, pelvis_reader
from sunup.exchange.dates import expiry_reader
from sunup.exchange.moments import moment_reader, read_clock_cell
from sunup.exchange.numbers import score_reader, weight_reader
from sunup.exchange.rfid import read_rfid
from sunup.exchange.tags import read_tag

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from sunup.exchange.dates import OrdersShown
    from sunup.exchange.fields import FieldSet
    from sunup.exchange.headers import Known
    from sunup.exchange.plausible import Limits

    Read = Callable[[str], object]


def result_column(
    known: Known,
    fields: FieldSet,
    *,
    on: date,
    date_order: str | None,
    weight_unit: str | None,
    limits: Limits,
    shown: OrdersShown | None = None,
) -> Column:
    """Make the reader of a column of a result list.

    Parameters
    ----------
    known : Known
        What the header stands for; a unit or date order in the header goes before the declared.
    fields : FieldSet
    on : date
        Today.
    date_order, weight_unit : str or None
        As declared for the whole file.
    limits : Limits
    shown : OrdersShown, optional
        Of a date column: what its own dates show.
    """
    one = fields.by_key[known.key]
    order = known.date_order or date_order
    if one.key == "on":
        return Column(one.key, moment_reader(on, order, shown, limits=limits))
    if one.key == "expires":
        return Column(one.key, expiry_reader(on, order, limits=limits))
    if one.is_weight:
        return Column(one.key, weight_reader(known.unit or weight_unit))
    if one.key == "pelvic_area":
        return Column(one.key, pelvis_reader(limits))
    if one.key in _AMOUNTS:
        name, unit, most = _AMOUNTS[one.key]
        return Column(one.key, words.measure_reader(name, most(limits), unit=unit))
    return Column(one.key, _READERS[one.key])


# field: its name, units that may stand behind it, the most that is believed
_AMOUNTS: dict[str, tuple[str, str, Callable[[Limits], float]]] = {
    "follicle": ("follicle", "mm", lambda limits: limits.follicle_mm),
    "fetal_age": ("fetal age", "days?|d", lambda limits: limits.pregnancy_days[1]),
    "dose": ("dose", "ml|cc", lambda limits: limits.dose_ml),
    "withdrawal": ("withdrawal", "days?|d", lambda limits: limits.withdrawal_days),
}


_READERS: dict[str, Read] = {
    "tag": read_tag,
    "rfid": read_rfid,
    "time": read_clock_cell,
    "by": vocabulary.read_words,
    "remarks": vocabulary.read_words,
    "calving_ease": score_reader("calving ease", 1, 5, step=1),
    "retained_membranes": vocabulary.read_yes_no,
    "sex": words.read_sex,
    "alive": words.read_alive,
    "calf_tag": read_tag,
    "condition": score_reader("body condition", 1, 9, step=0.5),
    "cycling": vocabulary.read_cycling,
    "luteum": vocabulary.read_yes_no,
    "tract_score": score_reader("tract score", 1, 5, step=1),
    "pregnancy": vocabulary.read_pregnancy,
    "pregnancy_method": vocabulary.read_method,
    "fetuses": words.read_count,
    "fetal_sex": words.read_sex,
    "act": words.read_act,
    "lot": vocabulary.read_words,
    "site": vocabulary.read_words,
}
