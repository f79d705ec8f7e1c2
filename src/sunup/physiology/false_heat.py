"""An aid marked though she did not stand: rubbed in a crowd, licked off or rained on.

Patches and chalk sit on every female and are now and then marked by something else than mounting.
What people do then is what they do on a heat. A mark that a true heat made, or would have made
within two days, is that heat's. Nobody is taken to stand falsely by eye or device.
"""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.breeding import SAME_SERVICE_H, set_ai
from sunup.physiology.chance import FALSE_HEAT
from sunup.physiology.compiled import compiled
from sunup.physiology.orders import Act
from sunup.physiology.outcome import MOST_HEATS
from sunup.physiology.philox import draws
from sunup.physiology.watching import CHALK, NO_AI, PATCH

ACT_WATCH = int(Act.WATCH)


@compiled
def aid_goes_on(s: Any, t: float, aid: int, p: Any, luck: Any) -> None:
    """From hour `t` she carries an aid; draw the hour at which it is next marked falsely."""
    per_d = 0.0
    if aid == PATCH:
        per_d = p.false_patch_per_d
    elif aid == CHALK:
        per_d = p.false_chalk_per_d
    if per_d > 0.0 and s.false_heat_h == math.inf:
        u, _, _, _ = draws(luck, FALSE_HEAT, int(t * 2.0) + 100000)
        s.false_heat_h = t - 24.0 * math.log(u) / per_d


@compiled
def falsely_marked(s: Any, t: float, p: Any, plan: Any, rows: Any, o: Any, luck: Any) -> None:
    """Her aid is marked without a heat; the crew takes it for one."""
    s.false_heat_h = math.inf
    aid = -1
    rule = NO_AI
    for i in range(plan.first_row, plan.last_row):
        row = rows[i]
        if row.act == ACT_WATCH and row.hour <= t < row.until_h:
            aid = int(row.aid)
            rule = int(row.rule)
    if aid < 0 and plan.clock_h <= t <= plan.treated_h:
        aid = int(plan.aid)
    if aid not in (PATCH, CHALK):
        return
    aid_goes_on(s, t, aid, p, luck)
    if s.found_pregnant == 1 or t - s.heat_end_h < SAME_SERVICE_H:
        return
    k = min(o.n_heats, MOST_HEATS - 1)
    o.heat_seen[k] = t
    o.n_heats = k + 1
    if rule == NO_AI or s.ai_due_h < math.inf:
        return
    if set_ai(s, t, t, rule, plan, o) and o.n_ai == 0:
        o.first_is_false = 1
