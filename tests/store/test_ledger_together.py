"""Several programs at one ledger at once."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from sunup.app.open import open_ledger
from sunup.store.verify import verify_ledger

SUPPORT = Path(__file__).parents[1] / "support"
WRITE = """
import sys
from killed_writer import make_batch
from sunup.app.open import open_ledger
where, number = sys.argv[1], int(sys.argv[2])
sys.stdin.readline()
with open_ledger(where, create=True) as ledger:
    shared = make_batch(99, 9)  # both bring these
    for batch in range(40):
        result = ledger.append([*make_batch(number, batch), *shared])
        assert not result.refused, result
"""


def start(where, number):
    paths = [str(SUPPORT), os.environ.get("PYTHONPATH", "")]
    return subprocess.Popen(
        [sys.executable, "-c", WRITE, where, str(number)],
        stdin=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, paths))},
    )


def test_two_programs_begin_one_ledger_and_append_at_once(home):
    """Neither waits in vain, nothing is lost or doubled, and the index is that of the fold."""
    from killed_writer import make_batch

    writers = [start(home.text, number) for number in (1, 2)]
    for writer in writers:
        writer.stdin.write("go\n")
        writer.stdin.flush()
    for writer in writers:
        _, said = writer.communicate(timeout=120)
        assert writer.returncode == 0, said
    expected = {e.id for n in (1, 2) for batch in range(40) for e in make_batch(n, batch)}
    expected |= {e.id for e in make_batch(99, 9)}
    with open_ledger(home.text) as ledger:
        found = verify_ledger(ledger)
    assert found.problems == ()
    assert len(found.events) == len(expected)
    assert {e.id for e in found.events} == expected
