"""ADE animals and sets against the herd: who is who, who is new, who is in which group."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sunup.exchange import ade_words as ade
from sunup.exchange.ade_checks import is_identifier
from sunup.exchange.ade_times import read_ade_day
from sunup.exchange.drafts import draw_id
from sunup.exchange.rfid import read_rfid

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sunup.exchange.roster import Known, Roster

_RFID_SCHEMES = frozenset({ade.US_OFFICIAL, ade.ELECTRONIC})
Name = tuple[str, str]  # scheme, id


@dataclass(slots=True)
class Names:
    """Whom each identifier means: an id of a female; none where two could be meant."""

    of: dict[Name, str] = field(default_factory=dict)
    torn: set[Name] = field(default_factory=set)

    def add(self, name: Name, female: str) -> None:
        """Bind an identifier to a female; one bound to two means neither."""
        if self.of.setdefault(name, female) != female:
            self.torn.add(name)

    def find(self, identifier: Mapping[str, Any]) -> str | None:
        """Find whom an identifier means."""
        for name in spellings(identifier):
            if name in self.of and name not in self.torn:
                return self.of[name]
        return None


def spellings(identifier: Mapping[str, Any]) -> list[Name]:
    """Return an identifier as we compare it; electronic numbers are one, whatever their scheme."""
    scheme, id_ = str(identifier["scheme"]).strip(), str(identifier["id"]).strip()
    if scheme in _RFID_SCHEMES:
        code = read_rfid(id_)
        if isinstance(code, str):
            return [(ade.ELECTRONIC, code)]
    return [(scheme, id_)]


def names_of(roster: Roster, filed: Mapping[str, str]) -> Names:
    """Bind what the ledger knows: its own ids and electronic numbers.

    Parameters
    ----------
    roster : Roster
    filed : mapping
        Ids of females who were found to be another, to that other.
    """
    names = Names()
    for known in roster.by_id.values():
        names.add((ade.FEMALE_SCHEME, known.id), known.id)
        if known.rfid:
            names.add((ade.ELECTRONIC, known.rfid), known.id)
    for one, other in filed.items():
        names.add((ade.FEMALE_SCHEME, one), other)
    return names


def identifiers_of(resource: Mapping[str, Any]) -> list[dict[str, Any]]:
    """All identifiers of an animal, the official first."""
    others = resource.get("alternativeIdentifiers")
    found = [resource.get("identifier"), *(others if isinstance(others, list) else [])]
    return [one for one in found if is_identifier(one)]


@dataclass(frozen=True, slots=True)
class Animal:
    """An animal resource as a female: her id here, what she is called, the body of her event.

    `known` is she, where she is on file already.
    """

    female: str
    tag: str
    rfid: str | None
    body: dict[str, Any]
    used: frozenset[str]
    known: Known | None = None


class NotFoundError(ValueError):
    """An animal who cannot be told apart from others; says why she is put aside."""


def read_animal(resource: Mapping[str, Any], roster: Roster, key: tuple[str, str]) -> Animal:
    """Turn a checked animal resource into a female.

    Parameters
    ----------
    resource : mapping
    roster : Roster
    key : tuple of str
        Source and id at the source; her id here is drawn from it where she brings none.

    Raises
    ------
    NotFoundError
        If she is no female of cattle, has no name, or more than one on file could be meant.
    """
    if resource["specie"] != "Cattle" or resource["gender"] != "Female":
        told = f"{resource['specie']}, {resource['gender']}"
        message = f"{told}: only females of cattle are held"
        raise NotFoundError(message)
    identifiers = identifiers_of(resource)
    rfid = None
    for one in identifiers:
        code = read_rfid(one["id"]) if one["scheme"] in _RFID_SCHEMES else None
        rfid = rfid or (code if isinstance(code, str) else None)
    tag = resource.get("managementTag")
    if not isinstance(tag, str) or not tag.strip():
        tag = _first(identifiers, ade.TAG_SCHEME) or resource.get("name") or rfid
    if not isinstance(tag, str):
        tag = identifiers[0]["id"]
    tag = tag.strip()
    ours = _first(identifiers, ade.FEMALE_SCHEME)
    known = roster.by_id.get(ours) if ours else None
    if known is None and not ours:
        match = roster.find(tag, rfid)
        known = match.female
        if known is None and not match.is_unknown:
            raise NotFoundError(match.why)
    female = known.id if known else ours or draw_id(*key, "female")
    body, used = _body(resource, tag, rfid)
    return Animal(female, tag, rfid, body, frozenset(used), known)


def _first(identifiers: Iterable[Mapping[str, Any]], scheme: str) -> str | None:
    return next((str(one["id"]) for one in identifiers if one["scheme"] == scheme), None)


def _body(
    resource: Mapping[str, Any], tag: str, rfid: str | None
) -> tuple[dict[str, Any], set[str]]:
    body: dict[str, Any] = {"tag": tag, "listed": True}
    used = {
        "identifier",
        "alternativeIdentifiers",
        "specie",
        "gender",
        "managementTag",
        "status",
        "reproductionStatus",
    }
    if resource.get("productionPurpose") == "Meat":
        used.add("productionPurpose")
    if rfid:
        body["rfid"] = rfid
    if "birthDate" in resource:
        body["born_on"] = read_ade_day(resource["birthDate"]).isoformat()
        used.add("birthDate")
    shares = _shares(resource)
    if shares:
        body["breed_shares"] = shares
        used |= {"breedFractions", "primaryBreed"}
    parents = resource.get("parentage")
    for parent in parents if isinstance(parents, list) else ():
        if not isinstance(parent, dict) or not is_identifier(parent.get("identifier")):
            continue
        role = {"Male": "sire", "Female": "dam"}.get(str(parent.get("gender")))
        if role and parent.get("relation", "Genetic") == "Genetic":
            official = parent.get("officialName")
            named = official if isinstance(official, str) and official else None
            body[role] = named or str(parent["identifier"]["id"])
            used.add("parentage")
    return body, used


def _shares(resource: Mapping[str, Any]) -> dict[str, float]:
    """Read breed shares; the breed alone where only that is told is the whole."""
    told = resource.get("breedFractions")
    if isinstance(told, dict) and isinstance(told.get("fractions"), list):
        whole = told.get("denominator")
        if isinstance(whole, int) and whole > 0:
            shares = {
                str(one["breed"]["id"]): one["fraction"] / whole
                for one in told["fractions"]
                if isinstance(one, dict)
                and is_identifier(one.get("breed"))
                and isinstance(one.get("fraction"), int | float)
            }
            if shares and sum(shares.values()) <= 1.001:
                return shares
    breed = resource.get("primaryBreed")
    if is_identifier(breed) and "breedFractions" not in resource and isinstance(breed, dict):
        return {str(breed["id"]): 1.0}
    return {}
