"""What events say: a small season, corrections, who is who, counts."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from ledger_events import event, made_id

from sunup.records import observations as o
from sunup.records.corrections import stand
from sunup.records.event import Kind
from sunup.records.fold import fold
from sunup.records.state import StockKey

T0 = datetime(2027, 5, 1, 14, tzinfo=UTC)


def at(day, hour=0.0):
    return T0 + timedelta(days=day, hours=hour)


def say(kind, day, body=None, *, hour=0.0, **more):
    return event(kind, at=at(day, hour), body=body or {}, **more)


def add(name, tag, *, day=0, listed=True, **body):
    told = {"tag": tag, "listed": listed, **body}
    return say(Kind.FEMALE_ADDED, day, told, female=made_id(name))


def correct(first, day, body, **more):
    return say(Kind.CORRECTED, day, body, corrects=first.id, female=first.female, **more)


def test_a_small_season_is_told_female_by_female():
    cow, heifer = made_id("cow"), made_id("heifer")
    events = [
        add("cow", "412", **{"class": "cow"}, calved_on="2027-02-20"),
        add("heifer", "7", **{"class": "heifer"}),
        say(Kind.MOVED, 0, {"to": "Cows"}, hour=1, female=cow),
        say(Kind.MOVED, 0, {"to": "Heifers"}, hour=1, female=heifer),
        say(Kind.CONDITION_SCORED, 1, {"score": 5.5}, female=cow),
        say(Kind.TREATED, 10, {"act": "gnrh", "step": "gnrh_1"}, female=cow),
        say(Kind.INSERT_PLACED, 10, {"lot": "I7"}, hour=0.1, female=cow),
        say(Kind.TREATED, 17, {"act": "pgf", "dose_ml": 2}, female=cow),
        say(Kind.INSERT_REMOVED, 17, {"found": True}, hour=0.1, female=cow),
        say(Kind.WATCHED, 18, {"minutes": 30, "n_seen": 0}, group="Cows"),
        say(Kind.HEAT_AID_READ, 19, {"aid": "patch", "score": 4}, hour=17, female=cow),
        say(Kind.INSEMINATED, 19, {"sire": "S1"}, hour=18, female=cow, entered_by="Lee"),
        say(Kind.BULLS_IN, 31, {"bulls": ["Bull 1"]}, group="Cows"),
        say(Kind.HOLD_SET, 40, {"why": "lame", "until_on": "2027-06-20"}, female=cow),
        say(Kind.MOVED, 60, {"to": "Late"}, female=cow),
        say(Kind.BULLS_OUT, 75, {}, group="Cows"),
        say(Kind.PREGNANCY_CHECKED, 85, {"method": "ultrasound", "result": "pregnant"}, female=cow),
        say(Kind.LEFT_HERD, 90, {"why": "sold"}, female=heifer),
    ]
    state = fold(events)
    her = state.females[cow]
    assert (her.tag, her.group, her.is_here) == ("412", "Late", True)
    assert her.added.calved_on == date(2027, 2, 20)
    assert [s.group for s in her.stays] == ["Cows", "Late"]
    assert (her.group_at(at(59)), her.group_at(at(60)), her.group_at(at(-1))) == (
        "Cows",
        "Late",
        "",
    )
    assert [t.act for t in her.of(o.Treated)] == ["gnrh", "pgf"]
    assert [x.sire for x in her.of(o.Inseminated)] == ["S1"]
    assert her.of(o.Inseminated)[0].technician == "Lee"
    assert her.last(o.PregnancyChecked).result == "pregnant"
    # she ran with the bull of her group from the day he came until she left the group
    (span,) = state.with_bulls(her)
    assert (span.from_at, span.until_at, span.bulls) == (at(31), at(60), ("Bull 1",))
    assert [h.why for h in her.of(o.HoldSet)] == ["lame"]
    other = state.females[heifer]
    assert (other.is_here, other.left.why, other.group) == (False, "sold", "")
    assert state.groups["Cows"].of(o.Watched)[0].n_seen == 0
    assert state.balances[StockKey("insert", "inserts", "I7")].went == 1
    assert (state.unread, state.loose, dict(state.unplaced)) == ((), (), {})
    assert her.of(o.Treated)[0].on == date(2027, 5, 11)


def test_the_day_is_that_of_the_ranch():
    late = event(Kind.WEIGHED, at=datetime(2027, 5, 2, 3, tzinfo=UTC), female=made_id("a"),
                 body={"weight_kg": 500})  # fmt: skip
    state = fold([add("a", "1"), late])
    assert state.females[made_id("a")].last(o.Weighed).on == date(2027, 5, 1)


def test_the_measured_offset_of_a_clock_is_taken_off():
    # the phone was a day ahead: what it calls day 3 was day 2, before the other's entry
    phone = say(Kind.WEIGHED, 3, {"weight_kg": 1}, female=made_id("a"), clock_offset_s=86_400.0)
    other = say(Kind.WEIGHED, 2, {"weight_kg": 2}, hour=1, female=made_id("a"))
    state = fold([add("a", "1"), other, phone])
    weights = state.females[made_id("a")].of(o.Weighed)
    assert [w.weight_kg for w in weights] == [1, 2]
    assert weights[0].at == at(2)
    assert state.clocks == {"": (86_400.0, 86_400.0)}


def test_a_correction_states_anew_and_both_stay_visible():
    first = say(Kind.WEIGHED, 1, {"weight_kg": 548}, female=made_id("a"))
    second = correct(first, 2, {"taken_back": False, "body": {"weight_kg": 458}, "female": None})
    state = fold([add("a", "1"), second, first])
    (weight,) = state.females[made_id("a")].of(o.Weighed)
    assert (weight.weight_kg, weight.corrected_by, weight.at) == (458, second.id, at(1))
    versions = state.corrected[first.id]
    assert (versions.original, versions.corrections) == (first, (second,))
    assert versions.stands.body == {"weight_kg": 458}


def test_a_correction_gives_another_time_and_another_female():
    first = say(Kind.HEAT_SEEN, 1, {"sign": "standing"}, female=made_id("a"), clock_offset_s=60.0)
    told = {"taken_back": False, "female": made_id("b"), "occurred_at": "2027-05-04T12:00:00Z"}
    state = fold([add("a", "1"), add("b", "2"), first, correct(first, 5, told)])
    assert state.females[made_id("a")].of(o.HeatSeen) == ()
    (heat,) = state.females[made_id("b")].of(o.HeatSeen)
    assert heat.at == datetime(2027, 5, 4, 12, tzinfo=UTC)  # already by a right clock


def test_of_two_corrections_the_one_entered_later_holds():
    first = say(Kind.WEIGHED, 1, {"weight_kg": 1}, female=made_id("a"))
    one = correct(first, 9, {"taken_back": False, "body": {"weight_kg": 2}}, entered_at=at(3))
    two = correct(first, 2, {"taken_back": False, "body": {"weight_kg": 3}}, entered_at=at(4))
    state = fold([add("a", "1"), first, two, one])
    assert [w.weight_kg for w in state.females[made_id("a")].of(o.Weighed)] == [3]
    assert state.corrected[first.id].corrections == (one, two)


def test_the_later_correction_is_later_by_a_right_clock():
    first = say(Kind.WEIGHED, 1, {"weight_kg": 1}, female=made_id("a"))
    one = correct(first, 3, {"taken_back": False, "body": {"weight_kg": 2}})
    ahead = correct(first, 4, {"taken_back": False, "body": {"weight_kg": 3}}, clock_offset_s=2e5)
    state = fold([add("a", "1"), first, one, ahead])
    assert [w.weight_kg for w in state.females[made_id("a")].of(o.Weighed)] == [2]


@pytest.mark.parametrize(
    ("again", "weights"),
    [
        ({"taken_back": True}, [1]),  # the correction was a mistake: the original stands
        ({"taken_back": False, "body": {"weight_kg": 5}}, [5]),  # the right body after all
        ({"taken_back": False, "body": {"taken_back": True}}, []),  # it should have taken it back
        ({"taken_back": False, "body": {"taken_back": False, "body": {"weight_kg": 6}}}, [6]),
        ({"taken_back": False, "body": {"taken_back": "yes"}}, [2]),  # says nothing readable
    ],
)
def test_a_correction_may_be_corrected(again, weights):
    first = say(Kind.WEIGHED, 1, {"weight_kg": 1}, female=made_id("a"))
    one = correct(first, 2, {"taken_back": False, "body": {"weight_kg": 2}})
    state = fold([add("a", "1"), first, one, correct(one, 3, again)])
    assert [w.weight_kg for w in state.females[made_id("a")].of(o.Weighed)] == weights
    assert len(state.corrected[first.id].corrections) == 2


def test_taking_back_the_taking_back_restores_the_original():
    first = say(Kind.WEIGHED, 1, {"weight_kg": 1}, female=made_id("a"))
    gone = correct(first, 2, {"taken_back": True})
    back = correct(gone, 3, {"taken_back": True})
    events = [add("a", "1"), first, gone]
    assert fold(events).females[made_id("a")].of(o.Weighed) == ()
    restored = fold([*events, back])
    assert [w.weight_kg for w in restored.females[made_id("a")].of(o.Weighed)] == [1]
    assert restored.females[made_id("a")].of(o.Weighed)[0].corrected_by is None
    gone_again = fold([*events, back, correct(back, 4, {"taken_back": True})])
    assert gone_again.females[made_id("a")].of(o.Weighed) == ()


def test_an_original_restored_keeps_its_true_time():
    first = say(Kind.WEIGHED, 1, {"weight_kg": 1}, female=made_id("a"), clock_offset_s=3600.0)
    gone = correct(first, 2, {"taken_back": True})
    back = correct(gone, 3, {"taken_back": True})
    state = fold([add("a", "1"), first, gone, back])
    assert state.females[made_id("a")].last(o.Weighed).at == at(1, -1)


def test_a_chain_of_ten_thousand_corrections_is_followed():
    chain = [say(Kind.WEIGHED, 1, {"weight_kg": 1}, female=made_id("a"))]
    for i in range(10_000):
        chain.append(correct(chain[-1], 2, {"taken_back": True}, id_=made_id("chain", i)))
    state = fold([add("a", "1"), *chain])
    assert len(state.females[made_id("a")].of(o.Weighed)) == 1  # even: it stands


def test_corrections_in_a_ring_and_of_nothing_are_kept_apart():
    a = say(Kind.CORRECTED, 1, {"taken_back": True}, id_=made_id("x"), corrects=made_id("y"))
    b = say(Kind.CORRECTED, 2, {"taken_back": True}, id_=made_id("y"), corrects=made_id("x"))
    c = say(Kind.CORRECTED, 3, {"taken_back": True}, corrects=made_id("nothing"))
    assert fold([a, b, c]).loose == (a, b, c)


def test_an_older_form_and_its_correction_are_brought_up():
    old = replace(say(Kind.HEAT_SEEN, 1, {"sign": "stood"}, female=made_id("a")), version=0)
    told = {"taken_back": False, "body": {"sign": "mounted"}, "body_version": 0}
    for events, sign in (([old], "standing"), ([old, correct(old, 2, told)], "mounting")):
        state = fold([add("a", "1"), *events])
        assert [h.sign for h in state.females[made_id("a")].of(o.HeatSeen)] == [sign]


def test_an_unlisted_tag_found_to_be_a_female_on_file_becomes_her():
    met, cow = made_id("met"), made_id("cow")
    events = [
        add("cow", "412"),
        add("met", "4l2", day=5, listed=False),
        say(Kind.TREATED, 5, {"act": "pgf"}, hour=1, female=met),
        say(Kind.WEIGHED, 4, {"weight_kg": 500}, female=cow),
    ]
    before = fold(events)
    assert not before.females[met].is_listed
    after = fold([*events, say(Kind.IDENTIFIED, 8, {"same_as": cow}, female=met)])
    assert set(after.females) == {cow}
    her = after.find(met)
    assert her is after.females[cow]
    assert (her.tag, her.is_listed, her.ids) == ("412", True, tuple(sorted((cow, met))))
    assert [t.tag for t in her.tags] == ["4l2", "412"]
    assert [type(x) for x in her.log[1:3]] == [o.Weighed, o.Added]  # in the order of time
    assert len(her.of(o.Treated)) == 1


def test_the_last_word_on_who_she_is_holds_and_a_ring_is_one_female():
    a, b, c = (made_id(x) for x in "abc")
    added = [add("a", "1"), add("b", "2"), add("c", "3")]
    says = lambda day, who, same: say(Kind.IDENTIFIED, day, {"same_as": same}, female=who)  # noqa: E731
    assert fold([*added, says(1, a, b), says(2, a, c)]).same_as == {a: c}
    ring = fold([*added, says(1, a, b), says(2, b, c), says(3, c, a)])
    assert set(ring.females) == {min(a, b, c)}
    tail = fold([*added, says(1, a, b), says(2, b, c), says(3, c, b)])
    assert set(tail.females) == {min(b, c)}
    assert tail.find(a) is tail.females[min(b, c)]
    self_ = fold([*added, says(1, a, a)])
    assert set(self_.females) == {a, b, c}


def test_a_female_nobody_added_is_kept_apart_until_she_comes():
    heat = say(Kind.HEAT_SEEN, 1, {"sign": "standing"}, female=made_id("a"))
    alone = fold([heat])
    assert (set(alone.females), set(alone.unplaced)) == (set(), {made_id("a")})
    both = fold([heat, add("a", "1", day=5)])  # another device had her, entered later
    assert (len(both.females[made_id("a")].of(o.HeatSeen)), dict(both.unplaced)) == (1, {})


def test_what_cannot_be_read_or_placed_is_kept_and_never_raised():
    bad = [
        say(Kind.WEIGHED, 1, {"weight_kg": "548"}, female=made_id("a")),
        say(Kind.WEIGHED, 1, {}, female=made_id("a")),
        replace(say(Kind.HEAT_SEEN, 1, {"sign": "standing"}, female=made_id("a")), version=9),
        say(Kind.SETTING_CHANGED, 1, {"key": "k", "value": 3}),
        say(Kind.CORRECTED, 1, {"body": 3}, corrects=made_id("z")),
    ]
    lost = [
        say(Kind.WATCHED, 1, {"minutes": 3}),
        say(Kind.MOVED, 1, {"to": "Cows"}, group="Cows"),
        say(Kind.PLAN_CHANGED, 1, {"plan_id": "p", "based_on": "e", "plan": {}}),
    ]
    state = fold([*bad, *lost])
    assert {e.id for e in state.unread} == {e.id for e in bad}
    assert {e.id for e in state.loose} == {e.id for e in lost}


def test_two_different_events_of_one_id_give_the_same_state_in_any_order():
    one = say(Kind.WEIGHED, 1, {"weight_kg": 1}, female=made_id("a"), id_=made_id("e"))
    two = say(Kind.WEIGHED, 2, {"weight_kg": 2}, female=made_id("a"), id_=made_id("e"))
    assert fold([one, two]) == fold([two, one, two])
    assert fold([one, two]).doubled == (made_id("e"),)


def test_a_head_count_is_compared_with_who_was_there_then():
    events = [e for i in range(4) for e in (
        add(i, str(i)), say(Kind.MOVED, 1, {"to": "Cows"}, female=made_id(i)))]  # fmt: skip
    events += [
        say(Kind.TALLIED, 2, {"what": "head", "count": 4}, group="Cows"),
        say(Kind.MOVED, 3, {"to": "Late"}, female=made_id(0)),
        say(Kind.LEFT_HERD, 3, {"why": "died"}, female=made_id(1)),
        say(Kind.TALLIED, 4, {"what": "head", "count": 3}, group="Cows"),
        say(Kind.TALLIED, 4, {"what": "head", "count": 3, "place": "Pen 9"}, hour=1),
    ]
    told = fold(events).tallies
    assert [(t.expected, t.difference) for t in told] == [(4, 0), (2, 1), (None, None)]


def test_inserts_in_less_out_are_compared_with_a_count():
    events = [e for i in range(3) for e in (
        add(i, str(i)), say(Kind.MOVED, 1, {"to": "Cows"}, female=made_id(i)),
        say(Kind.INSERT_PLACED, 2, {}, female=made_id(i)))]  # fmt: skip
    events += [
        say(Kind.TALLIED, 3, {"what": "inserts", "count": 3}, group="Cows"),
        say(Kind.INSERT_REMOVED, 9, {"found": True}, female=made_id(0)),
        say(Kind.INSERT_REMOVED, 9, {"found": False}, female=made_id(1)),
        say(Kind.TALLIED, 10, {"what": "inserts", "count": 0}, group="Cows"),
    ]
    assert [t.difference for t in fold(events).tallies] == [0, -1]


def test_straws_doses_and_inserts_in_stock_are_compared_and_carried_on():
    drug = {"item": "cloprostenol", "unit": "doses", "why": "bought"}
    straw = {"item": "semen", "unit": "straws", "why": "bought", "sire": "S1", "batch": "C1"}
    events = [
        add("a", "1"),
        say(Kind.STOCK_MOVED, 0, {**straw, "amount": 10, "tank": "T1"}),
        say(Kind.STOCK_MOVED, 0, {**drug, "amount": 5}),
        say(Kind.STOCK_MOVED, 0, {"item": "insert", "unit": "inserts", "amount": 5, "why": "b"}),
        say(Kind.INSEMINATED, 2, {"sire": "S1", "batch": "C1", "tank": "T1", "straws": 2},
            female=made_id("a")),
        say(Kind.TREATED, 1, {"act": "pgf", "active": "cloprostenol"}, female=made_id("a")),
        say(Kind.INSERT_PLACED, 1, {}, female=made_id("a")),
        say(Kind.TALLIED, 3, {"what": "straws", "item": "S1", "count": 7}),
        say(Kind.TALLIED, 4, {"what": "straws", "item": "S1", "count": 7}),
        say(Kind.TALLIED, 4, {"what": "straws", "item": "S1", "place": "T9", "count": 0}),
        say(Kind.TALLIED, 4, {"what": "doses", "item": "cloprostenol", "count": 4}),
        say(Kind.TALLIED, 4, {"what": "inserts", "count": 5}),
    ]  # fmt: skip
    assert [(t.what, t.expected, t.difference) for t in sorted(
        fold(events).tallies, key=lambda t: (t.what, t.at, t.place or ""))] == [
        ("doses", 4, 0), ("inserts", 4, 1), ("straws", 8, -1), ("straws", 7, 0),
        ("straws", None, None),
    ]  # fmt: skip


def test_bottles_become_millilitres():
    bottle = {"item": "cloprostenol", "unit": "bottles", "amount": 2, "bottle_ml": 20, "why": "b"}
    used = {"act": "pgf", "active": "cloprostenol", "dose_ml": 2}
    state = fold([add("a", "1"), say(Kind.STOCK_MOVED, 0, bottle),
                  say(Kind.TREATED, 1, used, female=made_id("a"))])  # fmt: skip
    assert state.totals[StockKey("cloprostenol", "ml")].left == 38


def test_a_count_of_a_drug_in_millilitres_is_compared_also_in_the_older_form():
    bottle = {"item": "cloprostenol", "unit": "bottles", "amount": 2, "bottle_ml": 20, "why": "b"}
    count = {"what": "units", "item": "cloprostenol"}
    for told in ({"unit": "ml"}, {"place": "ml"}):
        state = fold([say(Kind.STOCK_MOVED, 0, bottle),
                      say(Kind.TALLIED, 1, {**count, **told, "count": 35})])  # fmt: skip
        assert [(t.expected, t.difference) for t in state.tallies] == [(40, -5)]
    (apart,) = fold([say(Kind.STOCK_MOVED, 0, bottle),
                     say(Kind.TALLIED, 1, {**count, "count": 35})]).tallies  # fmt: skip
    assert apart.expected is None


def test_a_change_from_a_version_nobody_has_any_more_is_named():
    adopted = say(Kind.PLAN_ADOPTED, 0, {"plan_id": "p", "season": "2027", "plan": {"v": 0}})
    change = lambda day, base, v: say(  # noqa: E731
        Kind.PLAN_CHANGED, day, {"plan_id": "p", "based_on": base, "plan": {"v": v}}
    )
    one = change(1, adopted.id, 1)
    two = change(2, adopted.id, 2)  # made on another device, from the first version
    three = change(3, two.id, 3)
    record = fold([three, two, one, adopted]).plans["p"]
    assert (record.now.plan, record.now.event, record.unseen) == ({"v": 3}, three.id, (two.id,))


def test_bulls_go_out_one_by_one():
    events = [
        add("a", "1"),
        say(Kind.MOVED, 0, {"to": "Cows"}, female=made_id("a")),
        say(Kind.BULLS_IN, 1, {"bulls": ["A", "B"]}, group="Cows"),
        say(Kind.BULLS_OUT, 5, {"bulls": ["A"]}, group="Cows"),
        say(Kind.BULLS_OUT, 9, {"bulls": ["B"]}, group="Cows"),
        say(Kind.BULLS_IN, 12, {"bulls": ["C"]}, group="Cows"),
    ]
    state = fold(events)
    spans = state.with_bulls(state.females[made_id("a")])
    assert [(s.from_at, s.until_at) for s in spans] == [(at(1), at(9)), (at(12), None)]


def test_events_as_they_stand_are_in_order_with_true_times():
    first = say(Kind.WEIGHED, 1, {"weight_kg": 1}, female=made_id("a"), clock_offset_s=3600.0)
    gone = say(Kind.WEIGHED, 2, {"weight_kg": 2}, female=made_id("a"))
    told = stand([gone, first, first, correct(gone, 3, {"taken_back": True})])
    assert [(e.id, e.occurred_at, e.clock_offset_s) for e in told] == [(first.id, at(1, -1), None)]
