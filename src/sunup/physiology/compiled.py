"""The one place that names the compiler, with its types kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, ParamSpec, TypeVar, cast

import numba

if TYPE_CHECKING:
    from collections.abc import Callable

P = ParamSpec("P")
R = TypeVar("R")


def compiled(function: Callable[P, R]) -> Callable[P, R]:
    """Compile `function` on first use; it is then inlined into whatever calls it.

    Division by zero gives infinity as in the arithmetic of the machine; no locks are held, so
    threads may run the kernel side by side. References are not counted, which took a third of the
    time: nothing compiled may allocate an array, and the caller keeps what it hands in.
    """
    return cast("Callable[P, R]", numba.njit(nogil=True, error_model="numpy", _nrt=False)(function))  # type: ignore[call-overload]
