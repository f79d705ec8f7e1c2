"""A command with its seconds and its peak memory, which are its own and nobody else's.

A process begins with the peak of the one it came from. Between the benchmark, which may have grown
large, and the command measured stands therefore a small process that does nothing else.
"""

from __future__ import annotations

import subprocess
import sys

BETWEEN = """
import resource, subprocess, sys, time
start = time.perf_counter()
done = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL)
taken = time.perf_counter() - start
peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
print(taken, peak / (1024 if sys.platform != "darwin" else 2**20), done.returncode)
"""


def run_alone(*command: str) -> tuple[float, float, int, str]:
    """Return seconds, peak resident memory [MiB], exit code and what was said on standard error."""
    done = subprocess.run(
        [sys.executable, "-c", BETWEEN, *command], check=True, capture_output=True, text=True
    )
    seconds, mib, code = done.stdout.split()
    return float(seconds), float(mib), int(code), done.stderr
