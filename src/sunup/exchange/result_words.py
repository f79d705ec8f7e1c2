"""Words of result lists: what was given, which sex, whether it lived, how many, how old."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from sunup.exchange.faults import Fault
from sunup.exchange.numbers import number_in
from sunup.exchange.vocabulary import squash_word

if TYPE_CHECKING:
    from collections.abc import Callable

INSERT_IN, INSERT_OUT, VACCINE = "insert_in", "insert_out", "vaccine"
MELENGESTROL, NONE_FOUND = "melengestrol", "insert_not_found"
_INSERT = "progesterone_insert"
_PLACED = (
    "insert in, insert, insert placed, inserted, progesterone insert, insert inserted,"
    " progesterone insert in, device in, progesterone device in"
)
_TAKEN_OUT = (
    "insert out, insert removed, insert pulled, pull insert, insert taken out,"
    " progesterone insert out, device out, progesterone device out"
)
_ACTS = {
    squash_word(word): (act, active)
    for act, active, words in (
        ("gnrh", None, "gnrh, gonadotropin releasing hormone, gonadotrophin releasing hormone"),
        ("gnrh", None, "gonadorelin, fertirelin"),
        ("gnrh", "gonadorelin_acetate", "gonadorelin acetate"),
        ("gnrh", "gonadorelin_diacetate", "gonadorelin diacetate"),
        ("gnrh", "gonadorelin_hydrochloride", "gonadorelin hydrochloride"),
        ("gnrh", "buserelin", "buserelin"),
        ("pgf", None, "pgf, pg, pgf2a, pgf2alpha, prostaglandin, prostaglandin f2alpha"),
        ("pgf", "dinoprost", "dinoprost, dinoprost tromethamine"),
        ("pgf", "cloprostenol", "cloprostenol, cloprostenol sodium, d cloprostenol"),
        ("estradiol_benzoate", "estradiol_benzoate", "estradiol benzoate, oestradiol benzoate"),
        ("estradiol_cypionate", "estradiol_cypionate", "estradiol cypionate, oestradiol cypionate"),
        ("ecg", "ecg", "ecg, equine chorionic gonadotropin, equine chorionic gonadotrophin, pmsg"),
        (MELENGESTROL, "melengestrol_acetate", "melengestrol, melengestrol acetate, mga"),
        (INSERT_IN, _INSERT, _PLACED),
        (INSERT_OUT, _INSERT, _TAKEN_OUT),
        (NONE_FOUND, _INSERT, "insert not found, no insert found, insert lost, no insert"),
    )
    for word in words.split(",")
}
_VACCINE = re.compile(r"(?i)(?:vaccine|vaccinated|vaccination)\s*(?:against|for|:)?\s*(.*)")
_FEMALE = frozenset(["f", "female", "heifer", "hfr", "heifercalf", "h", "cow"])
_MALE = frozenset(["m", "male", "bull", "bullcalf", "b", "steer", "s"])
_LIVED = frozenset(["alive", "yes", "y", "true", "live", "1", "ok", "living", "a", "bornalive"])
_DIED = frozenset(
    ["dead", "no", "n", "false", "0", "died", "stillborn", "stillbirth", "borndead", "d", "doa"]
)
_COUNTS = {"single": 1, "singleton": 1, "one": 1, "twin": 2, "twins": 2, "two": 2, "triplets": 3}


def read_act(text: str) -> object:
    """Read what was given: (act, active or None, words).

    What no word is known for is "other" and keeps its words; a name that may be a brand is never
    turned into a drug on a guess.
    """
    plain = " ".join(text.split())
    known = _ACTS.get(squash_word(plain))
    if known is not None:
        return (*known, plain)
    vaccine = _VACCINE.fullmatch(plain)
    if vaccine:
        return (VACCINE, None, vaccine[1].strip() or "not said")
    if not any(letter.isalpha() for letter in plain):
        return Fault(f"'{plain[:40]}' does not say what was given.", "Name the active ingredient.")
    return ("other", None, plain[:200])


def read_sex(text: str) -> object:
    """Read a sex: female or male."""
    word = squash_word(text)
    if word in _FEMALE:
        return "female"
    if word in _MALE:
        return "male"
    return Fault(f"'{text[:40]}' is not a sex.", "Write heifer or bull, female or male.")


def read_alive(text: str) -> object:
    """Read whether a calf lived."""
    word = squash_word(text)
    if word in _LIVED:
        return True
    if word in _DIED:
        return False
    return Fault(f"'{text[:40]}' is neither alive nor dead.", "Write alive or dead.")


def read_count(text: str) -> object:
    """Read how many fetuses were seen."""
    number = _COUNTS.get(squash_word(text), number_in(text))
    if number is None or number % 1 or not 1 <= number <= 4:
        return Fault(f"'{text[:40]}' is not a number of fetuses.", "Write 1, 2 or 3.")
    return int(number)


def measure_reader(name: str, most: float, *, unit: str) -> Callable[[str], object]:
    """Make the reader of an amount of 0 to `most` in one unit, which may stand behind it."""
    tail = re.compile(rf"(?i)\s*(?:{unit})\.?$")

    def read(text: str) -> object:
        number = number_in(tail.sub("", text).strip())
        if number is None:
            first = unit.split("|", maxsplit=1)[0]
            return Fault(f"'{text[:40]}' is not a {name}.", f"Write a number, in {first}.")
        if number > most:
            return Fault(f"a {name} of {number:g} is past {most:g}.", "Check number and unit.")
        return number

    return read
