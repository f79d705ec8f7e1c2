"""Checks of one ADE resource, also for what the standard's schemas and models let through.

Severity ERROR: it cannot be taken without a guess and is put aside. WARNING: it breaks the
standard, but says what it means.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sunup.base.problems import Problem, Severity
from sunup.exchange import ade_words as ade
from sunup.exchange.ade_times import TimeFault, read_ade_day, read_ade_time

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

_ENUMS: dict[str, dict[str, frozenset[str]]] = {
    ade.ANIMAL: {
        "specie": frozenset(
            ["Buffalo", "Cattle", "Deer", "Elk", "Goat", "Horse", "Pig", "Sheep"],
        ),
        "gender": frozenset([*ade.SEXES_IN, "Unknown"]),
    },
    ade.HEAT: {
        "heatDetectionMethod": frozenset(
            ["Chemical", "Visual", "Pedometer", "Collar", "EarTag", "Bolus", "Other"]
        ),
        "certainty": frozenset(["InHeat", "Suspect"]),
    },
    ade.INSEMINATION: {
        "inseminationType": frozenset(
            ["NaturalService", "RunWithBull", "Insemination", "Implantation"]
        )
    },
    ade.CHECK: {
        "method": frozenset([*ade.METHODS_IN, "Milk", "Visual"]),
        "result": frozenset(ade.RESULTS_IN),
    },
    ade.PARTURITION: {"calvingEase": frozenset(ade.EASES)},
}
_MUST: dict[str, tuple[str, ...]] = {
    ade.ANIMAL: ("identifier", "specie", "gender"),
    ade.SET: ("id", "member"),
    ade.INSEMINATION: ("inseminationType",),
    ade.SCORE: ("traitScored", "score"),
}
_TIMES = frozenset(["modified", "created", "eventEndDateTime", "endDate", "validFrom", "validTo"])
_DAYS = frozenset(["birthDate", "expiryDate", "expectedCalvingDate", "dateCollected"])


def check_resource(resource: object, place: str) -> list[Problem]:
    """Find everything wrong with a resource.

    Parameters
    ----------
    resource : object
        One JSON value, nulls taken out.
    place : str
        File and position.

    Returns
    -------
    list of Problem
    """
    return list(_problems(resource, place))


def is_identifier(value: object) -> bool:
    """Whether a value is an identifier: scheme and id, both texts with something in them."""
    return isinstance(value, dict) and all(
        isinstance(value.get(key), str) and value[key].strip() for key in ("scheme", "id")
    )


def _problems(resource: object, place: str) -> Iterator[Problem]:
    def say(what: str, fix: str, severity: Severity = Severity.ERROR, key: str = "") -> Problem:
        where = f"{place}, {key}" if key else place
        return Problem(where=where, what=what, fix=fix, severity=severity)

    if not isinstance(resource, dict):
        yield say("It is no resource: an object is expected.", "Give ADE resources.")
        return
    name = resource.get("resourceType")
    kind = ade.find_type(name)
    if kind is None:
        yield say(
            f"resourceType '{str(name)[:60]}' is not one we take.",
            f"Taken are: {', '.join((*ade.TAKEN, *ade.DERIVED))}.",
            key="resourceType",
        )
        return
    for key in _MUST.get(kind, ()):
        if resource.get(key) in (None, ""):
            yield say(f"{key} is missing.", "The standard requires it.", key=key)
    if kind not in {ade.ANIMAL, ade.SET} and not is_identifier(resource.get("animal")):
        yield say("It names no animal by scheme and id.", "The standard requires it.", key="animal")
    if (
        kind == ade.ANIMAL
        and "identifier" in resource
        and not is_identifier(resource["identifier"])
    ):
        yield say("The identifier has no scheme and id.", "Give both.", key="identifier")
    for key, allowed in _ENUMS.get(kind, {}).items():
        if key in resource and str(resource[key]) not in allowed:
            yield say(
                f"{key} '{str(resource[key])[:40]}' is no word of the standard.",
                f"Allowed: {', '.join(sorted(allowed))}.",
                key=key,
            )
    if kind in ade.EVENTS and "eventDateTime" not in resource:
        yield say("eventDateTime is missing.", "Say when it happened.", key="eventDateTime")
    yield from _times(resource, say, "")
    yield from _meta(resource, say)


def _times(value: Mapping[str, Any], say: Any, path: str) -> Iterator[Problem]:
    """Check every time of a resource, also in what it embeds."""
    for key, one in value.items():
        at = f"{path}{key}"
        if key.endswith("DateTime") or key in _TIMES:
            try:
                _, is_utc = read_ade_time(one)
            except TimeFault as fault:
                fix = "Write it as 2026-05-10T11:30:00Z."
                yield say(f"{key} '{str(one)[:40]}' {fault}.", fix, key=at)
                continue
            if not is_utc:
                what = f"{key} '{one}' is not in UTC, as the standard demands; it was read by its"
                yield say(f"{what} offset.", "Write it with Z.", Severity.WARNING, at)
        elif key in _DAYS:
            try:
                read_ade_day(one)
            except TimeFault as fault:
                fix = "Write it as 2026-05-10T00:00:00Z."
                yield say(f"{key} '{str(one)[:40]}' {fault}.", fix, key=at)
        elif isinstance(one, dict):
            yield from _times(one, say, f"{at}.")
        elif isinstance(one, list):
            for part in one:
                if isinstance(part, dict):
                    yield from _times(part, say, f"{at}.")


def _meta(resource: Mapping[str, Any], say: Any) -> Iterator[Problem]:
    meta = resource.get("meta", {})
    if not isinstance(meta, dict):
        yield say("meta is no object.", "Ask for other files.", key="meta")
        return
    if not meta.get("source") or not meta.get("sourceId"):
        yield say(
            "meta has no source and sourceId: it is known again only while not a letter changes.",
            "Ask for files with meta.",
            Severity.WARNING,
            "meta",
        )
        return
    if not isinstance(meta["source"], str) or not isinstance(meta["sourceId"], str):
        yield say(
            "meta.source and meta.sourceId must be texts.", "Ask for other files.", key="meta"
        )
    if not isinstance(meta.get("isDeleted", False), bool):
        yield say("meta.isDeleted is neither true nor false.", "Ask for other files.", key="meta")
    if "modified" not in meta:
        yield say(
            "meta.modified is missing: a later change cannot be told from an earlier one.",
            "Ask for files with meta.modified.",
            Severity.NOTICE,
            "meta",
        )
