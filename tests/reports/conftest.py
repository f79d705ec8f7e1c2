"""Plans for the tests of paper and files."""

from __future__ import annotations

import pytest
from plan_by_hand import build_odd_plan, build_plan

from herds import cows, season


@pytest.fixture(scope="session")
def plan():
    return build_plan()


@pytest.fixture(scope="session")
def odd_plan():
    return build_odd_plan()


@pytest.fixture(scope="session")
def watched():
    """60 cows watched for 72 h from PGF, those seen inseminated, the rest by time."""
    return season(cows(60), protocols={"cows": "select_synch_insert_tai_cow"})
