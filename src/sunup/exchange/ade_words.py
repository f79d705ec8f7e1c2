"""Names and word lists of the ICAR Animal Data Exchange (ADE), release line 1.3.

Taken from the standard's published schemas; the tests hold everything written here against the
models of the standard. Identifier schemes of our own stand under ``internal.sunup``.
"""

from __future__ import annotations

import re

OURS = "internal.sunup"
RANCH_SCHEME = f"{OURS}.ranch"
FEMALE_SCHEME = f"{OURS}.female"
TAG_SCHEME = f"{OURS}.tag"
SIRE_SCHEME = f"{OURS}.sire"
BREED_SCHEME = f"{OURS}.breed"
ACT_SCHEME = f"{OURS}.act"
US_OFFICIAL = "usa.ain"
ELECTRONIC = "std.iso.11785"

ANIMAL = "icarAnimalCoreResource"
SET = "icarAnimalSetResource"
HEAT = "icarReproHeatEventResource"
INSEMINATION = "icarReproInseminationEventResource"
STRAW = "icarReproSemenStrawResource"
CHECK = "icarReproPregnancyCheckEventResource"
PARTURITION = "icarReproParturitionEventResource"
PROGENY = "icarProgenyDetailsResource"
ABORTION = "icarReproAbortionEventResource"
DO_NOT_BREED = "icarReproDoNotBreedEventResource"
TREATMENT = "icarTreatmentEventResource"
WEIGHT = "icarWeightEventResource"
SCORE = "icarConformationScoreEventResource"
DEPARTURE = "icarMovementDepartureEventResource"
DEATH = "icarMovementDeathEventResource"
STATUS = "icarReproStatusObservedEventResource"
GESTATION = "icarGestationResource"

EVENTS = (
    HEAT,
    INSEMINATION,
    CHECK,
    PARTURITION,
    ABORTION,
    DO_NOT_BREED,
    TREATMENT,
    WEIGHT,
    SCORE,
    DEPARTURE,
    DEATH,
)
DERIVED = (STATUS, GESTATION)  # follow from the events: compared, never taken
TAKEN = (ANIMAL, SET, *EVENTS)
_BY_SHORT = {
    re.sub("^icar|Resource$", "", name).casefold(): name for name in (*TAKEN, *DERIVED)
} | {"reproinsemonationevent": INSEMINATION}  # as the standard's own catalogue misspells it


def find_type(name: object) -> str | None:
    """Tell which resource a `resourceType` names, in any of its spellings; None if not known here.

    Examples
    --------
    >>> find_type("icar:ReproHeatEvent") == find_type("ReproHeatEvent") == HEAT
    True
    """
    if not isinstance(name, str):
        return None
    plain = name.strip().casefold().removeprefix("icar:").removeprefix("icar")
    return _BY_SHORT.get(plain.removesuffix("resource"))


SIGNS = {
    "standing": "StandsUnder",
    "mounting": "InterestedInOtherAnimals",
    "mucus": "Slime",
    "blood": "Blood",
}
SIGNS_IN = {
    "StandsUnder": "standing",
    "InterestedInOtherAnimals": "mounting",
    "Slime": "mucus",
    "ClearSlime": "mucus",
    "Blood": "blood",
}
METHODS = {
    "ultrasound": "Echography",
    "palpation": "Palpation",
    "blood": "Blood",
    "other": "Other",
}
METHODS_IN = {name: ours for ours, name in METHODS.items()}
RESULTS_IN = {
    "Empty": "not_pregnant",
    "Pregnant": "pregnant",
    "Multiple": "pregnant",
    "Unknown": "unsure",
}
EASES = (
    "EasyUnassisted",
    "EasyAssisted",
    "DifficultExtraAssistance",
    "DifficultVeterinaryCare",
    "CaesareanOrSurgery",
)
SEXES = {"female": "Female", "male": "Male"}
SEXES_IN = {
    "Female": "female",
    "FemaleNeuter": "female",
    "Male": "male",
    "MaleCryptorchid": "male",
    "MaleNeuter": "male",
}
MASS_KG = {"KGM": 1.0, "GRM": 0.001, "LBR": 0.45359237, "TNE": 1000.0}
REPRODUCTIVE = "Animal Reproductive Products"  # family of a medicine, compulsory from 1.4
OTHER_PRODUCTS = "Other Animal Products"
