"""The ledger at scale beside its floors: what the database alone takes for the same rows.

Called from ``run.py``. The floors are measured in the same run, on the same disk: the same columns
and indexes written by SQLite's own module, and the same rows read by it and dropped.
"""

from __future__ import annotations

import sqlite3
import statistics
import time
import uuid
from contextlib import closing
from datetime import UTC, datetime, timedelta
from functools import partial
from itertools import islice
from typing import TYPE_CHECKING

from goals import Goal
from sunup.app.ledger_lines import export_lines, import_lines
from sunup.app.open import open_ledger
from sunup.records.event import Event, Kind
from sunup.records.fold import fold
from sunup.store.engine import open_sqlite
from sunup.store.lines import write_line
from sunup.store.rows import NAMES, to_row

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

FEMALES, EVENTS_EACH = 50_000, 20
START = datetime(2026, 1, 5, 14, 30, tzinfo=UTC)
HISTORIES = 200


def make_events(females: int) -> Iterator[Event]:
    """Events of several seasons, 20 a female, as a crew records them: visit by visit."""
    ids = [str(uuid.uuid5(uuid.NAMESPACE_OID, f"female {i}")) for i in range(females)]
    for visit in range(EVENTS_EACH):
        for i, female in enumerate(ids):
            kind, body = _visit(visit, i)
            at = START + timedelta(days=30 * visit, seconds=i)
            yield Event(
                id=str(uuid.uuid5(uuid.NAMESPACE_OID, f"{visit} {i}")),
                ranch="Large ranch",
                kind=kind,
                version=1,
                occurred_at=at,
                zone="America/Denver",
                entered_at=at + timedelta(seconds=40),
                entered_by="crew",
                device="phone 1",
                female=female,
                body=body,
            )


def _visit(visit: int, i: int) -> tuple[Kind, dict[str, object]]:
    if visit == 0:
        return Kind.FEMALE_ADDED, {"tag": str(i), "listed": True, "class": "cow"}
    if visit == 1:
        return Kind.MOVED, {"to": f"Group {i % 40}"}
    step = visit % 6
    if step == 2:
        return Kind.INSERT_PLACED, {"lot": "A12", "step": "insert_in"}
    if step == 3:
        return Kind.TREATED, {"act": "pgf", "dose_ml": 5.0, "lot": "B7", "step": "pgf"}
    if step == 4:
        return Kind.INSEMINATED, {"sire": f"S{i % 9}", "technician": "A", "timed": True}
    if step == 5:
        result = "pregnant" if i % 3 else "not_pregnant"
        return Kind.PREGNANCY_CHECKED, {"method": "ultrasound", "result": result}
    return Kind.WEIGHED, {"weight_kg": 500.0 + i % 90}


def measure_ledger(
    folder: Path,
    *,
    quick: bool,
    write_herd: Callable[[Path, int], None],
    run: Callable[..., tuple[float, float]],
) -> list[Goal]:
    """Time import, reading, one female's history, drawing anew and Today, beside their floors.

    Parameters
    ----------
    folder : Path
        Where the ledger is made, on the disk to be measured.
    quick : bool
        A tenth of it all.
    write_herd : callable
        Writes a herd list of so many females.
    run : callable
        Runs the program; seconds and MiB.
    """
    females = FEMALES // 10 if quick else FEMALES
    n = females * EVENTS_EACH
    lines = folder / "events.jsonl"
    with lines.open("w", encoding="utf-8") as file:
        file.writelines(map(write_line, make_events(females)))

    making = _time(lambda: _rows(females))
    floor_in = _time(lambda: _insert_raw(folder / "raw.db", females)) - making
    ledger_file = folder / "sunup.db"
    with open_ledger(ledger_file, create=True) as ledger:
        taken_in = _time(lambda: import_lines(ledger, lines))
        known = folder / "known.jsonl"
        with lines.open("rb") as file, known.open("wb") as some:
            some.writelines(islice(file, n // 10))
        again = _time(lambda: import_lines(ledger, known))
        floor_out = _time(lambda: _scan_raw(ledger_file))
        start = time.perf_counter()
        events = ledger.events()
        read = time.perf_counter() - start
        out = _time(lambda: export_lines(ledger, folder / "again.jsonl"))
        drawn = _time(ledger.rebuild)
        folded = _time(lambda: fold(events))
        wanted = [events[k * 97 % females].female or "" for k in range(HISTORIES)]
        history = statistics.median(_time(partial(ledger.history, f)) for f in wanted)
        tags = map(str, range(HISTORIES))
        found = statistics.median(_time(partial(ledger.females, tag=tag)) for tag in tags)
        one = statistics.median(_time(partial(ledger.append, [e])) for e in _more(wanted))
    today_s, today_mib = _measure_today(folder, ledger_file, females, write_herd, run)
    size = f"{n / 1e6:g} million events, {females:,} females"
    return [
        Goal(f"ledger of {size}: raw inserts, the floor", "k/s", n / floor_in / 1e3),
        Goal("  import of JSON Lines", "k/s", n / taken_in / 1e3),
        Goal("  import over raw inserts", "times", taken_in / floor_in, 8),
        Goal("  import of the same again", "k/s", n / 10 / again / 1e3),
        Goal("  raw scan, the floor", "k/s", n / floor_out / 1e3),
        Goal("  all events read", "k/s", n / read / 1e3),
        Goal("  all events read over raw scan", "times", read / floor_out),
        Goal("  export to JSON Lines", "k/s", n / out / 1e3),
        Goal("  fold of all", "k/s", n / folded / 1e3),
        Goal("  full rebuild of what is drawn", "s", drawn),
        Goal("  full rebuild over raw scan", "times", drawn / floor_out),
        Goal("  one female's history", "ms", history * 1e3, 20),
        Goal("  a female by her tag", "ms", found * 1e3, 20),
        Goal("  one event recorded, on disk", "ms", one * 1e3, 100),
        Goal("  sunup today, the program whole", "s", today_s),
        Goal("  sunup today over raw scan", "times", today_s / floor_out),
        Goal("  sunup today: peak memory", "MiB", today_mib),
    ]


def _measure_today(
    folder: Path,
    ledger: Path,
    females: int,
    write_herd: Callable[[Path, int], None],
    run: Callable[..., tuple[float, float]],
) -> tuple[float, float]:
    """Adopt a plan of as many females as the ledger has, and look at Today in the middle of it."""
    herd, packet = folder / "herd.csv", folder / "packet"
    write_herd(herd, females)
    agreed = ("--first-ai", "2027-05-25", "--zone", "America/Denver", "--as-of", "2026-11-25")
    run("plan", herd, *agreed, "--chutes", "20", "--no-pdf", "--out", packet)
    run("season", "adopt", packet / "plan.json", "--ledger", ledger)
    return run("today", "--at", "2027-05-22T15:00", "--ledger", ledger)


def _more(females: list[str]) -> list[Event]:
    at = START + timedelta(days=2000)
    return [
        Event(
            id=str(uuid.uuid4()),
            ranch="Large ranch",
            kind=Kind.WEIGHED,
            version=1,
            occurred_at=at,
            zone="America/Denver",
            entered_at=at,
            female=female,
            body={"weight_kg": 512.5},
        )
        for female in females[:50]
    ]


def _time(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _rows(females: int) -> int:
    """Make the rows and drop them: what `_insert_raw` does besides inserting."""
    return sum(1 for event in make_events(females) if tuple(map(to_row(event).get, NAMES)))


def _insert_raw(path: Path, females: int) -> None:
    columns = ", ".join(NAMES)
    marks = ", ".join("?" * len(NAMES))
    with closing(open_sqlite(path, mode="rwc")) as raw:
        raw.execute("PRAGMA journal_mode=WAL")
        raw.execute("PRAGMA synchronous=FULL")
        raw.execute(f"CREATE TABLE event (seq INTEGER PRIMARY KEY AUTOINCREMENT, {columns})")
        raw.execute("CREATE UNIQUE INDEX a ON event (id)")
        raw.execute("CREATE INDEX b ON event (ranch, kind)")
        raw.execute("CREATE INDEX c ON event (female)")
        raw.execute("CREATE INDEX d ON event (corrects)")
        raw.execute("BEGIN IMMEDIATE")
        raw.executemany(
            f"INSERT INTO event ({columns}) VALUES ({marks})",  # noqa: S608  names of ours
            (tuple(map(to_row(event).get, NAMES)) for event in make_events(females)),
        )
        raw.execute("COMMIT")


def _scan_raw(path: Path) -> int:
    with closing(sqlite3.connect(path)) as raw:
        return sum(1 for _ in raw.execute("SELECT * FROM event"))
