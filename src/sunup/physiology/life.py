"""One female from her starting state to the end: which event comes next, and what it does.

The order of events that fall on the same hour, fixed here and nowhere else (changing it changes
results):

1. a wave emerges; 2. the uterus asks whether to end a luteum; 3. she begins to cycle by herself;
4. an insert falls out; 5. heat starts; 6. an estradiol ester acts, calls a surge; 7. ovulation;
8. an embryo dies; 9. heat in a pregnant female; 10. an aid is marked without a heat;
11. an insemination that was waiting; 12. her orders in their order; 13. her state is reported.

Between events diameter, dominance clock and exposure move by closed form in steps as long as
`longest_step` allows; a crossing (dominance spent, threshold passed) ends a step at the hour it
happens.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sunup.physiology.anestrus import begin, calf_goes, progestin_ends
from sunup.physiology.breeding import (
    begin_outcome,
    bulls_come,
    goes_on,
    heat_starts,
    inseminate,
    is_for_her,
    ovulate,
    stand_pregnant,
)
from sunup.physiology.compiled import compiled, compiled_apart
from sunup.physiology.false_heat import aid_goes_on, falsely_marked
from sunup.physiology.fertility import LOST_DAY_16, LOST_DAY_32, PREGNANT
from sunup.physiology.follicle import emerge
from sunup.physiology.heat import earliest_ovulation
from sunup.physiology.luteum import (
    answer_to_pgf,
    drop_dead_lutea,
    give_pgf,
    luteum_stands,
    next_ripe,
    ripen,
    share_of_dose,
)
from sunup.physiology.orders import CLUSTER_H, Act, Who
from sunup.physiology.outcome import (
    DID_AI,
    DID_EMERGE,
    DID_GNRH,
    DID_HEAT,
    DID_LOSE,
    DID_OVULATE,
    DID_PGF,
    DID_STEP,
    MOST_HEATS,
)
from sunup.physiology.progesterone import from_lutea, progesterone
from sunup.physiology.steps import move, note
from sunup.physiology.treatments import (
    ester_acts,
    ester_surge,
    give_ester,
    give_gnrh,
    insert_in,
    insert_out,
)
from sunup.physiology.watching import EYE

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
WHO_ALL = int(Who.ALL)
DRAWS = 24  # of a female whose last heat is known, until she has not stood since


@compiled_apart
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
            if plan.aid != EYE:  # by eye only while somebody watches
                aid_goes_on(s, t, int(plan.aid), p, luck)
        o.n_luteolysis += give_pgf(s, t, row.amount, f, p, luck)
        if 0.0 <= t - plan.clock_h <= CLUSTER_H:
            o.luteum_stood = 1 if luteum_stands(s) else 0
        pgf_ends_pregnancy(s, t, row, f, p, o)
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
        give_ester(s, t, row.amount, False, p, luck)
    elif act == ACT_ECP:
        give_ester(s, t, row.amount, True, p, luck)
    elif act == ACT_ECG:
        share = share_of_dose(row.amount, p.ecg_dose_half)
        until = t + 24.0 * p.ecg_days * share
        if until > max(t, s.ecg_until_h):  # a dose of nothing, or less than is left, adds nothing
            s.ecg_share = share
            s.ecg_until_h = until
    elif act == ACT_WATCH:
        aid_goes_on(s, t, int(row.aid), p, luck)
    elif act == ACT_CHECK:
        s.found_pregnant = 0
        if s.is_pregnant == 1 and t - s.conceived_h >= 24.0 * row.amount * p.check_from_days:
            s.found_pregnant = 1
    elif act == ACT_BULLS_IN:
        bulls_come(s, t, row.amount, f, p, luck)
    elif act == ACT_BULLS_OUT:
        s.bulls_are_in = 0
    return DID_STEP


@compiled_apart
def begin_life(
    s: Any,
    f: Any,
    p: Any,
    luck: Any,
    rows: Any,
    no_plan: Any,
    no_ask: Any,
    no_states: Any,
    o: Any,
    record: Any,
    finest: float,
) -> int:
    """Draw a female and live to zero; return the lines written to `record`.

    A last heat that is known was her last: until a cycle is surely over she is drawn again, in
    other luck, where she would have stood since. What comes after zero has its own luck.
    """
    own = luck[1]
    n = 0
    for attempt in range(DRAWS):
        luck[1] = own ^ (np.uint64(attempt) << np.uint64(20))
        begin(s, f, p, luck)
        begin_outcome(o, s)
        n = 0
        if s.now_h < 0.0:
            n = live(
                s, f, p, no_plan, rows, luck, 0.0, no_ask, no_states, o, record, finest, math.inf
            )
        # what comes within the hours of one service is that heat itself
        has_stood = s.is_silent == 0 and s.heat_h > p.same_service_h - 24.0 * f.cycle_day
        if not has_stood or f.cycle_day > p.no_heat_since_days:  # false where no day is known
            break
    luck[1] = own
    begin_outcome(o, s)
    return n


@compiled_apart
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
    heats_h: float,
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
    record : ndarray, shape (m, TRACED)
        Trace; m = 0 keeps none.
    finest : float
        Scale of the steps; 1 in use, less to show that it does not matter.
    heats_h : float
        From this hour on a female is followed only while a service is not settled; infinite to
        follow every female to the end.

    Returns
    -------
    int
        Lines written to `record`.
    """
    if s.now_h == 0.0:
        goes_on(s, p, plan, rows, o, luck)
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
        if t >= heats_h and is_settled(s, t, row, f, p, plan, end_h):
            return n
        due = end_h
        if s.has_follicle == 0 and s.ovulation_due_h == math.inf:
            due = min(due, s.emergence_h)
        if s.n_cl > 0 and s.is_pregnant == 0:
            due = min(due, next_ripe(s, t))
        due = min(due, s.heat_due_h, s.ovulation_due_h)
        due = min(due, s.insert_lost_h, s.ester_acts_h, s.ester_surge_h)
        due = min(due, s.embryo_lost_h, s.ai_due_h, s.pregnant_heat_h, s.false_heat_h)
        if s.is_cycling == 0:
            due = min(due, s.first_ovulation_h)
        if row < plan.last_row:
            due = min(due, rows[row].hour)
        if ask < ask_h.shape[0]:
            due = min(due, ask_h[ask])
        if due > t:
            pause_h = heats_h if row == plan.last_row and s.bulls_are_in == 0 else math.inf
            n = move(s, due, pause_h, f, p, luck, record, n, finest)
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
        if s.heat_due_h <= t and heat_starts(s, t, f, p, plan, rows, o, luck):
            n = note(record, n, s, p, DID_HEAT)
        if s.ester_acts_h <= t:
            ester_acts(s, t, p, luck)
        if s.ester_surge_h <= t:
            ester_surge(s, t, f, p, luck)
            if s.heat_due_h <= t and heat_starts(s, t, f, p, plan, rows, o, luck):
                n = note(record, n, s, p, DID_HEAT)
        if s.ovulation_due_h <= t:
            ovulate(s, t, f, p, o, luck)
            n = note(record, n, s, p, DID_OVULATE)
        if s.embryo_lost_h <= t:
            lose_embryo(s, t, p)
            n = note(record, n, s, p, DID_LOSE)
        if s.pregnant_heat_h <= t:
            stand_pregnant(s, t, f, p, plan, rows, o, luck)
            n = note(record, n, s, p, DID_HEAT)
        if s.false_heat_h <= t:
            falsely_marked(s, t, p, plan, rows, o, luck)
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
def is_settled(s: Any, t: float, row: int, f: Any, p: Any, plan: Any, end_h: float) -> bool:
    """Whether nothing before the end can change her services and what comes of them."""
    if row < plan.treated_row or t < plan.treated_h or s.ai_due_h < math.inf:
        return False
    if s.bulls_are_in == 1 or row < plan.last_row:
        return s.is_pregnant == 1 and s.embryo_lost_h > end_h
    if s.is_pregnant == 1:
        return True
    spent_h = s.last_ai_h + p.sperm_life_h
    if t >= spent_h:
        return True
    if s.ester_acts_h < math.inf or s.ester_surge_h < math.inf:
        return False
    return earliest_ovulation(s, t, f, p) >= spent_h


@compiled
def pgf_ends_pregnancy(s: Any, t: float, row: Any, f: Any, p: Any, o: Any) -> None:
    """Once PGF has ended every luteum, no embryo lives on.

    A chance is gone too where this life was not pregnant but another would have been: of her last
    service while its luteum stood for want of a sign; where all are given the PGF, of every service
    by as much as it would have answered.
    """
    if row.amount <= 0.0:
        return
    age_d = (t - s.conceived_h) / 24.0
    is_young = age_d < p.luteolysis_ripe_days
    is_for_all = row.who == WHO_ALL
    left = 0.0
    if s.is_pregnant == 0 and not is_young:
        left = 1.0 - answer_to_pgf(age_d, row.amount, False, f.indicus, p)
    if luteum_stands(s) and (s.is_pregnant == 1 or is_young or not is_for_all):
        return
    if s.is_pregnant == 0 and not is_young and not is_for_all:
        return
    if o.n_services > 0 and (is_for_all or (o.n_services == 1 and s.ai_is_natural == 0)):
        o.chance_first *= left
        if left == 0.0:
            o.pregnant_first = 0
            if o.cause_first == PREGNANT:
                o.cause_first = LOST_DAY_16 if is_young else LOST_DAY_32
    if o.n_services > 1 and (is_for_all or s.ai_is_natural == 0):
        o.chance_second *= left
        if left == 0.0:
            o.pregnant_second = 0
    if s.is_pregnant == 1:
        o.conceived_h = math.nan
        o.served_h = math.nan
        o.calf_of_h = math.nan
        o.pregnant = 0
        o.pregnant_by_bull = 0
        lose_embryo(s, t, p)


@compiled
def lose_embryo(s: Any, t: float, p: Any) -> None:
    """An embryo dies; a luteum it was keeping is given up some time after."""
    s.is_pregnant = 0
    s.embryo_lost_h = math.inf
    s.pregnant_heat_h = math.inf
    for k in range(s.n_cl):
        if s.cl_fall[k] > t and s.cl_ripe[k] < t + p.luteum_after_loss_h:
            s.cl_ripe[k] = t + p.luteum_after_loss_h
