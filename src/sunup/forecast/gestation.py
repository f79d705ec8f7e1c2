"""Days from conception to calving for one calf: breeds of sire and dam, sex, parity, twins."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.library.cattle import breeds_by_name

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.base.figures import Figure
    from sunup.library.library import Breed, Library

Shares = tuple[tuple[str, float], ...]
_INDICUS = {"indicus": 1.0, "cross": 0.5}


@dataclass(frozen=True, slots=True)
class GestationFigures:
    """Figures of gestation.toml with the breeds' names."""

    breeds: Mapping[str, Breed]
    by_key: Mapping[str, Figure]
    default: Figure
    male_calf: Figure
    male_calf_indicus: Figure
    heifer_dam: Figure
    twins: Figure
    either_side: Figure

    @staticmethod
    def of(library: Library) -> GestationFigures:
        """Take them from the library."""
        figure = library.figure
        return GestationFigures(
            breeds=breeds_by_name(library),
            by_key={breed.gestation: figure(breed.gestation) for breed in library.breeds.values()},
            default=figure("gestation.default"),
            male_calf=figure("gestation.male_calf"),
            male_calf_indicus=figure("gestation.male_calf_indicus"),
            heifer_dam=figure("gestation.heifer_dam"),
            twins=figure("gestation.twins"),
            either_side=figure("gestation.range_days"),
        )


@dataclass(frozen=True, slots=True)
class Gestation:
    """Mean and spread of days from conception to calving, with what they rest on."""

    mean_d: float
    sd_d: float
    rests_on: tuple[str, ...]


def expect_gestation(
    *,
    sire: Shares = (),
    dam: Shares = (),
    is_heifer: bool = False,
    sex: str | None = None,
    n_calves: int = 1,
    figures: GestationFigures,
) -> Gestation:
    """Return the gestation to expect of one calf.

    Parameters
    ----------
    sire, dam : tuple of (breed, share)
        Shares 0 to 1; empty where not known. The calf's breed is the mean of both; where one is
        not known the other stands for both, where neither is, the default.
    is_heifer : bool
        The dam is carrying her first calf.
    sex : str, optional
        Of the calf: "male" or "female". A bull calf comes half the difference later than the mean,
        a heifer calf half earlier; not known: the mean.
    n_calves : int
    figures : GestationFigures

    Returns
    -------
    Gestation
        Days. [d]

    Notes
    -----
    Breeds: abstract on three breeds, Torell (Nevada), Beef Improvement Federation. Bull calves
    +1.5 d, Brahman +3.7 d (northern Australia, 812 calves); between them by indicus blood. Heifers
    -1.9 d (Simmental). Twins -6.8 d (USDA). Sires of one breed differ by up to 13 d; where yours is
    known to be short or long, shift the days.
    """
    sides = [side for side in (_side(sire, figures), _side(dam, figures)) if side is not None]
    if sides:
        mean = sum(side[0] for side in sides) / len(sides)
        spread = sum(side[1] for side in sides) / len(sides)
        indicus = sum(side[2] for side in sides) / len(sides)
        rests = list(dict.fromkeys(key for side in sides for key in side[3]))
    else:
        mean, spread, indicus = figures.default.number, figures.default.sd or 0.0, 0.0
        rests = [figures.default.key]
    if is_heifer:
        mean += figures.heifer_dam.number
        rests.append(figures.heifer_dam.key)
    if n_calves > 1:
        mean += figures.twins.number
        rests.append(figures.twins.key)
    elif sex in {"male", "female"}:
        taurus, brahman = figures.male_calf.number, figures.male_calf_indicus.number
        later = taurus + indicus * (brahman - taurus)
        mean += later / 2 if sex == "male" else -later / 2
        rests.append(figures.male_calf.key)
        if indicus > 0:
            rests.append(figures.male_calf_indicus.key)
    return Gestation(mean, spread, tuple(rests))


def _side(
    shares: Shares, figures: GestationFigures
) -> tuple[float, float, float, tuple[str, ...]] | None:
    """Mean, spread, indicus share and keys of one parent; None where no breed is known."""
    found = [
        (figures.by_key[breed.gestation], _INDICUS.get(breed.cattle, 0.0), share)
        for word, share in shares
        if share > 0 and (breed := figures.breeds.get(word.strip().lower())) is not None
    ]
    weight = sum(share for _, _, share in found)
    if weight <= 0:
        return None
    default_sd = figures.default.sd or 0.0
    return (
        sum(f.number * share for f, _, share in found) / weight,
        sum((f.sd or default_sd) * share for f, _, share in found) / weight,
        sum(indicus * share for _, indicus, share in found) / weight,
        tuple(f.key for f, _, _ in found),
    )
