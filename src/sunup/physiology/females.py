"""The females of a run, as the kernel meets them: no names, no dates."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from sunup.base.problems import SunupError

if TYPE_CHECKING:
    from numpy.typing import NDArray

FEMALE = np.dtype(
    [
        ("is_heifer", "i8"),
        ("is_first_calf", "i8"),
        ("indicus", "f8"),
        ("days_postpartum", "f8"),
        ("condition", "f8"),
        ("mature_share", "f8"),
        ("share_cycling", "f8"),
        ("cycle_day", "f8"),
        ("plan", "i8"),
    ]
)


class FemaleKind(StrEnum):
    """Class of a female."""

    HEIFER = "heifer"
    FIRST_CALF_COW = "first_calf_cow"
    COW = "cow"


class FemaleError(SunupError):
    """A female the kernel cannot take."""

    def __init__(self, column: str, row: int, value: object) -> None:
        super().__init__(f"female {row}: {column} is {value}, which cannot be.")


@dataclass(frozen=True, slots=True, kw_only=True)
class FemaleTable:
    """Females, one place each in every array, all of shape (n,).

    Parameters
    ----------
    is_heifer, is_first_calf : ndarray of bool
    indicus : ndarray of float
        Share of Bos indicus, 0 to 1.
    days_postpartum : ndarray of float
        At zero [d]; ignored for heifers.
    condition : ndarray of float
        Body condition, 1 to 9.
    mature_share : ndarray of float
        Weight as a share of mature weight; read only for heifers whose share_cycling is NaN.
    share_cycling : ndarray of float
        Chance that she cycles at zero; NaN: from the other columns.
    cycle_day : ndarray of float
        Days since the start of her last heat at zero; NaN: not known, any stage.
    """

    is_heifer: NDArray[np.bool_]
    is_first_calf: NDArray[np.bool_]
    indicus: NDArray[np.float64]
    days_postpartum: NDArray[np.float64]
    condition: NDArray[np.float64]
    mature_share: NDArray[np.float64]
    share_cycling: NDArray[np.float64]
    cycle_day: NDArray[np.float64]

    def __post_init__(self) -> None:
        n = self.is_heifer.shape[0]
        bounds = {
            "indicus": (0.0, 1.0, False),
            "days_postpartum": (0.0, 2000.0, False),
            "condition": (1.0, 9.0, False),
            "mature_share": (0.2, 1.5, False),
            "share_cycling": (0.0, 1.0, True),
            "cycle_day": (0.0, 60.0, True),
        }
        for name, (low, high, may_miss) in bounds.items():
            column = getattr(self, name)
            if column.shape != (n,):
                raise FemaleError(name, n, f"of shape {column.shape}")
            is_fine = (column >= low) & (column <= high)
            if may_miss:
                is_fine |= np.isnan(column)
            if not is_fine.all():
                row = int(np.argmin(is_fine))
                raise FemaleError(name, row, column[row])
        if self.is_first_calf.shape != (n,):
            raise FemaleError("is_first_calf", n, f"of shape {self.is_first_calf.shape}")

    def __len__(self) -> int:
        return int(self.is_heifer.shape[0])

    def pack(self) -> NDArray[np.void]:
        """Lay the table out for the kernel, every female on plan 0 and parameter set 0."""
        packed = np.zeros(len(self), FEMALE)
        for name in self.__slots__:
            packed[name] = getattr(self, name)
        return packed


def uniform_group(
    n: int,
    *,
    kind: FemaleKind,
    indicus: float = 0.0,
    days_postpartum: float = 70.0,
    condition: float = 5.3,
    mature_share: float = 0.6,
    share_cycling: float = math.nan,
    cycle_day: float = math.nan,
) -> FemaleTable:
    """Return `n` females that are alike in everything but luck."""
    return FemaleTable(
        is_heifer=np.full(n, kind is FemaleKind.HEIFER),
        is_first_calf=np.full(n, kind is FemaleKind.FIRST_CALF_COW),
        indicus=np.full(n, indicus),
        days_postpartum=np.full(n, days_postpartum),
        condition=np.full(n, condition),
        mature_share=np.full(n, mature_share),
        share_cycling=np.full(n, share_cycling),
        cycle_day=np.full(n, cycle_day),
    )
