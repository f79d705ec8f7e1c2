"""What has to be said about the header row before any cell is read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.base.problems import Problem, Severity
from sunup.exchange.headers import Column, Headers, nearest_header

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sunup.exchange.fields import FieldSet

_SCALES = {"condition": "1-9", "tract_score": "1-5", "calving_ease": "1-5"}


def usable_columns(headers: Headers) -> dict[str, Column]:
    """Columns by field, without those whose header states a scale we do not read."""
    return {key: column for key, column in headers.columns.items() if not _is_other_scale(column)}


def _is_other_scale(column: Column) -> bool:
    return column.known.scale is not None and column.known.scale != _SCALES.get(column.known.key)


def header_problems(
    headers: Headers, place: str, weight_unit: str | None
) -> Iterator[tuple[Problem, int]]:
    """Yield the problems of a header row, each with the index of its column.

    Parameters
    ----------
    headers : Headers
    place : str
        File, and sheet where there are several.
    weight_unit : str or None
        As declared for the whole file.
    """

    def problem(header: str, what: str, fix: str, severity: Severity) -> Problem:
        return Problem(
            where=f"{place} row {headers.row}, column '{header}'",
            what=what,
            fix=fix,
            severity=severity,
            row=headers.row,
            column=header,
        )

    by_key = headers.fields.by_key
    for key, wanted in headers.missing:
        what = f"There is no column '{wanted}' for the {by_key[key].words}."
        yield problem(wanted, what, "Give the header as it stands in the file.", Severity.ERROR), 0
    for column in headers.columns.values():
        one = by_key[column.known.key]
        if _is_other_scale(column):
            what = f"The header says a scale of {column.known.scale}, which is not read here."
            fix = f"{one.words} goes {_SCALES.get(one.key, 'without a scale')}: bring it to that."
            yield problem(column.header, what, fix, Severity.ERROR), column.index
        elif one.is_weight and not (column.known.unit or weight_unit):
            what = "Nothing says whether these weights are pounds or kilograms; they are not used."
            fix = "Head the column weight_lb or weight_kg, or say --weights lb or --weights kg."
            yield problem(column.header, what, fix, Severity.ERROR), column.index
    for rival in headers.rivals:
        used = headers.columns[rival.known.key].header
        words = by_key[rival.known.key].words
        what = f"Both '{used}' and '{rival.header}' stand for the {words}; '{used}' is used."
        fix = "Cells that differ are reported. Keep one column, or say which with --column."
        yield problem(rival.header, what, fix, Severity.WARNING), rival.index
    for other, used_column in headers.passed_over:
        words = by_key[other.known.key].words
        what = f"The {words} is taken from '{used_column.header}'; this column is not used."
        fix = f"If this one is meant, say --column {other.known.key}={other.header}."
        yield problem(other.header, what, fix, Severity.WARNING), other.index
    for index, cell in headers.unknown:
        if cell:
            what, fix, severity = _unknown(cell, headers.fields)
            yield problem(cell, what, fix, severity), index


def _unknown(cell: str, fields: FieldSet) -> tuple[str, str, Severity]:
    """Say that a header is not known, with the nearest one that is."""
    near = nearest_header(cell, fields)
    if near is None:
        return (
            "This column is not known and was not used.",
            "If it holds a fact we read, say --column FIELD=HEADER.",
            Severity.NOTICE,
        )
    one, name = near
    return (
        f"This column is not known and was not used; the nearest known header is '{name}'.",
        f"If it is the {one.words}, rename it or say --column {one.key}={cell}.",
        Severity.WARNING,
    )
