"""A plan built by hand, so that paper can be tested without the planning code.

The days and hours follow the published 7-day CO-Synch + insert and melengestrol-PGF schedules in
outline only; nothing here is checked against them. Prices and herd are invented for the tests.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from sunup.base.problems import Problem, Severity
from sunup.planning.plan import (
    BullsAlone,
    Capacity,
    Clash,
    DoseLine,
    FemaleLine,
    Fit,
    GroupPlan,
    LaterView,
    Money,
    Plan,
    Published,
    Reason,
    Rejected,
    RunUpItem,
    ScheduledStep,
    ShoppingLine,
    SireUse,
    State,
)

ZONE = "America/Denver"  # UTC-6 in May 2027
PGF_CAUTION = (
    "PGF passes through the skin and can bring on abortion and tightness of the chest. Women of "
    "child-bearing age and people with asthma handle it with great care; wash off spills at once "
    "with soap and water."
)
INSERT_CAUTION = "Wear gloves to handle inserts; keep used ones out of reach of people and dogs."


def dose(kind, head, *, prescription=True):
    table = {
        "gnrh": ("gonadorelin_acetate", "GnRH (gonadorelin acetate)", "100 ug/2 mL", "100 ug", 2.0),
        "pgf": ("cloprostenol", "PGF (cloprostenol)", "250 ug/mL", "500 ug", 2.0),
    }
    if kind == "insert":
        return DoseLine(
            active="progesterone_insert",
            name="progesterone insert",
            strength="1.38 g/insert",
            dose="1 insert",
            ml_each=None,
            ml_total=None,
            route="in the vagina",
            needle="",
            prescription=False,
            cautions=(INSERT_CAUTION,),
        )
    if kind == "melengestrol":
        return DoseLine(
            active="melengestrol",
            name="melengestrol in feed",
            strength="0.5 mg a head a day",
            dose="0.5 mg a day",
            ml_each=None,
            ml_total=None,
            route="in feed",
            needle="",
            prescription=False,
            cautions=("Every heifer needs bunk space at the same time.",),
        )
    active, name, strength, amount, ml = table[kind]
    return DoseLine(
        active=active,
        name=name,
        strength=strength,
        dose=amount,
        ml_each=ml,
        ml_total=ml * head,
        route="IM, in the neck",
        needle="18 gauge, 1 to 1.5 inch",
        prescription=prescription,
        cautions=(PGF_CAUTION,) if kind == "pgf" else (),
    )


def uid(n):
    return f"5f0c1d2e-7a41-4b6c-9d3e-{n:012x}"


def at(day, hour, minute=0):
    """Clock time at the ranch (UTC-6) as an instant."""
    return datetime(2027, 5, 1, hour, minute, tzinfo=UTC) + timedelta(days=day - 1, hours=6)


def step(n, group, id_, visit, do, words, when, hours_long, head, **more):  # noqa: PLR0917
    base = {
        "uid": uid(n),
        "sequence": 0,
        "window_utc": (when - timedelta(hours=4), when + timedelta(hours=4)),
        "ends_utc": when + timedelta(hours=hours_long),
        "hard": False,
        "who": "all",
        "doses": head,
        "dose": None,
    }
    base.update(more)
    return ScheduledStep(
        group=group, id=id_, visit=visit, do=do, words=words, at_utc=when, head=head, **base
    )


def cow_steps(group, head):
    hours = head / 25
    ai_at = at(24, 8) + timedelta(hours=63)
    return (
        step(1, group, "gnrh_1", "v1", "gnrh", "GnRH", at(17, 8), hours, head,
             dose=dose("gnrh", head)),
        step(2, group, "in", "v1", "insert_in", "insert in", at(17, 8), hours, head,
             dose=dose("insert", head)),
        step(3, group, "pgf", "v2", "pgf", "PGF", at(24, 8), hours, head, dose=dose("pgf", head),
             flags=("Ends a pregnancy: only females that cannot be pregnant.",)),
        step(4, group, "out", "v2", "insert_out", "insert out", at(24, 8), hours, head,
             note="Count inserts out against inserts in."),
        step(5, group, "ai", "v3", "ai", "timed AI", ai_at, hours, head, hard=True,
             after_step="pgf", hours_after=63.0, straws=head,
             window_utc=(ai_at - timedelta(hours=3), ai_at + timedelta(hours=3))),
        step(6, group, "gnrh_2", "v3", "gnrh", "GnRH", ai_at, hours, head, hard=True,
             after_step="pgf", hours_after=63.0, dose=dose("gnrh", head),
             window_utc=(ai_at - timedelta(hours=3), ai_at + timedelta(hours=3)),
             label_note="The label text held names 48 to 72 h between PGF and GnRH."),
        step(7, group, "bulls", "v4", "bulls_in", "bulls in", at(41, 8), 1, head, doses=0),
    )  # fmt: skip


def heifer_steps(group, head):
    hours = head / 30
    return (
        step(21, group, "feed", "h1", "mga_start", "start feeding melengestrol", at(2, 7), 0.5,
             head, dose=dose("melengestrol", head)),
        step(22, group, "feed_end", "h2", "mga_end", "last day of melengestrol", at(15, 7), 0.5,
             head),
        step(23, group, "pgf", "h3", "pgf", "PGF", at(34, 8), hours, head, dose=dose("pgf", head)),
        step(24, group, "look", "h4", "watch", "watch for heat", at(34, 18), 1.0, head,
             until_utc=at(37, 8), doses=0, note="Two looks a day of 30 minutes at least."),
        step(25, group, "ai", "h5", "ai", "timed AI", at(37, 8), hours, head, hard=True,
             after_step="pgf", hours_after=72.0, straws=head),
        step(26, group, "gnrh", "h5", "gnrh", "GnRH", at(37, 8), hours, 30, hard=True,
             who="not_in_heat", after_step="pgf", hours_after=72.0, dose=dose("gnrh", 30)),
        step(27, group, "check", "h6", "preg_check", "pregnancy check", at(90, 8), hours, head,
             doses=0, cancelled=True, sequence=2),
    )  # fmt: skip


def females(group, class_, n, ready, first, *, states):
    lines = []
    held = list(states)
    for i in range(n):
        reasons, state, ready_on = (), State.READY, None
        if i >= ready:
            state, text, rule, ready_on = held[(i - ready) % len(held)]
            reasons = (Reason(rule, state, text, f"readiness.{rule}", ("trade_practice",),
                              ready_on),)  # fmt: skip
        elif i % 10 == 3:
            state = State.EXPECT_LESS
            reasons = (Reason("condition", state, "condition 4, wanted 5 at calving",
                              "readiness.condition", ("trade_practice",)),)  # fmt: skip
        lines.append(
            FemaleLine(
                tag=str(first + i),
                rfid=f"8400032{first * 1000 + i:08d}" if i % 3 else None,
                class_=class_,
                group=group,
                state=state,
                reasons=reasons,
                needs_progestin=None,
                ready_on=ready_on,
                row=i + 2,
            )
        )
    return tuple(lines)


COW_STATES = (
    (State.HOLD, "pregnant at the last check", "pregnant", None),
    (State.READY_ON, "calved 21 days before the first treatment, 35 wanted", "days_since_calving",
     date(2027, 5, 31)),
    (State.HOLD, "calved hard and kept the membranes", "calving_trouble", None),
)  # fmt: skip
HEIFER_STATES = ((State.HOLD, "reproductive tract score 1", "tract_score", None),)


def fit(key, name, cost):
    return Fit(
        protocol=key,
        name=name,
        standing="recommended",
        style="timed_ai",
        passes=3,
        days=10,
        watch_days=0,
        cost_per_female=cost,
        costs=(
            Money("drugs", "female", 18.25, True, "prices.drugs"),
            Money("semen", "female", 20.0, True, "prices.semen"),
            Money("labour", "female", cost - 38.25, False, "prices.labour", "your figure"),
            Money("technician's call", "group", 150.0, True, "prices.call"),
        ),
        published=(
            Published(
                "50-65 % pregnancy to timed AI in cows",
                50,
                65,
                ("ndsu_planning",),
                from_memory=True,
            ),
        ),
        notes=("Three passes through the chute.",),
        first_treatment_on=date(2027, 5, 17),
    )


def group(name, class_, members, steps, *, chosen, chosen_name, chosen_by, cost, code):
    treated = [f for f in members if f.is_treated]
    by_state = tuple((str(s), sum(1 for f in members if f.state is s)) for s in State)
    reasons = {}
    for f in members:
        for r in f.reasons:
            reasons[r.text] = reasons.get(r.text, 0) + 1
    ready = len(treated)
    return GroupPlan(
        name=name,
        class_=class_,
        n=len(members),
        ready=ready,
        by_state=by_state,
        by_reason=tuple(sorted(reasons.items())),
        later=(LaterView(7, ready + 3), LaterView(14, ready + 8), LaterView(21, ready + 8)),
        fits=(fit(chosen, chosen_name, cost), fit("select_synch", "Select Synch", cost + 2)),
        rejected=(
            Rejected("estradiol", "Estradiol and insert", "not sold for this use in the region",
                     refused=True),
            Rejected("melengestrol_long", "14-19 day", "starts before today", refused=False),
        ),
        bulls_alone=BullsAlone(
            bulls=6,
            cost_per_female=41.5,
            cost_per_pregnancy=46.1,
            lines=(Money("bull keep", "female", 41.5, True, "prices.bull_keep"),),
            earlier_calf_value_per_day=2.4,
            note="A calf a day earlier is worth about 2.40 at weaning (example price).",
        ),
        chosen=chosen,
        chosen_name=chosen_name,
        chosen_by=chosen_by,
        options=("sexed_semen",) if class_ == "heifer" else (),
        schedule=steps,
        order=tuple(f.tag for f in treated),
        capacity=(
            Capacity("v3", ready, 25, ready / 25, 6, ready / 25 <= 6, "Start an hour earlier."),
        ),
        sires=(
            SireUse(name, code, "conventional", 0.6, round(ready * 0.6), 4),
            SireUse(name, f"{code}B", "sexed", 0.4, round(ready * 0.4), 3),
        ),
        cost_per_female=cost,
        cost_total=cost * ready,
    )  # fmt: skip


def shopping(head):
    return (
        ShoppingLine("PGF (cloprostenol), 250 ug/mL", head, "doses",
                     f"{2 * head} mL: 3 bottles of 100 mL, 1 of 20 mL; 6 mL left over",
                     date(2027, 5, 3), 412.5, True, "drug"),
        ShoppingLine("GnRH (gonadorelin acetate), 100 ug/2 mL", 2 * head, "doses",
                     "7 bottles of 100 mL; 100 mL left over", date(2027, 5, 3), 1207.5, True,
                     "drug"),
        ShoppingLine("progesterone inserts", head, "inserts", "16 bags of 10; 10 to spare",
                     date(2027, 5, 3), 1600.0, True, "insert"),
        ShoppingLine("melengestrol feed", 0.35, "ton", "48 head x 14 days", date(2027, 4, 18),
                     210.0, False, "feed"),
        ShoppingLine("straws of N4HB", 94, "straws", "90 and 4 to spare", date(2027, 3, 1), 1880.0,
                     True, "semen"),
        ShoppingLine("long sleeves", 220, "sleeves", "one a female and a tenth more", None, None,
                     False, "supply"),
        ShoppingLine("AI technician", 2, "days", "book now", date(2027, 2, 1), 900.0, True,
                     "service"),
    )  # fmt: skip


def build_plan(*, cows=172, cows_ready=150, heifers=48, heifers_ready=46, cow_name="Cows",
               heifer_name="Heifers", ranch="Dry Fork Ranch", **more):  # fmt: skip
    cow_lines = females(cow_name, "cow", cows, cows_ready, 1001, states=COW_STATES)
    heifer_lines = females(
        heifer_name, "heifer", heifers, heifers_ready, 5001, states=HEIFER_STATES
    )
    base = {
        "ranch": ranch,
        "zone": ZONE,
        "region": "United States",
        "season": "Spring 2027",
        "made_at_utc": datetime(2026, 11, 25, 15, 30, tzinfo=UTC),
        "library_version": "3f9a1c77d2e4",
        "program_version": "0.1.0",
        "settings": {"hours": "06:00-20:00", "head_per_hour": 25, "currency": "USD"},
        "females": cow_lines + heifer_lines,
        "groups": (
            group(cow_name, "cow", cow_lines, cow_steps(cow_name, cows_ready), chosen="co_synch_7",
                  chosen_name="7-day CO-Synch + insert", chosen_by="default", cost=52.4,
                  code="N4HB"),
            group(heifer_name, "heifer", heifer_lines, heifer_steps(heifer_name, heifers_ready),
                  chosen="melengestrol_pgf", chosen_name="melengestrol-PGF timed AI",
                  chosen_by="asked", cost=44.9, code="HX21"),
        ),
        "clashes": (
            Clash("weekend", heifer_name, "feed", date(2027, 5, 2),
                  "Feeding of melengestrol starts on a Sunday.", "Start on Mon 3 May or say so."),
            Clash("capacity", cow_name, "ai", date(2027, 5, 26),
                  "150 head at 25 an hour need 6.0 h and the window is 6.0 h.",
                  "Start at 20:00 or add a second breeder."),
        ),
        "shopping": shopping(cows_ready),
        "run_up": (
            RunUpItem("bull_exam", date(2026, 10, 1), date(2026, 11, 1),
                      "Have the clean-up bulls examined.", "A bull needs 60 days to recover.",
                      ("trade_practice",), from_memory=True, overdue=True),
            RunUpItem("condition", date(2027, 2, 1), date(2027, 3, 1),
                      "Score condition; feed thin cows.", "Condition at calving decides cycling.",
                      ("trade_practice",), from_memory=False, overdue=False, group=cow_name),
        ),
        "problems": (
            Problem("herd.csv row 14, calved_on", "31/02/2027 is not a date.", "Write it again.",
                    Severity.ERROR, 14, "calved_on", "31/02/2027"),
        ),
        "cautions": (
            "The label, local law and your veterinarian decide.",
            "Prescription drugs need a valid veterinary relationship.",
        ),
        "label_differences": (
            "Cows, GnRH with timed AI: the label text held names 48 to 72 h after PGF.",
        ),
    }  # fmt: skip
    base.update(more)
    return Plan(**base)


def build_odd_plan():
    """Names that try the edges: accents, emoji, formula starts, commas, very long, empty group."""
    odd = build_plan(
        cows=0,
        cows_ready=0,
        cow_name="=Vacas del Río, ñandú; 🐄 \\ the far side of the long creek pasture with shade",
        heifer_name="Génisses 🐮🌅",
        ranch="The Extraordinarily Long-Named Ranch and Grazing Association of Upper Dry Fork",
    )
    lines = tuple(
        replace(f, tag=("-" + f.tag if i % 2 else f"US-2026-000{f.tag}-GREEN"))
        for i, f in enumerate(odd.females)
    )
    rename = {old.tag: new.tag for old, new in zip(odd.females, lines, strict=True)}
    # of the empty group an older calendar holds the work
    groups = tuple(
        replace(
            g,
            order=tuple(rename[t] for t in g.order),
            schedule=tuple(s if s.head else replace(s, sequence=1) for s in g.schedule),
        )
        for g in odd.groups
    )
    return replace(odd, females=lines, groups=groups)
