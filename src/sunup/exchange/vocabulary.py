"""Words and codes of the trade that a cell may hold, and those too ambiguous to take."""

from __future__ import annotations

import re
from enum import Enum
from typing import TYPE_CHECKING

from sunup.base.problems import Severity
from sunup.exchange.faults import Fault
from sunup.records.female import CheckMethod, Cycling, FemaleClass, PregnancyFinding

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping


class ClassHint(Enum):
    """A class word that says something, but needs a calving date to be sure."""

    FIRST_CALF_IF_CALVED = "first calf if calved"  # "first-calf heifer", "2-year-old"
    COW_IF_CALVED = "cow if calved"  # "3-year-old"
    BRED_HEIFER = "bred heifer"


def _table(**lists: str) -> dict[str, str]:
    return {squash_word(word): key for key, words in lists.items() for word in words.split(",")}


def squash_word(text: str) -> str:
    """Lower case without blanks, hyphens, dots and underscores."""
    return re.sub(r"[\s.\-_']+", "", text.casefold())


_CLASSES = _table(
    heifer="heifer, heifers, hfr, hfrs, heif, h, replacement heifer, replacement, repl heifer,"
    " rep heifer, yearling, yearling heifer, yrlg heifer, virgin heifer, virgin, maiden heifer,"
    " maiden, open heifer, nulliparous, breeding heifer, heifer yearling",
    first_calf_cow="first calf cow, first-calf-cow, 1st calf cow, first_calf_cow, first calver,"
    " 1st calver, primiparous, primiparous cow, primip, first parity, first parity cow,"
    " first calf cows, fcc",
    cow="cow, cows, c, mature cow, mature, mature cows, multiparous, multiparous cow, multip,"
    " older cow, old cow, aged cow, adult cow, adult, second calf cow, second-calver,"
    " 2nd calf cow, second calver, 2nd calver, suckled cow, wet cow, dry cow, cow calf pair, pair",
)
_CLASS_HINTS = {
    squash_word(word): hint
    for hint, words in {
        ClassHint.FIRST_CALF_IF_CALVED: "first calf heifer, 1st calf heifer, first calf heifers,"
        " fch, fch cow, first calf, 1st calf, two year old, 2 year old, 2yo, 2 yr old, 2yr old,"
        " two-year-old, 2 yo, calved heifer, heifer calved, coming two, young cow",
        ClassHint.COW_IF_CALVED: "three year old, 3 year old, 3yo, 3 yr old, 3yr old, 3 yo",
        ClassHint.BRED_HEIFER: "bred heifer, bred hfr, bred heifers, in calf heifer,"
        " pregnant heifer, preg heifer, springer, springing heifer",
    }.items()
    for word in words.split(",")
}
_NOT_FEMALES = frozenset(
    squash_word(word)
    for word in ["bull", " bulls", " steer", " steers", " bull calf", " ox", " male", " m"]
)
_PREGNANCY = _table(
    pregnant="p, pg, preg, pregnant, pregnant cow, in calf, yes, y, true, positive, pos, bred ok",
    not_pregnant="o, open, empty, not pregnant, non pregnant, nonpregnant, np, not preg, no, n,"
    " false, negative, neg",
    unsure="unsure, ?, recheck, re-check, doubtful, doubt, uncertain, unclear, maybe,"
    " questionable, suspect, inconclusive, not sure",
)
_CYCLING = _table(
    cycling="cl, cl present, cl left, cl right, cl l, cl r, l cl, r cl, left cl, right cl,"
    " corpus luteum, luteal, cycling, cyclic, cyclical, yes, y, true, cycling yes, mature cl",
    not_cycling="not cycling, noncycling, non cycling, acyclic, anestrus, anoestrus, anestrous,"
    " anoestrous, in anestrus, no, n, false, inactive, inactive ovaries, static, static ovaries,"
    " smooth ovaries, prepubertal, pre-pubertal, prepuberal, infantile",
    untold="follicle, follicles, follicle only, follicle no cl, large follicle, dominant follicle,"
    " no cl, follicular, cystic, cyst",
)
_METHODS = _table(
    ultrasound="ultrasound, us, u/s, scan, scanned, scanning, ultrasonography, sonography",
    palpation="palpation, palp, palpated, rectal palpation, rectal, manual, arm, hand",
    blood="blood, blood test, bloodtest, blood sample, serum, pag",
)
_YES = frozenset(["yes", "y", "true", "1", "x"])
_NO = frozenset(["no", "n", "false", "0"])


def read_class(text: str) -> object:
    """Read a class word: FemaleClass, a ClassHint, or a Fault."""
    word = squash_word(text)
    if word in _CLASSES:
        return FemaleClass(_CLASSES[word])
    if word in _CLASS_HINTS:
        return _CLASS_HINTS[word]
    if word in _NOT_FEMALES:
        return Fault(
            f"'{text}' is not a female of the breeding herd.", "Take the row out of the list."
        )
    return Fault(
        f"'{text[:40]}' is not a class we know for sure.", "Write heifer, first-calf cow or cow."
    )


def _word_reader(
    table: Mapping[str, str], kind: Callable[[str], object], *, name: str, fix: str
) -> Callable[[str], object]:
    def read(text: str) -> object:
        key = table.get(squash_word(text))
        return Fault(f"'{text[:40]}' is not a {name} we know.", fix) if key is None else kind(key)

    return read


def _cycling(key: str) -> object:
    if key == "untold":
        return Fault(
            "a scan that saw no corpus luteum does not tell by itself whether she cycles.",
            "Write cycling or not cycling if that is known; it stays unknown.",
            severity=Severity.WARNING,
        )
    return Cycling(key)


read_pregnancy = _word_reader(
    _PREGNANCY,
    PregnancyFinding,
    name="pregnancy finding",
    fix="Write pregnant, open or unsure.",
)
read_cycling = _word_reader(
    _CYCLING, _cycling, name="cycling finding", fix="Write CL, cycling or not cycling."
)
read_method = _word_reader(
    _METHODS, CheckMethod, name="check method", fix="Write ultrasound, palpation or blood."
)


def read_yes_no(text: str) -> object:
    """Read yes or no."""
    word = squash_word(text)
    if word in _YES:
        return True
    if word in _NO:
        return False
    return Fault(f"'{text[:40]}' is neither yes nor no.", "Write yes, no, or leave it empty.")


def read_hold(text: str) -> object:
    """Read a hold: its reason, or None where the cell says there is none."""
    word = squash_word(text)
    if word in _NO:
        return None
    if word in _YES or word == "hold":
        return "on hold in the herd file; no reason given"
    return " ".join(text.split())


def read_words(text: str) -> object:
    """Keep free text, blanks and line breaks brought to single blanks."""
    return " ".join(text.split())
