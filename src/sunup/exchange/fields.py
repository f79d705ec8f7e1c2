"""The facts of a female that a herd file may hold, and the headers people give them."""

from __future__ import annotations

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


def _names(text: str) -> tuple[str, ...]:
    return tuple(name.strip() for name in text.split(","))


def _field(key: str, words: str, names: str, *more: str, **kinds: object) -> Field:
    ranks = tuple(_names(text) for text in (names, *more))
    return Field(key, words, ranks, **kinds)  # type: ignore[arg-type]


FIELDS: tuple[Field, ...] = (
    _field(
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
    _field(
        "rfid",
        "RFID",
        "rfid, rfid tag, rfid number, rfid no, rfid tag number, eid, eid tag, eid number, eid no,"
        " electronic id, electronic tag, electronic ear tag, electronic eartag,"
        " electronic identification, e id, transponder, transponder number, 15 digit id,"
        " official id, official tag, official ear tag, official eartag, official number, ain,"
        " 840, 840 tag, 840 number, 840 id, tag 840",
    ),
    _field(
        "class",
        "class",
        "class, animal class, female class, cow class, class of animal",
        "type, category, female type, cow type, animal type, age class, kind, cow or heifer,"
        " heifer or cow",
        stakes=Stakes.SAFETY,
    ),
    _field(
        "calvings",
        "number of calvings",
        "calvings, number of calvings, no of calvings, parity, times calved, calves born,"
        " number of calves, no of calves, calves so far, lactation number",
    ),
    _field(
        "breed",
        "breed",
        "breed, breeds, breed composition, breed comp, breed shares, breed makeup, breed make up,"
        " breed type, breed code, composition, breed cross, breed percent",
    ),
    _field(
        "born_on",
        "birth date",
        "birth date, birthdate, date of birth, dob, born, born on, birthday, date born, birth,"
        " birth dt, cow birth date, heifer birth date",
        is_date=True,
    ),
    _field(
        "calved_on",
        "calving date",
        "calved, calved on, calving date, calving, calve date, calved date, date calved,"
        " date of calving, last calved, last calving, last calving date, date last calved,"
        " date of last calving, most recent calving, most recent calving date, calving dt",
        "calf born, calf born on, calf birth date, calf birthdate, calf dob, calf date of birth",
        stakes=Stakes.SAFETY,
        is_date=True,
    ),
    _field(
        "due_on",
        "due date",
        "due, due on, due date, due to calve, expected calving, expected calving date,"
        " calving due, expected to calve, expected calving on",
        is_date=True,
    ),
    _field(
        "calving_ease",
        "calving ease",
        "calving ease, calving ease score, ease of calving, calving difficulty,"
        " calving difficulty score, calving score, dystocia, dystocia score, birth ease",
    ),
    _field(
        "retained_membranes",
        "retained membranes",
        "retained membranes, retained placenta, retained afterbirth, retained fetal membranes,"
        " retained foetal membranes, retained cleanings, placenta retained, afterbirth retained",
    ),
    _field(
        "condition",
        "body condition",
        "body condition, body condition score, bcs, condition, condition score, cond, body score,"
        " cow condition, bcs score, bcs at breeding, bcs now",
    ),
    _field(
        "weight",
        "weight",
        "weight, wt, body weight, body wt, live weight, liveweight, live wt, current weight,"
        " current wt, weight now, scale weight, cow weight, heifer weight, cow wt, heifer wt,"
        " breeding weight, prebreeding weight",
        is_weight=True,
    ),
    _field(
        "mature_weight",
        "mature weight",
        "mature weight, mature wt, mature cow weight, mature cow wt, expected mature weight,"
        " adult weight, mature body weight, mature size, herd mature weight",
        is_weight=True,
    ),
    _field(
        "tract_score",
        "tract score",
        "tract score, tract, reproductive tract score, reproductive tract, repro tract score,"
        " repro score, rts, rts score",
    ),
    _field(
        "pelvic_area",
        "pelvic area",
        "pelvic area, pelvis area, pelvic, pelvic measurement, pelvic size, pelvic measure",
    ),
    _field(
        "cycling",
        "cycling finding",
        "cycling, cyclic, cyclicity, cycling status, is cycling, cycling yes no, cl, cl present,"
        " ovary, ovaries, ovary scan, ovarian scan, ovary finding, ovarian finding,"
        " ovarian status, ovary status, ovarian structures, scan finding",
    ),
    _field(
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
    _field(
        "bull_out",
        "bull out",
        "bull out, bulls out, bull out date, bulls out date, date bull out, date bulls out,"
        " bull pulled, bulls pulled, bull removed, bulls removed, bull removal, pull date,"
        " exposed to, exposed until, exposure to, exposure end, exposure until, with bull until,"
        " with bull to",
        stakes=Stakes.SAFETY,
        is_date=True,
    ),
    _field(
        "ai_on",
        "AI date",
        "ai date, ai, ai on, date ai, date of ai, last ai, last ai date, ai d, aied, inseminated,"
        " inseminated on, insemination date, insemination, date inseminated, last insemination",
        "breeding date, bred on, bred date, date bred, bred, service date, last service,"
        " served on, date served, last bred",
        stakes=Stakes.SAFETY,
        is_date=True,
    ),
    _field(
        "pregnancy",
        "pregnancy finding",
        "pregnancy, pregnancy finding, pregnancy status, pregnancy result, pregnancy diagnosis,"
        " pregnant, preg, preg status, preg result, preg finding, preg diagnosis,"
        " pregnant or open, open or pregnant, open pregnant, is pregnant, preg open",
        "pregnancy check, pregnancy check result, preg check, preg check result, pregnancy test,"
        " preg test, pd, pd result, pregcheck",
        stakes=Stakes.SAFETY,
    ),
    _field(
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
    _field(
        "pregnancy_method",
        "pregnancy check method",
        "pregnancy check method, pregnancy method, preg check method, preg method,"
        " pregnancy test method, pd method, pregnancy checked by, preg checked by",
        "check method, method",
    ),
    _field(
        "hold",
        "hold",
        "hold, hold reason, on hold, reason for hold, reason to hold, hold because, hold back,"
        " do not treat, held",
        stakes=Stakes.SAFETY,
    ),
    _field(
        "group",
        "group",
        "group, breeding group, management group, ai group, group name, herd group",
        "mob, lot, pen, pasture, contemporary group",
    ),
    _field("sire", "sire", "sire, sire id, sire name, sire tag, sire of female, father, her sire"),
    _field("dam", "dam", "dam, dam id, dam name, dam tag, dam of female, mother, her dam"),
    _field(
        "estradiol",
        "ever given an estradiol ester",
        "ever given estradiol, ever treated with estradiol, ever treated with an estradiol ester,"
        " ever given estradiol ester, ever given an estradiol ester, given estradiol,"
        " treated with estradiol, estradiol, estradiol ester, estradiol treated,"
        " estradiol history, estradiol ever, oestradiol, oestradiol ever, ever given oestradiol",
    ),
    _field("remarks", "remarks", "remarks, remark, notes, note, comments, comment, observations"),
)
BY_KEY: dict[str, Field] = {one.key: one for one in FIELDS}
