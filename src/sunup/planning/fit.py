"""Which protocols fit a group, what each costs, and for the rest the reason they don't."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from sunup.base.figures import Seen
from sunup.planning.advice import find_advice, tell_met
from sunup.planning.alternative import with_bulls_paid
from sunup.planning.cost import cost_lines, total
from sunup.planning.dosing import DrugChoiceError, choose_drug
from sunup.planning.heat_aids import with_aids
from sunup.planning.labels import find_refusal
from sunup.planning.options import OptionError, apply_options
from sunup.planning.plan import Fit, Published, Rejected
from sunup.planning.visits import find_first_service, starts_from_ai
from sunup.protocols.protocol import Cattle, CyclingNeed, Do, Inseminate, Protocol, Standing, Style
from sunup.protocols.timing import passes_through_chute, total_days, watch_days

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from sunup.library.library import Library
    from sunup.library.region import RegionPack
    from sunup.planning.dosing import Chosen
    from sunup.planning.plan import FemaleLine
    from sunup.planning.request import Request
    from sunup.records.female import Female


@dataclass(frozen=True, slots=True)
class NotCycling:
    """Between which shares of a group do not cycle, by the females examined for it.

    `examined` says of which classes how many were found so; empty where too few were examined.
    """

    least: float = 0.0
    most: float = 1.0
    examined: str = ""


@dataclass(frozen=True, slots=True)
class GroupContext:
    """What fit is judged on."""

    name: str
    classes: tuple[str, ...]
    head: int
    not_cycling: NotCycling
    is_indicus: bool | None  # None: breeds not on file, taken as taurus
    females: tuple[Female, ...] = ()  # those counted on


def lead_days(protocol: Protocol, library: Library) -> int:
    """Whole days from the day of the first treatment to the day of the first insemination."""
    service = find_first_service(
        protocol,
        first_heat_after_pgf_h=library.number("practice.first_heat_after_pgf_h"),
        morning_evening_h=library.number("practice.morning_evening_h"),
    )
    if service is None:
        return math.ceil(total_days(protocol))
    if service.offset_h:
        return int(service.nominal_h // 24)
    return math.ceil(service.nominal_h / 24 - 1e-9)


def needs_watching(protocol: Protocol) -> bool:
    """Whether somebody must look for heats and inseminate from what is seen."""
    return any(
        s.do is Do.WATCH and s.inseminate not in {None, Inseminate.NONE} for s in protocol.steps
    )


def choose_drugs(
    protocol: Protocol, *, library: Library, pack: RegionPack, asked: Mapping[str, str]
) -> dict[str, Chosen]:
    """The active and strength for every drug step of a protocol that has one."""
    found: dict[str, Chosen] = {}
    for step in protocol.steps:
        word = step.do.value
        wanted = dict(asked)
        if step.active is not None and word not in asked:
            wanted[word] = step.active
        if word in found:
            continue
        drug = choose_drug(word, library=library, pack=pack, asked=wanted)
        if drug is not None:
            found[word] = drug
    return found


def find_mismatch(
    protocol: Protocol, group: GroupContext, *, request: Request, library: Library, ai_on: date
) -> str | None:
    """Return the reason a protocol does not fit a group, or None. Refusals are not asked here."""
    if starts_from_ai(protocol):
        return "starts from a first insemination; a choice for later in the season"
    if protocol.regions and request.region not in protocol.regions:
        return f"follows a label of {' and '.join(protocol.regions)}"
    missing = [c for c in group.classes if c not in protocol.classes]
    if missing:
        words = " and ".join(c.replace("_calf_", "-calf ") + "s" for c in missing)
        return f"not for {words}"
    indicus = protocol.cattle in _NEAREST
    if indicus and not group.is_indicus:
        return "worked out in Bos indicus cattle"
    if protocol.cattle is Cattle.TAURUS and group.is_indicus:
        return "worked out in Bos taurus cattle; results are lower in Bos indicus"
    if not request.watching and needs_watching(protocol):
        return f"needs heats watched for {watch_days(protocol):.0f} days"
    passes = passes_through_chute(protocol)
    if request.max_passes is not None and passes > request.max_passes:
        return f"{passes} times through the chute, {request.max_passes} allowed"
    start = ai_on - timedelta(days=lead_days(protocol, library))
    if start < request.today:
        return (
            f"would have had to start on {start:%a} {start.day} {start:%b %Y}, "
            f"{(ai_on - start).days} days before the first insemination"
        )
    limit = library.number("practice.not_cycling_limit_share")
    few_cycle = group.not_cycling.least > limit
    if few_cycle and protocol.cycling_need in {CyclingNeed.ALL, CyclingNeed.MOST}:
        return f"{group.not_cycling.examined} do not cycle and it has no progestin"
    if not few_cycle and protocol.cycling_need is CyclingNeed.ONLY_NOT_CYCLING:
        if group.not_cycling.most <= limit:
            return f"for groups that do not cycle; {group.not_cycling.examined} do not"
        return "for groups found not cycling; too few examined on file say so"
    return None


def find_group_refusal(
    protocol: Protocol,
    group: GroupContext,
    *,
    request: Request,
    library: Library,
    pack: RegionPack,
) -> str | None:
    """Return why a plan refuses a protocol for a group even when asked, or None."""
    try:
        chosen = choose_drugs(protocol, library=library, pack=pack, asked=request.drugs)
    except DrugChoiceError as error:
        return str(error)
    return find_refusal(protocol, pack=pack, classes=group.classes, chosen=chosen)


def cite(keys: Iterable[str], library: Library) -> str:
    """Author and year of each source."""
    found = [library.sources[key] for key in keys if key in library.sources]
    return "; ".join(f"{s.author} {s.year}".strip(" -") for s in found)


def published(
    protocol: Protocol, library: Library, *, classes: Iterable[str] = ()
) -> tuple[Published, ...]:
    """A protocol's published results as shown beside it, pregnancy of all treated first.

    Parameters
    ----------
    protocol, library
    classes : iterable of str
        Of a group: results got in none of them are left out. Empty: all results.
    """
    of = frozenset(classes)
    return tuple(
        Published(
            text=f"{r.low_pct:g}"
            + (f"-{r.high_pct:g}" if r.high_pct != r.low_pct else "")
            + f" % {r.measure.replace('_', ' ').replace('to ai', 'to AI')}: {r.of}"
            + (f", {r.n} females" if r.n else "")
            + (", sexed semen" if r.semen == "sexed" else ""),
            low_pct=r.low_pct,
            high_pct=r.high_pct,
            source=r.source,
            from_memory=r.seen is Seen.MEMORY,
            cited=cite(r.source, library),
            note=r.note,
        )
        for r in sorted(protocol.results, key=lambda r: r.measure != "pregnancy_to_ai")
        if not of or r.classes & of
    )


def result_range(protocol: Protocol) -> tuple[float, float] | None:
    """Lowest and highest published pregnancy to AI with conventional semen, or None."""
    values = [
        (r.low_pct, r.high_pct)
        for r in protocol.results
        if r.measure == "pregnancy_to_ai" and r.semen == "conventional"
    ]
    if not values:
        return None
    return min(v[0] for v in values), max(v[1] for v in values)


_NEAREST = {Cattle.INDICUS: 0, Cattle.INDICUS_INFLUENCED: 1}  # to a group of Bos indicus
_STANDING = {Standing.RECOMMENDED: 0, Standing.OLDER: 1, Standing.RESEARCH: 2}


def sort_key(protocol: Protocol) -> tuple[int, int, str]:
    """Recommended first, then by the library's order."""
    return _STANDING[protocol.standing], protocol.order, protocol.key


def _order_for(group: GroupContext, fit: Fit, library: Library) -> tuple[int, int, int, int, str]:
    """Of equal standing first what nothing speaks against, then what was worked out in such cattle.

    Bos indicus has protocols of its own. What its own page says is not for such a group, and what
    the law of the region is not known for, come last.
    """
    protocol = library.protocols[fit.protocol]
    standing, order, key = sort_key(protocol)
    nearest = _NEAREST.get(protocol.cattle, len(_NEAREST)) if group.is_indicus else 0
    return standing, int(fit.advised_against), nearest, order, key


def find_fits(
    group: GroupContext,
    *,
    request: Request,
    library: Library,
    pack: RegionPack,
    ai_on: date | None,
    not_cycling: Sequence[FemaleLine] = (),
) -> tuple[tuple[Fit, ...], tuple[Rejected, ...]]:
    """Sort every protocol of the library into those that fit a group and those that don't.

    Parameters
    ----------
    group : GroupContext
    request, library, pack
    ai_on : date or None
        First insemination day; None when the plan runs forward from a first treatment.
    not_cycling : sequence of FemaleLine
        Females known or thought not to cycle; counted in the notes.

    Returns
    -------
    fits, rejected
        Recommended first, what nothing speaks against before the rest; for Bos indicus and crosses
        what was worked out in them before others.
    """
    fits: list[Fit] = []
    rejected: list[Rejected] = []
    options = request.options.get(group.name, ())
    for plain in sorted(library.protocols.values(), key=sort_key):
        refusal = find_group_refusal(plain, group, request=request, library=library, pack=pack)
        if refusal is not None:
            rejected.append(Rejected(plain.key, plain.name, refusal, refused=True))
            continue
        lead = timedelta(days=lead_days(plain, library))
        day = ai_on or (request.first_treatment_on or request.today) + lead
        reason = find_mismatch(plain, group, request=request, library=library, ai_on=day)
        notes: list[str] = []
        protocol = plain
        if reason is None and options:
            try:
                protocol = apply_options(plain, options, library=library, classes=group.classes)
            except OptionError as error:
                notes.append(f"without the options: {error}")
        if reason is not None:
            rejected.append(Rejected(plain.key, plain.name, reason, refused=False))
            continue
        protocol = with_aids(protocol, request.watched(group.name))
        chosen = choose_drugs(plain, library=library, pack=pack, asked=request.drugs)
        drugs = dict.fromkeys(drug.active.key for drug in chosen.values())
        notes += dict.fromkeys(ask for drug in drugs for ask in pack.asks_of(drug))
        advice = find_advice(plain, group, usual_share=library.number("practice.when_not_share"))
        notes += tell_met(advice)
        if not_cycling and protocol.cycling_need in {CyclingNeed.ALL, CyclingNeed.MOST}:
            notes.append(f"{len(not_cycling)} thought not to cycle would not respond")
        costs = (
            ()
            if protocol.style is Style.NATURAL_SERVICE and group.head == 0
            else cost_lines(
                protocol,
                head=group.head,
                library=library,
                chutes=request.chutes,
                options=options,
                sires=[s for s in request.sires if s.group == group.name],
                watches=request.watched(group.name),
            )
        )
        costs = with_bulls_paid(costs, protocol, head=group.head, library=library)
        fits.append(
            Fit(
                protocol=protocol.key,
                name=protocol.name,
                standing=protocol.standing.value,
                style=protocol.style.value,
                passes=passes_through_chute(protocol),
                days=total_days(protocol),
                watch_days=watch_days(protocol),
                cost_per_female=total(costs),
                costs=costs,
                published=published(protocol, library, classes=group.classes),
                notes=tuple(notes),
                first_treatment_on=day - lead,
                advised_against=bool(advice.against) or any(map(pack.is_law_open, drugs)),
                not_when=advice.open,
            )
        )
    fits.sort(key=lambda fit: _order_for(group, fit, library))
    return tuple(fits), tuple(rejected)


def find_default(fits: Sequence[Fit]) -> Fit | None:
    """The first recommended protocol with AI that fits."""
    for fit in fits:
        if fit.standing == Standing.RECOMMENDED.value and fit.style != Style.NATURAL_SERVICE.value:
            return fit
    return None
