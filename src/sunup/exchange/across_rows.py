"""What the rows say together: no two females share a tag or an RFID."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from sunup.base.problems import Severity
from sunup.exchange.faults import Fault

if TYPE_CHECKING:
    from collections.abc import Callable

    from sunup.records.female import Female

    Say = Callable[[int, str, str, Fault], None]  # row, field, cell as text, fault


@dataclass(slots=True)
class Rows:
    """The rows read so far; a row that does not load keeps its place with None."""

    females: list[Female | None] = field(default_factory=list)
    lines: list[tuple[int, str, str]] = field(default_factory=list)  # row, tag cell, RFID cell
    tags: dict[str, list[int]] = field(default_factory=dict)
    rfids: dict[str, list[int]] = field(default_factory=dict)

    def add(
        self,
        line: tuple[int, str, str],
        *,
        tag: str | None,
        rfid: str | None,
        female: Female | None,
    ) -> None:
        """Add a row; a row that does not load still counts where its tag or RFID stands twice."""
        place = len(self.lines)
        self.lines.append(line)
        self.females.append(female)
        if tag is not None:
            self.tags.setdefault(tag.casefold(), []).append(place)
        if rfid is not None:
            self.rfids.setdefault(rfid, []).append(place)

    def others(self, place: int, places: list[int]) -> str:
        """Name the other rows of a set."""
        return ", ".join(str(self.lines[one][0]) for one in places if one != place)


def check_tags(rows: Rows, say: Say) -> None:
    """Find a tag on several rows.

    Rows with the same facts are one female, counted once, with a warning. Rows with other facts
    are all kept out: nothing tells which of them stands in the chute.
    """
    repeats: set[int] = set()
    for places in rows.tags.values():
        if len(places) < 2:
            continue
        females = [rows.females[place] for place in places]
        if None in females or any(female != females[0] for female in females):
            for place in places:
                rows.females[place] = None
                fault = Fault(
                    f"the tag {rows.lines[place][1]} is on row {rows.others(place, places)} too, "
                    "with other facts; no row with it was taken.",
                    "Mend the tag that is wrong, or take one row out.",
                )
                say(rows.lines[place][0], "tag", rows.lines[place][1], fault)
            continue
        for place in places[1:]:
            rows.females[place] = None
            fault = Fault(
                f"the row repeats row {rows.lines[places[0]][0]}; she was counted once.",
                "Take the row out.",
                severity=Severity.WARNING,
            )
            say(rows.lines[place][0], "tag", rows.lines[place][1], fault)
        repeats.update(places[1:])
    if repeats:  # a row that repeats another is no second animal with her RFID
        for rfid, places in rows.rfids.items():
            rows.rfids[rfid] = [place for place in places if place not in repeats]


def check_rfids(rows: Rows, say: Say) -> None:
    """Find an RFID on several rows; it is taken from all of them until somebody reads again."""
    for places in rows.rfids.values():
        if len(places) < 2:
            continue
        for place in places:
            female = rows.females[place]
            if female is not None:
                rows.females[place] = replace(female, rfid=None)
            fault = Fault(
                f"the RFID is on row {rows.others(place, places)} too; neither was given it.",
                "Read both tags again.",
            )
            say(rows.lines[place][0], "rfid", rows.lines[place][2], fault)
