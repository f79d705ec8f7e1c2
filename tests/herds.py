"""Herds of our own invention and plans made from them, for tests of every kind.

Nothing here is an expected value: only what goes in.
"""

from __future__ import annotations

import itertools
from datetime import UTC, date, datetime, time, timedelta

from sunup.app.open import open_library
from sunup.exchange.plausible import Limits
from sunup.planning.request import Request
from sunup.planning.season import make_plan
from sunup.records.female import Female, FemaleClass

LIBRARY, LIBRARY_PROBLEMS = open_library()
LIMITS = Limits.of(LIBRARY)
MADE_AT = datetime(2026, 11, 25, 12, tzinfo=UTC)
AI_ON = date(2027, 5, 25)  # a Tuesday
HEIFER, FIRST_CALF, COW = FemaleClass.HEIFER, FemaleClass.FIRST_CALF_COW, FemaleClass.COW


def cow(tag="1", *, group="cows", class_=COW, ai_on=AI_ON, days=75, **facts):
    """A cow without a fault: `days` calved on the insemination day, condition 6."""
    facts = {"calved_on": ai_on - timedelta(days=days), "condition": 6.0, "calving_ease": 1} | facts
    return Female(tag=tag, class_=class_, group=group, **facts)


def heifer(tag="1", *, group="heifers", ai_on=AI_ON, **facts):
    """A heifer without a fault: 15 months old, 65 % of mature weight, tract score 5."""
    facts = {
        "born_on": ai_on - timedelta(days=460),
        "weight_kg": 390.0,
        "mature_weight_kg": 600.0,
        "tract_score": 5,
        "pelvic_area_cm2": 180.0,
        "condition": 6.0,
    } | facts
    return Female(tag=tag, class_=HEIFER, group=group, **facts)


def cows(n, **facts):
    return [cow(str(2001 + i), **facts) for i in range(n)]


def heifers(n, **facts):
    return [heifer(str(7001 + i), **facts) for i in range(n)]


def request(**wishes):
    """A request for the ranch of the tests; give `first_treatment_on` to plan forward."""
    wishes = {
        "ranch": "test ranch",
        "zone": "America/Denver",
        "region": "US",
        "today": date(2026, 11, 25),
    } | wishes
    if "first_treatment_on" not in wishes:
        wishes.setdefault("first_ai_on", AI_ON)
    return Request(**wishes)


def season(females, *, library=LIBRARY, holidays=None, previous=None, **wishes):
    """The plan of a herd, with ids that count up."""
    numbers = itertools.count(1)
    return make_plan(
        females,
        request(**wishes),
        library=library,
        holidays=holidays or {},
        made_at_utc=MADE_AT,
        new_uid=lambda: f"id-{next(numbers)}",
        program_version="test",
        previous=previous,
    )


def step_of(group, step_id):
    """A step of a group's schedule by its id."""
    return next(s for s in group.schedule if s.id == step_id and not s.cancelled)


def clashes_of(plan, kind):
    return [c for c in plan.clashes if c.kind == kind]


NINE = time(9)
