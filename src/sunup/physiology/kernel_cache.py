"""Where the compiled kernel is kept between runs, so that only the first run ever waits.

The compiler's own cache looks at one file of a function and would answer with old code after an
edit in another. Its folder is therefore named after a hash of every source the kernel is made of,
the compiler's version and the processor: an edit is another folder. This is the one module of the
core that touches a disk, and only for the compiler.
"""

from __future__ import annotations

import hashlib
import importlib
import inspect
import os
import pkgutil
import shutil
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import llvmlite.binding
import numba

import sunup.base.streams
import sunup.physiology
from sunup.physiology import simulate, trace

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

ENTRIES: tuple[Any, ...] = (simulate.run_chunk, simulate.read_p4, trace.run_one)
FOLDER = "sunup-kernel-"
HEX = 16  # digits of a fingerprint
FIRST_TIME = (
    "Preparing the simulator for this computer. This takes about half a minute, "
    "once after every update."
)
NO_PLACE = (
    "The simulator could not be kept on this computer because no folder can be written to: "
    "it is prepared anew at each start, which takes about half a minute. Nothing else changes."
)
ELSEWHERE = (
    "The simulator could not be kept in {wanted}, which cannot be written to or is full; "
    "it is kept in {folder} instead. Nothing else changes."
)
ROOM = 8 * 2**20  # bytes; the kernel takes a third of it
KEPT = 2  # kernels kept in a folder: this one and the one before
IN_USE_S = 86_400.0  # a kernel used less than a day ago may still be another program's


@dataclass(frozen=True, slots=True)
class KernelPlace:
    """Where the kernel is kept.

    Parameters
    ----------
    folder : str or None
        None: nowhere; every start compiles.
    is_new : bool
        True if nothing is there yet.
    """

    folder: str | None
    is_new: bool


def kernel_sources() -> dict[str, str]:
    """Return the text of every module the kernel is compiled from, by name."""
    names = [
        f"{sunup.physiology.__name__}.{module.name}"
        for module in pkgutil.iter_modules(sunup.physiology.__path__)
    ]
    modules = [importlib.import_module(name) for name in sorted(names)]
    return {module.__name__: inspect.getsource(module) for module in (*modules, sunup.base.streams)}


def kernel_fingerprint() -> str:
    """Return 16 hex digits that change with any source, the compiler or the processor."""
    parts = [f"{name}\n{text}" for name, text in kernel_sources().items()]
    parts.append(numba.__version__)
    parts.append(llvmlite.binding.get_host_cpu_name())
    parts.append(llvmlite.binding.get_host_cpu_features().flatten())
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:HEX]


def keep_kernel(
    bases: Sequence[str], *, announce: Callable[[str], None] | None = None
) -> KernelPlace:
    """Keep the compiled kernel under the first of `bases` that can be written to.

    Call it once, before the first run. Without it everything works and every start compiles.

    Parameters
    ----------
    bases : sequence of str
        Folders to try in their order.
    announce : callable, optional
        Told, in words for a user, if the next run has to compile.
    """
    name = FOLDER + kernel_fingerprint()
    for base in bases:
        folder = os.path.join(base, name)  # noqa: PTH118  # pathlib stands for files of the user
        is_new = not any(entry.endswith(".nbi") for entry in _files_below(folder))
        if not _can_write(folder, room=ROOM if is_new else 0):
            continue
        settings: Any = numba.config
        before = settings.CACHE_DIR
        settings.CACHE_DIR = folder
        try:
            for entry in ENTRIES:
                entry.enable_caching()
        finally:
            settings.CACHE_DIR = before
        _mark_and_clear(base, name)
        if is_new and announce is not None:
            if base != bases[0]:
                announce(ELSEWHERE.format(wanted=bases[0], folder=base))
            announce(FIRST_TIME)
        return KernelPlace(folder, is_new)
    if announce is not None:
        announce(NO_PLACE)
    return KernelPlace(None, is_new=True)


def _mark_and_clear(base: str, name: str) -> None:
    """Mark the kernel `name` as used, and take away old ones: `KEPT` newest by use stay.

    None used within `IN_USE_S` is taken. Nothing is said if it cannot be done: it is only tidying.
    """
    try:
        os.utime(os.path.join(base, name))  # noqa: PTH118
        with os.scandir(base) as entries:
            kernels = [
                (entry.stat(follow_symlinks=False).st_mtime, entry.path)
                for entry in entries
                if is_kernel(entry.name) and entry.is_dir(follow_symlinks=False)
            ]
    except OSError:
        return
    kernels.sort(reverse=True)
    newest = kernels[0][0]
    for used, path in kernels[KEPT:]:
        if newest - used > IN_USE_S:
            shutil.rmtree(path, ignore_errors=True)


def is_kernel(name: str) -> bool:
    """Whether a folder's name is one `keep_kernel` gives."""
    mark = name.removeprefix(FOLDER)
    return name.startswith(FOLDER) and len(mark) == HEX and set(mark) <= set("0123456789abcdef")


def _can_write(folder: str, *, room: int) -> bool:
    """Whether `room` bytes fit there: on a full disk a folder and an empty file still do."""
    trial = os.path.join(folder, f"trial-{os.getpid()}")  # noqa: PTH118
    try:
        os.makedirs(folder, exist_ok=True)  # noqa: PTH103
        with open(trial, "wb") as file:  # noqa: PTH123
            file.write(bytes(room))
        os.unlink(trial)  # noqa: PTH108
    except OSError:
        return False
    return True


def _files_below(folder: str) -> list[str]:
    return [name for _, _, names in os.walk(folder) for name in names]
