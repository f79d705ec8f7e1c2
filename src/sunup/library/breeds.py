"""Breeds and their other names from ``breeds.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.library.library import Breed
from sunup.library.toml_tables import entries
from sunup.library.toml_text import listed, nearest

if TYPE_CHECKING:
    from collections.abc import Collection

    from sunup.library.toml_text import Reading

CATTLE = ("taurus", "indicus", "cross")


def read_breeds(
    reading: Reading, values: dict[str, Any], *, gestations: Collection[str] | None
) -> dict[str, Breed]:
    """Read ``breeds.toml``; a breed with a fault is left out.

    Parameters
    ----------
    reading : Reading
    values : dict
    gestations : collection of str, or None
        Keys of the gestation figures; None where their file could not be read.
    """
    breeds: dict[str, Breed] = {}
    taken: dict[str, str] = {}  # every name in lower case, and whose it is
    for key, table in entries(reading, values):
        before = reading.count
        breed = Breed(
            key=key,
            name=table.text("name"),
            aliases=table.texts_or_empty("aliases"),
            cattle=table.one_of("cattle", CATTLE),
            gestation=table.text("gestation"),
        )
        table.finish()
        if gestations is not None and breed.gestation and breed.gestation not in gestations:
            table.wrong(
                "gestation",
                f"'{breed.gestation}' is no figure.",
                f"{nearest(breed.gestation, gestations)}Allowed: {listed(sorted(gestations))}.",
            )
        for name in {name.casefold() for name in (key, breed.name, *breed.aliases)}:
            if taken.setdefault(name, key) != key:
                table.wrong(
                    "aliases",
                    f"'{name}' is also a name of {taken[name]}.",
                    "A name may stand for one breed only.",
                )
        if reading.count == before:
            breeds[key] = breed
    return breeds
