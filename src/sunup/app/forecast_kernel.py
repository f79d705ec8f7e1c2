"""Use-case: have the compiled simulator at hand, and say so when it has to be made first."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


def cache_folders() -> tuple[str, ...]:
    """Folders in which this user's programs keep what they can make again, best first."""
    told = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    home = Path.home()
    usual = home / "Library" / "Caches" if sys.platform == "darwin" else home / ".cache"
    return (str(Path(told or usual) / "sunup"),)


def prepare_kernel(tell: Callable[[str], None]) -> None:
    """Make the next run of the simulator use the kept kernel.

    Parameters
    ----------
    tell : callable
        Told, in words for the user, if the next run has to compile first.
    """
    from sunup.physiology.kernel_cache import keep_kernel

    keep_kernel(cache_folders(), announce=tell)


def count_threads() -> int:
    """Processors this program may use; it changes the time a forecast takes and nothing else."""
    if hasattr(os, "sched_getaffinity"):
        return max(1, len(os.sched_getaffinity(0)))
    return max(1, os.cpu_count() or 1)
