"""Columns of a herd file: each a reader made once, that remembers what it has read.

The same texts stand in a column thousands of times (dates, scores, breeds); each is read once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.exchange import vocabulary as words
from sunup.exchange.breed_shares import read_breeds
from sunup.exchange.dates import date_reader, due_reader
from sunup.exchange.faults import Fault
from sunup.exchange.fields import BY_KEY, Stakes
from sunup.exchange.numbers import calvings_reader, range_reader, score_reader, weight_reader
from sunup.exchange.rfid import read_rfid
from sunup.exchange.sheets import ERROR_CELLS, NOT_CALCULATED
from sunup.exchange.tags import read_tag

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from sunup.exchange.dates import OrdersShown
    from sunup.exchange.headers import Known
    from sunup.exchange.plausible import Limits

    Read = Callable[[str], object]

LONGEST_TEXT = 2_000  # characters of a cell worth reading
_MOST_REMEMBERED = 20_000
_NOTHING = frozenset({"", "-", "--", "n/a", "na", "none", "nil", "null", "not recorded"})
_NOT_KNOWN = _NOTHING | {".", "?", "unknown", "unk", "not known", "missing"}
_NEVER = _NOTHING | {"no", "never", "not exposed", "n"}
_BLANKS = {
    "tag": frozenset({""}),
    "pregnancy": frozenset({"", "n/a", "na", "not checked", "none", "not recorded", "nil", "null"}),
    "hold": _NOTHING | {"."},
    "bull_in": _NEVER,
    "bull_out": _NEVER,
    "ai_on": _NEVER,
    "class": _NOTHING,
    "calved_on": _NOTHING | {"never", "not calved"},
    "last_heat_on": _NOTHING | {"never", "not seen", "none seen", "no", "no heat"},
    "pregnancy_checked_on": _NOTHING | {"never", "not checked"},
}


class Column(dict[str, object]):
    """Text of a cell to its value, None where blank, or a Fault.

    A dictionary, so that a text already read costs one look-up.
    """

    __slots__ = ("_blanks", "_read", "key")

    def __init__(self, key: str, read: Read) -> None:
        super().__init__()
        self.key = key
        self._read = read
        self._blanks = _BLANKS.get(key, _NOT_KNOWN)

    def __missing__(self, text: str) -> object:
        value = self._fresh(text)
        if len(self) >= _MOST_REMEMBERED:
            self.clear()
        self[text] = value
        return value

    def _fresh(self, text: str) -> object:
        plain = bare(text)
        if plain.casefold() in self._blanks:
            return None
        if plain == NOT_CALCULATED:
            return Fault(
                "the cell holds a formula that was saved without its result.",
                "Open the workbook in a spreadsheet, save it, and give it again.",
            )
        if plain.upper() in ERROR_CELLS or (len(plain) > 2 and not plain.strip("#")):
            return Fault(f"the cell holds the spreadsheet error {plain[:20]}.", "Mend the cell.")
        if len(plain) > LONGEST_TEXT:
            return Fault(
                f"the cell holds {len(plain):,} characters.",
                "A quotation mark may be missing; put only this fact in the cell.",
            )
        return self._read(plain)


def bare(text: str) -> str:
    """Strip what is not the cell's meaning: blanks, marks of order, ="..." and a leading '."""
    plain = text.strip(" \t\r\n\xa0\u200b\ufeff\u200e\u200f\x02\x03")
    if plain.startswith('="') and plain.endswith('"') and len(plain) > 2:
        plain = plain[2:-1]
    return plain.removeprefix("'").strip().replace("\xa0", " ")


def column_for(
    known: Known,
    *,
    on: date,
    date_order: str | None,
    weight_unit: str | None,
    limits: Limits,
    shown: OrdersShown | None = None,
) -> Column:
    """Make the reader of a column.

    Parameters
    ----------
    known : Known
        What the header stands for; a unit or date order in the header goes before the declared.
    on : date
        Today.
    date_order, weight_unit : str or None
        As declared for the whole file.
    limits : Limits
    shown : OrdersShown, optional
        Of a date column: what its own dates show.
    """
    one = BY_KEY[known.key]
    order = known.date_order or date_order
    if one.key == "due_on":
        return Column(one.key, due_reader(on, order, shown, limits=limits))
    if one.is_date:
        return Column(one.key, date_reader(on, order, shown, limits=limits))
    if one.is_weight:
        return Column(one.key, weight_reader(known.unit or weight_unit))
    if one.key == "calvings":
        return Column(one.key, calvings_reader(limits.calvings))
    if one.key == "pelvic_area":
        return Column(one.key, pelvis_reader(limits))
    return Column(one.key, _READERS[one.key])


def pelvis_reader(limits: Limits) -> Read:
    """Make the reader of a pelvic area."""
    return range_reader("pelvic area", *limits.pelvic_area_cm2, unit="cm2")


def is_safety(key: str) -> bool:
    """Whether an unreadable cell of the field puts the female on hold."""
    return BY_KEY[key].stakes is Stakes.SAFETY


_READERS: dict[str, Read] = {
    "tag": read_tag,
    "rfid": read_rfid,
    "class": words.read_class,
    "breed": read_breeds,
    "calving_ease": score_reader("calving ease", 1, 5, step=1),
    "retained_membranes": words.read_yes_no,
    "condition": score_reader("body condition", 1, 9, step=0.5),
    "tract_score": score_reader("tract score", 1, 5, step=1),
    "cycling": words.read_cycling,
    "pregnancy": words.read_pregnancy,
    "pregnancy_method": words.read_method,
    "hold": words.read_hold,
    "group": words.read_words,
    "sire": words.read_words,
    "dam": words.read_words,
    "estradiol": words.read_yes_no,
    "remarks": words.read_words,
}
