"""The steps of an arm of a trial, and how its heats are seen."""

from __future__ import annotations

from dataclasses import dataclass

from sunup.forecast.trial_tables import HOURS_LONGEST
from sunup.library.toml_tables import Table
from sunup.library.toml_text import listed, nearest, shown
from sunup.physiology.orders import DOSED as DOSED_ACTS
from sunup.physiology.orders import Act, Aid, Order, OrderError, Rule, Who

DOSED = frozenset(act.name.lower() for act in DOSED_ACTS)
DRUGS = DOSED - {"insert_in"} | {"mga_start", "mga_end"}
STEP_KEYS = ("at", "do", "who", "judged_at", "note", "active")
WATCH_KEYS = ("until", "inseminate", "aid", "times_per_day", "minutes")
DOSES = 3.0  # full doses at once; more is an amount in mg or mL written where a share belongs
EXAMPLE = '[ { at = 0, do = "gnrh" }, { at = 168, do = "pgf" }, { at = 228, do = "ai" } ]'


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How heats are seen: by what, how often [1/day], how long [min]."""

    aid: Aid
    per_day: int
    minutes: float


DEFAULT_LOOK = Look(aid=Aid.EYE, per_day=2, minutes=45.0)


def read_look(table: Table, other: Look, *, only_aid: bool = False) -> Look:
    """Read how heats are seen, where the table says it; as in `other` where it does not."""
    word = table.one_of_or("aid", None, _words(Aid))
    aid = Aid[word.upper()] if word in _words(Aid) else other.aid
    if only_aid:
        return Look(aid=aid, per_day=other.per_day, minutes=other.minutes)
    return Look(
        aid=aid,
        per_day=table.whole_or("times_per_day", other.per_day, low=1, high=24),
        minutes=table.number_or("minutes", other.minutes, low=1.0, high=1440.0),
    )


def read_steps(arm: Table, look: Look) -> list[Order]:
    """Read the steps of an arm; what is wrong with each is reported."""
    raw = arm.raw("steps")
    if not isinstance(raw, list) or not raw:
        what = "the key 'steps' is missing."
        if arm.has("steps"):
            what = "the list is empty." if raw == [] else f"{shown(raw)} was found."
        arm.wrong("steps", what, f"Write it as steps = {EXAMPLE}.")
        return []
    orders = []
    for number, item in enumerate(raw, start=1):
        if not isinstance(item, dict):
            arm.wrong(
                f"steps[{number}]",
                f"{shown(item)} was found.",
                'Write a step: { at = 0, do = "gnrh" }.',
            )
            continue
        order = _read_step(Table(arm.reading, item, path=arm.at(f"steps[{number}]")), look)
        if order is not None:
            orders.append(order)
    return orders


def _read_step(step: Table, look: Look) -> Order | None:
    before = step.reading.count
    at = step.number("at", low=0.0, high=HOURS_LONGEST)
    act = _read_act(step)
    who = step.one_of_or("who", "all", _words(Who))
    judged = step.number_or("judged_at", None, low=0.0, high=HOURS_LONGEST)
    dose, until, rule, own = 1.0, None, "none", look
    if act in DOSED:
        dose = step.number_or("dose", 1.0, low=0.0, high=DOSES)
    if act == "watch":
        own = read_look(step, look)
        rule = step.one_of_or("inseminate", "none", _words(Rule))
        until = step.number("until", low=0.0, high=HOURS_LONGEST)
        if step.reading.count == before and until <= at:
            step.wrong(
                "until",
                f"the watch ends at hour {until:g} and begins at hour {at:g}.",
                "Let until be later than at.",
            )
    if act in _words(Act):
        _name_unused(step, act)
    if step.reading.count > before:
        return None
    try:
        return Order(
            hour=at,
            act=Act[act.upper()],
            amount=dose,
            who=Who[who.upper()],
            judged_h=judged,
            until_h=until,
            aid=own.aid,
            per_day=own.per_day,
            minutes=own.minutes,
            rule=Rule[rule.upper()],
        )
    except OrderError as error:  # a rule of the simulator that is not held above
        step.wrong("at", f"{error}", "Correct that step.")
        return None


def _read_act(step: Table) -> str:
    """Read what a step does; no drug is suggested for a word that may be another drug."""
    words = _words(Act)
    act = step.text("do", f"one of: {listed(words)}")
    if act.strip() and act not in words:
        guess = nearest(act, [word for word in words if word not in DRUGS])
        step.wrong("do", f"unknown word '{act}'.", f"{guess}Allowed: {listed(words)}.")
    return act


def _name_unused(step: Table, act: str) -> None:
    """Report keys that such a step does not take: it would not be the step that was written."""
    dosed = ("dose",) if act in DOSED else ()
    allowed = (*STEP_KEYS, *dosed, *(WATCH_KEYS if act == "watch" else ()))
    for key in step.names:
        if key in allowed:
            continue
        fix = f"It takes: {listed(allowed)}."
        if key in {*WATCH_KEYS, "dose"}:
            step.wrong(key, f"a step '{act}' takes no '{key}'.", fix)
        else:
            step.wrong(key, f"unknown key '{key}'.", f"{nearest(key, allowed)}{fix}")


def _words(words: type[Act | Aid | Rule | Who]) -> list[str]:
    return [member.name.lower() for member in words]
