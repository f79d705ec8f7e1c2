"""The calendar against RFC 5545 clause by clause, on the raw bytes and read back by a parser.

The clauses are from memory of the standard and from accounts of it; named beside each test.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest
from forecast_by_hand import with_forecast
from icalendar import Calendar

from herds import cow, cows, season
from sunup.planning.renewal import renew
from sunup.reports.calendar_file import render_calendar


@pytest.fixture(scope="module", params=["plain", "odd"])
def case(request, plan, odd_plan):
    chosen = {"plain": plan, "odd": odd_plan}[request.param]
    return chosen, render_calendar(chosen)


def events_of(raw):
    return Calendar.from_ical(raw).walk("VEVENT")


def work_of(raw):
    """The events with a clock time; those of whole days are what is due by a day."""
    return [e for e in events_of(raw) if isinstance(e["DTSTART"].dt, datetime)]


def days_of(raw):
    return [e for e in events_of(raw) if not isinstance(e["DTSTART"].dt, datetime)]


def steps_of(plan):
    return [step for group in plan.groups for step in group.schedule]


def firsts_of(plan):
    """The first step of each visit of a group, and each step called off."""
    found = {}
    for step in steps_of(plan):
        alone = step.uid if step.cancelled or step.until_utc else ""
        found.setdefault((step.group, step.visit, alone), step)
    return list(found.values())


def unfolded(raw):
    """RFC 5545 3.1: a line is joined by taking out CRLF and the one blank after it."""
    return raw.replace(b"\r\n ", b"").split(b"\r\n")


def test_every_line_ends_in_crlf_and_nothing_else(case):
    """Section 3.1."""
    _, raw = case
    assert raw.endswith(b"\r\n")
    assert raw.count(b"\n") == raw.count(b"\r\n") == raw.count(b"\r")


def test_no_line_is_longer_than_75_octets(case):
    """Section 3.1: without the line break, and octets, not characters."""
    _, raw = case
    assert max(len(line) for line in raw.split(b"\r\n")) <= 75


def test_folding_never_cuts_a_character(case):
    """Section 3.1: each physical line is whole UTF-8 by itself."""
    _, raw = case
    for line in raw.split(b"\r\n"):
        line.decode("utf-8")


def test_long_lines_with_accents_and_emoji_were_in_fact_folded(odd_plan):
    raw = render_calendar(odd_plan)
    assert b"\r\n " in raw
    names = {str(event["SUMMARY"]).rsplit(": ", 1)[0] for event in events_of(raw)}
    assert {group.name for group in odd_plan.groups} <= names | {
        name.removeprefix("Called off: ") for name in names
    }


def test_every_time_is_utc_and_none_floats(case):
    """Section 3.3.5, form 2: a Z, no TZID, so no VTIMEZONE is needed; or whole days (3.3.4)."""
    _, raw = case
    times = [line for line in unfolded(raw) if re.match(rb"(DT|LAST-MOD)", line)]
    assert times
    for line in times:
        assert re.fullmatch(rb"[A-Z-]+:\d{8}T\d{6}Z|DTSTART;VALUE=DATE:\d{8}", line)
    assert b"TZID" not in raw
    assert b"VTIMEZONE" not in raw


def test_the_calendar_has_version_and_maker_and_no_method(case):
    """Sections 3.6, 3.7.3, 3.7.4; METHOD would make it an invitation."""
    _, raw = case
    lines = unfolded(raw)
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert lines.count(b"VERSION:2.0") == 1
    assert len([line for line in lines if line.startswith(b"PRODID:")]) == 1
    assert not [line for line in lines if line.startswith(b"METHOD")]


def test_each_visit_is_one_event_with_what_must_be_there(case):
    """Section 3.6.1: UID and DTSTAMP once; DTSTART because there is no METHOD."""
    plan, raw = case
    events = events_of(raw)
    assert len(work_of(raw)) == len(firsts_of(plan))
    for event in events:
        names = Counter(name for name, _ in event.property_items(recursive=False))
        for must in ("UID", "DTSTAMP", "DTSTART", "SUMMARY", "SEQUENCE", "STATUS"):
            assert names[must] == 1, must


def test_ids_are_the_plans_and_name_no_host_or_person(case):
    """RFC 7986 section 5.3: random, and nothing that tells of a host, domain or user."""
    plan, raw = case
    uids = [str(event["UID"]) for event in events_of(raw)]
    assert uids[: len(firsts_of(plan))] == [step.uid for step in firsts_of(plan)]
    assert len(set(uids)) == len(uids)
    for uid in uids:
        UUID(uid)
        assert "@" not in uid


def test_the_stamp_is_when_the_plan_was_made_not_now(case):
    plan, raw = case
    assert {event["DTSTAMP"].dt for event in events_of(raw)} == {plan.made_at_utc}


def test_times_and_sequence_read_back_as_planned(case):
    plan, raw = case
    for step, event in zip(firsts_of(plan), work_of(raw), strict=True):
        assert event["DTSTART"].dt == step.at_utc


def test_the_sequence_rises_as_a_step_of_the_visit_moves_comes_or_goes(plan):
    """Section 3.8.7.4: a reader keeps the event with the higher number."""
    group = plan.groups[0]
    of_visit = [s for s in group.schedule if s.visit == "v2"]

    def sequence(*steps):
        only = replace(plan, groups=(replace(group, schedule=tuple(steps)),))
        return next(e["SEQUENCE"] for e in work_of(render_calendar(only)))

    as_made = sequence(*of_visit)
    moved = sequence(*(replace(s, sequence=1) for s in of_visit))
    more = sequence(*of_visit, replace(of_visit[0], id="aid", uid=str(UUID(int=1))))
    gone = sequence(of_visit[0], replace(of_visit[1], cancelled=True, sequence=1))
    assert as_made < min(moved, more, gone)


def test_the_steps_of_a_visit_stand_in_one_event(plan):
    (event,) = [e for e in work_of(render_calendar(plan)) if "insert out" in e["SUMMARY"]]
    assert str(event["SUMMARY"]) == "Cows: PGF and insert out (150 head)"
    assert "Count inserts out against inserts in." in event["DESCRIPTION"]
    assert "500 ug each" in event["DESCRIPTION"]


def test_work_is_called_out_the_evening_before(case):
    """Section 3.6.6: an alarm that is shown has an action, words and a trigger."""
    _, raw = case
    for event in work_of(raw):
        alarms = event.walk("VALARM")
        assert len(alarms) == (0 if event["STATUS"] == "CANCELLED" else 1)
        for found in alarms:
            assert found["ACTION"] == "DISPLAY"
            assert found["DESCRIPTION"] == event["SUMMARY"]
            assert found["TRIGGER"].dt == timedelta(hours=-12)


def test_days_of_watching_block_nobodys_calendar(plan):
    """Section 3.8.2.7."""
    opaque = {str(e["SUMMARY"]) for e in work_of(render_calendar(plan)) if "TRANSP" not in e}
    assert len(opaque) == len(work_of(render_calendar(plan))) - 1
    assert not any("watch for heat" in text for text in opaque)


def test_nothing_ends_at_a_second(plan):
    group = plan.groups[0]
    odd = tuple(replace(s, ends_utc=s.ends_utc + timedelta(seconds=36)) for s in group.schedule)
    raw = render_calendar(replace(plan, groups=(replace(group, schedule=odd),)))
    assert {e["DTEND"].dt.second for e in work_of(raw)} == {0}


def test_what_is_to_be_ordered_or_done_by_a_day_is_an_event_of_that_day(plan):
    """Each kind of order once; what was due before the plan was made is in no calendar."""
    found = {str(e["SUMMARY"]): e for e in days_of(render_calendar(plan))}
    assert {text: e["DTSTART"].dt for text, e in found.items()} == {
        "Last day: Cows: Score condition; feed thin cows": date(2027, 3, 1),
        "Order or book by today: PGF (cloprostenol), 250 ug/mL and GnRH (gonadorelin acetate), "
        "100 ug/2 mL": date(2027, 5, 3),
        "Order or book by today: progesterone inserts": date(2027, 5, 3),
        "Order or book by today: melengestrol feed": date(2027, 4, 18),
        "Order or book by today: straws of N4HB": date(2027, 3, 1),
        "Order or book by today: AI technician": date(2027, 2, 1),
    }
    (told,) = found["Last day: Cows: Score condition; feed thin cows"].walk("VALARM")
    start = datetime(2027, 3, 1) + told["TRIGGER"].dt
    assert start == datetime(2027, 2, 1, 8)  # the morning of its first day


def test_orders_keep_their_event_as_their_day_moves(plan):
    """The same UID and a higher SEQUENCE: the phone moves it and keeps no double."""
    moved = tuple(
        replace(line, order_by=line.order_by and line.order_by + timedelta(days=7))
        for line in plan.shopping
    )
    later = replace(plan, shopping=moved, made_at_utc=plan.made_at_utc + timedelta(hours=1))
    old, new = ({str(e["UID"]): e for e in days_of(render_calendar(p))} for p in (plan, later))
    assert old.keys() == new.keys()
    assert all(old[uid]["SEQUENCE"] < new[uid]["SEQUENCE"] for uid in old)


def test_an_event_never_ends_before_or_when_it_starts(case):
    """Section 3.8.2.2: DTEND is later than DTSTART; a moment has no DTEND at all."""
    _, raw = case
    for event in events_of(raw):
        if "DTEND" in event:
            assert event["DTEND"].dt > event["DTSTART"].dt


def test_a_watch_ends_when_the_watching_ends(plan):
    event = next(e for e in events_of(render_calendar(plan)) if "watch for heat" in e["SUMMARY"])
    assert event["DTEND"].dt - event["DTSTART"].dt == timedelta(hours=62)  # Thu 18:00 to Sun 08:00


def test_a_cancelled_step_stays_in_the_file(plan):
    """Section 3.8.1.11; RFC 5546: same UID, higher SEQUENCE, STATUS:CANCELLED."""
    events = events_of(render_calendar(plan))
    called_off = [e for e in events if e["STATUS"] == "CANCELLED"]
    assert [str(e["UID"]) for e in called_off] == [s.uid for s in steps_of(plan) if s.cancelled]
    assert called_off[0]["SEQUENCE"] == 2
    assert all(e["STATUS"] == "CONFIRMED" for e in events if e not in called_off)


def test_steps_of_a_group_that_is_no_more_stay_in_the_file_as_cancelled(plan):
    """A calendar handed out holds them: without STATUS:CANCELLED they would stay in the phone."""
    gone, *kept = plan.groups
    steps = tuple(replace(s, cancelled=True, sequence=s.sequence + 1) for s in gone.schedule)
    less = replace(plan, groups=tuple(kept), called_off=steps)
    events = {str(e["UID"]): e for e in work_of(render_calendar(less))}
    assert {s.uid for s in (*steps, *firsts_of(less))} == events.keys()
    assert all(events[s.uid]["STATUS"] == "CANCELLED" for s in steps)
    held = {str(e["UID"]): e["SEQUENCE"] for e in work_of(render_calendar(plan))}
    assert all(events[uid]["SEQUENCE"] > held[uid] for s in steps if (uid := s.uid) in held)


def test_commas_semicolons_and_backslashes_are_escaped(odd_plan):
    """Section 3.3.11."""
    raw = render_calendar(odd_plan)
    summary = next(line for line in unfolded(raw) if line.startswith(b"SUMMARY:Called off: =Vacas"))
    text = summary.decode()
    assert "\\, ñandú\\; 🐄 \\\\ the far" in text
    assert not re.search(r"(?<!\\)[,;]", text)


def test_control_characters_and_line_ends_in_a_name_do_no_harm(plan):
    from plan_by_hand import build_plan

    raw = render_calendar(build_plan(cow_name="Co\x00ws\r\nEND:VCALENDAR"))
    assert unfolded(raw).count(b"END:VCALENDAR") == 1
    assert b"\x00" not in raw
    assert len(work_of(raw)) == len(firsts_of(plan))


def test_the_description_tells_dose_window_hours_and_who_decides(plan):
    event = next(
        e
        for e in events_of(render_calendar(plan))
        if e["SUMMARY"] == "Cows: timed AI and GnRH (150 head)"
        and e["DTSTART"].dt == datetime(2027, 5, 27, 5, tzinfo=UTC)
    )
    text = str(event["DESCRIPTION"])
    assert "Start Wed 26 May 2027, 23:00 (America/Denver)." in text  # 63 h after Mon 24 May 08:00
    assert "63 h after PGF (elapsed hours)." in text
    assert "May start 20:00 to 02:00 on Thu 27 May." in text
    assert "100 ug each" in text
    assert text.endswith("The label and your veterinarian decide.")


def test_the_same_plan_gives_the_same_bytes(case):
    plan, raw = case
    assert raw == render_calendar(plan)


def test_the_feed_has_a_name_and_a_rate_of_refresh(case):
    """RFC 7986 sections 5.1 and 5.7: NAME; REFRESH-INTERVAL with VALUE=DURATION."""
    plan, raw = case
    assert Calendar.from_ical(raw)["NAME"] == f"{plan.ranch}: {plan.season}"
    assert b"REFRESH-INTERVAL;VALUE=DURATION:P1D" in unfolded(raw)


def test_inseminations_on_heat_are_events_of_their_own(watched):
    """Each begins at its hour and has no end: nobody knows before how many come."""
    found = [e for e in events_of(render_calendar(watched)) if "those seen in heat" in e["SUMMARY"]]
    at = [e.decoded("DTSTART").strftime("%d %H:%M") for e in found]
    assert at == ["25 00:00", "25 12:00", "26 00:00", "26 12:00"]  # 18:00 and 06:00 in Denver
    assert {str(e["SUMMARY"]) for e in found} == {
        "cows: inseminate those seen in heat (at most 60 head)"
    }
    assert not any("DTEND" in e for e in found)


def test_what_is_only_for_some_says_at_most(watched):
    (timed,) = [
        e
        for e in events_of(render_calendar(watched))
        if "cows: inseminate and GnRH (" in e["SUMMARY"]
    ]
    assert "at most 60 head" in timed["SUMMARY"]
    assert "At most 60 straws." in timed["DESCRIPTION"]


def test_the_timed_ai_of_the_rest_ends_when_those_forecast_are_done(watched):
    """25 of 60 at 25 an hour take one hour."""
    told = with_forecast(watched.groups[0], on_heat=35.0, on_time=25.0)
    raw = render_calendar(replace(watched, groups=(told,)))
    (timed,) = [e for e in events_of(raw) if "cows: inseminate and GnRH (" in e["SUMMARY"]]
    assert str(timed["SUMMARY"]).endswith("(about 25, at most 60 head)")
    assert timed.decoded("DTEND") - timed.decoded("DTSTART") == timedelta(hours=1)


def test_nobodys_work_stands_in_no_calendar_but_is_called_off_where_it_stood():
    """Calved ten days before the insemination: nobody can start, the schedule shows hours only."""
    late = [cow(str(i), days=10) for i in range(4)]
    plain = season(late, protocols={"cows": "co_synch_insert7_cow"})
    assert work_of(render_calendar(plain)) == []
    assert not [c for c in plain.clashes if c.group == "cows"]
    assert plain.groups[0].capacity == ()
    before = season(cows(4), protocols={"cows": "co_synch_insert7_cow"})
    held = {str(e["UID"]): e["SEQUENCE"] for e in work_of(render_calendar(before))}
    events = work_of(render_calendar(renew(plain, before)))
    assert {str(e["STATUS"]) for e in events} == {"CANCELLED"}
    assert {str(e["UID"]) for e in events} == held.keys()
    assert all(e["SEQUENCE"] > held[str(e["UID"])] for e in events)
