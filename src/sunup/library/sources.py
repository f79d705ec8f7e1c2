"""Sources: who, when, what; and which of them nothing uses."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.figures import Seen, Source
from sunup.base.problems import Problem
from sunup.library.toml_tables import entries

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from sunup.library.toml_text import Reading

RANCH = "ranch"  # the built-in source of a ranch's own protocols
RANCH_SOURCE = Source(RANCH, "This ranch", "-", "The ranch's own file", Seen.READ)


def read_sources(reading: Reading, values: dict[str, Any]) -> dict[str, Source]:
    """Read ``sources.toml``; an entry with a fault is left out."""
    sources: dict[str, Source] = {}
    for key, table in entries(reading, values):
        before = reading.count
        source = Source(
            key=key,
            author=table.text("author"),
            year=table.text("year", 'a year as text, such as "2006"'),
            title=table.text("title"),
            seen=table.word("seen", Seen),
        )
        table.finish()
        if key == RANCH:
            reading.report(key, f"'{RANCH}' is kept for a ranch's own file.", "Rename this source.")
        if reading.count == before:
            sources[key] = source
    return sources


def unused_sources(
    listed: Sequence[str], used: Collection[str], *, file: str, unread: Collection[str]
) -> list[Problem]:
    """Report sources that nothing names.

    Parameters
    ----------
    listed : sequence of str
        Keys of `file`.
    used : collection of str
        Keys named anywhere, also in entries that failed.
    file : str
        Where they are listed.
    unread : collection of str
        Texts of files that could not be parsed; a source that stands in one counts as used.
    """
    return [
        Problem(
            where=f"{file}: {key}",
            what=f"the source '{key}' is listed but never used.",
            fix="Name it where it belongs, or delete it.",
        )
        for key in listed
        if key not in used and not any(f'"{key}"' in text for text in unread)
    ]
