"""Breed composition: the words as written with their shares; the library names them later."""

from __future__ import annotations

import re

from sunup.exchange.faults import Fault

_WORD = r"[^\W\d_](?:[^\W\d_]|[ .'\u2019-](?=[^\W\d_]))*"
_AMOUNT = r"[0-9]{1,3}/[0-9]{1,3}|[0-9]{1,3}(?:[.,][0-9]{1,4})?[ ]?%?"
_GAP = r"[\s,;/+&:-]*(?:\b[xX\u00d7]\b)?[\s,;/+&:-]*"
_AMOUNT_FIRST = re.compile(rf"{_GAP}(?P<amount>{_AMOUNT})\s*(?P<word>{_WORD})")
_WORD_FIRST = re.compile(rf"{_GAP}(?P<word>{_WORD})[ :=-]*(?P<amount>{_AMOUNT})")
_CROSS = re.compile(rf"({_WORD})\s*(?:\s[xX]\s|\u00d7|/)\s*({_WORD})")
_MOST = 1.001  # shares given as rounded percentages may pass 1 by a hair
_FIX = "Write one breed, or shares such as AN50 HE50 or 1/2 Angus 1/2 Brahman."


def read_breeds(text: str) -> tuple[tuple[str, float], ...] | Fault:
    """Read breed words with shares.

    A word alone is the whole; "Angus x Brahman" is half each. Shares may sum to less than 1: the
    rest is not known.

    Parameters
    ----------
    text : str

    Returns
    -------
    tuple of (word, share) or Fault
        Shares are fractions.

    Examples
    --------
    >>> read_breeds("75% AN, 25% BR")
    (('AN', 0.75), ('BR', 0.25))
    """
    plain = " ".join(text.split())
    if len(plain) > 200:
        return Fault("the breed cell is too long to be a breed.", _FIX)
    if not re.search("[0-9]", plain):
        crossed = _CROSS.fullmatch(plain)
        if crossed and crossed[1].strip() != crossed[2].strip():
            return ((crossed[1].strip(), 0.5), (crossed[2].strip(), 0.5))
        if re.fullmatch(_WORD, plain):
            return ((plain, 1.0),)
        return Fault(f"'{plain[:40]}' is not a breed.", _FIX)
    pattern = _AMOUNT_FIRST if re.match(r"[0-9]", plain) else _WORD_FIRST
    shares: dict[str, float] = {}
    place = 0
    while place < len(plain):
        match = pattern.match(plain, place)
        if match is None:
            break
        share = _share(match["amount"])
        if share is None or not 0 < share <= _MOST:
            return Fault(f"'{match['amount'].strip()}' in '{plain[:40]}' is not a share.", _FIX)
        word = re.sub(r"\s+[xX]$", "", match["word"].strip())
        shares[word] = shares.get(word, 0.0) + share
        place = match.end()
    if not shares or plain[place:].strip(" ,;.%"):
        return Fault(f"'{plain[:40]}' is not a breed with shares.", _FIX)
    total = sum(shares.values())
    if total > _MOST:
        return Fault(f"the breed shares of '{plain[:40]}' add up to {total * 100:.0f}%.", _FIX)
    scale = max(total, 1.0)
    return tuple((word, share / scale) for word, share in shares.items())


def _share(amount: str) -> float | None:
    """Read a fraction, a percentage, or a decimal share; None for nonsense."""
    bare = amount.strip().rstrip("%").strip().replace(",", ".")
    if "/" in bare:
        top, bottom = bare.split("/")
        return int(top) / int(bottom) if int(bottom) else None
    number = float(bare)
    if "%" not in amount and "." in bare and number <= 1:
        return number
    return number / 100
