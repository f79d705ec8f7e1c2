"""Whatever the herd, day, zone, hours, chutes and protocol: a plan's hours hold, or it says so.

Each promise is checked here from the plan's own instants and the protocol's published window, with
zoneinfo and elapsed UTC time; nothing of the search that chose the times is used.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from herds import COW, FIRST_CALF, LIBRARY, clashes_of, cow, heifer, season
from sunup.planning.exposure import ExposureFigures, find_doubt
from sunup.planning.heat_aids import with_aids
from sunup.planning.options import OptionError, apply_options
from sunup.protocols.protocol import Do
from sunup.protocols.rules import RuleLimits, check_protocol
from sunup.records.female import CheckMethod, Exposure, ExposureKind, PregnancyFinding

ZONES = ("America/Chicago", "Europe/London", "Australia/Sydney", "America/Sao_Paulo")
HOUR = timedelta(hours=1)
SLACK = timedelta(minutes=1)  # runs end on whole seconds, starts on whole minutes
FIRST_SERVED = [p for p in LIBRARY.protocols.values() if p.zero.value != "first_ai"]
IN_CHUTE = {
    "gnrh",
    "pgf",
    "insert_in",
    "insert_out",
    "estradiol_benzoate",
    "estradiol_cypionate",
    "ecg",
    "ai",
    "preg_check",
    "heat_aid_on",
}
KEYS = [p.key for p in FIRST_SERVED]
BARRED_SOMEWHERE = {"mga_start"} | {b.active for r in LIBRARY.regions.values() for b in r.barred}


def region_for(protocol):
    """A region in which nothing the protocol gives is barred."""
    does = {s.do for s in protocol.steps}
    if does & {Do.ESTRADIOL_BENZOATE, Do.ESTRADIOL_CYPIONATE}:
        return "BR"
    if Do.ECG in does:
        return "UK"
    return "US"


@st.composite
def seasons(draw):
    """A protocol of the library, a herd it is for, and a season's wishes."""
    protocol = LIBRARY.protocols[draw(st.sampled_from(KEYS))]
    ai_on = date(2027, 1, 1) + timedelta(days=draw(st.integers(0, 729)))
    class_ = draw(st.sampled_from([COW, FIRST_CALF]))
    opens = draw(st.integers(4, 9))
    wishes = {
        "first_ai_on": ai_on,
        "zone": draw(st.sampled_from(ZONES)),
        "open_at": time(opens),
        "close_at": time(opens + draw(st.integers(6, 14))),
        "chutes": draw(st.integers(1, 4)),
        "protocols": {"g": protocol.key},
        "region": region_for(protocol),
    }
    return protocol.key, class_, draw(st.integers(1, 400)), wishes


def herd_for(protocol, class_, n, ai_on):
    """Females without a fault that the protocol is for; small in what a failing test prints."""
    if protocol.classes == ("heifer",):
        return [heifer(str(i), group="g", ai_on=ai_on) for i in range(n)]
    return [cow(str(i), group="g", ai_on=ai_on, days=90, class_=class_) for i in range(n)]


def lay_out(given_season):
    """The protocol with the heat aids a plan puts on, the wishes and the plan of a drawn season."""
    key, class_, n, wishes = given_season
    protocol = with_aids(LIBRARY.protocols[key])
    herd = herd_for(protocol, class_, n, wishes["first_ai_on"])
    return protocol, wishes, season(herd, **wishes)


def worked(group):
    """The visits people work cattle at: feed and watching go on every day."""
    return {s.visit for s in group.schedule if s.do not in {"watch", "mga_start", "mga_end"}}


def in_chute(group):
    """The visits that pass the group through the chute."""
    return {s.visit for s in group.schedule if s.do in IN_CHUTE}


def by_visit(group):
    """The visits of a schedule: their first step, all in one pass share start and end."""
    visits = {}
    for step in group.schedule:
        visits.setdefault(step.visit, step)
    return visits


def is_clean(plan):
    return not (clashes_of(plan, "outside_hours") or clashes_of(plan, "capacity"))


def anchor_of(protocol, visit):
    """The published anchor of a hard visit and its window in hours, straight from the protocol."""
    step = protocol.step(visit)
    if step.after is None:
        return None
    anchor = protocol.step(step.after)
    return anchor.with_ or anchor.id, step.hours - step.early_h, step.hours + step.late_h


@settings(max_examples=50, deadline=None)
@given(seasons())
def test_hard_steps_start_inside_their_window_of_elapsed_hours(given_season):
    protocol, _wishes, plan = lay_out(given_season)
    (group,) = plan.groups
    visits = by_visit(group)
    for name, step in visits.items():
        found = anchor_of(protocol, name)
        assert step.hard == (found is not None)
        if found is None:
            continue
        anchor, low, high = found
        elapsed_h = (step.at_utc - visits[anchor].at_utc) / HOUR
        assert low - 1e-6 <= elapsed_h <= high + 1e-6
        assert step.hours_after == pytest.approx(elapsed_h)
        assert step.window_utc[0] == visits[anchor].at_utc + low * HOUR
        assert step.window_utc[1] == visits[anchor].at_utc + high * HOUR


@settings(max_examples=50, deadline=None)
@given(seasons())
def test_every_female_keeps_her_own_interval_or_the_plan_says_it_cannot(given_season):
    """Females pass one by one along each run; the interval of each is her own two slots apart."""
    protocol, _wishes, plan = lay_out(given_season)
    (group,) = plan.groups
    assume(is_clean(plan))
    visits = by_visit(group)
    for name, step in visits.items():
        found = anchor_of(protocol, name)
        if found is None or not {name, found[0]} <= in_chute(group):
            continue
        anchor, low, high = found
        first = visits[anchor]
        n = step.head
        for i in {0, n // 2, n - 1}:
            treated = first.at_utc + (first.ends_utc - first.at_utc) * i / n
            served = step.at_utc + (step.ends_utc - step.at_utc) * i / n
            assert low * HOUR - SLACK <= served - treated <= high * HOUR + SLACK, (name, i)


@settings(max_examples=50, deadline=None)
@given(seasons())
def test_work_stays_inside_the_working_day_or_a_clash_names_the_step(given_season):
    _, wishes, plan = lay_out(given_season)
    (group,) = plan.groups
    zone = ZoneInfo(wishes["zone"])
    outside = set()
    for name, step in by_visit(group).items():
        if name not in worked(group):
            continue
        at, end = step.at_utc.astimezone(zone), step.ends_utc.astimezone(zone)
        late = end.date() > at.date() or end.time() > wishes["close_at"]
        if at.time() < wishes["open_at"] or late:
            outside.add(name)
    visit_of = {s.id: s.visit for s in group.schedule}
    assert outside == {visit_of[c.step] for c in clashes_of(plan, "outside_hours")}


@settings(max_examples=50, deadline=None)
@given(seasons())
def test_soft_steps_keep_the_clock_of_zero_within_their_tolerance(given_season):
    protocol, wishes, plan = lay_out(given_season)
    (group,) = plan.groups
    zone = ZoneInfo(wishes["zone"])
    visits = by_visit(group)
    zero_id = next(s.id for s in protocol.steps if s.with_ is None)
    zero = visits[zero_id].at_utc.astimezone(zone).replace(tzinfo=None)
    for name, step in visits.items():
        published = protocol.step(name)
        if published.after is not None or name == zero_id:
            continue
        wall = step.at_utc.astimezone(zone).replace(tzinfo=None)
        bend_h = (wall - zero - timedelta(days=published.day)) / HOUR
        assert -published.early_h - 1e-6 <= bend_h <= published.late_h + 1e-6, name


@settings(max_examples=50, deadline=None)
@given(seasons())
def test_the_first_service_falls_on_the_wanted_day(given_season):
    protocol, wishes, plan = lay_out(given_season)
    (group,) = plan.groups
    zone = ZoneInfo(wishes["zone"])
    ais = [s.at_utc for s in group.schedule if s.do == "ai"]
    watched = [s for s in protocol.steps if s.do is Do.WATCH and s.inseminate not in {None, "none"}]
    assume(ais and not watched)
    assert wishes["first_ai_on"] == min(ais).astimezone(zone).date()


@settings(max_examples=50, deadline=None)
@given(seasons())
def test_heads_doses_volumes_and_straws_agree_with_each_other(given_season):
    protocol, _wishes, plan = lay_out(given_season)
    (group,) = plan.groups
    treated = [f for f in plan.females if f.is_treated]
    assert len(treated) == group.ready == len(group.order) == len(set(group.order))
    assert {f.tag for f in treated} == set(group.order)
    for step in group.schedule:
        assert step.head == len(treated)
        assert step.at_utc <= step.ends_utc
        assert step.window_utc[0] <= step.at_utc <= step.window_utc[1]
        if step.dose is not None and step.dose.ml_each is not None:
            assert step.dose.ml_total == pytest.approx(step.head * step.dose.ml_each)
            assert step.doses == step.head
    straws = sum(s.straws for s in group.schedule)
    assert sum(use.straws for use in group.sires) >= straws
    ais = [s for s in protocol.steps if s.do is Do.AI]
    if len(ais) == 2 and {s.who.value for s in ais if s.who} == {"in_heat", "not_in_heat"}:
        assert straws == len(treated)  # a split needs one straw a female, not two
    assert len({s.uid for s in group.schedule}) == len(group.schedule)


@settings(max_examples=60, deadline=None)
@given(seasons())
def test_a_capacity_clash_is_real(given_season):
    """Where a clash says a run is too long, the run is longer than the day or its own window."""
    protocol, wishes, plan = lay_out(given_season)
    (group,) = plan.groups
    visits = by_visit(group)
    day_h = wishes["close_at"].hour - wishes["open_at"].hour
    zone = ZoneInfo(wishes["zone"])
    for clash in clashes_of(plan, "capacity"):
        line = next(c for c in group.capacity if c.visit == clash.step)
        run_h = line.head / line.head_per_hour
        assert line.hours_needed == pytest.approx(run_h, abs=1 / 3600)
        session = next((s for s in group.sessions if s.visit == clash.step), None)
        if session is not None:
            ends = session.ends_utc.astimezone(zone).replace(tzinfo=None)
            starts = session.at_utc.astimezone(zone)
            assert ends > datetime.combine(starts.date(), wishes["close_at"])
            continue
        said = [c.step for c in clashes_of(plan, "outside_hours")]
        broken = []
        for name, step in visits.items():
            found = anchor_of(protocol, name)
            if found is None or not {name, found[0]} <= in_chute(group):
                continue
            first = visits[found[0]]
            last = step.ends_utc - first.ends_utc
            if not found[1] * HOUR - SLACK <= last <= found[2] * HOUR + SLACK:
                broken.append(name)
        at = visits[clash.step].at_utc.astimezone(zone)
        assert run_h > day_h or said or broken, f"nothing is wrong at {at}"


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([p.key for p in FIRST_SERVED if any(s.do is Do.PGF for s in p.steps)]),
    st.lists(
        st.tuples(
            st.integers(-30, 90),  # days from exposure to insemination
            st.one_of(st.none(), st.integers(0, 40)),  # length, None: still in
            st.sampled_from([None, *PregnancyFinding]),
            st.one_of(st.none(), st.integers(-60, 5)),  # day of the check from insemination
            st.sampled_from([None, *CheckMethod]),
            st.sampled_from(list(ExposureKind)),
        ),
        min_size=1,
        max_size=12,
    ),
)
def test_no_female_who_may_be_pregnant_is_given_pgf(key, exposures):
    protocol = LIBRARY.protocols[key]
    ai_on = date(2027, 5, 25)
    make = heifer if protocol.classes == ("heifer",) else cow
    herd = []
    for i, (since, length, finding, checked, method, kind) in enumerate(exposures):
        start = ai_on - timedelta(days=since)
        herd.append(
            make(
                str(i),
                group="g",
                exposure=Exposure(
                    kind, start, None if length is None else start + timedelta(days=length)
                ),
                pregnancy=finding,
                pregnancy_checked_on=None if checked is None else ai_on + timedelta(days=checked),
                pregnancy_method=method,
            )
        )
    plan = season(herd, protocols={"g": protocol.key}, region=region_for(protocol))
    (group,) = plan.groups
    figures = ExposureFigures.of(LIBRARY)
    zone = ZoneInfo("America/Denver")
    for step in group.schedule:
        if step.do != "pgf":
            continue
        on = step.at_utc.astimezone(zone).date()
        for female in herd:
            if female.tag in group.order:
                assert find_doubt(female, pgf_on=on, figures=figures) is None


@pytest.mark.parametrize("region", sorted(LIBRARY.regions))
@pytest.mark.parametrize("class_", ["cow", "heifer"])
def test_no_plan_of_any_protocol_gives_what_the_region_bars_or_melengestrol_to_cows(region, class_):
    barred = {b.active for b in LIBRARY.regions[region].barred}
    make = heifer if class_ == "heifer" else cow
    herd = [make(str(i), group="g") for i in range(3)]
    for key, protocol in LIBRARY.protocols.items():
        if not {s.do.value for s in protocol.steps} & BARRED_SOMEWHERE:
            continue
        plan = season(herd, region=region, protocols={"g": key})
        (group,) = plan.groups
        for step in group.schedule:
            active = step.dose.active.partition("/")[0] if step.dose else None
            assert step.do not in barred, key
            assert active not in barred, key
            if step.do in {"mga_start", "mga_end"}:
                assert class_ == "heifer", key
                assert "melengestrol_acetate" not in barred, key
        if not group.schedule:
            assert any("refused" in p.what for p in plan.problems), key


@pytest.mark.parametrize("options", [
    ("sexed_semen",),
    ("no_gnrh_for_rubbed",),
    ("calf_removal_48h",),
    ("sexed_semen", "no_gnrh_for_rubbed"),
    ("sexed_semen", "calf_removal_48h"),
    ("no_gnrh_for_rubbed", "sexed_semen", "calf_removal_48h"),
    ("calf_removal_48h", "no_gnrh_for_rubbed", "sexed_semen"),
])  # fmt: skip
def test_options_that_apply_leave_a_protocol_that_keeps_every_rule(options):
    limits = RuleLimits(
        long_progestin_days=LIBRARY.number("practice.long_progestin_days"),
        heat_to_pass_days=LIBRARY.number("practice.heat_to_pass_days"),
        exposure_before_pgf_days=LIBRARY.number("practice.exposure_before_pgf_days"),
    )
    applied = 0
    for protocol in LIBRARY.protocols.values():
        try:
            changed = apply_options(protocol, options, library=LIBRARY, classes=protocol.classes)
        except OptionError:
            continue
        applied += 1
        problems = check_protocol(changed, limits=limits)
        assert not problems, [str(p) for p in problems]
    assert applied


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(["co_synch_insert7_cow", "split_insert7_cow_66_90", "select_synch_tai"]),
    st.integers(0, 400),
    st.integers(1, 4),
)
def test_starts_of_a_split_group_hold_every_female_once(protocol, n, parts):
    parts = min(parts, max(n, 1))  # more starts than females are refused
    herd = [cow(str(i), group="g") for i in range(n)]
    plan = season(herd, protocols={"g": protocol} if n else {}, splits={"g": parts} if n else {})
    assert sorted(f.tag for f in herd) == sorted(f.tag for f in plan.females)
    assert n == sum(g.n for g in plan.groups)
    assert all(g.n for g in plan.groups), "a start without a female"


def test_the_same_herd_gives_the_same_plan_twice():
    herd = [cow(str(i)) for i in range(30)] + [heifer(str(100 + i)) for i in range(20)]
    assert season(herd) == season(herd)


def test_instants_are_utc_and_aware():
    for group in season([cow("1"), heifer("2")]).groups:
        for step in group.schedule:
            for moment in (step.at_utc, step.ends_utc, *step.window_utc):
                assert moment.tzinfo is UTC
                assert isinstance(moment, datetime)
