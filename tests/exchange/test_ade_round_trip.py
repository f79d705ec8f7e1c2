"""Out as ADE, into an empty ledger, out again: the same to the letter."""

import json
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from hypothesis import HealthCheck, given, settings

from herds import LIMITS
from sunup.exchange.ade_checks import check_resource
from sunup.exchange.ade_file import read_ade_file, render_ade
from sunup.exchange.ade_in import plan_ade
from sunup.exchange.ade_out import export_ade
from sunup.records.event import Event, Kind
from support.made_herds import RANCH, ZONE, ledgers

NOW = datetime(2028, 1, 1, tzinfo=UTC)


def shows_heat(one):
    score = one.body.get("score")
    return not one.body.get("lost") and (score or 4 * (one.body.get("aid") == "collar")) >= 3


def out(events):
    return export_ade(events, ranch=RANCH, shows_heat=shows_heat)


def plan(texts, events=()):
    files = [read_ade_file(text.encode(), f"file {n}") for n, text in enumerate(texts)]
    exported = out(events).resources
    return plan_ade(
        files, events, exported, ranch=RANCH, zone=ZoneInfo(ZONE), limits=LIMITS, now=NOW
    )


def recorded(drafts):
    return [
        Event(
            id=one.id,
            ranch=RANCH,
            kind=one.kind,
            version=1,
            occurred_at=one.at,
            zone=ZONE,
            entered_at=one.entered_at or NOW,
            entered_by=one.by,
            device="test",
            female=one.female,
            group=one.group,
            body=one.body,
            corrects=one.corrects,
        )
        for one in drafts
    ]


def has_null(value):
    if isinstance(value, dict):
        value = list(value.values())
    return value is None or (isinstance(value, list) and any(map(has_null, value)))


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(ledgers())
def test_out_in_and_out_again_is_the_same(events):
    first = out(events).resources
    text = render_ade(first)
    intake = plan([text])
    assert intake.aside == []
    again = recorded(intake.drafts)
    second = out(again).resources
    assert json.loads(render_ade(second)) == json.loads(text)
    assert render_ade(second) == text
    # and once more into what came of it: nothing is added
    assert plan([text], again).drafts == []


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(ledgers())
def test_own_export_into_its_own_ledger_adds_nothing(events):
    intake = plan([render_ade(out(events).resources)], events)
    assert (intake.drafts, intake.aside) == ([], [])


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(ledgers())
def test_exports_are_what_the_standard_asks_for(events):
    import icar.resources

    for one in out(events).resources:
        assert check_resource(one, "") == []
        name = one["resourceType"]
        model = getattr(icar.resources, name[0].upper() + name[1:])
        model.model_validate(one)
        assert not has_null(one)


def test_female_who_came_back_is_in_the_herd_after_the_journey_too():
    def told(number, kind, body, day):
        at = datetime(2027, 5, day, 15, tzinfo=UTC)
        return Event(
            f"00000000-0000-4000-8000-00000000000{number}", RANCH, kind, 1, at, ZONE, at,
            female="00000000-0000-4000-8000-0000000000aa", body=body,
        )  # fmt: skip

    events = [
        told(1, Kind.FEMALE_ADDED, {"tag": "1", "listed": True}, 1),
        told(2, Kind.LEFT_HERD, {"why": "missing"}, 2),
        told(3, Kind.MOVED, {"to": ""}, 3),
    ]
    first = out(events).resources
    assert first[0]["status"] == "Alive"
    again = out(recorded(plan([render_ade(first)]).drafts)).resources
    assert render_ade(again) == render_ade(first)


def test_every_kind_is_written_or_named_as_not_written():
    from sunup.exchange.ade_lost import HELD, NOT_WRITTEN
    from sunup.records.bodies import BODIES

    assert set(Kind) == {*HELD, *NOT_WRITTEN, Kind.CORRECTED}
    assert not set(HELD) & set(NOT_WRITTEN)
    for kind, fields in HELD.items():
        assert fields <= BODIES[kind].keys()
