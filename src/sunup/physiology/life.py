"""One female from her starting state to the end: which event comes next, and what it does.

The order of events that fall on the same hour, fixed here and nowhere else (changing it changes
results):

1. a wave emerges; 2. the uterus asks whether to end a luteum; 3. she begins to cycle by herself;
4. an insert falls out; 5. heat starts; 6. an estradiol ester calls a surge; 7. ovulation;
8. an embryo dies; 9. an insemination that was waiting; 10. her orders in their order;
11. her state is reported.

Between events diameter, dominance clock and exposure move by closed form in steps as long as
`longest_step` allows; a crossing (dominance spent, threshold passed) ends a step at the hour it
happens.
"""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.anestrus import calf_goes, progestin_ends
from sunup.physiology.breeding import heat_starts, inseminate, ovulate
from sunup.physiology.compiled import compiled
from sunup.physiology.follicle import emerge, lose_dominance, step
from sunup.physiology.heat import call_surge
from sunup.physiology.luteum import drop_dead_lutea, give_pgf, next_ripe, ripen
from sunup.physiology.orders import Act, Who
from sunup.physiology.outcome import (
    DID_AI,
    DID_EMERGE,
    DID_GNRH,
    DID_HEAT,
    DID_LOSE,
    DID_OVULATE,
    DID_PGF,
    DID_SPEND,
    DID_STEP,
    DID_SURGE,
    MOST_HEATS,
)
from sunup.physiology.progesterone import from_lutea, progesterone
from sunup.physiology.treatments import (
    ester_surge,
    give_ester,
    give_gnrh,
    insert_in,
    insert_out,
)

LONG_H = 8.0
SHORT_H = 6.0
IDLE_H = 16.0
DEEP = 2.0  # times the half of the LH drive: LH, clock and plateau hardly move
LEAST_H = 1e-6
NEAR = 1e-3
MEMORY_H = 24.0  # twice the memory of the block
MOST_STEPS_PER_H = 4.0
ACT_GNRH, ACT_PGF = int(Act.GNRH), int(Act.PGF)
ACT_IN, ACT_OUT = int(Act.INSERT_IN), int(Act.INSERT_OUT)
ACT_MGA_START, ACT_MGA_END = int(Act.MGA_START), int(Act.MGA_END)
ACT_WATCH, ACT_AI = int(Act.WATCH), int(Act.AI)
ACT_OFF, ACT_ON = int(Act.CALVES_OFF), int(Act.CALVES_ON)
ACT_EB, ACT_ECP, ACT_ECG = (
    int(Act.ESTRADIOL_BENZOATE),
    int(Act.ESTRADIOL_CYPIONATE),
    int(Act.ECG),
)
ACT_CHECK, ACT_BULLS_IN, ACT_BULLS_OUT = (
    int(Act.PREG_CHECK),
    int(Act.BULLS_IN),
    int(Act.BULLS_OUT),
)
WHO_IN_HEAT, WHO_NOT_IN_HEAT = int(Who.IN_HEAT), int(Who.NOT_IN_HEAT)
WHO_NOT_INSEMINATED, WHO_NOT_PREGNANT = int(Who.NOT_INSEMINATED), int(Who.NOT_PREGNANT)


@compiled
def note(record: Any, n: int, s: Any, p: Any, what: int) -> int:
    """Write one line of a trace, if a trace is kept; return how many lines there are."""
    if n >= record.shape[0]:
        return n
    t = s.now_h
    record[n, 0] = t
    record[n, 1] = progesterone(s, t, p)
    record[n, 2] = s.diameter if s.has_follicle == 1 else 0.0
    record[n, 3] = s.exposure
    record[n, 4] = s.clock_h / s.clock_limit_h
    record[n, 5] = from_lutea(s, t, p)
    record[n, 6] = what
    return n + 1


@compiled
def is_for_her(row: Any, s: Any, plan: Any, o: Any) -> bool:
    """Whether an order applies, judged from what was seen and done inside the run."""
    if row.who in (WHO_IN_HEAT, WHO_NOT_IN_HEAT):
        was_seen = False
        for k in range(o.n_heats):
            seen = o.heat_seen[k]
            if plan.clock_h <= seen <= row.judged_h:
                was_seen = True
        return was_seen == (row.who == WHO_IN_HEAT)
    if row.who == WHO_NOT_INSEMINATED:
        return o.n_ai == 0 and s.ai_due_h == math.inf
    if row.who == WHO_NOT_PREGNANT:
        return s.found_pregnant == 0
    return True


@compiled
def carry_out(row: Any, s: Any, f: Any, p: Any, plan: Any, o: Any, luck: Any) -> int:
    """Do one order; return what a trace should note."""
    t = s.now_h
    act = row.act
    if act == ACT_GNRH:
        o.n_gnrh += 1
        did = give_gnrh(s, t, row.amount, f, p, luck)
        if o.n_gnrh <= 4:
            o.gnrh_ovulated[o.n_gnrh - 1] = did
        return DID_GNRH
    if act == ACT_PGF:
        if t == plan.clock_h:
            o.p4_at_clock = progesterone(s, t, p)
            o.luteum_at_clock = 1 if from_lutea(s, t, p) > 1.0 else 0
        o.n_luteolysis += give_pgf(s, t, row.amount, f, p, luck)
        return DID_PGF
    if act == ACT_AI:
        inseminate(s, t, plan.semen, f, p, o, luck)
        return DID_AI
    if act == ACT_IN:
        insert_in(s, t, row.amount, p, luck)
    elif act == ACT_OUT:
        insert_out(s, t, f, p)
    elif act == ACT_MGA_START:
        s.mga_is_fed = 1
        s.mga_start_h = t
    elif act == ACT_MGA_END:
        s.mga_is_fed = 0
        s.mga_end_h = t
        progestin_ends(s, t, (t - s.mga_start_h) / 24.0 + 1.0, f, p)
    elif act == ACT_OFF:
        calf_goes(s, t, f, p)
    elif act == ACT_ON:
        s.calf_is_off = 0
    elif act == ACT_EB:
        give_ester(s, t, False, p, luck)
    elif act == ACT_ECP:
        give_ester(s, t, True, p, luck)
    elif act == ACT_ECG:
        s.ecg_until_h = t + 24.0 * p.ecg_days
    elif act == ACT_CHECK:
        s.found_pregnant = 0
        if s.is_pregnant == 1 and t - s.conceived_h >= 24.0 * row.amount * p.check_from_days:
            s.found_pregnant = 1
    elif act == ACT_BULLS_IN:
        s.bulls_are_in = 1
    elif act == ACT_BULLS_OUT:
        s.bulls_are_in = 0
    return DID_STEP


@compiled
def longest_step(s: Any, t: float, f: Any, p: Any) -> float:
    """Hours the next step may take: no more than what changes within it allows.

    A surge under way and a wave yet to come are decided, and need no step before their event.
    Until a follicle gives estradiol only the memory of progesterone moves, and is forgotten in
    time. Steps are short while progesterone falls and where estradiol nears the threshold.
    """
    if s.ovulation_due_h < math.inf or s.has_follicle == 0:
        return math.inf
    silent_mm = min(p.deviation_mm, p.estradiol_from_mm * (1.0 - f.indicus * p.indicus_smaller))
    if s.diameter < silent_mm:
        return max(LONG_H, (silent_mm - s.diameter) / s.growth_mm_h - MEMORY_H)
    for k in range(s.n_cl):
        since_fall = t - s.cl_fall[k]
        if -SHORT_H < since_fall < 0.0:
            return max(LEAST_H, -since_fall)  # no step runs across the start of a fall
        if 0.0 <= since_fall < 6.0 * s.cl_half[k]:
            return SHORT_H
    if t - s.insert_out_h < 30.0 or t - s.mga_end_h < 240.0 or t < s.ecg_until_h:
        return SHORT_H
    if s.is_cycling == 0 or s.p4 > DEEP * p.lh_half_ng_ml:
        return IDLE_H
    if s.exposure > 0.25 * s.threshold:
        return SHORT_H
    return LONG_H


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
    s: Any, until: float, f: Any, p: Any, luck: Any, record: Any, n: int, finest: float
) -> int:
    """Move her to the hour `until`, or to a crossing before it; return the lines of the trace."""
    while s.now_h < until:
        t = s.now_h
        h = until - t
        longest = finest * longest_step(s, t, f, p)
        if h > longest:
            h = longest if h > 2.0 * longest else 0.5 * h
        diameter, clock, lifted, exposure, p4 = step(s, t, h, f, p)
        share, crossed = crossing(s, clock, exposure)
        if crossed > 0:
            h = max(LEAST_H, share * h)
            diameter, clock, lifted, exposure, p4 = step(s, t, h, f, p)
            if crossed == 2 and abs(exposure - s.threshold) > NEAR * s.threshold:
                h = max(LEAST_H, h * (s.threshold - s.exposure) / (exposure - s.exposure))
                diameter, clock, lifted, exposure, p4 = step(s, t, h, f, p)
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
    return n


@compiled
def live(
    s: Any,
    f: Any,
    p: Any,
    plan: Any,
    rows: Any,
    luck: Any,
    end_h: float,
    ask_h: Any,
    asked: Any,
    o: Any,
    record: Any,
    finest: float,
) -> int:
    """Live from ``s.now_h`` to `end_h` under a plan.

    Parameters
    ----------
    s : record of STATE
        Changed in place.
    f, p, plan : records of FEMALE, Params, PLAN
    rows : ndarray of ORDER
    luck : ndarray of uint64, shape (4,)
    ask_h : ndarray, shape (q,)
        Rising hours at which the state is copied into `asked`, shape (q,) of STATE.
    o : record of OUTCOME
    record : ndarray, shape (m, 7)
        Trace; m = 0 keeps none.
    finest : float
        Scale of the steps; 1 in use, less to show that it does not matter.

    Returns
    -------
    int
        Lines written to `record`.
    """
    row = plan.first_row
    ask = 0
    n = 0
    n_steps = 0
    most_steps = MOST_STEPS_PER_H * (end_h - s.now_h + 100.0) / finest
    while True:
        n_steps += 1
        if n_steps > most_steps:
            o.is_endless = 1
            return n
        t = s.now_h
        due = end_h
        if s.has_follicle == 0 and s.ovulation_due_h == math.inf:
            due = min(due, s.emergence_h)
        if s.n_cl > 0 and s.is_pregnant == 0:
            due = min(due, next_ripe(s, t))
        due = min(due, s.heat_due_h, s.ovulation_due_h)
        due = min(due, s.insert_lost_h, s.ester_surge_h)
        due = min(due, s.embryo_lost_h, s.ai_due_h)
        if s.is_cycling == 0:
            due = min(due, s.first_ovulation_h)
        if row < plan.last_row:
            due = min(due, rows[row].hour)
        if ask < ask_h.shape[0]:
            due = min(due, ask_h[ask])
        if due > t:
            n = move(s, due, f, p, luck, record, n, finest)
            t = s.now_h
            if t < due:
                continue
        if s.has_follicle == 0 and s.ovulation_due_h == math.inf and s.emergence_h <= t:
            emerge(s, t, p, luck)
            if o.n_emergences < MOST_HEATS:
                o.emergence[o.n_emergences] = t
            o.n_emergences += 1
            n = note(record, n, s, p, DID_EMERGE)
        if s.n_cl > 0 and s.is_pregnant == 0 and next_ripe(s, t) <= t:
            if ripen(s, t, p):
                if o.n_falls < MOST_HEATS:
                    o.luteolysis[o.n_falls] = t
                o.n_falls += 1
            drop_dead_lutea(s, t)
        if s.is_cycling == 0 and s.first_ovulation_h <= t:
            s.is_cycling = 1
            s.first_ovulation_h = math.inf
        if s.insert_lost_h <= t:
            insert_out(s, t, f, p)
        if s.heat_due_h <= t:
            heat_starts(s, t, f, p, plan, rows, o, luck)
            n = note(record, n, s, p, DID_HEAT)
        if s.ester_surge_h <= t:
            ester_surge(s, t, f, p, luck)
            if s.heat_due_h <= t:
                heat_starts(s, t, f, p, plan, rows, o, luck)
                n = note(record, n, s, p, DID_HEAT)
        if s.ovulation_due_h <= t:
            ovulate(s, t, f, p, o, luck)
            n = note(record, n, s, p, DID_OVULATE)
        if s.embryo_lost_h <= t:
            lose_embryo(s, t)
            n = note(record, n, s, p, DID_LOSE)
        if s.ai_due_h <= t:
            s.ai_due_h = math.inf
            inseminate(s, t, plan.semen, f, p, o, luck)
            n = note(record, n, s, p, DID_AI)
        while row < plan.last_row and rows[row].hour <= t:
            if is_for_her(rows[row], s, plan, o):
                did = carry_out(rows[row], s, f, p, plan, o, luck)
                if did != DID_STEP:
                    n = note(record, n, s, p, did)
            row += 1
        while ask < ask_h.shape[0] and ask_h[ask] <= t:
            asked[ask] = s
            ask += 1
        if t >= end_h:
            return n


@compiled
def lose_embryo(s: Any, t: float) -> None:
    """An embryo dies; a luteum it was keeping is given up two days later."""
    s.is_pregnant = 0
    s.found_pregnant = 0
    s.embryo_lost_h = math.inf
    for k in range(s.n_cl):
        if s.cl_fall[k] > t and s.cl_ripe[k] < t + 48.0:
            s.cl_ripe[k] = t + 48.0
