"""Heat shown and seen, insemination and bulls, ovulation and what comes of a service."""

from __future__ import annotations

import math
from typing import Any

from sunup.physiology.anestrus import starts_after_luteum
from sunup.physiology.chance import MATING, OVULATION, SERVICE, spread
from sunup.physiology.compiled import compiled, compiled_apart
from sunup.physiology.fertility import (
    LOST_DAY_16,
    NO_OVULATION,
    NOT_SERVED,
    PREGNANT,
    early_part,
    embryo_life,
    late_part,
)
from sunup.physiology.heat import heat_length, stands_per_hour
from sunup.physiology.luteum import NORMAL, SHORT, add_luteum, drop_dead_lutea
from sunup.physiology.orders import Act, Who
from sunup.physiology.outcome import MOST_HEATS
from sunup.physiology.philox import draws
from sunup.physiology.progesterone import progesterone
from sunup.physiology.watching import NO_AI, hour_of_ai, hour_seen

ACT_WATCH = int(Act.WATCH)
WHO_IN_HEAT, WHO_NOT_IN_HEAT = int(Who.IN_HEAT), int(Who.NOT_IN_HEAT)
WHO_NOT_INSEMINATED, WHO_NOT_PREGNANT = int(Who.NOT_INSEMINATED), int(Who.NOT_PREGNANT)
PREGNANT_INDEX = 500  # of the luck of watching: apart from that of her other heats


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
def begin_outcome(o: Any, s: Any) -> None:
    """Empty an outcome."""
    o.first_ai_h = math.nan
    o.chance_first = 0.0
    o.second_ai_h = math.nan
    o.chance_second = 0.0
    o.conceived_h = math.nan
    o.served_h = math.nan
    o.calf_of_h = math.nan
    o.p4_at_clock = math.nan
    o.first_ovulation_h = math.nan
    for k in range(MOST_HEATS):
        o.heat_on[k] = math.nan
        o.heat_length[k] = math.nan
        o.heat_seen[k] = math.inf
        o.ovulation[k] = math.nan
        o.ovulation_mm[k] = math.nan
        o.emergence[k] = math.nan
        o.luteolysis[k] = math.nan
    o.n_emergences = 0
    o.n_falls = 0
    o.is_endless = 0
    o.n_heats = 0
    o.n_ovulations = 0
    o.n_ai = 0
    o.n_services = 0
    o.first_on_heat = 0
    o.first_is_false = 0
    o.pregnant_first = 0
    o.pregnant_second = 0
    o.pregnant = 0
    o.pregnant_by_bull = 0
    o.cause_first = NOT_SERVED
    o.was_cycling = s.is_cycling
    o.luteum_at_clock = 0
    o.n_luteolysis = 0
    o.luteum_stood = 0
    o.n_gnrh = 0
    for k in range(4):
        o.gnrh_ovulated[k] = -1


@compiled_apart
def heat_starts(s: Any, t: float, f: Any, p: Any, plan: Any, rows: Any, o: Any, luck: Any) -> bool:
    """A heat is due: it comes unless a progestin was given meanwhile; people may see it.

    Returns whether she stands.
    """
    s.heat_due_h = math.inf
    if progesterone(s, t, p) > p.heat_block_ng_ml:
        if s.is_forced == 0:
            s.ovulation_due_h = math.inf  # the surge is held back too, but for one by GnRH
        return False
    s.heat_h = t
    length = heat_length(s, int(s.n_surges), f, p, luck)
    s.heat_end_h = t + length
    if s.is_silent == 1:
        return False
    if t >= 0.0:
        show_heat(s, t, length, int(s.n_surges), p, plan, rows, o, luck)
    return True


@compiled_apart
def show_heat(
    s: Any,
    t: float,
    length: float,
    index: int,
    p: Any,
    plan: Any,
    rows: Any,
    o: Any,
    luck: Any,
) -> None:
    """She stands for `length` hours from hour `t`: people and bulls may act on it."""
    rate = stands_per_hour(s, p)
    k = min(o.n_heats, MOST_HEATS - 1)
    o.heat_on[k] = t
    o.heat_length[k] = length
    by_watch = False
    watched_from_h, watched_until_h = math.inf, -math.inf  # by the plan's own aid
    seen = math.inf
    company = 1.0
    for i in range(plan.first_row, plan.last_row):
        row = rows[i]
        if row.act != ACT_WATCH or row.until_h <= t or row.hour >= t + length + 12.0:
            continue
        if not is_for_her(row, s, plan, o):
            continue
        company = min(company, row.amount)
        if row.aid == plan.aid:
            watched_from_h = min(watched_from_h, row.hour)
            watched_until_h = max(watched_until_h, row.until_h)
        at = hour_seen(
            t,
            length,
            rate * row.amount,
            row,
            row.hour,
            row.until_h,
            plan.zero_clock_h,
            index,
            p,
            luck,
        )
        if at < math.inf:
            seen = min(seen, at)
            if row.rule != NO_AI and not by_watch and s.ai_due_h == math.inf:
                by_watch = True
                set_ai(s, at, t + length, int(row.rule), p, plan, o)
    strength = rate * company
    # before and after those watches heats are seen in the plan's own way, from hour 0 on
    first_h = 0.0 if t < 0.0 else -math.inf
    if t < watched_from_h:
        by_aid = hour_seen(
            t, length, strength, plan, first_h, watched_from_h, plan.zero_clock_h, index, p, luck
        )
        seen = min(seen, by_aid)
    if -math.inf < watched_until_h < t + length:
        by_aid = hour_seen(
            t, length, strength, plan, watched_until_h, math.inf, plan.zero_clock_h, index, p, luck
        )
        seen = min(seen, by_aid)
    o.heat_seen[k] = seen
    o.n_heats = k + 1
    if s.bulls_are_in == 1 and s.is_pregnant == 0:
        meet_bulls(s, t, index, p, luck)


@compiled
def meet_bulls(s: Any, t: float, index: int, p: Any, luck: Any) -> None:
    """A bull may serve her from hour `t` on, at which she stands: the first time counts."""
    u, _, _, _ = draws(luck, MATING, index)
    if u < p.bull_serves * s.bull_share:
        mate(s, t, p)


@compiled
def bulls_come(s: Any, t: float, share: float, f: Any, p: Any, luck: Any) -> None:
    """Bulls are turned out: they find her in heat if she is; not cycling yet, she begins sooner."""
    s.bulls_are_in = 1
    s.bull_share = share
    if s.is_cycling == 0 and f.is_heifer == 0:
        s.first_ovulation_h = t + p.bull_anestrus_left * max(0.0, s.first_ovulation_h - t)
    if s.heat_h <= t < s.heat_end_h and s.is_silent == 0 and s.is_pregnant == 0:
        meet_bulls(s, t, int(s.n_surges), p, luck)


@compiled
def goes_on(s: Any, p: Any, plan: Any, rows: Any, o: Any, luck: Any) -> None:
    """Show a heat that was under way when the plan begins, at hour 0."""
    if s.heat_h <= 0.0 < s.heat_end_h and s.is_silent == 0 and s.ovulation_due_h < math.inf:
        length = s.heat_end_h - s.heat_h
        show_heat(s, s.heat_h, length, int(s.n_surges), p, plan, rows, o, luck)


@compiled
def set_ai(s: Any, seen: float, over_h: float, rule: int, p: Any, plan: Any, o: Any) -> bool:
    """Set her insemination for a heat seen and over at `over_h`, unless it has had its service."""
    if over_h - s.last_ai_h <= p.same_service_h:
        return False
    s.ai_due_h = hour_of_ai(seen, rule, plan.zero_clock_h)
    if o.n_ai == 0:
        o.first_on_heat = 1
    return True


@compiled
def mate(s: Any, t: float, p: Any) -> None:
    """A bull serves her; his sperm meet the ovum at the right hour.

    In a heat that she was inseminated in it stays the service of that insemination: whose calf it
    is could not be told.
    """
    if s.ai_is_natural == 0 and t - s.last_ai_h <= p.same_service_h:
        return
    s.earlier_ai_h = -math.inf
    s.last_ai_h = t
    s.service_h = t
    s.n_services += 1
    s.ai_is_natural = 1
    s.ai_is_sexed = 0


@compiled
def inseminate(s: Any, t: float, semen: int, f: Any, p: Any, o: Any, luck: Any) -> None:
    """Inseminate her; a second insemination within two days belongs to the same service."""
    o.n_ai += 1
    s.ai_due_h = math.inf
    if o.n_ai == 1:
        o.first_ai_h = t
    s.earlier_ai_h = s.last_ai_h
    s.last_ai_h = t
    s.ai_is_natural = 0
    s.ai_is_sexed = semen
    if t - s.service_h > p.same_service_h:
        s.service_h = t
        s.n_services += 1
        o.n_services += 1
        if o.n_services == 1:
            o.cause_first = NO_OVULATION
        elif o.n_services == 2:
            o.second_ai_h = t
    if s.has_ovum == 1 and t - s.last_ovulation_h < p.ovum_life_h:
        evaluate_service(s, s.last_ovulation_h, s.last_ovulation_h - t, f, p, o, luck)


@compiled
def evaluate_service(
    s: Any, ovulation_h: float, before_h: float, f: Any, p: Any, o: Any, luck: Any
) -> None:
    """Ovum and sperm meet: settle what comes of it."""
    s.has_ovum = 0
    if s.is_pregnant == 1:
        return
    chance, cause, lost_days = embryo_life(s, f, ovulation_h, before_h, p, luck)
    if luteum_fails(s, ovulation_h):  # it ends in its own short time, and the embryo with it
        chance, lost_days = 0.0, math.inf
        if cause == PREGNANT or cause > LOST_DAY_16:
            cause = LOST_DAY_16
    is_first = o.n_services == 1 and s.ai_is_natural == 0
    if is_first:
        o.chance_first = chance
        o.cause_first = cause
    is_second = o.n_services == 2 and s.ai_is_natural == 0
    if is_second:
        o.chance_second = chance
    s.conceived_h = ovulation_h
    if cause == PREGNANT or lost_days < math.inf:
        s.is_pregnant = 1
        s.embryo_lost_h = ovulation_h + 24.0 * lost_days
        s.pregnant_heat_h = pregnant_heat(s, ovulation_h, p, luck)
    if cause == PREGNANT:
        o.calf_of_h = ovulation_h - before_h if lost_days == math.inf else math.nan
        if o.pregnant == 0:
            o.conceived_h = ovulation_h
            o.served_h = ovulation_h - before_h
            o.pregnant = 1
            o.pregnant_by_bull = s.ai_is_natural
        if is_first:
            o.pregnant_first = 1
        if is_second:
            o.pregnant_second = 1


@compiled
def pregnant_heat(s: Any, ovulation_h: float, p: Any, luck: Any) -> float:
    """Hour at which a pregnant female shows heat, infinite if she does not."""
    _, _, _, u = draws(luck, SERVICE, int(s.n_services))
    if u >= p.pregnant_heat_share:
        return math.inf
    span = p.pregnant_heat_until_days - p.pregnant_heat_from_days
    return ovulation_h + 24.0 * (p.pregnant_heat_from_days + span * u / p.pregnant_heat_share)


@compiled
def stand_pregnant(
    s: Any, t: float, f: Any, p: Any, plan: Any, rows: Any, o: Any, luck: Any
) -> None:
    """A pregnant female stands: no ovulation follows; not known pregnant, she is inseminated."""
    s.pregnant_heat_h = math.inf
    if s.is_pregnant == 0 or s.found_pregnant == 1:
        return
    index = PREGNANT_INDEX + int(s.n_services)
    show_heat(s, t, heat_length(s, index, f, p, luck), index, p, plan, rows, o, luck)


@compiled
def luteum_fails(s: Any, ovulation_h: float) -> bool:
    """Whether all this ovulation leaves is a short-lived luteum, which no embryo outlives."""
    is_short = False
    for k in range(s.n_cl):
        if s.cl_kind[k] == SHORT and s.cl_birth[k] == ovulation_h:
            is_short = True
        elif s.cl_fall[k] == math.inf:
            return False
    return is_short


@compiled
def ovulate(s: Any, t: float, f: Any, p: Any, o: Any, luck: Any) -> None:
    """Ovulation: a luteum is born, a wave is called, a service is settled."""
    s.ovulation_due_h = math.inf
    k = o.n_ovulations
    if k < MOST_HEATS:
        o.ovulation[k] = t
        o.ovulation_mm[k] = s.diameter
    o.n_ovulations += 1
    if s.deviation_h < math.inf:
        s.dominance_days = max(0.0, (t - s.deviation_h) / 24.0)
        grown_h = t - s.deviation_h + (p.deviation_mm - p.emergence_mm) / s.growth_mm_h
        s.prior_p4 = s.p4_sum / max(24.0, grown_h)
    s.n_ovulations += 1
    _, _, u, v = draws(luck, OVULATION, int(s.n_ovulations))
    kind = NORMAL
    is_under_progestin = s.insert_is_in == 1 or s.mga_is_fed == 1
    if s.is_primed == 0 and not is_under_progestin and u < p.short_luteum_share:
        kind = SHORT
    drop_dead_lutea(s, t)
    s.ovulation_p4 = progesterone(s, t, p)
    add_luteum(s, t, kind, p, luck)
    if s.is_cycling == 0 and starts_after_luteum(s, t, f, p):
        s.is_cycling = 1
        s.first_ovulation_h = math.inf
    s.is_primed = 1
    s.has_follicle = 0
    s.expired_h = -math.inf
    s.exposure = 0.0
    gap = spread(v, p.wave_after_ovulation_h, p.wave_after_ovulation_sd_h, 2.0)
    s.emergence_h = t + max(0.0, gap)
    s.last_ovulation_h = t
    s.has_ovum = 1
    before = t - s.last_ai_h
    if before < p.sperm_life_h:
        if s.ai_is_natural == 0 and t - s.earlier_ai_h < p.sperm_life_h:
            earlier = t - s.earlier_ai_h
            sexed = int(s.ai_is_sexed)
            worth = early_part(before, sexed, p) * late_part(before, p)
            if early_part(earlier, sexed, p) * late_part(earlier, p) > worth:
                before = earlier
        evaluate_service(s, t, before, f, p, o, luck)
    s.is_forced = 0
