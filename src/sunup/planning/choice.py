"""Choosing a group's protocol: the one asked for unless refused, else the first that fits."""

from __future__ import annotations

import difflib
from dataclasses import replace
from typing import TYPE_CHECKING

from sunup.base.problems import Problem, Severity, UsageError
from sunup.planning.fit import find_default, find_group_refusal, find_mismatch
from sunup.protocols.rules import RuleLimits, check_protocol

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from sunup.library.library import Library
    from sunup.library.region import RegionPack
    from sunup.planning.fit import GroupContext
    from sunup.planning.plan import Fit
    from sunup.planning.setting import Setting
    from sunup.protocols.protocol import Protocol


_BULLS_ALONE = "bulls_alone"  # as a forecast names it


class UnknownProtocolError(UsageError):
    """A protocol was asked for that the library does not hold."""

    def __init__(self, key: str, known: Sequence[str]) -> None:
        near = difflib.get_close_matches(key, known, n=3)
        hint = f" Did you mean {', '.join(near)}?" if near else ""
        if key == _BULLS_ALONE:
            message = (
                "'bulls_alone' is no protocol: every plan shows bulls alone beside the protocols, "
                "and sunup forecast --against GROUP=bulls_alone simulates them. For bulls after a "
                "treatment see the protocols that begin with ns_."
            )
        else:
            message = f"No protocol '{key}'.{hint} See: sunup protocol list --all."
        super().__init__(message)


def choose_protocol(
    context: GroupContext, fits: Sequence[Fit], ai_on: date, setting: Setting
) -> tuple[Protocol | None, str, tuple[Problem, ...]]:
    """Take the protocol asked for unless the plan refuses it; else the first that fits."""
    request, library = setting.request, setting.library
    asked = request.protocols.get(context.name)
    if asked is None:
        default = find_default(fits)
        if default is not None:
            return library.protocols[default.protocol], "default", _spoken_against(context, default)
        problem = Problem(
            context.name,
            "No recommended protocol fits this group.",
            "See why beside each; change the day, the limits or the group.",
            Severity.WARNING,
        )
        return None, "none", (problem,)
    protocol = library.protocols.get(asked)
    if protocol is None:
        raise UnknownProtocolError(asked, list(library.protocols))
    refusal = find_group_refusal(
        protocol, context, request=request, library=library, pack=setting.pack
    )
    if refusal is not None:
        problem = Problem(
            context.name, f"{protocol.name} is refused: {refusal}.", "Choose another protocol."
        )
        return None, "asked", (problem,)
    reason = find_mismatch(protocol, context, request=request, library=library, ai_on=ai_on)
    if reason is None:
        told = next((f for f in fits if f.protocol == asked), None)
        return protocol, "asked", () if told is None else _spoken_against(context, told)
    problem = Problem(
        context.name,
        f"{protocol.name} was asked for and is laid out, but does not fit: {reason}.",
        "Look at the protocols that fit.",
        Severity.WARNING,
    )
    return protocol, "asked", (problem,)


def _spoken_against(context: GroupContext, fit: Fit) -> tuple[Problem, ...]:
    """Say what speaks against a protocol that is laid out, where anything does."""
    if not fit.advised_against:
        return ()
    return (
        Problem(
            context.name,
            f"{fit.name} is laid out, and something speaks against it in this group: "
            f"{'; '.join(note.rstrip('.') for note in fit.notes)}.",
            "Look at the others that fit, and ask the veterinarian.",
            Severity.WARNING,
        ),
    )


def without_barred(protocol: Protocol, pack: RegionPack) -> Protocol:
    """Leave out steps that may be left out and whose active the region bars."""
    barred = {b.active for b in pack.barred}
    steps = tuple(
        s
        for s in protocol.steps
        if not (s.optional and (s.do.value in barred or s.active in barred))
    )
    return protocol if steps == protocol.steps else replace(protocol, steps=steps)


def find_rule_problems(name: str, protocol: Protocol, library: Library) -> tuple[Problem, ...]:
    """Check the rules of harm again on what is laid out, options included."""
    limits = RuleLimits(
        long_progestin_days=library.number("practice.long_progestin_days"),
        heat_to_pass_days=library.number("practice.heat_to_pass_days"),
        exposure_before_pgf_days=library.number("practice.exposure_before_pgf_days"),
    )
    return tuple(
        Problem(f"{name}, {protocol.name}, step {p.where}", p.what, p.fix)
        for p in check_protocol(protocol, limits=limits)
    )
