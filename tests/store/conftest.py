"""Every store test runs on both databases; PostgreSQL is started for the session."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import Any

import pytest
from cluster import Cluster, NoServerError

from sunup.app.open import open_ledger


@pytest.fixture(scope="session")
def cluster():
    try:
        server = Cluster()
    except NoServerError as error:
        if os.environ.get("SUNUP_REQUIRE_ALL") == "1":
            pytest.fail(f"SUNUP_REQUIRE_ALL=1, but {error}")
        pytest.skip(f"PostgreSQL was not tested: {error}")
    yield server
    server.stop_for_good()


@dataclass
class Home:
    """Where a test's ledger is: `text` as a user would type it."""

    text: str
    kind: str
    cluster: Any = None

    def open(self, **kw):
        return open_ledger(self.text, **kw)


@pytest.fixture(params=["sqlite", "postgresql"])
def home(request, tmp_path):
    """A place for a ledger, nothing there yet."""
    if request.param == "sqlite":
        yield Home(str(tmp_path / "sunup.db"), "sqlite")
        return
    server = request.getfixturevalue("cluster")
    url = server.new_database()
    yield Home(url, "postgresql", server)
    server.drop(url)


@pytest.fixture
def ledger(home):
    with home.open(create=True) as opened:
        yield opened
