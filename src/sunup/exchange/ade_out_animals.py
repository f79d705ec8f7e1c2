"""A female as an ADE animal: official number first, tag and our own id beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.exchange import ade_words as ade
from sunup.exchange.ade_out_events import bare, calving_fields
from sunup.records.event import Kind

if TYPE_CHECKING:
    from sunup.exchange.roster import Known
    from sunup.exchange.standing import Standing

_UNITED_STATES = "840"


def animal_words(known: Known) -> dict[str, str]:
    """How events name her: her electronic number, else our own id of her."""
    if known.rfid:
        official = known.rfid.startswith(_UNITED_STATES)
        return {"scheme": ade.US_OFFICIAL if official else ade.ELECTRONIC, "id": known.rfid}
    return {"scheme": ade.FEMALE_SCHEME, "id": known.id}


def animal_resource(known: Known) -> dict[str, Any]:
    """Write a female."""
    body = known.added.body if known.added else {}
    identifier = animal_words(known)
    others = [
        {"scheme": ade.FEMALE_SCHEME, "id": known.id},
        {"scheme": ade.TAG_SCHEME, "id": known.tag},
    ]
    born = body.get("born_on")
    return {
        "resourceType": ade.ANIMAL,
        "identifier": identifier,
        "alternativeIdentifiers": [one for one in others if one != identifier and one["id"]],
        "specie": "Cattle",
        "gender": "Female",
        "birthDate": f"{born}T00:00:00Z" if born else None,
        **_breeds(body.get("breed_shares")),
        "managementTag": known.tag,
        "productionPurpose": "Meat",
        "status": _status(known),
        "parentage": _parents(identifier, sire=body.get("sire"), dam=body.get("dam")),
    }


def tombstone(one: Standing) -> dict[str, Any]:
    """Write a female who was taken back, or found to be another."""
    return {
        "resourceType": ade.ANIMAL,
        "identifier": {"scheme": ade.FEMALE_SCHEME, "id": one.filed_under or one.female or ""},
        "specie": "Cattle",
        "gender": "Female",
        "managementTag": one.body.get("tag"),
    }


def calved_before(known: Known) -> dict[str, Any] | None:
    """Write the calving she had before the ledger began, as the list told it: a day, no hour."""
    body = known.added.body if known.added else {}
    day = body.get("calved_on")
    if not day:
        return None
    return bare(
        {
            "resourceType": ade.PARTURITION,
            "animal": animal_words(known),
            "eventDateTime": f"{day}T00:00:00Z",
            **calving_fields(body.get("calving_ease"), calves=[]),
        }
    )


def _status(known: Known) -> str:
    if known.is_here:
        return "Alive"
    left = [fact for fact in known.facts if fact.kind is Kind.LEFT_HERD][-1]
    why = left.body.get("why")
    return "Dead" if why == "died" else "Unknown" if why == "missing" else "OffFarm"


def _breeds(shares: Any) -> dict[str, Any]:
    if not isinstance(shares, dict) or not shares:
        return {}
    names = sorted(shares, key=lambda name: (-shares[name], name))
    fractions = [
        {
            "breed": {"scheme": ade.BREED_SCHEME, "id": name},
            "fraction": round(shares[name] * 100, 8),
        }
        for name in names
    ]
    return {
        "primaryBreed": {"scheme": ade.BREED_SCHEME, "id": names[0]},
        "breedFractions": {"denominator": 100, "fractions": fractions},
    }


def _parents(of: dict[str, str], *, sire: Any, dam: Any) -> list[dict[str, Any]]:
    pairs = ((sire, "Male", ade.SIRE_SCHEME), (dam, "Female", ade.TAG_SCHEME))
    return [
        {
            "parentOf": of,
            "gender": gender,
            "relation": "Genetic",
            "identifier": {"scheme": scheme, "id": name},
        }
        for name, gender, scheme in pairs
        if name
    ]
