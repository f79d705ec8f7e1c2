"""Plans for the tests of paper and files."""

from __future__ import annotations

import pytest
from plan_by_hand import build_odd_plan, build_plan


@pytest.fixture(scope="session")
def plan():
    return build_plan()


@pytest.fixture(scope="session")
def odd_plan():
    return build_odd_plan()
