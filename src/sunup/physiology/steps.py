"""From one event to the next: steps by closed form, and the crossings that end one.

A crossing (dominance spent, threshold passed) ends a step at the hour it happens.
"""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.compiled import compiled, compiled_apart
from sunup.physiology.follicle import kept_after, lose_dominance, step, step_keeping
from sunup.physiology.heat import call_surge
from sunup.physiology.outcome import DID_SPEND, DID_STEP, DID_SURGE
from sunup.physiology.progesterone import from_lutea, progesterone

LONG_H = 12.0
SHORT_H = 6.0
CALM_H = 32.0
DEEP = 2.0  # times the half of the LH drive: LH, clock and plateau hardly move
NEARS = 0.25  # share of her threshold from which estradiol is followed closely
FALL = 0.8  # half-lives of a falling luteum that one step may take
FALLEN = 4.5  # half-lives after which nothing of it is felt
FAST, SLOW = 3.0, 6.0  # half-lives of an insert just out: steps of one, then of `SHORT_H`
FEED_H = 240.0  # the progestin of feed has gone
LEAST_H = 1e-6
STRIDE_H = 0.5  # a step to a size is not shorter, so that rounding cannot hold it up
NEAR = 1e-3
TRIES = 2
MEMORY_H = 24.0  # twice the memory of the block
GRAIN_H = 6.0  # of a trace


@compiled_apart
def note(record: Any, n: int, s: Any, p: Any, what: int) -> int:
    """Write one line of a trace, if a trace is kept; return how many lines there are."""
    if n >= record.shape[0]:
        return n
    t = s.now_h
    record[n, 0] = t
    record[n, 1] = progesterone(s, t, p)
    record[n, 2] = s.diameter if s.has_follicle == 1 else 0.0
    record[n, 3] = s.exposure
    record[n, 4] = from_lutea(s, t, p)
    record[n, 5] = what
    return n + 1


@compiled_apart
def note_way(
    record: Any, n: int, s: Any, p: Any, h: float, diameter: float, exposure: float
) -> int:
    """Write the way to the end of a step of `h` hours, what is at its end given, `note` the end."""
    lines = math.ceil(h / GRAIN_H)
    for i in range(1, lines):
        if n >= record.shape[0]:
            return n
        share = i / lines
        t = s.now_h + share * h
        record[n, 0] = t
        record[n, 1] = progesterone(s, t, p)
        record[n, 2] = s.diameter + share * (diameter - s.diameter) if s.has_follicle == 1 else 0.0
        record[n, 3] = s.exposure + share * (exposure - s.exposure)
        record[n, 4] = from_lutea(s, t, p)
        record[n, 5] = DID_STEP
        n += 1
    return n


@compiled
def longest_step(s: Any, t: float, f: Any, p: Any) -> float:
    """Hours the next step may take: no more than what changes within it allows.

    A surge under way and a wave yet to come are decided, and need no step before their event.
    Until a follicle gives estradiol only the memory of progesterone moves, and is forgotten in
    time; a step then ends where its estradiol or its dominance begins. Steps are short while
    progesterone falls and where estradiol nears the threshold, and long under a luteum.
    """
    if s.ovulation_due_h < math.inf or s.has_follicle == 0:
        return math.inf
    is_calm = s.is_cycling == 0 or s.p4 > DEEP * p.lh_half_ng_ml
    longest = LONG_H
    if is_calm:
        longest = CALM_H
    elif s.exposure > NEARS * s.threshold:
        longest = SHORT_H
    if s.diameter < p.deviation_mm:
        left_h = (p.deviation_mm - s.diameter) / s.growth_mm_h
        silent_mm = min(p.deviation_mm, p.estradiol_from_mm * (1.0 - f.indicus * p.indicus_smaller))
        if s.diameter < silent_mm:
            silent_h = (silent_mm - s.diameter) / s.growth_mm_h
            if silent_h > MEMORY_H + STRIDE_H:
                return silent_h - MEMORY_H
            if not is_calm:
                left_h = silent_h
        longest = max(STRIDE_H, min(left_h, MEMORY_H))
    for k in range(s.n_cl):
        since_fall = t - s.cl_fall[k]
        if since_fall < 0.0:
            longest = min(longest, max(LEAST_H, -since_fall))  # none runs across the start of one
        elif since_fall < FALLEN * s.cl_half[k]:
            longest = min(longest, SHORT_H, FALL * s.cl_half[k])
    since_out = t - s.insert_out_h
    if since_out < SLOW * p.insert_half_life_h:
        longest = min(longest, SHORT_H)
        if since_out < FAST * p.insert_half_life_h:
            longest = min(longest, p.insert_half_life_h)
    if t - s.mga_end_h < FEED_H or t < s.ecg_until_h:
        longest = min(longest, SHORT_H)
    return longest


@compiled
def crossing(s: Any, clock: float, exposure: float) -> tuple[float, int]:
    """Share of a step after which dominance is spent (1) or the threshold is passed (2), if it is.

    `clock` and `exposure` are those at the end of the step; between its ends they are taken as
    straight.
    """
    share = 1.0
    crossed = 0
    if s.has_follicle == 0 or s.ovulation_due_h < math.inf:
        return share, crossed
    if clock >= s.clock_limit_h:
        share = (s.clock_limit_h - s.clock_h) / max(1e-9, clock - s.clock_h)
        crossed = 1
    if s.is_cycling == 1 and exposure >= s.threshold:
        here = max(0.0, (s.threshold - s.exposure) / max(1e-9, exposure - s.exposure))
        if here < share:
            share = here
            crossed = 2
    return share, crossed


@compiled
def move(
    s: Any,
    until: float,
    pause_h: float,
    f: Any,
    p: Any,
    luck: Any,
    record: Any,
    n: int,
    finest: float,
) -> int:
    """Move her to the hour `until`, or to a crossing before it; return the lines of the trace.

    From the hour `pause_h` on every step returns: it may be the last that matters.
    """
    known_h, kept = 0.0, (1.0, 1.0, 0.0)
    while s.now_h < until:
        t = s.now_h
        h = until - t
        longest = finest * longest_step(s, t, f, p)
        if h > longest:
            h = longest if h > 2.0 * longest else 0.5 * h
        if h != known_h:
            known_h = h
            kept = kept_after(h, p)
        diameter, clock, lifted, exposure, p4 = step_keeping(s, t, h, kept, f, p)
        share, crossed = crossing(s, clock, exposure)
        if crossed > 0:
            whole = h
            h = max(LEAST_H, share * h)
            diameter, clock, lifted, exposure, p4 = step(s, t, h, f, p)
            for _ in range(TRIES):
                if crossed != 2 or abs(exposure - s.threshold) <= NEAR * s.threshold:
                    break
                if exposure <= s.exposure:  # above it from the start, and falling
                    break
                nearer = h * (s.threshold - s.exposure) / (exposure - s.exposure)
                h = min(whole, max(LEAST_H, nearer))
                diameter, clock, lifted, exposure, p4 = step(s, t, h, f, p)
        if n < record.shape[0]:
            n = note_way(record, n, s, p, h, diameter, exposure)
        s.diameter = diameter
        s.clock_h = clock
        s.lifted = lifted
        s.exposure = exposure
        s.p4 = p4
        s.p4_sum += p4 * h
        s.now_h = t + h
        if crossed == 1:
            lose_dominance(s, s.now_h, p.turnover_h)
            return note(record, n, s, p, DID_SPEND)
        if crossed == 2:
            call_surge(s, s.now_h, f, p, luck)
            return note(record, n, s, p, DID_SURGE)
        n = note(record, n, s, p, DID_STEP)
        if s.now_h >= pause_h:
            return n
    return n
