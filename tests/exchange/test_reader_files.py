"""Files of tag readers and scales, and their clocks.

The shapes of lines are those of published manuals and of ISO 24631-6 (reader to computer); device
names are left out. Valid and refused codes follow ISO 11784 (38 bits, 999 for tests).
"""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from herds import LIMITS
from sunup.exchange.reader_clock import doubt_clock
from sunup.exchange.reader_file import read_reader_file
from support.small_ledger import ZONE

SHAPES = [
    (b"LA 982 000001088420\r\n", "982000001088420", None),
    (b"\x02LA 00000 0 982 000001088420\r\n", "982000001088420", None),
    (
        b"A 00000 0 982 000017383201, 890,LB,$,GR,8/27/03,10:15, \r\n",
        "982000017383201",
        datetime(2003, 8, 27, 10, 15),
    ),
    # 3DD hexadecimal is 989, 003BA20748 is 1000474440 (converted by hand)
    (
        b"20-07-2012 11:46:28 01 TAG 3DD.003BA20748\n",
        "989001000474440",
        datetime(2012, 7, 20, 11, 46, 28),
    ),
    (b"840003123456789\t", "840003123456789", None),
    (b"840 003123456789\n", "840003123456789", None),
    (b"0840003123456789\n", "840003123456789", None),
    (
        b"EID,Date,Time\n840003123456789,2027-05-22,14:45:03\n",
        "840003123456789",
        datetime(2027, 5, 22, 14, 45, 3),
    ),
]


@pytest.mark.parametrize(("data", "code", "at"), SHAPES)
def test_every_shape_of_line_is_read(data, code, at):
    file = read_reader_file(data, "reads.txt")
    assert [(one.rfid, one.at) for one in file.reads] == [(code, at)]
    assert file.problems == ()


def test_weight_beside_the_code_is_read_with_its_unit():
    one = read_reader_file(SHAPES[2][0], "f").reads[0]
    assert one.weight_kg == pytest.approx(403.7, abs=0.05)  # 890 lb


@pytest.mark.parametrize(
    "line",
    ["999000000000001", "840274877906944", "84000312345678", "8400031234567890",
     "000000000000001", "8.40003E+14", "840003123456789,840003123456788"],
)  # fmt: skip
def test_damaged_codes_are_told_and_not_taken(line):
    file = read_reader_file(f"{line}\n840003123456701\n".encode(), "f")
    assert [one.rfid for one in file.reads] == ["840003123456701"]
    assert [one.row for one in file.problems] == [1]


def test_reads_of_one_tag_within_three_seconds_are_one_and_later_ones_are_not():
    times = ["14:45:00", "14:45:02", "14:45:05", "15:10:00"]
    lines = "".join(f"840003123456789,2027-05-22 {one}\n" for one in times)
    file = read_reader_file(lines.encode(), "f")
    assert [(one.n, one.at.hour, one.at.minute) for one in file.reads] == [(3, 14, 45), (1, 15, 10)]
    assert file.repeated == 2


def test_order_of_day_and_month_is_settled_by_the_file_or_asked():
    asked = read_reader_file(b"840003123456789 05/04/2027 10:00\n", "f")
    assert asked.reads == ()
    assert "which is the day" in asked.problems[0].what
    both = b"840003123456789 05/04/2027 10:00\n840003123456701 13/04/2027 10:00\n"
    assert [one.at.month for one in read_reader_file(both, "f").reads] == [4, 4]
    said = read_reader_file(b"840003123456789 05/04/2027 10:00\n", "f", date_order="mdy")
    assert said.reads[0].at.month == 5


def session(start, n=6):
    lines = [
        f"84000312345670{i},{start + timedelta(minutes=2 * i):%Y-%m-%d %H:%M:%S}" for i in range(n)
    ]
    return read_reader_file("\n".join(lines).encode(), "f").reads


START = datetime(2027, 5, 22, 9, 0)  # on the reader's face
TRUE = datetime(2027, 5, 22, 15, 0, tzinfo=UTC)  # 09:00 in Denver in May (UTC-6)


def by_hand(off):
    return {f"84000312345670{i}": [TRUE + timedelta(minutes=2 * i + 1) - off] for i in range(6)}


def doubts(reads, **more):
    return doubt_clock(reads, zone=ZONE, limits=LIMITS, now=TRUE + timedelta(days=3), **more)


def test_right_clock_is_not_doubted():
    assert doubts(session(START), by_hand=by_hand(timedelta(0))) == ()


@pytest.mark.parametrize("hours", [-6, -1, 1, 7, 24])
def test_clock_off_by_hours_is_found_from_what_was_recorded_by_hand(hours):
    [doubt] = doubts(session(START), by_hand=by_hand(timedelta(hours=hours)))
    assert doubt.offset_s == hours * 3600


def test_two_records_that_happen_to_be_near_prove_nothing():
    few = dict(list(by_hand(timedelta(hours=6)).items())[:2])
    assert doubts(session(START), by_hand=few) == ()


def test_read_that_is_still_to_come_is_sure_to_be_wrong():
    now = TRUE - timedelta(hours=5)
    [doubt] = doubt_clock(session(START), zone=ZONE, limits=LIMITS, now=now)
    assert doubt.is_sure
    assert doubt.offset_s == 6 * 3600


def test_file_written_whole_hours_after_the_last_read_hints_at_a_zone():
    last = TRUE + timedelta(minutes=10)
    [doubt] = doubts(session(START), saved_at=last + timedelta(hours=6, minutes=1))
    assert doubt.offset_s == -6 * 3600
    assert doubts(session(START), saved_at=last + timedelta(hours=6, minutes=22)) == ()


def test_reads_of_the_night_are_asked_about():
    [doubt] = doubts(session(datetime(2027, 5, 22, 2, 0)))
    assert doubt.offset_s is None


@settings(max_examples=200, deadline=None)
@given(
    st.binary(max_size=200)
    | st.lists(
        st.sampled_from(["840003123456789", ",", " ", "31/12/2027", "25:61", "\x02", "890,LB",
                         "3DD.003BA20748", "TAG", "\n", "8.4E+14", "\U0001f404", "2027-02-30"]),
        max_size=20,
    ).map(lambda parts: "".join(parts).encode())
)  # fmt: skip
def test_no_file_however_odd_is_a_traceback_or_read_in_silence(data):
    file = read_reader_file(data, "f")
    assert file.reads or file.problems
    doubts(file.reads)


def test_cell_of_ten_megabytes_costs_its_line_only():
    file = read_reader_file(b"9" * 10_000_000 + b"\n840003123456789\n", "f")
    assert (len(file.reads), len(file.problems)) == (1, 1)
