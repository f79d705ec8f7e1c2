"""What people see of a heat: checks by eye, patches and chalk, round-the-clock devices."""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.chance import SEEN
from sunup.physiology.checks import FIRST_CHECK, LAST_CHECK
from sunup.physiology.compiled import compiled, compiled_apart
from sunup.physiology.philox import draws

EYE, PATCH, CHALK, ELECTRONIC = 0, 1, 2, 3
NO_AI, AM_PM, AFTER_12H, ONCE_DAILY = 0, 1, 2, 3


@compiled
def next_check(clock_h: float, per_day: int) -> float:
    """Hours from a clock hour (0 to 24) to the next check; checks run from 06:00 to 18:00."""
    if per_day <= 1:
        ahead = FIRST_CHECK - clock_h
        return ahead if ahead >= 0.0 else ahead + 24.0
    gap = (LAST_CHECK - FIRST_CHECK) / (per_day - 1)
    if clock_h <= FIRST_CHECK:
        return FIRST_CHECK - clock_h
    if clock_h > LAST_CHECK:
        return 24.0 + FIRST_CHECK - clock_h
    number = math.ceil((clock_h - FIRST_CHECK) / gap - 1e-9)
    return FIRST_CHECK + number * gap - clock_h


@compiled_apart
def hour_seen(
    start: float,
    length: float,
    rate: float,
    watch: Any,
    from_h: float,
    until_h: float,
    zero_clock_h: float,
    index: int,
    p: Any,
    luck: Any,
) -> float:
    """Hour at which a heat is first seen, infinite if it is missed.

    Parameters
    ----------
    start, length : float
        True standing heat [h].
    rate : float
        Stands an hour over the whole heat; `stands_early` of them fall in its first third.
    watch : record
        aid, per_day, minutes.
    from_h, until_h : float
        The watch itself.
    index : int
        Which heat of this female: its luck is the same under every way of watching.
    """
    u, v, _, _ = draws(luck, SEEN, index)
    if watch.aid == ELECTRONIC:
        seen = start + 0.25
        if seen < from_h and start + length > from_h:
            seen = from_h
        return seen if u < p.seen_electronic and from_h <= seen < until_h else math.inf
    early, late = 3.0 * p.stands_early * rate, 1.5 * (1.0 - p.stands_early) * rate
    if watch.aid != EYE:
        if u > p.seen_patch:
            return math.inf
        needed = p.stands_to_rub
        third = start + length / 3.0
        seen = max(start, from_h)
        if seen < third:
            so_far = early * (third - seen)
            if so_far >= needed:
                seen += needed / early
            else:
                seen = third + (needed - so_far) / late
        else:
            seen += needed / late
        if seen > start + length:
            return math.inf
        if from_h > -math.inf:  # somebody comes to read it
            seen += next_check((seen + zero_clock_h) % 24.0, int(watch.per_day))
        return seen if seen < until_h else math.inf
    t = max(start, from_h)
    while t <= start + length and t < until_h:
        t += next_check((t + zero_clock_h) % 24.0, int(watch.per_day))
        if t > start + length or t >= until_h:
            break
        here = early if t - start < length / 3.0 else late
        chance = 1.0 - math.exp(-here * watch.minutes / 60.0 * p.riding_seen)
        chance = 1.0 - (1.0 - chance) * (1.0 - p.signs_seen)
        # one even draw for a check, whichever watch makes it
        w, _, _, _ = draws(luck, SEEN, 1000 * (index + 1) + int(2.0 * (t - start)))
        if w < chance:
            return t
        t += 0.5
    if v < p.seen_late and start + length >= from_h and start < until_h:
        over = start + length
        over += next_check((over + zero_clock_h) % 24.0, int(watch.per_day))
        if over < until_h:
            return over
    return math.inf


@compiled
def hour_of_ai(seen: float, rule: int, zero_clock_h: float) -> float:
    """Hour at which a female seen in heat is inseminated under a rule."""
    clock = (seen + zero_clock_h) % 24.0
    if rule == AFTER_12H:
        return seen + 12.0
    if rule == ONCE_DAILY:
        ahead = 11.0 - clock
        return seen + (ahead if ahead > 0.0 else ahead + 24.0)
    # am/pm: seen at the morning check, inseminated at the evening check; evening: next morning
    if clock < 12.0:
        return seen + LAST_CHECK - clock
    return seen + 24.0 + FIRST_CHECK - clock
