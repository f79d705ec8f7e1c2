"""Visual tags: kept as written, with what spreadsheets do to them noticed."""

from __future__ import annotations

import re
import unicodedata

from sunup.exchange.faults import Fault

LONGEST_TAG = 40  # characters; a tag is read at arm's length
_WHOLE_FLOAT = re.compile(r"([0-9]+)[.,]0+")
_SCIENTIFIC = re.compile(r"[0-9][.,]?[0-9]*[eE]\+[0-9]+")
_MONTH = r"(?:jan|feb|mar|apr|may|jun|jul|aug|sep|sept|oct|nov|dec)[a-z]*"
_DATE_MADE = re.compile(
    rf"(?:{_MONTH}[-/ ][0-9]{{1,4}}|[0-9]{{1,4}}[-/ ]{_MONTH}(?:[-/ ][0-9]{{2,4}})?"
    r"|[0-9]{4}-[0-9]{2}-[0-9]{2}(?: [0-9:]+)?|[0-9]{1,2}/[0-9]{1,2}/[0-9]{2,4})",
    re.IGNORECASE,
)


def read_tag(text: str) -> str | Fault:
    """Read a visual tag; letters and leading zeros stay, characters without width do not.

    Parameters
    ----------
    text : str
        Not blank.

    Returns
    -------
    str or Fault

    Examples
    --------
    >>> read_tag("0412"), read_tag("412.0")
    ('0412', '412')
    """
    # a joiner or mark of order that came along from another list is on no ear
    seen = "".join(letter for letter in text if unicodedata.category(letter) != "Cf")
    tag = " ".join(seen.split())
    whole = _WHOLE_FLOAT.fullmatch(tag)
    if whole:
        return whole[1]
    if _SCIENTIFIC.fullmatch(tag):
        return Fault(
            f"a spreadsheet has shortened this tag to '{tag}'.",
            "Format the column as text and type the tag again.",
        )
    if _DATE_MADE.fullmatch(tag):
        return Fault(
            f"the tag '{tag}' is a date; a spreadsheet may have made it from a tag such as 3-4.",
            "Format the column as text and type the tag again.",
        )
    if len(tag) > LONGEST_TAG:
        return Fault(
            f"the tag has {len(tag)} characters; a tag has at most {LONGEST_TAG}.",
            "Put only her tag in this cell.",
        )
    if not tag.isprintable():
        return Fault("the tag holds characters that cannot be printed.", "Type it again.")
    if not any(letter.isalnum() for letter in tag):
        return Fault(f"'{tag}' is no tag: it has no letter or digit.", "Type her tag.")
    return tag
