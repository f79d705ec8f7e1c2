"""The kind of cattle a female is, from the breeds on file."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.library.library import Breed, Library
    from sunup.records.female import Female

_INDICUS = {"indicus": 1.0, "cross": 0.5}


def indicus_share(female: Female, names: Mapping[str, str]) -> float | None:
    """Bos indicus share of a female from her breed shares; None where breeds are not known.

    `names` are those of `breed_names`. A breed not among them counts as unknown; a composite counts
    half.
    """
    if not female.breed_shares:
        return None
    known = 0.0
    indicus = 0.0
    for word, share in female.breed_shares:
        breed = names.get(word.strip().lower())
        if breed is None:
            continue
        known += share
        indicus += share * _INDICUS.get(breed, 0.0)
    return indicus / known if known else None


def breed_names(library: Library) -> Mapping[str, str]:
    """Every breed name and alias in lower case, to the kind of cattle."""
    return {name: breed.cattle for name, breed in breeds_by_name(library).items()}


def breeds_by_name(library: Library) -> Mapping[str, Breed]:
    """Every breed name and alias in lower case, to the breed."""
    return {
        name.lower(): breed
        for breed in library.breeds.values()
        for name in (breed.key, breed.name, *breed.aliases)
    }
