"""The one place that names the compiler, with its types kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, ParamSpec, TypeVar, cast

import numba

if TYPE_CHECKING:
    from collections.abc import Callable

P = ParamSpec("P")
R = TypeVar("R")


def compiled(function: Callable[P, R]) -> Callable[P, R]:
    """Compile `function` into whatever calls it, which takes a fifth off the time of a run.

    Division by zero gives infinity as in the arithmetic of the machine; no locks are held, so
    threads may run the kernel side by side. References are not counted, which took a third of the
    time: nothing compiled may allocate an array, and the caller keeps what it hands in.
    """
    return _compile(function, is_inlined=True)


def compiled_apart(function: Callable[P, R]) -> Callable[P, R]:
    """Compile `function` as `compiled` does, by itself: it is large and called from many places."""
    return _compile(function, is_inlined=False)


def _compile(function: Callable[P, R], *, is_inlined: bool) -> Callable[P, R]:
    options = {"nogil": True, "error_model": "numpy", "_nrt": False, "forceinline": is_inlined}
    return cast("Callable[P, R]", numba.njit(**options)(function))  # type: ignore[call-overload]
