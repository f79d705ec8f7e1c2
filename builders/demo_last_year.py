"""Draw last year's herd of the demo ranch, and what became of every female, backwards from today.

``demo/herd.csv`` says when each female calved in 2027. What happened in the season of 2026 is
invented to agree with it: conception lies about 283 days before a cow's calving and 279 before a
first-calf cow's (day of calving less day of insemination; rounded common practice, no source), so
an early calving is an insemination's, a later one a return's, one from mid March on a bull's.
Every animal, person and result is invented; nothing here is a source of any figure.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import random

ROOT = Path(__file__).parents[1]
LISTED_ON = date(2026, 3, 30)
FIRST_AI = date(2026, 5, 5)
BULLS_IN, BULLS_OUT = date(2026, 6, 1), date(2026, 8, 1)
GESTATION_D = {"cow": 283, "heifer": 279}
# from the insemination's last likely calving on: natural heats, then returns, then bulls
AI_CALF_BY = {"cow": date(2027, 2, 22), "heifer": date(2027, 2, 17)}
NATURAL_CALF_BY = date(2027, 3, 1)
N_OPEN_COWS, N_OPEN_HEIFERS = 19, 4
COLUMNS = (
    "Tag",
    "RFID",
    "Class",
    "Group",
    "Breed",
    "Born",
    "Last Calving",
    "Calving Ease",
    "Body Condition",
    "Weight (lb)",
    "Mature Weight (lb)",
    "Tract Score",
)

Row = dict[str, str]


@dataclass(slots=True)
class Past:
    """A female in the spring of 2026 and what became of her.

    `fate` is ai, natural (inseminated on a heat of her own), return, bull or open.
    """

    tag: str
    rfid: str
    class_: str  # heifer, first-calf cow, cow: in 2026
    breed: str
    born: str
    fate: str
    conceived: date | None
    calved: date | None  # in 2027, as far as the list says
    ease: str
    calved_2026: date | None = None
    row: Row = field(default_factory=dict)

    @property
    def kind(self) -> str:
        """Cow or heifer: for gestation and group."""
        return "heifer" if self.class_ == "heifer" else "cow"


def read_herd_of_2027() -> list[Row]:
    """Rows of ``demo/herd.csv``, each tag once."""
    with (ROOT / "demo" / "herd.csv").open(encoding="utf-8") as file:
        next(file)
        rows = list(csv.DictReader(file))
    once: dict[str, Row] = {}
    for row in rows:
        once.setdefault(row["Visual Tag"], row)
    return list(once.values())


def draw_past(luck: random.Random) -> list[Past]:
    """Everybody of 2026: those still here and those who left open."""
    past = [_still_here(row) for row in read_herd_of_2027() if row["Class"] != "heifer"]
    taken = {p.tag for p in past}
    past += [_left(luck, "cow", taken) for _ in range(N_OPEN_COWS)]
    past += [_left(luck, "heifer", taken) for _ in range(N_OPEN_HEIFERS)]
    past.sort(key=lambda p: (p.born[:4], p.tag))
    for one in past:
        _put_on_list(luck, one)
    return past


def _still_here(row: Row) -> Past:
    class_ = "cow" if row["Class"] == "cow" else "heifer"
    if class_ == "cow" and row["Born"].startswith("2024"):
        class_ = "first-calf cow"
    kind = "heifer" if class_ == "heifer" else "cow"
    calved = _day(row["Last Calving"])
    if calved is None:  # with calf at side, or not calved yet: a bull's
        conceived = date(2026, 7, 18 if row["Bull In"] else 1)
        fate = "bull"
    else:
        conceived = calved - timedelta(days=GESTATION_D[kind])
        fate = _fate(kind, calved)
    if fate == "ai":
        conceived = FIRST_AI
    rfid = row["RFID"] if row["RFID"].isdecimal() else ""
    return Past(
        row["Visual Tag"], rfid, class_, row["Breed"], _born(row["Born"]), fate, conceived, calved,
        row["Calving Ease"],
    )  # fmt: skip


def _fate(kind: str, calved: date) -> str:
    if calved <= AI_CALF_BY[kind]:
        return "ai"
    conceived = calved - timedelta(days=GESTATION_D[kind])
    if conceived >= BULLS_IN:
        return "bull"
    return "natural" if kind == "cow" and calved <= NATURAL_CALF_BY else "return"


def _born(text: str) -> str:
    return text if len(text) == len("2021-03-01") else f"{text}-03-15"


def _day(text: str) -> date | None:
    if not text:
        return None
    if "/" in text:  # this ranch writes the month first
        month, day, year = (int(part) for part in text.split("/"))
        return date(year, month, day)
    return date.fromisoformat(text)


def _left(luck: random.Random, kind: str, taken: set[str]) -> Past:
    year = 2025 if kind == "heifer" else luck.choice((2014, 2015, 2016, 2017, 2019, 2022, 2024))
    while True:
        tag = f"{year % 10}{luck.randrange(81, 99):03d}"
        if tag not in taken:
            break
    taken.add(tag)
    class_ = {2025: "heifer", 2024: "first-calf cow"}.get(year, "cow")
    rfid = f"840000{luck.randrange(410_000_000, 419_999_999):09d}"
    born = (date(year, 2, 15) + timedelta(days=luck.randrange(50))).isoformat()
    return Past(tag, rfid, class_, "Angus", born, "open", None, None, "")


def _put_on_list(luck: random.Random, one: Past) -> None:
    """Give her what last year's list says of her: calving, condition, weight."""
    heifer = one.kind == "heifer"
    if not heifer:
        days = 46 + luck.randrange(40)
        if one.fate == "natural":
            days = luck.randrange(36, 44)  # too late for the treatment, in time for her own heat
        elif one.fate == "bull" and luck.random() < 0.35:
            days = luck.randrange(22, 44)
        one.calved_2026 = FIRST_AI - timedelta(days=days)
        if one.calved_2026 > LISTED_ON:
            one.calved_2026 = None  # not calved when the list was written
    condition = 5.6 if heifer else 5.3
    condition -= 0.5 if one.fate in {"open", "bull"} else 0.0
    halves = round(min(7.0, max(4.0, luck.gauss(condition, 0.5))) * 2)
    mean = {"heifer": 805, "first-calf cow": 1080, "cow": 1285}[one.class_]
    one.row = {
        "Tag": one.tag,
        "RFID": one.rfid,
        "Class": one.class_,
        "Group": "heifers" if heifer else "cows",
        "Breed": one.breed,
        "Born": one.born,
        "Last Calving": one.calved_2026.isoformat() if one.calved_2026 else "",
        "Calving Ease": "1" if one.calved_2026 else "",
        "Body Condition": f"{halves / 2:g}",
        "Weight (lb)": str(round(luck.gauss(mean, mean * 0.05) / 5) * 5),
        "Mature Weight (lb)": "1300" if heifer else "",
        "Tract Score": str(luck.choice((4, 4, 5, 5, 3))) if heifer else "",
    }


def render_list(past: list[Past]) -> str:
    """The herd list of 2026 as a file's text."""
    out = io.StringIO()
    out.write(f"Quiet Gravel Ranch herd list as of {LISTED_ON.isoformat()}\n")
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(one.row for one in past)
    return out.getvalue()
