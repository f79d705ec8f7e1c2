"""Use-case: have the compiled simulator at hand, and say so when it has to be made first."""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from sunup.physiology.kernel_cache import KernelPlace


def cache_folders() -> tuple[str, ...]:
    """Folders in which the kernel may be kept, best first; the folder for temporary files last."""
    return (*_user_cache(), *_temporary())


def _user_cache() -> tuple[str, ...]:
    """Where this user keeps what programs can make again; nowhere for one without a home."""
    told = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    if told:
        return (str(Path(told) / "sunup"),)
    try:
        home = Path.home()
    except RuntimeError:
        return ()
    usual = home / "Library" / "Caches" if sys.platform == "darwin" else home / ".cache"
    return (str(usual / "sunup"),)


def _temporary() -> tuple[str, ...]:
    try:
        return (tempfile.gettempdir(),)
    except OSError:  # raised where no folder of the machine takes a file
        return ()


def prepare_kernel(tell: Callable[[str], None]) -> KernelPlace:
    """Make the next run of the simulator use the kept kernel.

    Parameters
    ----------
    tell : callable
        Told, in words for the user, if the next run has to compile first.

    Returns
    -------
    KernelPlace
    """
    from sunup.physiology.kernel_cache import keep_kernel

    return keep_kernel(cache_folders(), announce=tell)


def warm_kernel(tell: Callable[[str], None]) -> None:
    """Compile every entry of the kernel now, so that no later forecast waits for it.

    Parameters
    ----------
    tell : callable
        Told what is going on, and at the end that the simulator is ready.
    """
    from sunup.app.open import open_library
    from sunup.forecast.figures import params_from_library
    from sunup.physiology.females import FemaleKind, uniform_group
    from sunup.physiology.orders import OrderTable
    from sunup.physiology.simulate import progesterone_of, simulate
    from sunup.physiology.trace import trace

    place = prepare_kernel(tell)
    start = time.perf_counter()
    library, _ = open_library()
    params = params_from_library(library).sets[0]
    female = uniform_group(1, kind=FemaleKind.COW)
    nothing = OrderTable(orders=())
    run = simulate(female, nothing, params=params, seed=1, end_h=24.0, ask_h=(24.0,))
    progesterone_of(run.states, params=params)
    trace(female, nothing, params=params, seed=1, end_h=24.0)
    kept = "not kept" if place.folder is None else f"kept in {place.folder}"
    tell(f"The simulator is ready: {time.perf_counter() - start:.1f} s, {kept}.")


def count_threads() -> int:
    """Processors this program may use; it changes the time a forecast takes and nothing else."""
    if hasattr(os, "sched_getaffinity"):
        return max(1, len(os.sched_getaffinity(0)))
    return max(1, os.cpu_count() or 1)
