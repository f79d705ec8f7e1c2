"""The facts of a female that a file may hold, and the headers people give them."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum


class Stakes(StrEnum):
    """What becomes of a row when a cell of this field cannot be read."""

    IDENTITY = "identity"  # the row does not load
    SAFETY = "safety"  # the female loads on hold: nobody treats her on a guess
    PLAIN = "plain"  # the female loads without the fact


@dataclass(frozen=True, slots=True)
class Field:
    """One fact of a female that a herd file may hold.

    `ranks` are groups of headers: of two columns that stand for the field, the one from the
    earlier group is taken.
    """

    key: str
    words: str
    ranks: tuple[tuple[str, ...], ...]
    stakes: Stakes = Stakes.PLAIN
    is_date: bool = False
    is_weight: bool = False


_WORDS = re.compile(r"[a-z0-9]+")


def squash(text: str) -> str:
    """Bring a header to what is compared: letters and digits only, lower case.

    Examples
    --------
    >>> squash("Calving_Date ") == squash("calving date")
    True
    """
    plain = unicodedata.normalize("NFKC", text).casefold().replace("%", " percent ")
    return "".join(_WORDS.findall(plain))


class FieldSet:
    """The fields one kind of file may hold, found by key and by the headers known for them.

    `names_her` are the fields of which one must have a column, or it is no such file.
    """

    def __init__(self, fields: tuple[Field, ...], *, names_her: tuple[str, ...] = ("tag",)) -> None:
        self.fields = fields
        self.names_her = frozenset(names_her)
        self.by_key = {one.key: one for one in fields}
        self.known = {
            squash(name): (one.key, rank)
            for one in fields
            for rank, names in enumerate(one.ranks)
            for name in (names if rank else (one.key, *names))
        }
        self.shown = {squash(name): name for one in fields for names in one.ranks for name in names}


def _names(text: str) -> tuple[str, ...]:
    return tuple(name.strip() for name in text.split(","))


def field(key: str, words: str, names: str, *more: str, **kinds: object) -> Field:
    """Make a field; `names` and each of `more` are headers parted by commas, the best first."""
    ranks = tuple(_names(text) for text in (names, *more))
    return Field(key, words, ranks, **kinds)  # type: ignore[arg-type]


FIELDS: tuple[Field, ...] = (
    field(
        "tag",
        "tag",
        "tag, tag number, tag no, tag id, ear tag, ear tag number, ear tag no, eartag, visual tag,"
        " visual tag number, visual id, visual, vid, dangle, dangle tag, bangle tag, cow tag,"
        " heifer tag, animal tag, ranch tag, herd tag, management tag, female tag",
        "animal id, cow id, heifer id, female id, ranch id, herd id, local id, animal number,"
        " animal no, cow number, cow no, heifer number, herd number, management number, id number",
        "id, animal, cow, female, number, no, identity",
        stakes=Stakes.IDENTITY,
    ),
    field(
        "rfid",
        "RFID",
        "rfid, rfid tag, rfid number, rfid no, rfid tag number, eid, eid tag, eid number, eid no,"
        " electronic id, electronic tag, electronic ear tag, electronic eartag,"
        " electronic identification, e id, transponder, transponder number, 15 digit id,"
        " official id, official tag, official ear tag, official eartag, official number, ain,"
        " 840, 840 tag, 840 number, 840 id, tag 840",
    ),
    field(
        "class",
        "class",
        "class, animal class, female class, cow class, class of animal",
        "type, category, female type, cow type, animal type, age class, kind, cow or heifer,"
        " heifer or cow",
        stakes=Stakes.SAFETY,
    ),
    field(
        "calvings",
        "number of calvings",
        "calvings, number of calvings, no of calvings, parity, times calved, calves born,"
        " number of calves, no of calves, calves so far, lactation number",
    ),
    field(
        "breed",
        "breed",
        "breed, breeds, breed composition, breed comp, breed shares, breed makeup, breed make up,"
        " breed type, breed code, composition, breed cross, breed percent",
    ),
    field(
        "born_on",
        "birth date",
        "birth date, birthdate, date of birth, dob, born, born on, birthday, date born, birth,"
        " birth dt, cow birth date, heifer birth date",
        is_date=True,
    ),
    field(
        "calved_on",
        "calving date",
        "calved, calved on, calving date, calving, calve date, calved date, date calved,"
        " date of calving, last calved, last calving, last calving date, date last calved,"
        " date of last calving, most recent calving, most recent calving date, calving dt",
        "calf born, calf born on, calf birth date, calf birthdate, calf dob, calf date of birth",
        stakes=Stakes.SAFETY,
        is_date=True,
    ),
    field(
        "due_on",
        "due date",
        "due, due on, due date, due to calve, expected calving, expected calving date,"
        " calving due, expected to calve, expected calving on",
        is_date=True,
    ),
    field(
        "calving_ease",
        "calving ease",
        "calving ease, calving ease score, ease of calving, calving difficulty,"
        " calving difficulty score, calving score, dystocia, dystocia score, birth ease",
    ),
    field(
        "retained_membranes",
        "retained membranes",
        "retained membranes, retained placenta, retained afterbirth, retained fetal membranes,"
        " retained foetal membranes, retained cleanings, placenta retained, afterbirth retained",
    ),
    field(
        "condition",
        "body condition",
        "body condition, body condition score, bcs, condition, condition score, cond, body score,"
        " cow condition, bcs score, bcs at breeding, bcs now",
    ),
    field(
        "weight",
        "weight",
        "weight, wt, body weight, body wt, live weight, liveweight, live wt, current weight,"
        " current wt, weight now, scale weight, cow weight, heifer weight, cow wt, heifer wt,"
        " breeding weight, prebreeding weight",
        is_weight=True,
    ),
    field(
        "mature_weight",
        "mature weight",
        "mature weight, mature wt, mature cow weight, mature cow wt, expected mature weight,"
        " adult weight, mature body weight, mature size, herd mature weight",
        is_weight=True,
    ),
    field(
        "tract_score",
        "tract score",
        "tract score, tract, reproductive tract score, reproductive tract, repro tract score,"
        " repro score, rts, rts score",
    ),
    field(
        "pelvic_area",
        "pelvic area",
        "pelvic area, pelvis area, pelvic, pelvic measurement, pelvic size, pelvic measure",
    ),
    field(
        "cycling",
        "cycling finding",
        "cycling, cyclic, cyclicity, cycling status, is cycling, cycling yes no, cl, cl present,"
        " ovary, ovaries, ovary scan, ovarian scan, ovary finding, ovarian finding,"
        " ovarian status, ovary status, ovarian structures, scan finding",
    ),
    field(
        "last_heat_on",
        "last heat",
        "last heat, last heat date, last heat on, heat date, date of heat, date of last heat,"
        " date last heat, last estrus, last oestrus, last estrus date, estrus date, oestrus date,"
        " last standing heat, last seen in heat, last in heat",
        is_date=True,
    ),
    field(
        "bull_in",
        "bull in",
        "bull in, bulls in, bull in date, bulls in date, date bull in, date bulls in,"
        " bull turned in, bulls turned in, bull turn in, bull turnout, bull turn out,"
        " turn in, turn in date, turnin date, exposed from,"
        " exposure from, exposure start, exposed on, exposure date, with bull from,"
        " with bull since,"
        " bull joined, joined",
        stakes=Stakes.SAFETY,
        is_date=True,
    ),
    field(
        "bull_out",
        "bull out",
        "bull out, bulls out, bull out date, bulls out date, date bull out, date bulls out,"
        " bull pulled, bulls pulled, bull removed, bulls removed, bull removal, pull date,"
        " exposed to, exposed until, exposure to, exposure end, exposure until, with bull until,"
        " with bull to",
        stakes=Stakes.SAFETY,
        is_date=True,
    ),
    field(
        "ai_on",
        "AI date",
        "ai date, ai, ai on, date ai, date of ai, last ai, last ai date, ai d, aied, inseminated,"
        " inseminated on, insemination date, insemination, date inseminated, last insemination",
        "breeding date, bred on, bred date, date bred, bred, service date, last service,"
        " served on, date served, last bred",
        stakes=Stakes.SAFETY,
        is_date=True,
    ),
    field(
        "pregnancy",
        "pregnancy finding",
        "pregnancy, pregnancy finding, pregnancy status, pregnancy result, pregnancy diagnosis,"
        " pregnant, preg, preg status, preg result, preg finding, preg diagnosis,"
        " pregnant or open, open or pregnant, open pregnant, is pregnant, preg open",
        "pregnancy check, pregnancy check result, preg check, preg check result, pregnancy test,"
        " preg test, pd, pd result, pregcheck",
        stakes=Stakes.SAFETY,
    ),
    field(
        "pregnancy_checked_on",
        "pregnancy check date",
        "pregnancy check date, pregnancy checked on, pregnancy checked, preg check date,"
        " preg checked on, preg checked, date preg checked, pregnancy test date, preg test date,"
        " pregcheck date, date pregnancy checked, date of pregnancy check, date of preg check,"
        " pd date, date of pd, pregnancy date checked",
        "check date, checked on, date checked",
        stakes=Stakes.SAFETY,
        is_date=True,
    ),
    field(
        "pregnancy_method",
        "pregnancy check method",
        "pregnancy check method, pregnancy method, preg check method, preg method,"
        " pregnancy test method, pd method, pregnancy checked by, preg checked by",
        "check method, method",
    ),
    field(
        "hold",
        "hold",
        "hold, hold reason, on hold, reason for hold, reason to hold, hold because, hold back,"
        " do not treat, held",
        stakes=Stakes.SAFETY,
    ),
    field(
        "group",
        "group",
        "group, breeding group, management group, ai group, group name, herd group",
        "mob, lot, pen, pasture, contemporary group",
    ),
    field("sire", "sire", "sire, sire id, sire name, sire tag, sire of female, father, her sire"),
    field("dam", "dam", "dam, dam id, dam name, dam tag, dam of female, mother, her dam"),
    field(
        "estradiol",
        "ever given an estradiol ester",
        "ever given estradiol, ever treated with estradiol, ever treated with an estradiol ester,"
        " ever given estradiol ester, ever given an estradiol ester, given estradiol,"
        " treated with estradiol, estradiol, estradiol ester, estradiol treated,"
        " estradiol history, estradiol ever, oestradiol, oestradiol ever, ever given oestradiol",
    ),
    field("remarks", "remarks", "remarks, remark, notes, note, comments, comment, observations"),
)
HERD_FIELDS = FieldSet(FIELDS)
BY_KEY: dict[str, Field] = HERD_FIELDS.by_key
