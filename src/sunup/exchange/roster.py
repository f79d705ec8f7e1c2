"""Who is in the herd, as files need to know it: found by electronic code, then by tag."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sunup.records.event import Kind

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sunup.exchange.standing import Standing


@dataclass(slots=True)
class Known:
    """A female of the ledger: what she is called and which facts of her stand."""

    id: str
    tag: str = ""
    rfid: str | None = None
    group: str | None = None
    is_here: bool = True
    added: Standing | None = None
    facts: list[Standing] = field(default_factory=list)
    new_tag: str = ""  # as last changed; goes before the one she was added with

    @property
    def words(self) -> str:
        """How she is named in a message."""
        left = "" if self.is_here else " (left the herd)"
        return f"{self.tag or 'no tag'}{left}"


@dataclass(frozen=True, slots=True)
class Match:
    """Whom a row of a file is about.

    `female` is None where nobody or more than one fits; `why` then says which; `look` is something
    to look at though she was found.
    """

    female: Known | None
    why: str = ""
    look: str = ""
    is_unknown: bool = False


@dataclass(slots=True)
class Roster:
    """The females of a ledger by id, electronic code and tag."""

    by_id: dict[str, Known] = field(default_factory=dict)
    by_rfid: dict[str, list[Known]] = field(default_factory=dict)
    by_tag: dict[str, list[Known]] = field(default_factory=dict)
    group_facts: dict[str, list[Standing]] = field(default_factory=dict)

    def of_group(self, name: str | None) -> list[Standing]:
        """What was done to a group as a whole, in time order."""
        return self.group_facts.get(name or "", [])

    def find(self, tag: str | None, rfid: str | None) -> Match:
        """Find the female a file means: electronic code first, then tag; never a guess.

        Parameters
        ----------
        tag, rfid : str or None
            As the file has them.
        """
        tagged = self._by_tag(tag)
        coded = self.by_rfid.get(rfid or "", [])
        if len(coded) > 1:
            return Match(None, f"{len(coded)} females on file carry RFID {rfid}")
        if coded:
            one = coded[0]
            if tagged and one not in tagged:
                names = ", ".join(other.words for other in tagged)
                return Match(
                    None,
                    f"RFID {rfid} is {one.words} on file, but tag {tag} is another ({names})",
                )
            if tag and not tagged:
                return Match(one, look=f"her tag on file is {one.words}, the file says {tag}")
            return Match(one)
        if len(tagged) > 1:
            return Match(None, f"{len(tagged)} females on file wear tag {tag}")
        if tagged:
            one = tagged[0]
            if rfid and one.rfid and one.rfid != rfid:
                return Match(None, f"tag {tag} has RFID {one.rfid} on file, the file says {rfid}")
            return Match(one)
        name = f"tag {tag}" if tag else f"RFID {rfid}"
        return Match(None, f"nobody on file has {name}", is_unknown=True)

    def _by_tag(self, tag: str | None) -> list[Known]:
        """Those who wear a tag now; those who left only where nobody here wears it."""
        worn = self.by_tag.get((tag or "").casefold(), [])
        return [one for one in worn if one.is_here] or worn


def build_roster(standing: Iterable[Standing]) -> Roster:
    """Gather the females of a ledger.

    Parameters
    ----------
    standing : iterable of Standing
        In time order (``sunup.exchange.standing.stand``).
    """
    roster = Roster()
    for one in standing:
        if one.is_taken_back or one.kind is Kind.IDENTIFIED:
            continue
        if one.female is None:
            if one.group:
                roster.group_facts.setdefault(one.group, []).append(one)
            continue
        known = roster.by_id.get(one.female)
        if known is None:
            known = roster.by_id[one.female] = Known(one.female)
        _learn(known, one)
    for known in list(roster.by_id.values()):
        if known.added is None:
            del roster.by_id[known.id]
            continue
        if known.rfid:
            roster.by_rfid.setdefault(known.rfid, []).append(known)
        roster.by_tag.setdefault(known.tag.casefold(), []).append(known)
    return roster


def _learn(known: Known, one: Standing) -> None:
    body = one.body
    if one.kind is Kind.FEMALE_ADDED:
        known.is_here = True
        if known.added is not None and known.added.body.get("listed") and not body.get("listed"):
            return  # the other half of a female met twice: the one on file names her
        known.added = one
        known.tag = known.new_tag or str(body.get("tag", ""))
        known.rfid = known.rfid or body.get("rfid")
        return
    known.facts.append(one)
    if one.kind is Kind.TAG_CHANGED:
        known.new_tag = str(body.get("tag") or known.new_tag)
        known.tag = known.new_tag or known.tag
        known.rfid = body.get("rfid") or known.rfid
    elif one.kind is Kind.MOVED:
        known.group = str(body.get("to") or "") or None
        known.is_here = True
    elif one.kind is Kind.LEFT_HERD:
        known.group = None
        known.is_here = False
