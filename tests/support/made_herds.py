"""Herds of our own invention for tests of files: whatever a ledger may hold, by hypothesis."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from hypothesis import strategies as st

from sunup.records.event import Event, Kind
from support.ledger_events import made_id

RANCH = "Test ranch"
ZONE = "America/Denver"
START = datetime(2027, 3, 1, 14, tzinfo=UTC)
words = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cs", "Cc", "Cn", "Co"]),
    min_size=1,
    max_size=12,
).filter(lambda text: text.strip() == text and text != "")
lots = st.none() | words
halves = st.integers(2, 18).map(lambda n: n / 2)
weights = st.floats(30, 900).map(lambda kg: round(kg, 3))
rfids = st.integers(1, 2**38 - 1).filter(lambda n: n % 10**9).map(lambda n: f"840{n:012d}")

added = st.fixed_dictionaries(
    {"tag": words, "listed": st.booleans()},
    optional={
        "class": st.sampled_from(["heifer", "first_calf_cow", "cow"]),
        "rfid": rfids,
        "born_on": st.sampled_from(["2021-03-01", "2025-02-28"]),
        "breed_shares": st.sampled_from([{"Angus": 1.0}, {"Angus": 0.625, "Brahman": 0.375}]),
        "sire": words,
        "dam": words,
        "calved_on": st.sampled_from(["2027-02-01", "2026-12-31"]),
        "calving_ease": st.integers(1, 5),
        "mature_weight_kg": weights,
        "note": words,
    },
)
calves = st.lists(
    st.fixed_dictionaries(
        {},
        optional={
            "sex": st.sampled_from(["female", "male"]),
            "alive": st.booleans(),
            "weight_kg": weights,
            "tag": words,
        },
    ),
    max_size=2,
)
bottle = {
    "lot": words,
    "expires_on": st.sampled_from(["2028-06-30"]),
    "withdrawal_days": st.sampled_from([0, 1, 2.5, 21]),
    "note": words,
    "step": st.just("pgf"),
}


def _one(kind, must, optional=None):
    optional = {**(optional or {}), "note": words}
    return st.tuples(st.just(kind), st.fixed_dictionaries(must, optional=optional))


signs = st.sampled_from(["standing", "mounting", "mucus", "blood", "other"])
bodies = st.one_of(
    _one(
        Kind.HEAT_SEEN,
        {"sign": st.sampled_from(["standing", "mounting", "mucus", "blood", "other"])},
    ),
    _one(
        Kind.HEAT_AID_READ,
        {"aid": st.sampled_from(["patch", "chalk", "collar", "other"])},
        {"score": st.integers(1, 4), "lost": st.booleans()},
    ),
    _one(
        Kind.INSEMINATED,
        {"sire": words | st.just("unknown")},
        {
            "batch": words,
            "semen": st.sampled_from(["conventional", "sexed"]),
            "technician": words,
            "tank": words,
            "canister": words,
            "timed": st.booleans(),
            "straws": st.integers(1, 2),
        },
    ),
    _one(
        Kind.PREGNANCY_CHECKED,
        {
            "method": st.sampled_from(["ultrasound", "palpation", "blood", "other"]),
            "result": st.sampled_from(["pregnant", "not_pregnant", "unsure"]),
        },
        {
            "fetal_age_days": st.floats(20, 200).map(lambda d: round(d, 1)),
            "fetuses": st.integers(1, 3),
            "fetal_sex": st.sampled_from(["female", "male"]),
            "operator": words,
        },
    ),
    _one(
        Kind.CALVED,
        {},
        {"ease": st.integers(1, 5), "retained_membranes": st.booleans(), "calves": calves},
    ),
    _one(Kind.ABORTED, {}, {"found": words}),
    _one(
        Kind.TREATED,
        {"act": st.sampled_from(["gnrh", "pgf", "estradiol_benzoate", "ecg", "other"])},
        {
            "active": st.just("dinoprost"),
            "dose_ml": st.floats(0.5, 9).map(lambda d: round(d, 2)),
            "site": words,
            "dose_share": st.just(0.5),
            **bottle,
        },
    ),
    _one(Kind.INSERT_PLACED, {}, bottle),
    _one(Kind.INSERT_REMOVED, {"found": st.booleans()}),
    _one(Kind.VACCINATED, {"against": words}, {"lot": words, "modified_live": st.booleans()}),
    _one(Kind.WEIGHED, {"weight_kg": weights}),
    _one(Kind.CONDITION_SCORED, {"score": halves}),
    _one(Kind.TRACT_SCORED, {"score": st.integers(1, 5)}),
    _one(Kind.MOVED, {"to": st.sampled_from(["", "cows", "heifers"])}),
    _one(Kind.BULLS_IN, {"bulls": st.lists(words, min_size=1, max_size=2, unique=True)}),
    _one(Kind.BULLS_OUT, {}),
    _one(
        Kind.LEFT_HERD,
        {"why": st.sampled_from(["sold", "culled", "died", "missing", "other"])},
    ),
    _one(Kind.HOLD_SET, {"why": words}),
    _one(Kind.HOLD_LIFTED, {}),
    _one(Kind.TAG_CHANGED, {}, {"tag": words}),
)


@st.composite
def ledgers(draw):
    """Events of a small ranch: females, facts, corrections, one found to be another."""
    events = []
    n = draw(st.integers(1, 4))
    females = [made_id("female", i) for i in range(n)]
    used: set[str] = set()

    def put(kind, body, *, female=None, at=START, group=None, corrects=None, later=0):
        name = made_id("event", len(events))
        events.append(
            Event(
                id=name,
                ranch=RANCH,
                kind=kind,
                version=1,
                occurred_at=at,
                zone=ZONE,
                entered_at=at + timedelta(minutes=later),
                entered_by=draw(st.sampled_from(["", "Ana"])),
                device="phone",
                clock_offset_s=draw(st.sampled_from([None, 0.0, 3600.0])),
                female=female,
                group=group,
                body=body,
                corrects=corrects,
            )
        )
        return name

    for female in females:
        body = dict(draw(added))
        if body.get("rfid") in used:
            del body["rfid"]
        used.add(body.get("rfid", ""))
        put(Kind.FEMALE_ADDED, body, female=female)
    for _ in range(draw(st.integers(0, 12))):
        at = START + timedelta(minutes=draw(st.integers(0, 60 * 24 * 200)))
        if draw(st.integers(0, 9)) == 0:
            at = at.replace(hour=0, minute=0)
        kind, body = draw(bodies)
        if kind in {Kind.BULLS_IN, Kind.BULLS_OUT} and draw(st.booleans()):
            put(kind, body, group="cows", at=at)
            continue
        if draw(st.integers(0, 3)) == 0:
            body = {**body, "day_only": True}
            at = at.replace(hour=18, minute=0)  # noon at the ranch, the year through 17 or 18 h
            at = at if at.month in {4, 5, 6, 7, 8, 9} else at + timedelta(hours=1)
        name = put(kind, body, female=draw(st.sampled_from(females)), at=at)
        if draw(st.integers(0, 4)) == 0:
            taken_back = draw(st.booleans())
            word = {"taken_back": taken_back}
            if not taken_back:
                word["body"] = {**body, "note": "put right"}
            put(Kind.CORRECTED, word, at=at, corrects=name, later=90)
    if n > 1 and draw(st.integers(0, 3)) == 0:
        put(Kind.IDENTIFIED, {"same_as": females[0]}, female=females[1], at=START, later=999)
    return events
