"""Published figures of the processes, and each beside what the simulator gives for it."""

from __future__ import annotations

import json
import math
import tomllib
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

ROOT = Path(__file__).parents[1]
PUBLISHED = ROOT / "authorities" / "physiology" / "published.toml"
MEASURED = ROOT / "builders" / "results" / "science.json"
Z95 = 1.96

Line = list[dict[str, float]]  # simulated points, as ``science_runs.Point`` writes them


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """One published figure; `first` and `last` differ where it was published for a class."""

    series: str
    value: float | None
    who: str
    source: str
    seen: str
    first: float | None = None
    last: float | None = None
    low: float | None = None
    high: float | None = None
    range: str = ""
    n: int | None = None

    @property
    def is_read(self) -> bool:
        """Whether the text behind it was seen at all."""
        return self.seen != "memory"

    @property
    def at(self) -> float | None:
        """Middle of its place on the line."""
        if self.first is None or self.last is None:
            return None
        return (self.first + self.last) / 2.0


def read_published(path: Path = PUBLISHED) -> list[Published]:
    """Read the file of published figures, in its order."""
    values = tomllib.loads(path.read_text("utf-8"))
    found = [_read(table) for table in values["point"]]
    for table in values["line"]:
        found += [
            _read({**table, "at": at, "value": value})
            for at, value in zip(table["at"], table["value"], strict=True)
        ]
    return found


def _read(table: dict[str, Any]) -> Published:
    value, low, high = table.get("value"), table.get("low"), table.get("high")
    words, n = str(table.get("range", "")), table.get("n")
    if "count" in table:
        n = int(table["of"])
        value = 100.0 * table["count"] / n
        low, high = wilson(table["count"], n)
        words = f"{table['count']} of {n}"
    elif "se" in table:
        low, high = value - Z95 * table["se"], value + Z95 * table["se"]
        words = f"SE {table['se']:g}" + (f", {words}" if words else "")
    elif n is not None and value is not None and low is None:
        low, high = wilson(value * n / 100.0, int(n))
        words = f"n {n}"
    first, last = table.get("from", table.get("at")), table.get("to", table.get("at"))
    return Published(
        series=str(table["series"]), value=None if value is None else float(value),
        who=str(table["who"]), source=str(table["source"]), seen=str(table["seen"]),
        first=first, last=last, low=low, high=high, range=words, n=n,
    )  # fmt: skip


def wilson(count: float, n: int) -> tuple[float, float]:
    """95 % interval of a share by Wilson's score [percent]."""
    p, z2 = count / n, Z95**2
    middle = (p + z2 / (2 * n)) / (1 + z2 / n)
    half = Z95 * math.sqrt(p * (1 - p) / n + z2 / (4 * n * n)) / (1 + z2 / n)
    return 100.0 * (middle - half), 100.0 * (middle + half)


def read_measured(path: Path = MEASURED) -> dict[str, Any]:
    """Read what ``science.py`` measured last."""
    found: dict[str, Any] = json.loads(path.read_text("utf-8"))
    return found


def simulated_for(one: Published, line: Sequence[dict[str, float]]) -> float | None:
    """What a simulated line gives at a published figure's place: the mean over its class."""
    if one.first is None or one.last is None:
        return line[0]["value"]
    inside = [p["value"] for p in line if one.first <= p["at"] <= one.last]
    if inside:
        return sum(inside) / len(inside)
    return value_at(line, (one.first + one.last) / 2.0)


def value_at(line: Sequence[dict[str, float]], at: float) -> float | None:
    """Value of a line at a place, on a straight line between its points; None beyond its ends."""
    for a, b in pairwise(line):
        if a["at"] <= at <= b["at"]:
            part = (at - a["at"]) / (b["at"] - a["at"])
            return a["value"] + part * (b["value"] - a["value"])
    return None


def agreed(pairs: Sequence[tuple[Published, float | None]]) -> tuple[int, int]:
    """How many published intervals hold what was simulated, and how many intervals there are."""
    held = [(p.low, s, p.high) for p, s in pairs if s is not None]
    judged = [low <= s <= high for low, s, high in held if low is not None and high is not None]
    return sum(judged), len(judged)
