"""Keys of a file of trials, and tables read with what was not understood named."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

from sunup.base.problems import Problem, Severity
from sunup.library.toml_tables import Table
from sunup.library.toml_text import shown

if TYPE_CHECKING:
    from collections.abc import Mapping

HOURS_LONGEST = 8760.0  # [h] a year: longer is a slip of the hand
HOURS_BEFORE = -HOURS_LONGEST
ALIKE = 0.75  # of difflib: `n_location` for `n_locations`, `pregnancy_pct` for `pregnancy`
MEANT = {"cycle_day": "cycle_day_at_zero", "n_females": "n", "n_herds": "n_locations"}

# True: the key changes what is replayed or scored, so that a misspelling of it does too
FILE_KEYS = {
    "scoring": True,
    "defaults": True,
    "arm": True,
    "schema": False,
    "insemination_timing": False,
}
POOLED = ("estrus_pooled_with", "conception_pooled_with", "pregnancy_pooled_with")
ARM_KEYS = {
    **dict.fromkeys(("id", "trial", "source", "read", "class", "subspecies", "semen"), True),
    **dict.fromkeys(("steps", "n", "n_locations", "cyclic_pct", "cycle_day_at_zero"), True),
    **dict.fromkeys(("estrus", "conception", "pregnancy", "only"), True),
    **dict.fromkeys(POOLED, True),
    **dict.fromkeys(("note", "steps_assumed", "location_range_pct", "pgf_to_heat_h"), False),
}
TEXTS = {"id", "trial", "source", "class", "subspecies", "semen", "aid", "of", "to", *POOLED}
REMARKS = {"note": False, "source": False, "read": False}
FIGURE_KEYS = {
    "estrus": {"pct": True, "from_h": True, "to_h": True, "aid": True, **REMARKS},
    "conception": {"pct": True, "of": True, **REMARKS},
    "pregnancy": {"pct": True, "to": True, **REMARKS},
    "only": {"in_heat": True, "from_h": True, "to_h": True, **REMARKS},
}

EXAMPLES = {
    "estrus": '{ pct = 45, from_h = 24, to_h = 72, aid = "eye" }',
    "conception": '{ pct = 62, of = "inseminated_on_heat" }',
    "pregnancy": '{ pct = 53, to = "first_ai" }',
    "only": "{ in_heat = true, from_h = 24, to_h = 72 }",
}


def name_unread(table: Table, known: Mapping[str, bool], warnings: list[Problem]) -> None:
    """Name the keys of a table that nobody reads.

    One that looks like a known key that is absent is a misspelling of it, and an error; any other
    is a remark of the writer's own, and a warning. So is a text where that key takes none.

    Parameters
    ----------
    table : Table
    known : mapping of str to bool
        Keys of such a table; true where the key is read.
    warnings : list of Problem
        Takes the warnings; errors go to the reading of the table.
    """
    absent = [key for key, is_read in known.items() if is_read and not table.has(key)]
    for key in table.names:
        if key in known:
            continue
        close = difflib.get_close_matches(MEANT.get(key, key), absent, n=1, cutoff=ALIKE)
        is_remark = key.endswith("_note") or (
            isinstance(table.raw(key), str) and not TEXTS.intersection(close)
        )
        if close and not is_remark:
            table.wrong(key, f"unknown key '{key}'.", f"Did you mean '{close[0]}'?")
        else:
            what = f"unknown key '{key}', which was not used."
            warn(warnings, table, key, what, "Write remarks under 'note'.")


def warn(warnings: list[Problem], table: Table, key: str, what: str, fix: str) -> None:
    """Note at one key of a table what somebody should look at."""
    where = f"{table.reading.file}: {table.at(key)}"
    warnings.append(Problem(where, what, fix, Severity.WARNING))


def read_inner(table: Table, key: str, example: str) -> Table | None:
    """Read a table that stands under a key; None, with the problem noted, where there is none."""
    value = table.raw(key)
    if isinstance(value, dict):
        return Table(table.reading, value, path=table.at(key))
    what = f"{shown(value)} was found." if table.has(key) else f"the key '{key}' is missing."
    table.wrong(key, what, f"Write it as {key} = {example}.")
    return None


def read_truth(table: Table, key: str) -> bool:
    """Read true or false, which may not be left out."""
    if not table.has(key):
        table.wrong(key, f"the key '{key}' is missing.", f"Add {key} = true or false.")
    return bool(table.truth_or(key, other=False))
