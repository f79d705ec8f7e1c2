"""Use-case: what a saved forecast rests on, from its own file and the library."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from sunup.app.open import read_bytes
from sunup.base.problems import UsageError
from sunup.forecast.forecast import FEW

if TYPE_CHECKING:
    from pathlib import Path

    from sunup.app.explain import Lines
    from sunup.library import Library

LEAST = 0.05  # females: what would print as 0.0 is left out
NEEDED = ("group", "protocol", "name", "n", "pregnant_to_ai", "sources", "waterfall")


class ForecastFileError(UsageError):
    """A file that is not a forecast, or not of that group."""


def explain_forecast(group: str, file: Path, library: Library) -> Lines:
    """Say where the forecast of a group came from.

    Parameters
    ----------
    group : str
    file : Path
        What ``sunup forecast --json`` printed.
    library : Library

    Returns
    -------
    list of (name, text)
        What was run and on what, each loss as a count of females, what makes the spread, how far
        the animal was held against trials; a word where the library has changed since.

    Raises
    ------
    ForecastFileError
        If the file holds no forecast, or none of that group.
    """
    told = _chosen(group, file)
    n, pregnant, parts = told["n"], told["pregnant_to_ai"], told["sources"]
    females = "1 female" if n == 1 else f"{n} females"
    digits = 0 if n >= FEW else 1
    lines: Lines = [
        ("forecast", f"{group}: {told['name']}, {females}, {told['replicates']} seasons"),
        (
            "pregnant",
            (
                f"{pregnant['mean']:.{digits}f} to AI; 50 of 100 seasons "
                f"{pregnant['low50']:.0f} to {pregnant['high50']:.0f}, 95 of 100 "
                f"{pregnant['low95']:.0f} to {pregnant['high95']:.0f}"
            ),
        ),
        ("not", f"pregnant to AI, of {females} in an average season (80 of 100 seasons):"),
    ]
    lines += [
        (f"{line['count']:.1f}", f"{line['words']} ({line['low80']:.0f} to {line['high80']:.0f})")
        for line in told["waterfall"]
        if line["key"] != "pregnant" and line["count"] >= LEAST
    ]
    lines += [
        ("spread", f"{parts['total']:.1f} points of pregnancy, one standard deviation, made of"),
        (f"{parts['luck']:.1f}", f"luck of the draw among {females}"),
        (f"{parts['herd']:.1f}", "how herds differ on one plan; your past results narrow it"),
        (f"{parts['parameters']:.1f}", f"doubt about the animal: {parts['sets']} sets of figures"),
    ]
    lines += [("rests on", text) for text in told["rests_on"]]
    lines += [("assumed", text) for text in told["assumed"]]
    lines += [("left out", text) for text in told["left_out"]]
    lines.append(("seed", f"{told['seed']}: the same seed and list give the same numbers"))
    if told["library_version"] != library.version:
        lines.append(
            ("changed", "figures have changed since this forecast was made: make it again")
        )
    protocol = library.protocols.get(told["protocol"].partition("+")[0])
    if protocol is not None:
        lines.append(("why", protocol.why))
        lines += [("source", str(library.sources[k])) for k in protocol.source]
    return lines


def _chosen(group: str, file: Path) -> dict[str, Any]:
    """The forecast of what is chosen for a group."""
    try:
        groups = json.loads(read_bytes(file).decode("utf-8"))["groups"]
        known = {one["group"]: one["chosen"] for one in groups}
    except (UnicodeDecodeError, json.JSONDecodeError, KeyError, TypeError):
        message = f"{file} is not a forecast: make one with sunup forecast HERDFILE ... --json"
        raise ForecastFileError(message) from None
    if group not in known:
        message = f"{file} holds no group '{group}'; it holds {', '.join(known)}."
        raise ForecastFileError(message)
    told = known[group]
    if not isinstance(told, dict) or any(key not in told for key in NEEDED):
        message = f"{file} holds no forecast of {group}: nothing was chosen or run for it."
        raise ForecastFileError(message)
    return told
