"""What is odd across females: tags, groups, counts, stock, clocks, and what found no place."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

from sunup.base.problems import Severity, some
from sunup.records import observations as o
from sunup.records.odd import Odd, OddLimits, day, name_of
from sunup.records.odd_bulls import bulls_twice
from sunup.records.odd_case import Case, days
from sunup.records.odd_female import check_female
from sunup.records.order import entered_at, happened_at

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import date, datetime

    from sunup.records.state import Balance, FemaleRecord, HerdState, StockKey

_ROUNDING = 1e-6
_SHOWN = 5  # tags named in one message
_TO_THE_HOUR = (
    o.Treated,
    o.InsertPlaced,
    o.InsertRemoved,
    o.Inseminated,
    o.HeatSeen,
    o.HeatAidRead,
)
_TO_THE_DAY = (
    o.Calved,
    o.Aborted,
    o.PregnancyChecked,
    o.Weaned,
    o.Vaccinated,
    o.LeftHerd,
)
_WHAT = {"head": "head", "inserts": "inserts", "straws": "straws", "doses": "doses"}


def find_odd(state: HerdState, limits: OddLimits, *, at: datetime | None = None) -> tuple[Odd, ...]:
    """Return everything odd in a ledger.

    Parameters
    ----------
    state : HerdState
    limits : OddLimits
    at : datetime, optional
        The instant looked from; the latest thing recorded where absent. Only an insert still in
        depends on it.

    Returns
    -------
    tuple of Odd
        In order of time, those without one last.
    """
    seen_from = at or state.last_at
    if seen_from is None:
        return ()
    found: list[Odd] = []
    for female in (*state.females.values(), *state.unplaced.values()):
        case = Case(female=female, with_bulls=state.with_bulls(female), limits=limits, at=seen_from)
        found += check_female(case)
    for rule in _RULES:
        found += rule(state, limits)
    return tuple(sorted(found, key=_place))


def _place(odd: Odd) -> tuple[bool, float, str, str, tuple[str, ...]]:
    moment = 0.0 if odd.at is None else odd.at.timestamp()
    return odd.at is None, moment, odd.rule, odd.where, odd.events


def _some(tags: list[str]) -> str:
    return some(sorted(set(tags)), _SHOWN)


def _more_out_than_in(state: HerdState, _: OddLimits) -> Iterator[Odd]:
    went_in: dict[str, int] = defaultdict(int)
    came_out: dict[str, list[o.InsertRemoved]] = defaultdict(list)
    for female in state.females.values():
        for x in female.log:
            if isinstance(x, o.InsertPlaced):
                went_in[female.group_at(x.at)] += 1
            elif isinstance(x, o.InsertRemoved) and x.found:
                came_out[female.group_at(x.at)].append(x)
    for group, out in came_out.items():
        n = went_in[group]
        if len(out) > n:
            last = max(out, key=lambda x: x.at)
            yield Odd(
                rule="more_out_than_in",
                where=f"{f'group {group}' if group else 'females in no group'}, {day(last.on)}",
                what=f"{len(out)} inserts are recorded out and {n} in.",
                fix="Count the inserts taken out, and look for females whose insert was not "
                "recorded in, or was recorded in another group.",
                at=last.at,
            )


def _melengestrol(state: HerdState, _: OddLimits) -> Iterator[Odd]:
    members: dict[str, list[tuple[FemaleRecord, datetime, datetime | None]]] = defaultdict(list)
    fed = {
        name: [x for x in group.of(o.Fed) if x.feed == "melengestrol"]
        for name, group in state.groups.items()
    }
    for female in state.females.values():
        for stay in female.stays:
            if fed.get(stay.group):
                members[stay.group].append((female, stay.from_at, stay.until_at))
        own = [x for x in female.of(o.Fed) if x.feed == "melengestrol" and _has_calved(female, x)]
        if own:
            yield _fed_to_cows(name_of(female), own[0], [female.tag])
    for name, log in fed.items():
        for x in log:
            cows = [
                female.tag
                for female, start, end in members[name]
                if start <= x.at and (end is None or x.at < end) and _has_calved(female, x)
            ]
            if cows:
                yield _fed_to_cows(f"group {name}", x, cows)
                break  # once a group: the days after it say the same


def _fed_to_cows(where: str, x: o.Fed, cows: list[str]) -> Odd:
    return Odd(
        rule="melengestrol_to_cows",
        where=f"{where}, {day(x.on)}",
        what=f"Melengestrol was fed and {len(cows)} of those fed had calved: {_some(cows)}. It is "
        "for heifers only; feed use outside the label is barred.",
        fix="Stop feeding it to them, keep them from slaughter and milk from sale until the "
        "veterinarian has said for how long. If a class or group is wrong, put it right.",
        at=x.at,
        events=(x.event,),
    )


def _has_calved(female: FemaleRecord, x: o.Observation) -> bool:
    added = female.added
    listed = added is not None and (
        added.class_ in {"cow", "first_calf_cow"} or added.calved_on is not None
    )
    return listed or any(c.at <= x.at for c in female.of(o.Calved))


def _shared_tags(state: HerdState, _: OddLimits) -> Iterator[Odd]:
    wearing: dict[tuple[str, str], list[FemaleRecord]] = defaultdict(list)
    for female in state.females.values():
        if female.is_here:
            if female.tag:
                wearing["tag", female.tag.strip().casefold()].append(female)
            if female.rfid:
                wearing["electronic code", female.rfid.strip()].append(female)
    for (what, _key), females in wearing.items():
        if len(females) < 2:
            continue
        worn = females[0].tag if what == "tag" else females[0].rfid or ""
        last = max((f.tags[-1] for f in females), key=lambda t: t.from_at)
        unlisted = sum(not f.is_listed for f in females)
        yield Odd(
            rule="shared_tag",
            where=f"{what} {worn}",
            what=f"{len(females)} females wear it"
            + (f", {unlisted} of them met at the chute and on no list." if unlisted else "."),
            fix="If they are one female, say so (sunup season identify); if not, give one of them "
            "another tag and record it.",
            at=last.from_at,
            events=tuple(f.tags[-1].event for f in females),
        )


def _unlisted(state: HerdState, _: OddLimits) -> Iterator[Odd]:
    for female in state.females.values():
        if not female.is_listed and female.added is not None:
            yield Odd(
                rule="unlisted",
                where=name_of(female),
                what=f"She was met on {day(female.added.on)} and is on no list.",
                fix="Say who she is (sunup season identify), or put her on file.",
                at=female.added.at,
                female=female.id,
                events=(female.added.event,),
                severity=Severity.NOTICE,
            )


def _late_entries(state: HerdState, limits: OddLimits) -> Iterator[Odd]:
    late: dict[tuple[date, date, str], list[tuple[str, o.Observation]]] = defaultdict(list)
    ahead: dict[tuple[date, date, str], list[tuple[str, o.Observation]]] = defaultdict(list)
    for female in state.females.values():
        for x in female.log:
            if not isinstance(x, (*_TO_THE_HOUR, *_TO_THE_DAY)):
                continue
            told_at = _told_at(state, x)
            wait = days(x.at, told_at)
            key = (x.on, o.local_day(told_at, x.zone), x.by)
            if isinstance(x, _TO_THE_DAY):  # of a day without a clock time noon stands
                if x.on > key[1]:
                    ahead[key].append((female.tag, x))
            elif wait * 24 < -limits.entered_ahead_h:
                ahead[key].append((female.tag, x))
            elif wait > limits.entered_late_d and x.corrected_by is None:
                late[key].append((female.tag, x))
    for (on, entered, by), found in late.items():
        who = f" by {by}" if by else ""
        yield Odd(
            rule="entered_late",
            where=f"{day(on)}, {_females(found)}",
            what=f"{_entries(found)} made {(entered - on).days} days later{who}, on "
            f"{day(entered)}.",
            fix="If they were noted down at the time all is well; hours from memory are not to be "
            "relied on.",
            at=found[0][1].at,
            events=tuple(x.event for _, x in found),
            severity=Severity.NOTICE,
        )
    for (on, entered, by), found in ahead.items():
        who = f" by {by}" if by else ""
        yield Odd(
            rule="entered_ahead",
            where=f"{day(on)}, {_females(found)}",
            what=f"{_entries(found)} made{who} on {day(entered)}, before it happened.",
            fix="Check the date and hour, and the clock of the device; put them right.",
            at=found[0][1].at,
            events=tuple(x.event for _, x in found),
        )


def _told_at(state: HerdState, x: o.Observation) -> datetime:
    """When it was said that it happened then: at its entry, or when it was last corrected."""
    if x.corrected_by is not None:
        for word in state.corrected[x.event].corrections:
            if word.id == x.corrected_by:
                return entered_at(word)
    return x.entered_at


def _females(found: list[tuple[str, o.Observation]]) -> str:
    tags = sorted({tag for tag, _ in found})
    return f"female{'s' if len(tags) > 1 else ''} {_some(tags)}"


def _entries(found: list[tuple[str, o.Observation]]) -> str:
    return "1 entry was" if len(found) == 1 else f"{len(found)} entries were"


def _clocks(state: HerdState, limits: OddLimits) -> Iterator[Odd]:
    for device, (least, most) in state.clocks.items():
        off = max(least, most, key=abs)
        if abs(off) > limits.clock_off_s:
            yield Odd(
                rule="clock_off",
                where=f"clock of {device or 'a device without a name'}",
                what=f"It was {_span(abs(off))} {'ahead' if off > 0 else 'behind'}.",
                fix="Its times were put right by what was measured. Set the clock; then look at a "
                "few of its entries.",
                severity=Severity.NOTICE,
            )


def _span(seconds: float) -> str:
    if seconds >= 2 * 86_400:
        return f"{seconds / 86_400:.1f} days"
    return f"{seconds / 3600:.1f} hours" if seconds >= 7200 else f"{seconds / 60:.0f} minutes"


def _stock(state: HerdState, _: OddLimits) -> Iterator[Odd]:
    short = {(k.item, k.unit, k.sire) for k, b in state.totals.items() if _is_short(b)}
    for key, balance in state.totals.items():
        if _is_short(balance):
            yield _below_nothing(key, balance, "look for a delivery that was not recorded.")
    for key, balance in state.balances.items():
        # where the item as a whole is short it was told above
        if _is_short(balance) and (key.item, key.unit, key.sire) not in short:
            yield _below_nothing(key, balance, "look for a use written to the wrong lot or tank.")


def _is_short(balance: Balance) -> bool:
    """Whether more went than came, of what a stock is kept of at all."""
    return balance.came > 0 and balance.left < -_ROUNDING


def _below_nothing(key: StockKey, balance: Balance, look: str) -> Odd:
    return Odd(
        rule="stock_below_nothing",
        where=_stock_name(key),
        what=f"{balance.went:g} {key.unit} went out and {balance.came:g} {key.unit} came in.",
        fix=f"Count what is there and record the count; {look}",
        at=balance.below_at,
    )


def _stock_name(key: StockKey) -> str:
    parts = [key.item.replace("_", " ")]
    parts += [f"of {key.sire}"] if key.sire else []
    parts += [f"lot {key.lot}"] if key.lot else []
    parts += [f"tank {key.tank}"] if key.tank else []
    parts += [f"canister {key.canister}"] if key.canister else []
    return ", ".join(parts)


def _tallies(state: HerdState, _: OddLimits) -> Iterator[Odd]:
    for x in state.tallies:
        gap = x.difference
        if gap is None or abs(gap) < _ROUNDING or x.expected is None:
            continue
        place = x.group or x.place or x.item or "the ranch"
        unit = _WHAT.get(x.what, x.item or x.what)
        yield Odd(
            rule="count_differs",
            where=f"{place}, {day(x.on)}",
            what=f"{x.count:g} {unit} were counted; the records say {x.expected:g} "
            f"({abs(gap):g} {'more' if gap > 0 else 'missing'}).",
            fix="Count again. If the count is right, look for what was not recorded"
            + (": a female moved, sold or died." if x.what == "head" else "."),
            at=x.at,
            events=(x.event,),
        )


def _two_words(state: HerdState, _: OddLimits) -> Iterator[Odd]:
    for id_, versions in state.corrected.items():
        direct = [c for c in versions.corrections if c.corrects == id_]
        said = {(c.entered_by, repr(sorted(c.body.items()))) for c in direct}
        if len({by for by, _ in said}) > 1 and len({body for _, body in said}) > 1:
            last = next((c for c in direct if c.id == versions.in_force), direct[-1])
            yield Odd(
                rule="corrected_by_two",
                where=f"{versions.original.kind}, entry {id_[:8]}",
                what=f"{len(direct)} people or devices corrected it and do not agree; the later "
                f"word, {last.entered_by or 'of nobody named'}, holds.",
                fix="Ask both, and correct it once more if the other was right.",
                at=happened_at(versions.original),
                events=(id_, *(c.id for c in direct)),
            )


def _unseen(state: HerdState, _: OddLimits) -> Iterator[Odd]:
    told = [(f"plan of {p.season or p.plan_id}", p.unseen, p.now) for p in state.plans.values()]
    settings = [(f"setting {s.key}", s.unseen, s.changes[-1]) for s in state.settings.values()]
    for where, unseen, now in (*told, *settings):
        if unseen:
            yield Odd(
                rule="changed_unseen",
                where=where,
                what="It was changed by somebody who had not seen the change before; the later "
                "one stands.",
                fix="Look at both and change it once more if something was lost.",
                at=now.at,
                events=unseen,
            )


def _no_place(state: HerdState, _: OddLimits) -> Iterator[Odd]:
    for female in state.unplaced.values():
        n, first = len(female.log), female.log[0]
        yield Odd(
            rule="unknown_female",
            where=f"female with id {female.id}, {day(first.on)}",
            what=f"{n} entr{'ies speak' if n > 1 else 'y speaks'} of her and nobody put her on "
            "file.",
            fix="Take in the entries of the other devices (sunup ledger import); if none has her, "
            "say who she is.",
            at=first.at,
            female=female.id,
            events=tuple(x.event for x in female.log),
        )
    for event in state.loose:
        yield Odd(
            rule="no_place",
            where=f"{event.kind}, entry {event.id[:8]}",
            what="It speaks of something that is not here: a female, a group, a plan or an entry.",
            fix="Take in the entries of the other devices (sunup ledger import).",
            at=happened_at(event),
            events=(event.id,),
        )
    for event in state.unread:
        yield Odd(
            rule="unreadable",
            where=f"{event.kind}, entry {event.id[:8]}",
            what="It cannot be read by this program and counts for nothing.",
            fix="If a newer Sunup wrote it, update the program; else record it anew.",
            at=happened_at(event),
            events=(event.id,),
        )
    for id_ in state.doubled:
        yield Odd(
            rule="one_id_two_entries",
            where=f"entry {id_[:8]}",
            what="Two different entries came under one id; one of them is used.",
            fix="A device or a file was copied by hand: keep the other file and ask for help.",
            events=(id_,),
        )


_RULES: tuple[Callable[[HerdState, OddLimits], Iterator[Odd]], ...] = (
    _more_out_than_in,
    _melengestrol,
    _shared_tags,
    _unlisted,
    bulls_twice,
    _late_entries,
    _clocks,
    _stock,
    _tallies,
    _two_words,
    _unseen,
    _no_place,
)
