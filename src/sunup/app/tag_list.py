"""A list of tags as it is pasted, typed or piped in."""

from __future__ import annotations

import re
from dataclasses import dataclass

_BETWEEN = re.compile(r"[\s,;]+")
_EID = re.compile(r"\d{15}")
# a code in one piece or parted after the country, as readers write it
_READER = re.compile(r"(?<!\d)\d{3}[ .-]?\d{12}(?!\d)")


@dataclass(frozen=True, slots=True)
class TagList:
    """Tags in the order given, each once; `repeated` are those that came more than once."""

    tags: tuple[str, ...]
    repeated: tuple[str, ...] = ()


def read_tags(text: str) -> TagList:
    """Read tags between blanks, commas, semicolons and line ends; # starts a remark.

    A tag scanned twice is one female: a reader at a chute sees her as often as she passes.

    Parameters
    ----------
    text : str

    Returns
    -------
    TagList

    Examples
    --------
    >>> read_tags("2001, 2002 2001  # red pen").tags
    ('2001', '2002')
    """
    seen: dict[str, int] = {}
    for line in text.lstrip("\ufeff").splitlines():
        for word in _BETWEEN.split(line.partition("#")[0]):
            tag = word.strip("\"'")
            if tag:
                seen[tag] = seen.get(tag, 0) + 1
    return TagList(tuple(seen), tuple(tag for tag, n in seen.items() if n > 1))


def is_electronic(tag: str) -> bool:
    """Whether a tag has the form of an electronic code: 15 digits."""
    return _EID.fullmatch(tag) is not None


def has_codes(text: str) -> bool:
    """Whether a text is what a tag reader wrote: electronic codes, perhaps with days and hours."""
    return _READER.search(text) is not None
