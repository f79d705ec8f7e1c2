"""Write the demo ranch's two seasons as the commands its people would have typed.

Writes ``demo/herd_2026.csv``, ``demo/scan_2026_07.csv``, ``demo/scan_2026_10.csv``,
``demo/calvings_2026.csv``, ``demo/calvings_2027.csv`` and the command
scripts ``demo/season_2026.txt`` (finished) and
``demo/season_2027.txt`` (running). ``demo/replay.py`` plays the scripts.

Invented, and how (none of it is a source of any figure):

- who conceived to what in 2026 follows from the calvings of 2027 (``demo_last_year.py``);
- of the cows that held to the insemination 7 in 10, of the others 5 in 10 came in heat before the
  fixed hour, 50 +- 8 hours after the PGF; each is seen at the next watch;
- a fetus's age is judged within 2 days (ultrasound) or 7 (palpation), one standard deviation;
- of cows that did not hold a third were seen in heat again 19 to 23 days on, and inseminated;
- in 2027 65 in 100 cows come in heat, at the same hours after the PGF.

Run: ``python builders/demo_seasons.py`` writes the files; ``--check`` only compares.
"""

from __future__ import annotations

import csv
import io
import json
import random
import shlex
import subprocess
import sys
import tempfile
import textwrap
from collections import defaultdict
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

from demo_last_year import BULLS_IN, ROOT, Past, draw_past, render_list

SEED = 20260505
DEMO = ROOT / "demo"
HEAT_COWS = "select_synch_insert_tai_cow"
PLAN = (
    "--zone America/Denver --ranch 'Quiet Gravel Ranch' "
    f"--protocol cows={HEAT_COWS} --sire cows=A31:0.6 --sire cows=H12:0.4 --sire heifers=A27"
)
PLAN_2026 = f"demo/herd_2026.csv --first-ai 2026-05-05 --as-of 2026-03-30 {PLAN}"
PLAN_2027 = f"demo/herd.csv --first-ai 2027-05-25 --as-of 2027-04-19 --dates mdy {PLAN}"
WITHDRAWALS = "--withdrawal gnrh=0 --withdrawal insert=0"
WIDTH = 98


class Script:
    """Command lines with remarks, folded so that a page holds them."""

    def __init__(self, title: str) -> None:
        self.parts = [title]

    def head(self, text: str) -> None:
        """Put a remark above what follows."""
        self.parts.append("")
        self.parts += textwrap.wrap(text, WIDTH, initial_indent="# ", subsequent_indent="# ")

    def do(self, command: str) -> None:
        """Add a command; long ones are folded with a backslash, as a shell would have it."""
        lines = fold(f"sunup {command}")
        self.parts += [line + " \\" for line in lines[:-1]] + lines[-1:]

    @property
    def text(self) -> str:
        """The script as a file's text."""
        return "\n".join(self.parts) + "\n"


def fold(command: str) -> list[str]:
    """Break a long command before its options, and a long list of tags between tags."""
    lines = [""]
    for part in command.replace(" --", "\0--").split("\0"):
        wraps = not part.startswith("--") and len(part) > WIDTH - 6
        for piece in part.split(" ") if wraps else [part]:
            if lines[-1].strip() and len(lines[-1]) + 1 + len(piece) > WIDTH - 2:
                lines.append("   ")
            lines[-1] += (" " if lines[-1] else "") + piece
    return lines


def at(day: date, clock: str) -> str:
    """An instant as it is typed."""
    return f"{day.isoformat()}T{clock}"


def read_plan(arguments: str, herd: str) -> dict[str, Any]:
    """The plan `sunup plan` makes of a herd list given as text."""
    with tempfile.NamedTemporaryFile("w", suffix=".csv", delete=False, encoding="utf-8") as file:
        file.write(herd)
    try:
        words = shlex.split(arguments)
        command = [sys.executable, "-m", "sunup", "plan", file.name, *words[1:], "--json"]
        done = subprocess.run(command, capture_output=True, check=False, text=True)  # noqa: S603
    finally:
        Path(file.name).unlink()
    plan: dict[str, Any] = json.loads(done.stdout)
    return plan


def order_of(plan: dict[str, Any], group: str) -> list[str]:
    """Tags of a group on the schedule, in treatment order."""
    return next(list(g["order"]) for g in plan["groups"] if g["name"] == group)


def sire_of(place: int) -> str:
    """Sire of the cow at a place of the order: 3 in 5 A31."""
    return "A31" if place % 5 in {0, 2, 3} else "H12"


def sheet(columns: tuple[str, ...], rows: list[tuple[object, ...]]) -> str:
    """A CSV file's text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return out.getvalue()


def draw_heats(luck: random.Random, tags: list[str], share: dict[str, float]) -> dict[str, float]:
    """Hours from PGF to the onset of heat, of those that come in heat before the fixed hour."""
    heats = {}
    for tag in tags:
        hour = luck.gauss(50, 8)
        if luck.random() < share.get(tag, 0.5):
            heats[tag] = min(68.0, max(34.0, hour))
    return heats


def by_watch(pgf: date, heats: dict[str, float]) -> dict[tuple[date, str], list[str]]:
    """Who is seen at which watch: 06:00 and 18:30, the first after the onset of her heat."""
    zero = datetime.combine(pgf, time(7, 30))
    found: dict[tuple[date, str], list[str]] = defaultdict(list)
    for tag, hours in sorted(heats.items(), key=lambda pair: pair[1]):
        onset = zero + timedelta(hours=hours)
        if onset.time() <= time(6):
            watch = (onset.date(), "06:00")
        elif onset.time() <= time(18, 30):
            watch = (onset.date(), "18:30")
        else:
            watch = (onset.date() + timedelta(days=1), "06:00")
        found[watch].append(tag)
    return dict(found)


def inseminate_on_heat(
    script: Script,
    day: date,
    clock: str,
    tags: list[str],
    places: dict[str, int],
    *,
    who: tuple[str, str] = ("Ana", "Ruth"),
) -> None:
    """Morning/evening rule: a command a sire and technician."""
    turn: dict[tuple[str, str], list[str]] = defaultdict(list)
    for number, tag in enumerate(tags):
        sire = sire_of(places.get(tag, number))
        # each technician has one sire of the session, the other the next time
        turn[sire, who[(sire == "H12") ^ (len(tags) % 2)]].append(tag)
    start = datetime.fromisoformat(at(day, clock))
    for (sire, technician), mine in sorted(turn.items()):
        until = start + timedelta(minutes=6 * len(mine))
        script.do(
            f"record ai {' '.join(mine)} --sire {sire} --tank north --technician {technician} "
            f"--by {technician} --at {start:%Y-%m-%dT%H:%M} --until {until:%Y-%m-%dT%H:%M}"
        )


class LastYear:
    """The season of 2026, from its plan to the calvings of 2027."""

    def __init__(self) -> None:
        self.luck = random.Random(SEED)  # noqa: S311 - a demo, not a secret
        self.past = draw_past(self.luck)
        self.by_tag = {one.tag: one for one in self.past}
        self.herd = render_list(self.past)
        plan = read_plan(PLAN_2026, self.herd)
        self.cows = order_of(plan, "cows")
        self.heifers = order_of(plan, "heifers")
        self.places = {tag: number for number, tag in enumerate(self.cows)}
        self.script = Script(
            "# Quiet Gravel Ranch, season of 2026, as it was typed. Invented throughout.\n"
            "# demo/replay.py plays it; the clock stands at each line's --at (or --until)."
        )
        self.conceived: dict[str, date] = {}  # as it really was, where it held
        self.served: dict[str, date] = {}  # first insemination

    def write(self) -> dict[str, str]:
        """All files of the season, by name."""
        self._before()
        self._treatments()
        self._heats()
        self._timed()
        self._returns()
        july, october = self._after()
        calvings = self._calvings()
        return {
            "herd_2026.csv": self.herd,
            "calvings_2026.csv": self.late_calvings,
            "scan_2026_07.csv": july,
            "scan_2026_10.csv": october,
            "calvings_2027.csv": calvings,
            "season_2026.txt": self.script.text,
        }

    def _before(self) -> None:
        do, head = self.script.do, self.script.head
        head("The plan, taken as what is to be done; its forecast is kept to be compared with.")
        do(f"plan {PLAN_2026} --no-pdf --out demo/out/2026")
        do(
            "season adopt demo/out/2026/plan.json --herd demo/herd_2026.csv --forecast "
            "--replicates 100 --by Ruth --at 2026-03-31T19:00"
        )
        late = [one for one in self.past if one.kind == "cow" and one.calved_2026 is None]
        head(f"{len(late)} had not calved when the list was written.")
        for number, one in enumerate(late[:2]):
            sex = ("female", "male")[number % 2]
            do(
                f"record calving {one.tag} --ease 1 --calf {sex} --by Tom "
                f"--at {at(date(2026, 4, 2 + number), '08:00')}"
            )
        head("The others were written on a list, which comes in whole.")
        do("exchange read calvings demo/calvings_2026.csv --as-of 2026-04-14 --yes --by Ruth")
        self.late_calvings = sheet(
            ("Dam", "Calved", "Calving Ease", "Sex", "Alive"),
            [
                (one.tag, date(2026, 4, 4 + n), 1, ("female", "male")[n % 2], "yes")
                for n, one in enumerate(late[2:])
            ],
        )
        chosen = [tag for tag in self.cows if sire_of(self.places[tag]) == "H12"]
        do(f"record sire {' '.join(chosen)} --sire H12 --or A31 --by Ruth --at 2026-04-19T20:00")
        head("What came in, and who has read the cautions.")
        for line in (
            "gonadorelin_acetate 4 --unit bottles --bottle-ml 100 --lot GN114 --expires 2027-09-30",
            "cloprostenol 4 --unit bottles --bottle-ml 100 --lot CL208 --expires 2027-08-31",
            "inserts 180 --lot PR77 --expires 2028-02-28",
            "A31 150 --straws --tank north --canister 1 --lot A31-0426",
            "H12 70 --straws --tank north --canister 2 --lot H12-1125",
            "A27 50 --straws --tank north --canister 3 --lot A27-0226",
        ):
            do(f"stock buy {line} --by Ruth --at 2026-04-20T16:00")
        do("stock nitrogen north 28 --filled --by Ruth --at 2026-04-20T16:10")
        for name in ("Ana", "Ruth", "Tom"):
            do(f"stock cautions --read --by {name} --at 2026-04-25T19:00")
        self.late = [one.tag for one in late]

    def _treatments(self) -> None:
        do, head = self.script.do, self.script.head
        first = date(2026, 4, 26)
        skipped, half, wrong = self.cows[40], self.cows[77], self._not_ready()
        twice = self.cows[12]
        head(
            f"GnRH and insert. {skipped} slipped past and was caught late; {half} jumped and half "
            f"of the dose ran down her hide; {wrong} was not on the list and got it all the same; "
            f"{twice} was entered twice, which is taken back."
        )
        lots = "--lot gnrh=GN114 --lot insert=PR77"
        do(
            f"record visit cows gnrh_1 --all --except {skipped} --except {half} {lots} "
            f"{WITHDRAWALS} --by Ana --at {at(first, '06:00')} --until {at(first, '09:10')}"
        )
        do(
            f"record visit cows gnrh_1 {half} --share 0.5 {lots} {WITHDRAWALS} --by Ana "
            f"--at {at(first, '09:12')} --note 'half ran down her hide'"
        )
        for tag, clock in ((wrong, "09:14"), (twice, "09:15")):
            do(
                f"record visit cows gnrh_1 {tag} {lots} {WITHDRAWALS} --by Tom "
                f"--at {at(first, clock)}"
            )
        do("record undo --why 'she was done already' --by Tom")
        do(
            f"record visit heifers gnrh_1 --all {lots} {WITHDRAWALS} --by Ana "
            f"--at {at(first, '09:30')} --until {at(first, '10:30')}"
        )
        do(
            f"record visit cows gnrh_1 {skipped} {lots} {WITHDRAWALS} --by Ruth "
            f"--at {at(first, '16:20')} --note 'was in the creek pasture'"
        )
        do("stock nitrogen north 25.5 --by Ruth --at 2026-04-27T16:10")
        day = date(2026, 5, 3)
        lost, missed = self.cows[21], self.cows[60]
        head(
            f"PGF, inserts out. {lost} had lost hers; {missed} was missed and got the PGF in the "
            f"evening. {wrong}, treated by mistake, has her insert taken out and no PGF."
        )
        do(
            f"record visit cows pgf --all --except {missed} --except {wrong} --lost {lost} "
            f"--lot CL208 --withdrawal 0 --by Ana --at {at(day, '06:00')} "
            f"--until {at(day, '09:10')}"
        )
        do(f"record visit cows out {wrong} --by Ana --at {at(day, '09:12')}")
        do(
            f"record visit heifers pgf --all --lot CL208 --withdrawal 0 --by Ana "
            f"--at {at(day, '09:30')} --until {at(day, '10:30')}"
        )
        do(
            f"record visit cows pgf {skipped} --lot CL208 --withdrawal 0 --by Ruth "
            f"--at {at(day, '16:00')} --note 'late a week ago, so late today'"
        )
        do(
            f"record visit cows pgf {missed} --lot CL208 --withdrawal 0 --by Ruth "
            f"--at {at(day, '18:50')} --note 'found with the calves'"
        )
        self.twice = twice

    def _not_ready(self) -> str:
        return next(
            one.tag
            for one in self.past
            if one.kind == "cow" and one.tag not in self.places and one.fate == "bull"
        )

    def _heats(self) -> None:
        do, head = self.script.do, self.script.head
        share = {tag: 0.7 if self.by_tag[tag].fate == "ai" else 0.5 for tag in self.cows}
        pgf = date(2026, 5, 3)
        seen = by_watch(pgf, draw_heats(self.luck, self.cows, share))
        head("Watching for heat, morning and evening, half an hour and more; nothing at first.")
        watches = [(pgf + timedelta(days=d), c) for d in range(4) for c in ("06:00", "18:30")]
        owed: list[str] = []
        for day, clock in watches[1:7]:
            tags = seen.get((day, clock), [])
            who = "Tom" if clock == "06:00" else "Ruth"
            do(
                f"heats watch cows {' '.join(tags)} --minutes {45 if tags else 30} --aid patch "
                f"--by {who} --at {at(day, clock)}".replace("  ", " ")
            )
            if owed:
                inseminate_on_heat(
                    self.script, day, "07:30" if clock == "06:00" else "19:15", owed, self.places
                )
                self.served |= dict.fromkeys(owed, day)
            owed = tags
        self.last_seen = owed  # seen on the last morning: inseminated that evening

    def _timed(self) -> None:
        do, head = self.script.do, self.script.head
        day = date(2026, 5, 6)
        rest = [t for t in self.cows if t not in self.served and t not in self.last_seen]
        head(
            "Those not seen get GnRH and are inseminated at the fixed hour. One straw was read "
            "wrong and is put right."
        )
        halves = (rest[: len(rest) // 2], rest[len(rest) // 2 :])
        for technician, mine, clocks in zip(
            ("Ana", "Ruth"), halves, (("11:30", "13:00"), ("11:35", "13:05")), strict=True
        ):
            for sire in ("A31", "H12"):
                tags = [t for t in mine if sire_of(self.places[t]) == sire]
                do(
                    f"record visit cows ai {' '.join(tags)} --sire {sire} --tank north "
                    f"--technician {technician} --lot GN114 --withdrawal 0 --by {technician} "
                    f"--at {at(day, clocks[0])} --until {at(day, clocks[1])}"
                )
        inseminate_on_heat(self.script, day, "18:00", self.last_seen[:-1], self.places)
        do(
            f"record ai {self.last_seen[-1]} --sire A31 --tank north --technician Ana --by Ana "
            f"--at {at(day, '18:40')}"
        )
        do("record correct last --set sire=H12 --why 'the empty straw says H12' --by Ana")
        self.served |= dict.fromkeys([*rest, *self.last_seen], day)
        head("The heifers, all at the fixed hour.")
        heifers_on = date(2026, 5, 5)
        half = len(self.heifers) // 2
        for technician, mine, clocks in (
            ("Ana", self.heifers[:half], ("15:30", "16:30")),
            ("Ruth", self.heifers[half:], ("15:35", "16:35")),
        ):
            do(
                f"record visit heifers ai {' '.join(mine)} --sire A27 --tank north "
                f"--technician {technician} --lot GN114 --withdrawal 0 --by {technician} "
                f"--at {at(heifers_on, clocks[0])} --until {at(heifers_on, clocks[1])}"
            )
        self.served |= dict.fromkeys(self.heifers, heifers_on)

    def _returns(self) -> None:
        do, head = self.script.do, self.script.head
        head(
            "Mornings from mid May: cows that were too late for the treatment, on heats of their "
            "own, and returns. Nothing seen is kept too."
        )
        on: dict[date, list[str]] = defaultdict(list)
        for one in self.past:
            first = self.served.get(one.tag)
            if one.fate in {"natural", "return"} and one.conceived:
                on[one.conceived].append(one.tag)
            elif one.fate in {"open", "bull"} and first and self.luck.random() < 1 / 3:
                again = first + timedelta(days=self.luck.randint(19, 23))
                held = one.conceived
                if held is None or held >= again + timedelta(days=14):
                    on[again].append(one.tag)
        do("stock nitrogen north 21 --by Ruth --at 2026-05-11T16:10")
        for offset in range((BULLS_IN - date(2026, 5, 14)).days):
            day = date(2026, 5, 14) + timedelta(days=offset)
            if day == date(2026, 5, 25):
                do("stock nitrogen north 14.5 --by Ruth --at 2026-05-25T05:50")
                do("stock nitrogen north 28 --filled --by Ruth --at 2026-05-25T06:10")
            for group in ("cows", "heifers"):
                tags = [t for t in on.get(day, ()) if self.by_tag[t].kind == group[:-1]]
                if not tags and (offset % 5 or group == "heifers"):
                    continue
                do(
                    f"heats watch {group} {' '.join(tags)} --minutes 30 --by Tom "
                    f"--at {at(day, '06:30')}".replace("  ", " ")
                )
                if tags:
                    technician = ("Ana", "Ruth")[offset % 2]
                    sire = "A31" if group == "cows" else "A27"
                    do(
                        f"record ai {' '.join(tags)} --sire {sire} --tank north "
                        f"--technician {technician} --by {technician} --at {at(day, '18:30')}"
                    )

    def _after(self) -> tuple[str, str]:
        do, head = self.script.do, self.script.head
        head("Bulls, then the veterinarian's two lists: scan in July, palpation in October.")
        do("record bulls-in cows B07 B11 B15 B16 B21 B24 --by Tom --at 2026-06-01T09:00")
        do("record bulls-in heifers B18 B26 --by Tom --at 2026-06-01T09:30")
        do("record bulls-out cows --by Tom --at 2026-08-01T10:00")
        do("record bulls-out heifers --by Tom --at 2026-08-01T10:20")
        july, october, open_ = self._checks()
        lost = open_[0]
        self.script.parts.insert(
            len(self.script.parts) - 2,
            "sunup exchange read pregnancy demo/scan_2026_07.csv --as-of 2026-07-28 --yes "
            "--by Ruth",
        )
        do(f"record abortion {lost} --found 'membranes at the gate' --by Tom --at 2026-08-24T07:00")
        head("Weaned on 1 October, weighed by the pen; those found open leave on the 20th.")
        for class_, lb in (("cow", 545), ("first-calf cow", 496)):
            tags = [o.tag for o in self.past if o.class_ == class_ and o.calved_2026]
            tags += [t for t in self.late if self.by_tag[t].class_ == class_]
            do(
                f"record weaning {' '.join(tags)} --calf-lb {lb} --note 'pen average' --by Tom "
                "--at 2026-10-01T11:00"
            )
        do("exchange read pregnancy demo/scan_2026_10.csv --as-of 2026-10-06 --yes --by Ruth")
        do(f"season leave {' '.join(open_)} --why culled --by Ruth --at 2026-10-20T09:00")
        return july, october

    def _checks(self) -> tuple[str, str, list[str]]:
        """Lists of both checks; who was open in the end."""
        columns = ("Tag", "Date", "Method", "Result", "Fetal Age (days)", "Checked By")
        july_on, october_on = date(2026, 7, 28), date(2026, 10, 6)
        july: list[tuple[object, ...]] = []
        october: list[tuple[object, ...]] = []
        open_ = [one.tag for one in self.past if one.fate == "open"]
        # of the open two had held to the insemination at first
        lost = [t for t in open_ if t in self.places][:2]
        for one in self.past:
            conceived = self._conceived(one)
            if one.tag in lost:
                conceived = self.served[one.tag]
            age = None if conceived is None else (july_on - conceived).days
            found = age is not None and age >= 30
            judged = max(30, round((age or 0) + self.luck.gauss(0, 2))) if found else ""
            word = "pregnant" if found else "open"
            july.append((one.tag, july_on, "ultrasound", word, judged, "Dr Vale"))
            if found and one.tag not in lost:
                continue
            if one.tag == lost[0]:
                continue  # she aborted in August
            if conceived is None or one.tag in lost:
                october.append((one.tag, october_on, "palpation", "open", "", "Dr Vale"))
            else:
                age = (october_on - conceived).days
                judged = round((age + self.luck.gauss(0, 7)) / 5) * 5
                october.append((one.tag, october_on, "palpation", "pregnant", judged, "Dr Vale"))
        open_.sort(key=lambda tag: tag != lost[0])
        return sheet(columns, july), sheet(columns, october), open_

    def _conceived(self, one: Past) -> date | None:
        return self.served.get(one.tag, one.conceived) if one.fate == "ai" else one.conceived

    def _calvings(self) -> str:
        rows: list[tuple[object, ...]] = []
        for one in sorted(self.past, key=lambda o: (o.calved or date.max, o.tag)):
            if one.calved is None:
                continue
            sex = self.luck.choice(("female", "male"))
            mean = {"heifer": 74}.get(one.kind, 84) + (4 if sex == "male" else 0)
            lb = round(self.luck.gauss(mean, 7))
            hard = one.ease not in {"", "1"}
            alive = "no" if hard and self.luck.random() < 0.25 else "yes"
            rows.append((one.tag, one.calved, one.ease or "1", sex, alive, lb))
        self.script.head("Calved from the end of January 2027 on; the list comes in on 18 April.")
        self.script.do(
            "exchange read calvings demo/calvings_2027.csv --as-of 2027-04-18 --yes --by Ruth"
        )
        columns = ("Dam", "Calved", "Calving Ease", "Sex", "Alive", "Birth Weight (lb)")
        return sheet(columns, rows)


def write_this_year() -> str:
    """The script of the running season: up to the afternoon of the heifers' insemination."""
    luck = random.Random(SEED + 1)  # noqa: S311 - a demo, not a secret
    plan = read_plan(PLAN_2027, (DEMO / "herd.csv").read_text(encoding="utf-8"))
    cows, heifers = order_of(plan, "cows"), order_of(plan, "heifers")
    places = {tag: number for number, tag in enumerate(cows)}
    script = Script(
        "# Quiet Gravel Ranch, season of 2027, as it was typed up to Tuesday 25 May, 15:00.\n"
        "# Invented throughout. The plan is the one `make demo` writes; it is adopted as it stands."
    )
    do, head = script.do, script.head
    head("The herd list comes in again: new are the heifers; nobody is put down twice.")
    do("exchange read herd demo/herd.csv --yes --dates mdy --as-of 2027-04-19 --by Ruth ")
    do(
        "season adopt demo/out/plan.json --herd demo/herd.csv --forecast --replicates 100 "
        "--by Ruth --at 2027-04-20T19:00"
    )
    chosen = [tag for tag in cows if sire_of(places[tag]) == "H12"]
    do(f"record sire {' '.join(chosen)} --sire H12 --or A31 --by Ruth --at 2027-05-09T20:00")
    head("Stock for the season. The tank is filled and read once a week.")
    for line in (
        "gonadorelin_acetate 4 --unit bottles --bottle-ml 100 --lot GN131 --expires 2028-09-30",
        "cloprostenol 5 --unit bottles --bottle-ml 100 --lot CL240 --expires 2028-08-31",
        "inserts 230 --lot PR92 --expires 2029-02-28",
        "A31 100 --straws --tank north --canister 1 --lot A31-0427",
        "H12 60 --straws --tank north --canister 2 --lot H12-0127",
        "A27 50 --straws --tank north --canister 3 --lot A27-0327",
    ):
        do(f"stock buy {line} --by Ruth --at 2027-05-10T16:00")
    do("stock nitrogen north 28 --filled --by Ruth --at 2027-05-10T16:10")
    for name in ("Ana", "Ruth", "Tom"):
        do(f"stock cautions --read --by {name} --at 2027-05-15T19:00")
    first, day = date(2027, 5, 16), date(2027, 5, 23)
    lost, missed = cows[33], cows[101]
    head("GnRH and insert, then PGF and inserts out a week later.")
    lots = "--lot gnrh=GN131 --lot insert=PR92"
    do(
        f"record visit cows gnrh_1 --all {lots} {WITHDRAWALS} --by Ana "
        f"--at {at(first, '06:00')} --until {at(first, '09:55')}"
    )
    do(
        f"record visit heifers gnrh_1 --all {lots} {WITHDRAWALS} --by Ruth "
        f"--at {at(first, '10:30')} --until {at(first, '11:30')}"
    )
    do("stock nitrogen north 24.5 --by Ruth --at 2027-05-17T16:00")
    head(f"{lost} had lost her insert; {missed} did not come in and has had no PGF yet.")
    do(
        f"record visit cows pgf --all --except {missed} --lost {lost} --lot CL240 --withdrawal 0 "
        f"--by Ana --at {at(day, '06:00')} --until {at(day, '09:55')}"
    )
    do(
        f"record visit heifers pgf --all --lot CL240 --withdrawal 0 --by Ruth "
        f"--at {at(day, '10:30')} --until {at(day, '11:30')}"
    )
    mine = [tag for tag in cows if tag != missed]
    seen = by_watch(day, draw_heats(luck, mine, dict.fromkeys(mine, 0.65)))
    head("Watching. Tom forgot two of those seen on Monday evening when he wrote the list for Ana.")
    owed: list[str] = []
    for on, clock in ((day, "18:30"), *((day + timedelta(days=1), c) for c in ("06:00", "18:30")),
                      (day + timedelta(days=2), "06:00")):  # fmt: skip
        tags = seen.get((on, clock), [])
        do(
            f"heats watch cows {' '.join(tags)} --minutes {45 if tags else 30} --aid patch "
            f"--by Tom --at {at(on, clock)}".replace("  ", " ")
        )
        if (on, clock) == (day + timedelta(days=2), "06:00"):
            owed = owed[:-2]
        if owed:
            inseminate_on_heat(script, on, "07:30" if clock == "06:00" else "19:15", owed, places)
        owed = tags
    head(
        "Patches read at noon on Tuesday: 4 rubbed off, 1 as new; one is gone, which tells nothing."
    )
    later = seen.get((day + timedelta(days=2), "18:30"), [])[:2]
    quiet = [t for t in mine if not any(t in tags for tags in seen.values())][:4]
    readings = [f"{t}=4" for t in later[:1]] + [f"{t}=3" for t in later[1:]]
    readings += [f"{quiet[0]}=1", f"{quiet[1]}=2", f"{quiet[2]}=lost"]
    do(f"heats read {' '.join(readings)} --aid patch --by Ruth --at 2027-05-25T12:00")
    head("The first heifers are inseminated from half past two on: their window is open.")
    do(
        f"record visit heifers ai {' '.join(heifers[:8])} --sire A27 --tank north "
        "--technician Ana --lot GN131 --withdrawal 0 --by Ana "
        "--at 2027-05-25T14:35 --until 2027-05-25T14:58"
    )
    return script.text


def build() -> dict[str, str]:
    """All files of both seasons, by name; the same every time."""
    return LastYear().write() | {"season_2027.txt": write_this_year()}


def main() -> int:
    """Write the files, or with ``--check`` say which are not what this builder writes."""
    files = build()
    if "--check" in sys.argv[1:]:
        other = [n for n, text in files.items() if _read(DEMO / n) != text]
        if other:
            print(f"not what {Path(__file__).name} writes: {', '.join(other)}; run it.")
        return 1 if other else 0
    for name, text in files.items():
        (DEMO / name).write_text(text, encoding="utf-8", newline="\n")
        print(f"demo/{name}: {text.count(chr(10))} lines")
    return 0


def _read(path: Path) -> str:
    return path.read_text(encoding="utf-8") if path.exists() else ""


if __name__ == "__main__":
    raise SystemExit(main())
