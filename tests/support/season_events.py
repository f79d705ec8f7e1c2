"""One season of two invented groups as events: what was done, what slipped, what came of it.

Forty cows on a timed protocol and 24 heifers watched for heat. Nothing here is an expected value:
every count a test asks for can be counted in `SEASON`'s constants below.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache

from ledger_events import event, made_id

from herds import cows, heifers, season, step_of
from sunup.exchange.plan_file import plan_to_json
from sunup.records.event import Kind

RANCH = "test ranch"
SEASON = "spring 2027"
COWS, HEIFERS = 40, 24
PROTOCOLS = {"cows": "co_synch_insert7_cow", "heifers": "insert7_pg_heat"}
LATE_PGF = (3, 11, 27)  # places of cows given PGF 9 h after their window closed
LATE_H = 9.0
MISSED_GNRH = (5,)  # place of a cow never given the first GnRH
LOST_INSERT = (8, 21)
PART_DOSE = (14,)
HEIFERS_SEEN = range(18)  # places of heifers seen in heat and inseminated
# cows pregnant to AI: 6 of 10 by the first technician, 5 of 10 by the second, in turn
PREGNANT_COWS = frozenset(i for i in range(COWS) if (i // 2) % 10 < (6 if i % 2 else 5))
PREGNANT_HEIFERS = frozenset({0, 1, 2, 4, 5, 7, 8, 10, 11, 13, 16})
OPEN_AFTER_BULLS = frozenset({17, 19, 39})  # of the cows, open after the season too
SOLD_OPEN = frozenset({17, 19})
DIED = frozenset({0})  # cow that dies pregnant
BULLS_AFTER_D, BULLS_DAYS = 12, 40
CHECK_AFTER_D = 75
BORN_DEAD = frozenset({1})  # cow whose calf is dead
TECHNICIANS, SIRES = ("Lee", "Sam"), ("A1", "B2", "C3")
GESTATION_D = 283


@cache
def the_plan():
    females = [*cows(COWS), *heifers(HEIFERS)]
    return season(
        females, protocols=PROTOCOLS, ranch=RANCH
    )  # fmt: skip


def female_id(group, i):
    return made_id("review", group, i)


class Writer:
    """Collects events; ids follow the order of writing."""

    def __init__(self):
        self.events = []

    def add(self, kind, at, body, *, female=None, group=None, by="Ann", **more):
        self.events.append(
            event(
                kind, at=at, id_=made_id("review event", len(self.events)), ranch=RANCH,
                female=female, group=group, body=body, entered_by=by, **more,
            )
        )  # fmt: skip


def make_events(*, results=True, calvings=True, forecast=None):
    """Events of the season; without results it stands at the last insemination."""
    plan = the_plan()
    out = Writer()
    start = datetime(2027, 4, 1, 15, tzinfo=UTC)
    out.add(
        Kind.PLAN_ADOPTED, start,
        {"plan_id": "plan-1", "season": SEASON, "plan": plan_to_json(plan)},
    )  # fmt: skip
    for group, told in (forecast or {}).items():
        body = {
            "plan_id": "plan-1", "forecast": {"group": group, **told}, "library_version": "x",
            "kernel_version": "y", "seed": 1,
        }  # fmt: skip
        out.add(Kind.FORECAST_KEPT, start, body, group=group)
    _on_file(out, start)
    _cows(out, plan.groups[0], results=results, calvings=calvings)
    _heifers(out, plan.groups[1], results=results)
    return out.events


def _on_file(out, start):
    for group, females in (("cows", cows(COWS)), ("heifers", heifers(HEIFERS))):
        for i, f in enumerate(females):
            body = {
                "tag": f.tag, "listed": True, "class": f.class_.value,
                "calved_on": f.calved_on.isoformat() if f.calved_on else None,
                "born_on": f.born_on.isoformat() if f.born_on else None,
            }  # fmt: skip
            body = {key: value for key, value in body.items() if value is not None}
            out.add(Kind.FEMALE_ADDED, start, body, female=female_id(group, i))
            out.add(Kind.MOVED, start, {"to": group}, female=female_id(group, i))
            score = {"score": 4.5 if i % 4 == 0 else 5.5}
            out.add(Kind.CONDITION_SCORED, start, score, female=female_id(group, i))


def _cows(out, group, *, results, calvings):
    at = {step.id: step.at_utc for step in group.schedule}
    pgf = step_of(group, "pgf")
    for place, tag in enumerate(group.order):
        i = int(tag) - 2001
        who = female_id("cows", i)
        minutes = timedelta(minutes=1.5 * place)
        if i not in MISSED_GNRH:
            dose = {"act": "gnrh", "active": "gonadorelin_acetate", "step": "gnrh_1"}
            if i in PART_DOSE:
                dose["dose_share"] = 0.5
            out.add(Kind.TREATED, at["gnrh_1"] + minutes, dose, female=who)
        out.add(Kind.INSERT_PLACED, at["in"] + minutes, {"step": "in"}, female=who)
        when = pgf.window_utc[1] + timedelta(hours=LATE_H) if i in LATE_PGF else pgf.at_utc
        treated = when + (timedelta() if i in LATE_PGF else minutes)
        dose = {"act": "pgf", "active": "cloprostenol", "step": "pgf"}
        out.add(Kind.TREATED, treated, dose, female=who)
        out.add(
            Kind.INSERT_REMOVED, treated, {"found": i not in LOST_INSERT, "step": "out"}, female=who
        )
        served = treated + timedelta(hours=63.25)
        if i % 5 != 4:
            out.add(
                Kind.HEAT_AID_READ, served, {"aid": "patch", "score": 4 if i % 3 else 1}, female=who
            )
        out.add(
            Kind.INSEMINATED, served,
            {
                "sire": SIRES[i % 3], "technician": TECHNICIANS[i % 2 == 0], "timed": True,
                "semen": "conventional", "step": "ai",
            },
            female=who,
        )  # fmt: skip
        dose = {"act": "gnrh", "active": "gonadorelin_acetate", "step": "gnrh_2"}
        out.add(Kind.TREATED, served, dose, female=who)
        if results:
            _end(out, who, served, pregnant=i in PREGNANT_COWS, open_=i in OPEN_AFTER_BULLS)
        if results and calvings:
            _calve(out, who, served, i)
    ai = at["ai"]
    bulls_in = ai + timedelta(days=BULLS_AFTER_D)
    out.add(Kind.BULLS_IN, bulls_in, {"bulls": ["Bull 1", "Bull 2"]}, group="cows")
    out.add(Kind.BULLS_OUT, bulls_in + timedelta(days=BULLS_DAYS), {}, group="cows")


def _end(out, who, served, *, pregnant, open_=False, bulls=True):
    on = served + timedelta(days=CHECK_AFTER_D)
    body = {"method": "ultrasound", "operator": "Vet", "result": "pregnant"}
    if pregnant:
        body["fetal_age_days"] = CHECK_AFTER_D + 2
    elif open_ or not bulls:
        body["result"] = "not_pregnant"
    else:
        body["fetal_age_days"] = CHECK_AFTER_D - BULLS_AFTER_D - 11
    out.add(Kind.PREGNANCY_CHECKED, on, body, female=who)


def _calve(out, who, served, i):
    if i in SOLD_OPEN:
        out.add(Kind.LEFT_HERD, served + timedelta(days=90), {"why": "sold"}, female=who)
    if i in DIED:
        out.add(Kind.LEFT_HERD, served + timedelta(days=120), {"why": "died"}, female=who)
    if i in DIED | OPEN_AFTER_BULLS:
        return
    bred = served if i in PREGNANT_COWS else served + timedelta(days=BULLS_AFTER_D + 11)
    on = bred + timedelta(days=GESTATION_D + (i % 7) - 3)
    calf = {"sex": "male" if i % 2 else "female", "alive": i not in BORN_DEAD}
    out.add(Kind.CALVED, on, {"ease": 1, "calves": [calf]}, female=who)
    if i not in BORN_DEAD:
        weaned = {"calves": 1, "weight_kg": 230.0}
        out.add(Kind.WEANED, served + timedelta(days=GESTATION_D + 200), weaned, female=who)


def _heifers(out, group, *, results):
    at = {step.id: step.at_utc for step in group.schedule}
    watch = next(s for s in group.schedule if s.do == "watch")
    for place, tag in enumerate(group.order):
        i = int(tag) - 7001
        who = female_id("heifers", i)
        minutes = timedelta(minutes=1.5 * place)
        for step in group.schedule:
            if step.do in {"gnrh", "pgf"} and step.who == "all":
                out.add(
                    Kind.TREATED, at[step.id] + minutes,
                    {"act": step.do, "active": "x", "step": step.id}, female=who,
                )  # fmt: skip
            elif step.do == "insert_in":
                out.add(Kind.INSERT_PLACED, at[step.id] + minutes, {"step": step.id}, female=who)
            elif step.do == "insert_out":
                out.add(
                    Kind.INSERT_REMOVED, at[step.id] + minutes, {"found": True, "step": step.id},
                    female=who,
                )  # fmt: skip
        if i not in HEIFERS_SEEN:
            if results:
                checked = watch.at_utc + timedelta(days=CHECK_AFTER_D)
                body = {"method": "ultrasound", "result": "not_pregnant"}
                out.add(Kind.PREGNANCY_CHECKED, checked, body, female=who)
            continue
        seen = watch.at_utc + timedelta(hours=24 + 12 * (i % 3))
        out.add(Kind.HEAT_SEEN, seen, {"sign": "standing"}, female=who)
        served = seen + timedelta(hours=12)
        body = {
            "sire": SIRES[i % 2], "technician": "Lee", "timed": False, "in_heat": True,
            "semen": "conventional",
        }  # fmt: skip
        out.add(Kind.INSEMINATED, served, body, female=who)
        if results:
            _end(out, who, served, pregnant=i in PREGNANT_HEIFERS, bulls=False)
    for n in range(0, 10, 2):  # every second half-day
        looked = watch.at_utc + timedelta(hours=12 * n)
        if looked < (watch.until_utc or watch.ends_utc):
            out.add(Kind.WATCHED, looked, {"minutes": 30, "aid": "none"}, group="heifers")
