"""A second AI of those not pregnant: which protocol may follow, and what it costs."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.app.forecast_asked import BULLS_ALONE
from sunup.app.forecast_timing import split_costs
from sunup.base.problems import UsageError
from sunup.planning.choice import without_barred
from sunup.planning.cost import cost_lines, middle
from sunup.planning.labels import find_refusal
from sunup.planning.schedule import straws_per_female
from sunup.protocols.protocol import Do, Who, Zero

if TYPE_CHECKING:
    from sunup.app.forecast_group import Bench
    from sunup.forecast.summary import Costs
    from sunup.planning.plan import GroupPlan
    from sunup.protocols.protocol import Protocol

_FOR_ALL = frozenset({None, Who.ALL})


def find_protocol(bench: Bench, key: str, flag: str) -> Protocol:
    """Return a protocol by its key.

    Raises
    ------
    UsageError
        If there is none; `flag` is named.
    """
    if key == BULLS_ALONE:
        message = f"{flag}: no second AI follows bulls alone. Run {key} by itself with --against."
        raise UsageError(message)
    protocol = bench.library.protocols.get(key)
    if protocol is None:
        message = f"{flag}: no protocol '{key}'. See: sunup protocol list --all."
        raise UsageError(message)
    return protocol


def find_second(bench: Bench, group: GroupPlan, key: str | None, flag: str) -> Protocol | None:
    """Return the protocol of a group's second AI; None where no key is given.

    Raises
    ------
    UsageError
        If there is no such protocol, it does not follow an insemination, or the region bars it.
    """
    if not key:
        return None
    protocol = find_protocol(bench, key, flag)
    if protocol.zero is not Zero.FIRST_AI:
        known = ", ".join(k for k, p in bench.library.protocols.items() if p.zero is Zero.FIRST_AI)
        message = (
            f"{flag}: {protocol.name} does not follow an insemination. Those that do: {known}."
        )
        raise UsageError(message)
    pack = bench.library.regions[bench.request.region]
    classes = tuple(
        sorted({line.class_ for line in bench.plan.females if line.group == group.name})
    )
    kept = without_barred(protocol, pack)
    refusal = find_refusal(kept, pack=pack, classes=classes, chosen={})
    if refusal is not None:
        message = f"{flag}: {protocol.name} is refused in region {bench.request.region}: {refusal}."
        raise UsageError(message)
    return kept


def with_second(costs: Costs, second: Protocol, *, head: int, bench: Bench) -> Costs:
    """Add what a second AI costs: for every female, and for each that is not pregnant.

    Inseminations of the second AI cost what those of the first do. A pregnancy check is counted
    at the price of the library, for every female.
    """
    whole = _per_female(second, head=head, bench=bench)
    for_all = tuple(step for step in second.steps if step.who in _FOR_ALL)
    everyone = _per_female(replace(second, steps=for_all), head=head, bench=bench)
    checks = sum(
        middle(bench.library.figure(f"prices.pregnancy_check_{step.method or 'ultrasound'}"))
        for step in second.steps
        if step.do is Do.PREG_CHECK
    )
    return replace(
        costs,
        per_female=costs.per_female + everyone + checks,
        per_open=costs.per_open + whole - everyone,
    )


def _per_female(protocol: Protocol, *, head: int, bench: Bench) -> float:
    lines = cost_lines(protocol, head=head, library=bench.library, chutes=bench.request.chutes)
    return split_costs(lines, straws=straws_per_female(protocol)).per_female
