"""The kept kernel: it serves the next start, never answers for an edited source, needs no disk."""

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

import sunup

# a small entry of the kernel keeps this test short; the cache is the same for all
ASK = """
import sys
import numpy as np
from sunup.physiology import kernel_cache, simulate
from sunup.physiology.params import PARAMS
from sunup.physiology.state import STATE
told = []
place = kernel_cache.keep_kernel(sys.argv[1:], announce=told.append)
states = np.zeros(1, STATE)
states["n_cl"] = 1
states["cl_peak"] = 6.0
states["cl_fall"] = np.inf
states["cl_half"] = 7.0
states["mga_end_h"] = -np.inf
params = np.ones(1, PARAMS)
p4 = np.empty(1)
simulate.read_p4(states, params, p4)
hits = sum(simulate.read_p4.stats.cache_hits.values())
print(round(float(p4[0]), 6), place.is_new, len(told), hits)
"""


def ask(package, *bases):
    environment = {**os.environ, "PYTHONPATH": str(package), "PYTHONDONTWRITEBYTECODE": "1"}
    result = subprocess.run(
        [sys.executable, "-c", ASK, *map(str, bases)],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        cwd=package,
    )
    assert result.returncode == 0, result.stderr
    value, is_new, n_told, hits = result.stdout.split()
    return float(value), is_new == "True", int(n_told), int(hits) > 0


@pytest.fixture
def package(tmp_path):
    copy = tmp_path / "copy"
    shutil.copytree(Path(sunup.__file__).parent, copy / "sunup", ignore=lambda *_: ["__pycache__"])
    return copy


def test_an_edited_source_never_answers_from_an_old_cache(package, tmp_path):
    base = tmp_path / "kept"
    first, is_new, told, _ = ask(package, base)
    assert (is_new, told) == (True, 1)
    again, is_new, told, hit = ask(package, base)
    assert (again, is_new, told, hit) == (first, False, 0, True)

    # the edit is in another file than the entry that is kept
    luteum = package / "sunup" / "physiology" / "luteum.py"
    text = luteum.read_text("utf-8")
    old = "return s.cl_peak[k] * luteal_rise("
    assert old in text
    luteum.write_text(text.replace(old, "return 2.0 * s.cl_peak[k] * luteal_rise("), "utf-8")
    edited, is_new, _, hit = ask(package, base)
    assert edited == pytest.approx(2.0 * first)
    assert is_new
    assert not hit


def test_a_folder_that_cannot_be_written_to_is_passed_over(package, tmp_path):
    locked = tmp_path / "locked"
    locked.write_text("a file stands where the folder should be", "utf-8")
    value, _, told, _ = ask(package, locked, tmp_path / "second")
    assert value > 0
    assert told == 2  # that it is kept elsewhere, and that it is being made
    assert any((tmp_path / "second").iterdir())


def test_old_kernels_are_taken_away_but_not_one_used_within_a_day(tmp_path, package):
    base = tmp_path / "kept"
    now = time.time()
    days_old = {f"sunup-kernel-{i:016x}": i for i in (0, 1, 3, 5)}
    days_old |= {"sunup-kernel-notes": 9, "photos": 9}  # no kernels: not ours to take
    for name, days in days_old.items():
        (base / name).mkdir(parents=True)
        (base / name / "file.nbi").write_bytes(b"x")
        os.utime(base / name, (now, now - days * 86_400.0 + 3_600.0))
    ask(package, base)
    left = {path.name for path in base.iterdir()}
    names = list(days_old)
    # the newest two are this one and number 0; number 1 was used less than a day ago
    assert {names[0], names[1], "sunup-kernel-notes", "photos"} < left
    assert not {names[2], names[3]} & left
    assert len(left) == 5
    # a third start, nothing new: everything stays
    ask(package, base)
    assert {path.name for path in base.iterdir()} == left
