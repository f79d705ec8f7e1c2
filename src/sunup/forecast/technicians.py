"""Who inseminates: how far technicians differ, and what their number and training make of it.

The spread between herds holds that of one usual technician. Where it is said who inseminates, that
part of its variance is taken out and theirs put in. Each of N technicians stands at a level of his
own on the logit, normal about 0, and inseminates as many females as the others, so that together
they differ from season to season by his standard deviation over the root of N. How good *these*
people are is not known: past results tell that, not their training.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum, unique
from typing import TYPE_CHECKING

from sunup.base.problems import UsageError

if TYPE_CHECKING:
    from collections.abc import Mapping

MOST = 50
_FORM = re.compile(r"([1-9]\d?)(?::(\w+))?")


@unique
class Training(StrEnum):
    """How the people are trained who inseminate."""

    TRAINED = "trained"
    USUAL = "usual"
    UNTRAINED = "untrained"


@dataclass(frozen=True, slots=True, kw_only=True)
class Technicians:
    """The people who inseminate a group: how many, and of which training."""

    number: int = 1
    training: Training = Training.USUAL

    @property
    def words(self) -> str:
        """Say who inseminates."""
        if self.number == 1:
            return f"one {self.training} technician"
        return f"{self.number} {self.training} technicians, who share the females evenly"

    def herd_sd(self, herd_sd: float, technician_sds: Mapping[Training, float]) -> float:
        """Spread between herds with these technicians in place of one usual technician.

        Parameters
        ----------
        herd_sd : float
            Between herds, on the logit, one usual technician in it.
        technician_sds : mapping of Training to float
            Between technicians, on the logit.
        """
        others = max(0.0, herd_sd**2 - technician_sds[Training.USUAL] ** 2)
        return float((others + technician_sds[self.training] ** 2 / self.number) ** 0.5)


def read_technicians(group: str, text: str) -> Technicians:
    """Read who inseminates a group, typed as NUMBER or NUMBER:TRAINING.

    Raises
    ------
    UsageError
        If it is not of that form.
    """
    flag = f"--technicians {group}={text}"
    match = _FORM.fullmatch(text)
    if match is None or int(match[1]) > MOST:
        message = (
            f"{flag}: write it as GROUP=NUMBER, 1 to {MOST}, such as cows=2, or with how they are "
            "trained, such as cows=2:untrained."
        )
        raise UsageError(message)
    known = [training.value for training in Training]
    if match[2] is not None and match[2] not in known:
        message = f"{flag}: '{match[2]}' is not known. Known: {', '.join(known)}."
        raise UsageError(message)
    training = Training.USUAL if match[2] is None else Training(match[2])
    return Technicians(number=int(match[1]), training=training)
