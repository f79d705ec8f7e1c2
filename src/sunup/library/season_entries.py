"""What a season may hold beside its protocols: options of a plan and the run-up to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.figures import Seen
from sunup.library.library import OptionEntry, RunUpEntry
from sunup.library.toml_tables import entries
from sunup.records.female import FemaleClass

if TYPE_CHECKING:
    from sunup.library.toml_text import Reading

FOR = ("all", "cows", "heifers", "melengestrol")
_YEAR_DAYS = 730  # two years: what is earlier than that is a slip


def read_options(reading: Reading, values: dict[str, Any]) -> dict[str, OptionEntry]:
    """Read ``options.toml``; an option with a fault is left out."""
    options: dict[str, OptionEntry] = {}
    for key, table in entries(reading, values):
        before = reading.count
        option = OptionEntry(
            key=key,
            name=table.text("name"),
            changes=table.text("changes"),
            classes=table.some_of("classes", tuple(FemaleClass)),
            source=table.sources(),
            seen=table.word("seen", Seen),
        )
        table.finish()
        if reading.count == before:
            options[key] = option
    return options


def read_run_up(reading: Reading, values: dict[str, Any]) -> tuple[RunUpEntry, ...]:
    """Read ``run_up.toml``, earliest first; an entry with a fault is left out."""
    items: list[RunUpEntry] = []
    for key, table in entries(reading, values):
        before = reading.count
        item = RunUpEntry(
            key=key,
            from_days=table.whole("from_days", low=-_YEAR_DAYS, high=_YEAR_DAYS),
            to_days=table.whole("to_days", low=-_YEAR_DAYS, high=_YEAR_DAYS),
            for_=table.one_of("for", FOR),
            text=table.text("text"),
            why=table.text("why"),
            source=table.sources(),
            seen=table.word("seen", Seen),
        )
        table.finish()
        if reading.count == before and item.from_days < item.to_days:
            table.wrong(
                "from_days",
                f"from_days ({item.from_days}) is after to_days ({item.to_days}).",
                "Days count back from the first AI: the larger number is the earlier day.",
            )
        if reading.count == before:
            items.append(item)
    return tuple(sorted(items, key=lambda item: (-item.from_days, item.key)))
