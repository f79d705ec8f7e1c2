"""Today where a season does not go as planned: watches, sires, days that are over, what comes."""

from __future__ import annotations

from datetime import timedelta

from running_season import running, step

from sunup.app.record import record_visit
from sunup.app.today import find_today

SELECT = {"cows": "select_synch_insert_tai_cow"}
TEN = [str(2001 + i) for i in range(10)]


def treated(n=10, **wishes):
    """Cows that had GnRH and insert as planned; their ranch, plan and the PGF's hour."""
    ranch, plan = running(n, protocols=SELECT, **wishes)
    ranch.now = step(plan, "cows", "gnrh_1").at_utc
    record_visit(ranch.desk(), "cows", "gnrh_1", TEN[:n], at=ranch.now)
    return ranch, plan, step(plan, "cows", "pgf").at_utc


def watch_of(today):
    return next((v for v in today.work.now if v.words.startswith("watch")), None)


def test_a_watch_runs_from_the_first_female_to_the_last_one():
    """Watched from the PGF for 72 h (the protocol's hours): one had it a day before the others."""
    ranch, _, pgf = treated()
    early, rest = pgf - timedelta(hours=23, minutes=55), pgf + timedelta(hours=1, minutes=5)
    record_visit(ranch.desk(), "cows", "pgf", TEN[:1], at=early)
    record_visit(ranch.desk(), "cows", "pgf", TEN[1:], at=rest)
    ranch.now = rest + timedelta(hours=1)
    visit = watch_of(find_today(ranch.desk()))
    assert visit.window == (early, rest + timedelta(hours=72))
    assert visit.until == rest + timedelta(hours=72)
    ranch.now = rest + timedelta(hours=60)
    assert watch_of(find_today(ranch.desk())) is not None, "nine are still to be watched"
    ranch.now = rest + timedelta(hours=73)
    assert watch_of(find_today(ranch.desk())) is None
