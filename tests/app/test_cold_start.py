"""The first start on a machine: the simulator is compiled once, or wherever it can be kept.

The edit of a kernel source is proved in ``tests/process/test_kernel_cache.py`` too, with folders
given; here the program finds them itself, as a user's does. A small entry of the kernel keeps this
short; the cache is the same for all of them.
"""

import os
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

import sunup
from sunup.physiology.kernel_cache import FIRST_TIME, NO_PLACE

pytestmark = pytest.mark.app

ASK = """
import sys
import numpy as np
if sys.argv[1] == "full":  # no file may grow: what a full disk does to every write
    import resource, signal
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
if sys.argv[1] == "homeless":  # no HOME, and a user the machine has no entry for
    import pathlib
    def nowhere():
        raise RuntimeError("Could not determine home directory.")
    pathlib.Path.home = nowhere
from sunup.app.forecast_kernel import prepare_kernel
from sunup.physiology import simulate
from sunup.physiology.params import PARAMS
from sunup.physiology.state import STATE
told = []
place = prepare_kernel(told.append)
states = np.zeros(1, STATE)
states["n_cl"] = 1
states["cl_peak"] = 6.0
states["cl_fall"] = np.inf
states["cl_half"] = 7.0
states["mga_end_h"] = -np.inf
p4 = np.empty(1)
simulate.read_p4(states, np.ones(1, PARAMS), p4)
print(p4[0], sum(simulate.read_p4.stats.cache_hits.values()), place.folder, *told, sep="|")
"""


@dataclass(frozen=True)
class Start:
    p4: float
    compiled: bool
    folder: str
    told: list[str]


@pytest.fixture
def start(tmp_path):
    """Start the program with a cache folder and a temporary folder of its own."""

    def run(how="plain", *, package=None, cache="cache", temporary="temporary"):
        scratch = tmp_path / temporary
        if not scratch.is_file():
            scratch.mkdir(exist_ok=True)
        paths = {"XDG_CACHE_HOME": str(tmp_path / cache)} if cache else {}
        done = subprocess.run(
            [sys.executable, "-c", ASK, how],
            env={
                **{k: v for k, v in os.environ.items() if k not in {"XDG_CACHE_HOME", "HOME"}},
                "PYTHONPATH": str(package or Path(sunup.__file__).parents[1]),
                "PYTHONDONTWRITEBYTECODE": "1",
                "TMPDIR": str(scratch),
                **paths,
            },
            capture_output=True,
            text=True,
            check=False,
            cwd=tmp_path,
        )
        assert done.returncode == 0, done.stderr
        assert done.stderr == ""
        p4, hits, folder, *told = done.stdout.strip().split("|")
        return Start(float(p4), int(hits) == 0, folder, told)

    return run


def test_only_the_first_start_compiles_and_says_so(start, tmp_path):
    first, second = start(), start()
    assert first.compiled
    assert first.told == [FIRST_TIME]
    assert first.folder.startswith(str(tmp_path / "cache" / "sunup"))
    assert not second.compiled
    assert second.told == []
    assert second.p4 == first.p4


def test_a_cache_that_cannot_be_written_to_is_named_and_another_place_serves(start, tmp_path):
    # a file in the folder's place refuses even an administrator, whom file modes do not stop
    (tmp_path / "cache").write_text("", "utf-8")
    first, second = start(), start()
    assert first.folder.startswith(str(tmp_path / "temporary"))
    assert str(tmp_path / "cache") in first.told[0]
    assert "instead" in first.told[0]
    assert first.told[1:] == [FIRST_TIME]
    assert not second.compiled
    assert second.told == []


@pytest.mark.skipif(sys.platform == "win32", reason="no limit on file sizes to play a full disk")
def test_on_a_full_disk_the_simulator_still_runs_and_says_why_it_is_slow(start):
    full, with_room = start("full"), start()
    assert full.told == [NO_PLACE]
    assert full.folder == "None"
    assert full.p4 == with_room.p4


def test_a_kept_kernel_serves_on_a_disk_that_has_filled_up_since(start):
    start()
    full = start("full")
    assert not full.compiled
    assert full.told == []


def test_a_user_without_a_home_is_served_from_the_temporary_folder(start, tmp_path):
    homeless = start("homeless", cache=None)
    assert homeless.folder.startswith(str(tmp_path / "temporary"))
    assert homeless.told[-1] == FIRST_TIME


def test_a_changed_kernel_never_answers_from_the_cache_of_the_old_one(start, tmp_path):
    package = tmp_path / "copy"
    shutil.copytree(
        Path(sunup.__file__).parent,
        package / "sunup",
        ignore=shutil.ignore_patterns("__pycache__"),
    )
    before = start(package=package)
    # the edit stands in another module than the entry that is kept, and its size is the same
    luteum = package / "sunup" / "physiology" / "luteum.py"
    text = luteum.read_text("utf-8")
    edited = text.replace("return s.cl_peak[k] * luteal", "return s.cl_peak[k] / luteal")
    assert len(edited) == len(text)
    assert edited != text
    kept = luteum.stat()
    luteum.write_text(edited, "utf-8")
    os.utime(luteum, ns=(kept.st_atime_ns, kept.st_mtime_ns))
    after = start(package=package)
    assert after.compiled
    assert after.p4 != pytest.approx(before.p4)
    # peak x rise before, peak / rise after: their product is the square of the peak
    assert after.p4 * before.p4 == pytest.approx(36.0)


WARM = "from sunup.app.forecast_kernel import warm_kernel; warm_kernel(print)"
FORECAST = """
import sys
from sunup.physiology import simulate, trace
sys.argv = ["sunup", *sys.argv[1:]]
from sunup.cli.main import main
try:
    main()
except SystemExit as ended:
    assert not ended.code, ended.code
entries = (simulate.run_chunk, simulate.read_p4, trace.run_one)
print("COMPILED", sum(sum(entry.stats.cache_misses.values()) for entry in entries))
print("KEPT", sum(sum(entry.stats.cache_hits.values()) for entry in entries))
"""
HERD = (
    "tag,class,group,breed,calved on,condition,born\n1,cow,cows,Angus,2027-03-20,5.5,2021-03-01\n"
)


def test_after_make_no_forecast_and_no_trace_compiles(tmp_path):
    # the whole kernel, as `make kernel` has it: some 20 s
    herd = tmp_path / "herd.csv"
    herd.write_text(HERD, "utf-8")
    environment = {**os.environ, "XDG_CACHE_HOME": str(tmp_path / "cache")}

    def child(code, *words):
        done = subprocess.run(
            [sys.executable, "-c", code, *words],
            env=environment,
            capture_output=True,
            text=True,
            check=False,
            cwd=tmp_path,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    assert "The simulator is ready" in child(WARM)
    when = ("--first-ai", "2027-05-25", "--zone", "America/Denver", "--as-of", "2027-04-20")
    for words in (
        ("forecast", str(herd), *when, "--replicates", "20"),
        ("trace", "--cycle-day", "7", "--protocol", "co_synch_insert7_cow"),
    ):
        shown = child(FORECAST, *words)
        assert "COMPILED 0" in shown
        assert "KEPT 0" not in shown
