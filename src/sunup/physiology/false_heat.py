"""A heat seen that is none: an aid rubbed or licked off, a rider taken for the one that stands.

Patches and chalk are now and then marked by something else than mounting, and people who watch by
eye bring in females that are not in heat. What the crew does then is what it does on a heat. A mark
that a true heat made, or would have made within two days, is that heat's. No device errs so.
"""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.breeding import is_for_her, set_ai
from sunup.physiology.chance import FALSE_HEAT
from sunup.physiology.compiled import compiled
from sunup.physiology.orders import Act
from sunup.physiology.outcome import MOST_HEATS
from sunup.physiology.philox import draws
from sunup.physiology.watching import CHALK, EYE, NO_AI, PATCH, next_check

ACT_WATCH = int(Act.WATCH)


@compiled
def aid_goes_on(s: Any, t: float, aid: int, p: Any, luck: Any) -> None:
    """From hour `t` she carries an aid or is watched; draw the hour of the next false mark."""
    per_d = 0.0
    if aid == PATCH:
        per_d = p.false_patch_per_d
    elif aid == CHALK:
        per_d = p.false_chalk_per_d
    elif aid == EYE:
        per_d = p.false_eye_per_d
    if per_d > 0.0 and s.false_heat_h == math.inf:
        s.n_false_heats += 1
        u, _, _, _ = draws(luck, FALSE_HEAT, int(s.n_false_heats))
        s.false_heat_h = t - 24.0 * math.log(u) / per_d


@compiled
def falsely_marked(s: Any, t: float, p: Any, plan: Any, rows: Any, o: Any, luck: Any) -> None:
    """Her aid is marked, or she is taken for standing, without a heat; the crew acts on it."""
    s.false_heat_h = math.inf
    aid = -1
    rule = NO_AI
    seen = t
    for i in range(plan.first_row, plan.last_row):
        row = rows[i]
        is_watched = row.act == ACT_WATCH and row.hour <= t < row.until_h
        if is_watched and is_for_her(row, s, plan, o):
            aid = int(row.aid)
            rule = int(row.rule)
            if aid == EYE:
                seen = t + next_check((t + plan.zero_clock_h) % 24.0, int(row.per_day))
                if seen >= row.until_h:
                    return
    if aid < 0 and plan.clock_h <= t <= plan.treated_h and plan.aid != EYE:
        aid = int(plan.aid)
    if aid not in (EYE, PATCH, CHALK):
        return
    aid_goes_on(s, t, aid, p, luck)
    if s.found_pregnant == 1 or t - s.heat_end_h < p.same_service_h:
        return
    k = min(o.n_heats, MOST_HEATS - 1)
    o.heat_seen[k] = seen
    o.n_heats = k + 1
    if rule == NO_AI or s.ai_due_h < math.inf:
        return
    if set_ai(s, seen, seen, rule, p, plan, o) and o.n_ai == 0:
        o.first_is_false = 1
