"""Which straw for which female: sires assigned ahead, alternates, stock, and her own sire.

Straws are counted by tank, canister, bull and collection code. A straw used with less said than is
in stock (no canister, no code) is taken from where it can have come from; what cannot be matched is
told, never hidden.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunup.base.problems import Problem, Severity

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import datetime

UNKNOWN_SIRE = "unknown"


@dataclass(frozen=True, slots=True, order=True)
class StrawPlace:
    """One kind of straw in one place. Empty text: not said."""

    sire: str
    batch: str = ""
    semen: str = "conventional"
    tank: str = ""
    canister: str = ""

    @property
    def words(self) -> str:
        """The place as people say it."""
        kind = " (sexed)" if self.semen == "sexed" else ""
        parts = [f"{self.sire}{kind}"]
        parts += [f"code {self.batch}"] if self.batch else []
        parts += [f"tank {self.tank}"] if self.tank else []
        parts += [f"canister {self.canister}"] if self.canister else []
        return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class StrawMove:
    """Straws that came in (+) or went out (-) by a stock entry, or were counted (`is_count`).

    A count sets the place to `amount`; places the count does not name are left as they are.
    """

    at: datetime
    place: StrawPlace
    amount: float
    is_count: bool = False


@dataclass(frozen=True, slots=True)
class StrawUse:
    """A female inseminated: what the straw was and who used it."""

    at: datetime
    place: StrawPlace
    female: str
    tag: str
    technician: str = ""
    straws: int = 1


@dataclass(frozen=True, slots=True)
class StrawCount:
    """Straws of one place: bought or counted, used, left."""

    place: StrawPlace
    came: float
    used: int
    left: float


@dataclass(frozen=True, slots=True)
class Reconciled:
    """Straw stock after all uses, with what does not add up."""

    counts: tuple[StrawCount, ...]
    problems: tuple[Problem, ...]

    def left(self, sire: str, semen: str = "conventional") -> float:
        """Straws left of one sire, all places; 0 where none were ever on file."""
        key = sire_key(sire)
        return sum(
            c.left
            for c in self.counts
            if sire_key(c.place.sire) == key and c.place.semen == semen and c.left > 0
        )

    def where(self, sire: str, semen: str = "conventional") -> tuple[StrawCount, ...]:
        """Places that still hold straws of a sire, fullest first."""
        key = sire_key(sire)
        found = [
            c
            for c in self.counts
            if sire_key(c.place.sire) == key and c.place.semen == semen and c.left > 0
        ]
        return tuple(sorted(found, key=lambda c: (-c.left, c.place)))


def sire_key(name: str) -> str:
    """A sire's code for comparing: case, spaces and hyphens do not count.

    Examples
    --------
    >>> sire_key(" 7an-0123 ") == sire_key("7AN0123")
    True
    """
    return "".join(c for c in name.casefold() if c.isalnum())


def reconcile(moves: Iterable[StrawMove], uses: Iterable[StrawUse]) -> Reconciled:
    """Return straws left by place, and every use the stock cannot explain.

    Parameters
    ----------
    moves : iterable of StrawMove
        Stock entries and counts, any order. Entries of straws used (why "used") are left out by
        the caller where the inseminations are recorded too, or they would count twice.
    uses : iterable of StrawUse

    Returns
    -------
    Reconciled
        Two technicians who both used the last straw leave the place at -1: both uses stay, and the
        problem names them.
    """
    came: dict[StrawPlace, float] = defaultdict(float)
    left: dict[StrawPlace, float] = defaultdict(float)
    used: dict[StrawPlace, int] = defaultdict(int)
    users: dict[StrawPlace, list[StrawUse]] = defaultdict(list)
    problems: list[Problem] = []
    steps: list[tuple[datetime, int, StrawMove | StrawUse]] = [(m.at, 0, m) for m in moves]
    steps += [(u.at, 1, u) for u in uses]
    for _, _, step in sorted(steps, key=lambda s: (s[0], s[1])):
        if isinstance(step, StrawMove):
            _move(step, came, left, problems)
            continue
        if sire_key(step.place.sire) == UNKNOWN_SIRE:
            problems.append(
                Problem(
                    where=f"tag {step.tag}, {step.at:%Y-%m-%d}",
                    what="inseminated with a straw nobody read.",
                    fix="Count the straws left and name the sire if the count tells; her calf's "
                    "sire is not known otherwise.",
                    severity=Severity.WARNING,
                )
            )
            continue
        place = _source(step, left)
        left[place] -= step.straws
        used[place] += step.straws
        users[place].append(step)
    counts = tuple(
        StrawCount(place, came[place], used[place], left[place]) for place in sorted(left)
    )
    problems += [_short(c, users[c.place], known=came[c.place] > 0) for c in counts if c.left < 0]
    return Reconciled(counts, tuple(problems))


def _move(
    move: StrawMove,
    came: dict[StrawPlace, float],
    left: dict[StrawPlace, float],
    problems: list[Problem],
) -> None:
    if not move.is_count:
        left[move.place] += move.amount
        came[move.place] += move.amount
        return
    expected = left[move.place]
    if move.place in came and expected != move.amount:
        gap = move.amount - expected
        more = "more" if gap > 0 else "fewer"
        problems.append(
            Problem(
                where=f"{move.place.words}, counted {move.at:%Y-%m-%d}",
                what=f"{move.amount:g} straws counted where {expected:g} should be: "
                f"{abs(gap):g} {more}.",
                fix="Look for a straw used and not recorded, a straw read wrong, or one put back "
                "in another canister. The count is kept.",
                severity=Severity.WARNING,
            )
        )
    came[move.place] += move.amount - expected
    left[move.place] = move.amount


def _source(use: StrawUse, left: Mapping[StrawPlace, float]) -> StrawPlace:
    """The place a straw came from: as said, or where it can have come from."""
    said = use.place
    fits = [
        place
        for place in left
        if sire_key(place.sire) == sire_key(said.sire)
        and place.semen == said.semen
        and (not said.batch or not place.batch or place.batch == said.batch)
        and (not said.tank or not place.tank or place.tank == said.tank)
        and (not said.canister or not place.canister or place.canister == said.canister)
    ]
    if not fits:
        return said
    return min(fits, key=lambda place: (left[place] < use.straws, place != said, place))


def _short(count: StrawCount, users: Sequence[StrawUse], *, known: bool) -> Problem:
    over = int(-count.left)
    last = users[-(over + 1) :] if known else users
    named = ", ".join(
        f"tag {u.tag} ({u.technician or 'nobody named'}, {u.at:%Y-%m-%d})" for u in last
    )
    if not known:
        return Problem(
            where=count.place.words,
            what=f"{count.used} straws used, none on file in stock: {named}.",
            fix="Enter the straws bought, or read the straw again: the code may be wrong.",
            severity=Severity.WARNING,
        )
    people = {u.technician for u in last if u.technician}
    two = " Two technicians may have written down the same straw." if len(people) > 1 else ""
    return Problem(
        where=count.place.words,
        what=f"{count.used} straws used of {count.came:g}: {over} more than there were. "
        f"Last used: {named}.{two}",
        fix="Count the straws left of every sire in that canister; one of these females had "
        "another sire. Both records are kept; correct the wrong one.",
        severity=Severity.WARNING,
    )


@dataclass(frozen=True, slots=True)
class Assigned:
    """Sires for one female: first choice and alternates in order."""

    sire: str
    alternates: tuple[str, ...] = ()
    semen: str = "conventional"


@dataclass(frozen=True, slots=True)
class Choice:
    """The straw to take for one female, and what must be said about it.

    `sire` is None where no straw of any sire assigned is left that she may have.
    """

    sire: str | None
    semen: str
    is_alternate: bool
    takes_from: StrawPlace | None
    warnings: tuple[str, ...]


def kin_warning(sire: str, *, her_sire: str | None, dams_sire: str | None = None) -> str | None:
    """Say when a bull is the female's own sire, or her dam's."""
    key = sire_key(sire)
    if not key or key == UNKNOWN_SIRE:
        return None
    if her_sire and sire_key(her_sire) == key:
        return f"{sire} is her own sire: father to daughter. Take another bull."
    if dams_sire and sire_key(dams_sire) == key:
        return f"{sire} is her dam's sire: grandsire to granddaughter. Take another bull."
    return None


def choose_straw(
    assigned: Assigned,
    stock: Reconciled,
    *,
    her_sire: str | None = None,
    dams_sire: str | None = None,
    taken: Mapping[tuple[str, str], int] | None = None,
) -> Choice:
    """Return the straw for one female: first sire assigned that is in stock and no near kin.

    Parameters
    ----------
    assigned : Assigned
    stock : Reconciled
    her_sire, dams_sire : str, optional
    taken : mapping of (sire_key, semen) to int, optional
        Straws already promised to females before her on this list.
    """
    taken = taken or {}
    warnings: list[str] = []
    for place, sire in enumerate((assigned.sire, *assigned.alternates)):
        kin = kin_warning(sire, her_sire=her_sire, dams_sire=dams_sire)
        if kin:
            warnings.append(kin)
            continue
        free = _free_place(stock, sire, assigned.semen, taken)
        if free is None:
            warnings.append(f"No {assigned.semen} straw of {sire} left.")
            continue
        return Choice(
            sire=sire,
            semen=assigned.semen,
            is_alternate=place > 0,
            takes_from=free,
            warnings=tuple(warnings),
        )
    return Choice(
        None, assigned.semen, is_alternate=False, takes_from=None, warnings=tuple(warnings)
    )


def _free_place(
    stock: Reconciled, sire: str, semen: str, taken: Mapping[tuple[str, str], int]
) -> StrawPlace | None:
    """Fullest place with a straw not yet promised; places are emptied one after another."""
    promised = taken.get((sire_key(sire), semen), 0)
    for count in stock.where(sire, semen):
        if count.left - promised >= 1:
            return count.place
        promised -= int(count.left)
    return None


def choose_for_list(
    females: Sequence[tuple[str, Assigned, str | None, str | None]], stock: Reconciled
) -> dict[str, Choice]:
    """Return the straw of each female of a list, in its order, no straw promised twice.

    Parameters
    ----------
    females : sequence of (female, Assigned, her sire, her dam's sire)
    stock : Reconciled
    """
    taken: dict[tuple[str, str], int] = defaultdict(int)
    chosen: dict[str, Choice] = {}
    for female, assigned, her_sire, dams_sire in females:
        choice = choose_straw(assigned, stock, her_sire=her_sire, dams_sire=dams_sire, taken=taken)
        chosen[female] = choice
        if choice.sire is not None:
            taken[sire_key(choice.sire), choice.semen] += 1
    return chosen
