"""A running season in memory for tests: a desk over a list of events, a clock that is set.

Nothing here is an expected value: only what goes in.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from herds import cows, heifers, season
from sunup.app.desk import Who, sit_down
from sunup.app.season import adopt
from sunup.records.event import Kind

DENVER = ZoneInfo("America/Denver")
SEVEN = {"cows": "co_synch_insert7_cow", "heifers": "co_synch_insert7_heifer"}


def local(text):
    """An instant from the wall clock in Denver."""
    return datetime.fromisoformat(text).replace(tzinfo=DENVER).astimezone(UTC)


@dataclass
class Ranch:
    """A ledger that is a list, and a clock that stands where it was put."""

    now: datetime
    events: list = field(default_factory=list)
    numbers: itertools.count = field(default_factory=lambda: itertools.count(1))
    ticks: itertools.count = field(default_factory=lambda: itertools.count(1))

    def clock(self):
        # each reading of the clock is its own, as on a computer
        return self.now + timedelta(microseconds=next(self.ticks))

    def append(self, events):
        self.events.extend(events)

    def desk(self, at=None, by="Ana", **how):
        return sit_down(
            list(self.events),
            self.append,
            ranch="test ranch",
            at=at or self.now,
            who=Who(
                by=by,
                now=self.clock,
                make_id=lambda: f"{next(self.numbers):08d}-0000-4000-8000-000000000000",
                zone="America/Denver",
            ),
            **how,
        )


def running(n_cows=6, n_heifers=0, females=None, **wishes):
    """A ranch that has adopted its plan a day before the first treatment."""
    listed = [*cows(n_cows), *heifers(n_heifers)] if females is None else females
    groups = {f.group for f in listed}
    protocols = {group: key for group, key in SEVEN.items() if group in groups}
    plan = season(listed, **({"protocols": protocols} | wishes))
    first = min(s.at_utc for g in plan.groups for s in g.schedule)
    ranch = Ranch(first - timedelta(days=1))
    adopt(ranch.desk(), plan, females=listed)
    return ranch, plan


def keep_forecast(ranch, heats, *, n=4):
    """Keep a forecast of the heats of the cows that run now, as adopting with one does."""
    body = {
        "plan_id": ranch.desk().season.in_force.plan_id,
        "forecast": {
            "group": "cows", "n": n, "clock_h": 168.0, "clock_words": "PGF", "heats": heats,
        },
        "library_version": "x",
        "kernel_version": "x",
        "seed": 1,
    }  # fmt: skip
    ranch.append([ranch.desk().writer.write(Kind.FORECAST_KEPT, body, group="cows")])


def step(plan, group, step_id):
    """A step of a group's schedule."""
    found = next(g for g in plan.groups if g.name == group)
    return next(s for s in found.schedule if s.id == step_id)
