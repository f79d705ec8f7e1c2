"""The rows below the header, one female each."""

from __future__ import annotations

from dataclasses import dataclass
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from sunup.base.problems import Severity
from sunup.exchange.across_rows import Rows, check_rfids, check_tags
from sunup.exchange.columns import bare, is_safety
from sunup.exchange.faults import Fault
from sunup.exchange.fields import BY_KEY
from sunup.exchange.row_checks import RowState, check_row
from sunup.exchange.rows_below import rows_below
from sunup.records.female import Female, FemaleClass

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from sunup.exchange.columns import Column
    from sunup.exchange.headers import Headers
    from sunup.exchange.plausible import Limits
    from sunup.exchange.report import Report
    from sunup.exchange.sheets import Row

_EXPOSURE = frozenset({"bull_in", "bull_out", "ai_on"})
_NONE_UNREAD: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class HerdRows:
    """Reads rows of a table whose header is known.

    `index` gives the place of each field's column, `readers` its reader.
    """

    headers: Headers
    index: Mapping[str, int]
    readers: Mapping[str, Column]
    report: Report
    on: date
    limits: Limits

    def read(self, table: Iterable[Row]) -> Rows:
        """Read every row below the header that has something in it.

        Each cell goes through a reader that remembers, so that a text already read costs one
        look-up; this loop is what a file of a hundred thousand rows spends its time in.
        """
        rows = Rows()
        keys = list(self.index)
        places = [self.index[key] for key in keys]
        readers = [self.readers[key] for key in keys]
        pick = itemgetter(*places) if len(places) > 1 else (lambda cells: (cells[places[0]],))
        for number, cells in rows_below(table, self.headers, self.report):
            if cells is None:  # not a word of cells that slipped
                rows.add((number, "", ""), tag=None, rfid=None, female=None)
                continue
            values = [reader[cell] for reader, cell in zip(readers, pick(cells), strict=True)]
            self._take(rows, number, cells, dict(zip(keys, values, strict=True)))
        check_tags(rows, self._say)
        check_rfids(rows, self._say)
        return rows

    def _take(self, rows: Rows, number: int, cells: list[str], facts: dict[str, Any]) -> None:
        """Make a female of a row's facts."""
        unread: frozenset[str] | set[str] = _NONE_UNREAD
        holds: list[str] = []
        if Fault in map(type, facts.values()):
            unread = self._report_cells(number, cells, facts, holds)
        loads = "tag" not in unread
        if self.headers.rivals and not self._compare_rivals(number, cells, facts, holds):
            loads = False
        tag, rfid = facts["tag"], facts.get("rfid")
        tag_cell = cells[self.index["tag"]]
        if tag is None and "tag" not in unread:
            self._say(number, "tag", tag_cell, Fault("the row has no tag.", "Type her tag."))
        state = RowState(facts, unread, self.on, self.limits, holds)
        check_row(state)
        for key, fault in state.findings:
            if key in self.index:
                self._say(number, key, cells[self.index[key]], fault)
            else:
                self.report.without_column(number, fault)
        rows.add(
            (number, tag_cell, cells[self.index["rfid"]] if "rfid" in self.index else ""),
            tag=tag,
            rfid=rfid,
            female=_female(state, number) if loads and tag is not None else None,
        )

    def _report_cells(
        self, number: int, cells: list[str], facts: dict[str, Any], holds: list[str]
    ) -> set[str]:
        """Report the faults among a row's values; returns the fields not readable."""
        unread = set()
        for key, fault in facts.items():
            if type(fault) is not Fault:
                continue
            text = cells[self.index[key]]
            self._say(number, key, text, fault)
            if fault.severity is Severity.WARNING:
                facts[key] = fault.value
                continue
            facts[key] = None
            unread.add(key)
            if is_safety(key):
                words = "exposure" if key in _EXPOSURE else BY_KEY[key].words
                holds.append(f"{words} not readable: '{bare(text)[:40]}'")
        return unread

    def _compare_rivals(
        self, number: int, cells: list[str], facts: dict[str, Any], holds: list[str]
    ) -> bool:
        """Compare second columns of a field with the one taken; False where the tags differ."""
        loads = True
        for rival in self.headers.rivals:
            key = rival.known.key
            if key not in self.index:
                continue
            text, first = cells[rival.index], cells[self.index[key]]
            if not bare(text) or bare(text) == bare(first):
                continue
            used = self.headers.columns[key].header
            fault = Fault(
                f"it differs from column '{used}' ({bare(first)[:40] or 'empty'}), which also"
                f" stands for the {BY_KEY[key].words}.",
                f"Keep one column, or say which with --column {key}=HEADER.",
            )
            self.report.cell(number, rival.index, rival.header, text, fault)
            if key == "tag":
                loads = False
            else:
                facts[key] = None
            if is_safety(key):
                holds.append(f"two columns differ on her {BY_KEY[key].words}")
        return loads

    def _say(self, number: int, key: str, text: str, fault: Fault) -> None:
        """Report the cell of a field."""
        index = self.index[key]
        self.report.cell(number, index, self.headers.cells[index], text, fault)


def _female(state: RowState, number: int) -> Female:
    """Make the female of a row."""
    get = state.facts.get
    hold = get("hold")
    holds = [hold, *state.holds] if hold else state.holds
    default = "heifers" if state.class_ is FemaleClass.HEIFER else "cows"
    return Female(
        tag=state.facts["tag"],
        class_=state.class_,
        group=get("group") or default,
        rfid=get("rfid"),
        breed_shares=get("breed") or (),
        born_on=get("born_on"),
        calved_on=get("calved_on"),
        due_on=get("due_on"),
        calving_ease=get("calving_ease"),
        retained_membranes=get("retained_membranes"),
        condition=get("condition"),
        weight_kg=get("weight"),
        mature_weight_kg=get("mature_weight"),
        tract_score=get("tract_score"),
        pelvic_area_cm2=get("pelvic_area"),
        cycling=get("cycling"),
        last_heat_on=get("last_heat_on"),
        exposure=state.exposure,
        pregnancy=get("pregnancy"),
        pregnancy_checked_on=get("pregnancy_checked_on"),
        pregnancy_method=get("pregnancy_method"),
        hold_reason="; ".join(holds) if holds else None,
        sire=get("sire"),
        dam=get("dam"),
        ever_given_estradiol=get("estradiol"),
        remarks=get("remarks"),
        row=number,
    )
