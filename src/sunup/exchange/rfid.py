"""Electronic identity: 15 digits out of what readers, scales and spreadsheets make of them.

ISO 11784: 3 digits of country or manufacturer, 12 digits of national code (38 bits). The printed
number has no check digit, so damage is caught by its shape only and nothing is ever repaired.
Values and shapes checked: ``tests/published/test_rfid_values.py``.
"""

from __future__ import annotations

import re

from sunup.exchange.faults import Fault

LARGEST_NATIONAL_CODE = 2**38 - 1  # ISO 11784: bits 27 to 64
TEST_CODE = "999"
_UNITED_STATES = "840"

_SCIENTIFIC = re.compile(r"[0-9](?:[.,][0-9]+)?[eE]\+?[0-9]+")
_HEX = re.compile(r"(TAG\s+)?([0-9A-Fa-f]{3})\.([0-9A-Fa-f]{10})(?![0-9A-Za-z])")
_DIGIT_GROUPS = re.compile(r"[0-9][0-9 .\-]*[0-9]")
_CODE = re.compile(r"(?<![0-9.])(0?)([0-9]{3})[ .\-]?([0-9]{12})(?![0-9])")
_SPELLED = re.compile(r"(?i)USA[ \-]?([0-9]{12})")
_LOST_DIGITS = 9  # 8.40003E+14 opened again has its last 9 digits at zero
_TAG_FIX = "Read the tag again, or leave the cell empty."


def read_rfid(text: str) -> str | Fault:
    """Read an electronic identity from a cell or a reader's line.

    Parameters
    ----------
    text : str

    Returns
    -------
    str or Fault
        15 digits as text, leading zeros kept.

    Examples
    --------
    >>> read_rfid("LA 00000 0 840 003123456789")
    '840003123456789'
    """
    line = text.strip("\x02\x03\r\n\t '\"")
    if len(line) == 15 and line.isascii() and line.isdigit():
        return _judge(line[:3], line[3:])
    if _SCIENTIFIC.fullmatch(line):
        return Fault(
            "a spreadsheet has shortened this RFID and its last digits are lost.",
            "Format the column as text and copy the number again from where it came from.",
        )
    found = _hex_codes(line) or _decimal_codes(line)
    if len(found) > 1:
        return Fault("the cell holds more than one RFID.", "Leave only hers.")
    if not found:
        return _why_not(line)
    prefix, national = found.pop()
    return _judge(prefix, national)


def _hex_codes(line: str) -> set[tuple[str, str]]:
    """Codes in hexadecimal, country.id; all-digit ones count only when marked TAG."""
    found = set()
    for match in _HEX.finditer(line):
        if match[1] or not (match[2] + match[3]).isdigit():
            found.add((f"{int(match[2], 16):03d}", f"{int(match[3], 16):012d}"))
    return found


def _decimal_codes(line: str) -> set[tuple[str, str]]:
    spelled = _SPELLED.fullmatch(line)
    if spelled:
        return {(_UNITED_STATES, spelled[1])}
    if _DIGIT_GROUPS.fullmatch(line):
        digits = re.sub("[^0-9]", "", line)
        if len(digits) == 16 and digits[0] == "0":
            digits = digits[1:]
        if len(digits) == 15:
            return {(digits[:3], digits[3:])}
    return {(match[2], match[3]) for match in _CODE.finditer(line)}


def _why_not(line: str) -> Fault:
    """Say what kept a cell from being a code."""
    digits = re.sub("[^0-9]", "", line)
    if not _DIGIT_GROUPS.fullmatch(line):
        return Fault(f"'{line[:40]}' is not an RFID of 15 digits.", _TAG_FIX)
    if len(digits) == 16:
        return Fault("the RFID has 16 digits and does not begin with 0.", _TAG_FIX)
    hint = ""
    if len(digits) in {13, 14}:
        hint = " A spreadsheet may have dropped leading zeros; they are not put back on a guess."
    return Fault(f"the RFID has {len(digits)} digits; it must have 15.{hint}", _TAG_FIX)


def _judge(prefix: str, national: str) -> str | Fault:
    """Refuse codes no animal can carry."""
    if len(prefix) > 3 or int(prefix) > int(TEST_CODE):
        return Fault("the RFID's country code is larger than 999.", _TAG_FIX)
    if prefix == TEST_CODE:
        return Fault("the RFID begins with 999: a test code, no animal's identity.", _TAG_FIX)
    if prefix == "000":
        return Fault("the RFID begins with 000: no country or maker issued it.", _TAG_FIX)
    if int(national) > LARGEST_NATIONAL_CODE:
        return Fault(
            f"the last 12 digits of the RFID are above {LARGEST_NATIONAL_CODE} (38 bits).",
            _TAG_FIX,
        )
    if national.endswith("0" * _LOST_DIGITS):
        return Fault(
            f"the RFID ends in {_LOST_DIGITS} zeros, as when a spreadsheet has shortened it.",
            "Format the column as text and copy the number again from where it came from.",
        )
    return prefix + national
