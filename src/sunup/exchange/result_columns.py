"""Readers of the columns of result lists."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.exchange import result_words as words
from sunup.exchange import vocabulary
from sunup.exchange.columns import PELVIC_AREA_CM2, Column
from sunup.exchange.moments import moment_reader, read_clock_cell
from sunup.exchange.numbers import range_reader, score_reader, weight_reader
from sunup.exchange.rfid import read_rfid
from sunup.exchange.tags import read_tag

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from sunup.exchange.dates import OrdersShown
    from sunup.exchange.fields import FieldSet
    from sunup.exchange.headers import Known

    Read = Callable[[str], object]


def result_column(
    known: Known,
    fields: FieldSet,
    *,
    on: date,
    date_order: str | None,
    weight_unit: str | None,
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
    shown : OrdersShown, optional
        Of a date column: what its own dates show.
    """
    one = fields.by_key[known.key]
    order = known.date_order or date_order
    if one.key == "on":
        return Column(one.key, moment_reader(on, order, shown))
    if one.key == "expires":
        return Column(one.key, words.expiry_reader(on, order))
    if one.is_weight:
        return Column(one.key, weight_reader(known.unit or weight_unit))
    return Column(one.key, _READERS[one.key])


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
    "follicle": words.measure_reader("follicle", words.MOST_FOLLICLE_MM, unit="mm"),
    "tract_score": score_reader("tract score", 1, 5, step=1),
    "pelvic_area": range_reader("pelvic area", *PELVIC_AREA_CM2, unit="cm2"),
    "pregnancy": vocabulary.read_pregnancy,
    "pregnancy_method": vocabulary.read_method,
    "fetal_age": words.measure_reader("fetal age", words.MOST_FETAL_DAYS, unit="days?|d"),
    "fetuses": words.read_count,
    "fetal_sex": words.read_sex,
    "act": words.read_act,
    "dose": words.measure_reader("dose", words.MOST_DOSE_ML, unit="ml|cc"),
    "lot": vocabulary.read_words,
    "withdrawal": words.measure_reader("withdrawal", words.MOST_WITHDRAWAL_DAYS, unit="days?|d"),
    "site": vocabulary.read_words,
}
