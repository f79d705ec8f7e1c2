"""A seeded injector puts faults into a clean herd file.

Each fault must be reported at its row and column, nothing else may be, and the other rows must
load as if nothing had happened. The clean file and the faults are made here, independently of the
reader; what each fault must lead to is a rule of safety (an unreadable exposure is a hold), not a
record of what the program does.
"""

import csv
import io
import random
from dataclasses import dataclass, field
from datetime import date, timedelta

import pytest

from herds import LIMITS
from sunup.base.problems import Severity
from sunup.exchange.herd_file import HerdReading, read_herd

ON = date(2027, 5, 1)
ROWS = 400
RUNS = 200
READING = HerdReading(date_order=None, weight_unit=None)
HEADER = [
    "Tag", "RFID", "Class", "Calvings", "Breed", "Born", "Calved", "Calving ease",
    "Retained membranes", "BCS", "Weight (lb)", "Mature weight (lb)", "Tract score", "Pelvic area",
    "Cycling", "Bull in", "Bull out", "AI date", "Pregnancy", "Pregnancy check date",
    "Pregnancy check method", "Hold reason", "Group", "Sire", "Dam", "Ever given estradiol",
    "Remarks",
]  # fmt: skip
AT = {name: index for index, name in enumerate(HEADER)}


def day(rng, first, last):
    return (first + timedelta(days=rng.randrange((last - first).days + 1))).isoformat()


def clean_row(rng, number):
    kind = rng.choice(["heifer", "first-calf cow", "cow", "cow"])
    row = dict.fromkeys(HEADER, "")
    row |= {
        "Tag": rng.choice(["{:04d}", "B{}", "{}", "{}R"]).format(number + 100),
        "RFID": f"840003{number:09d}"[:6] + f"{number + 123456:09d}",
        "Class": kind,
        "Breed": rng.choice(["Angus", "AN50 HE50", "1/2 Angus 1/2 Brahman", "75% AN, 25% BR"]),
        "BCS": rng.choice(["4", "4.5", "5", "5.5", "6", "7"]),
        "Group": rng.choice(["", "North", "South pasture"]),
        "Sire": rng.choice(["", "Bull 7"]),
        "Dam": rng.choice(["", "0017"]),
        "Ever given estradiol": rng.choice(["", "no", "unknown"]),
        "Remarks": rng.choice(["", "quiet", "lame, left hind", 'horn 5" long', "wild\nsort out"]),
    }
    if kind == "heifer":
        row |= {
            "Born": day(rng, date(2026, 1, 15), date(2026, 4, 15)),
            "Calvings": "0",
            "Weight (lb)": str(rng.randrange(600, 900)),
            "Mature weight (lb)": "1250",
            "Tract score": str(rng.randrange(1, 6)),
            "Pelvic area": str(rng.randrange(130, 200)),
            "Cycling": rng.choice(["CL", "not cycling", ""]),
        }
        if rng.random() < 0.2:
            row["AI date"] = day(rng, date(2027, 4, 1), date(2027, 4, 20))
        return [row[name] for name in HEADER]
    first = kind == "first-calf cow"
    row |= {
        "Born": day(rng, date(2025, 2, 1), date(2025, 3, 1))
        if first
        else day(rng, date(2017, 2, 1), date(2022, 4, 1)),
        "Calvings": "1" if first else str(rng.randrange(2, 8)),
        "Calved": day(rng, date(2027, 1, 20), date(2027, 4, 20)),
        "Calving ease": str(rng.randrange(1, 4)),
        "Retained membranes": rng.choice(["no", "yes", ""]),
        "Weight (lb)": rng.choice(["1,150", "1080", "1305.5", "1,220 lb", "540 kg"]),
        "Hold reason": rng.choice(["", "", "", "sore foot"]),
    }
    if rng.random() < 0.6:
        row |= {
            "Bull in": day(rng, date(2026, 5, 1), date(2026, 5, 10)),
            "Bull out": day(rng, date(2026, 7, 1), date(2026, 7, 10)),
            "Pregnancy": rng.choice(["P", "pregnant", "unsure"]),
            "Pregnancy check date": day(rng, date(2026, 9, 1), date(2026, 9, 20)),
            "Pregnancy check method": rng.choice(["ultrasound", "palpation", "blood"]),
        }
    return [row[name] for name in HEADER]


def any_row(_row):
    return True


@dataclass
class Injection:
    """A copy of the clean table, the faults put in, and what must come of them."""

    rng: random.Random
    rows: list
    expected: set = field(default_factory=set)  # (row number, column header or None)
    touched: dict = field(default_factory=dict)  # row index -> checks of what she became
    closed: set = field(default_factory=set)  # rows that hold a fault no other may disturb
    broken_quote: set = field(default_factory=set)

    def pick(self, test=any_row):
        free = [
            index
            for index, row in enumerate(self.rows)
            if index not in self.touched and index not in self.closed and test(row)
        ]
        return self.rng.choice(free)

    def put(self, index, column, text, outcome):
        self.rows[index][AT[column]] = text
        self.expected.add((index + 2, column))
        self.touched.setdefault(index, []).append(outcome)


def out(female, _clean):
    assert female is None


def on_hold(female, _clean):
    assert female.hold_reason


def unchanged(female, clean):
    assert clean == female


def class_kept_or_held(female, clean):
    assert female.hold_reason or female.class_ is clean.class_


def unknown(name):
    def check(female, _clean):
        assert getattr(female, name) in {None, ()}

    return check


def has(*names):
    return lambda row: all(row[AT[name]] for name in names)


def is_heifer(row):
    return row[AT["Class"]] == "heifer"


def is_cow(row):
    return row[AT["Class"]] == "cow"


def cell(column, texts, outcome):
    """A cell that cannot be read by itself, on any row that is free or has such a fault already."""

    def inject(work):
        index = work.pick()
        shared = [
            at
            for at in work.touched
            if at not in work.closed and (at + 2, column) not in work.expected
        ]
        if shared and work.rng.random() < 0.3:
            index = work.rng.choice(sorted(shared))
        work.put(index, column, work.rng.choice(texts), outcome)

    return inject


def alone(column, text, outcome, test=any_row):
    """A cell that is wrong beside the other cells of its row."""

    def inject(work):
        index = work.pick(test)
        work.closed.add(index)
        work.put(index, column, text(work, work.rows[index]) if callable(text) else text, outcome)

    return inject


def twice(column, outcome):
    def inject(work):
        first = work.pick()
        work.closed.add(first)
        second = work.pick()
        work.closed.add(second)
        text = work.rows[first][AT[column]]
        work.put(first, column, text, outcome)
        work.put(second, column, text, outcome)

    return inject


def one_cell_too_many(work):
    index = work.pick()
    work.closed.add(index)
    work.rows[index].append("slipped")
    work.expected.add((index + 2, None))
    work.touched[index] = [out]


def quote_not_closed(work):
    index = work.pick(lambda row: "\n" not in row[AT["Remarks"]])
    work.closed.add(index)
    work.broken_quote.add(index)
    work.expected.add((index + 2, None))
    work.touched[index] = [out]


def shifted(column, days):
    return lambda _work, row: (
        date.fromisoformat(row[AT[column]]) + timedelta(days=days)
    ).isoformat()


def as_serial(_work, row):
    # day 1 of the spreadsheets' 1900 system is 1900-01-01, and it counts a 29 February 1900
    return str((date.fromisoformat(row[AT["Calved"]]) - date(1900, 1, 1)).days + 2)


TOMORROW = (ON + timedelta(days=1)).isoformat()
KINDS = {
    "tag missing": cell("Tag", ["", "  "], out),
    "tag made a date": cell("Tag", ["4-Mar", "Mar-04", "2027-03-04"], out),
    "tag shortened": cell("Tag", ["8.4E+05", "1.2E+07"], out),
    "tag an error cell": cell("Tag", ["#N/A", "#REF!"], out),
    "tag twice": twice("Tag", out),
    "RFID of wrong length": cell("RFID", ["84000312345678", "8400031234567890"], unknown("rfid")),
    "RFID shortened": cell("RFID", ["8.40003E+14", "840003000000000"], unknown("rfid")),
    "RFID test code": cell("RFID", ["999000000000001"], unknown("rfid")),
    "RFID over 38 bits": cell("RFID", ["840274877906944"], unknown("rfid")),
    "two RFIDs in a cell": cell("RFID", ["840003555555551 840003555555552"], unknown("rfid")),
    "RFID twice": twice("RFID", unknown("rfid")),
    "class not sure": cell("Class", ["F", "3", "calf?", "#VALUE!"], class_kept_or_held),
    "calvings against class": alone("Calvings", "3", on_hold, is_heifer),
    "breed shares above the whole": cell(
        "Breed", ["AN60 HE60", "3/4 AN 1/2 BR"], unknown("breed_shares")
    ),
    "born in the future": cell("Born", [TOMORROW, "2029-01-01"], unknown("born_on")),
    "born on no day": cell("Born", ["2024-02-30", "2025-13-01", "2023"], unknown("born_on")),
    "born a century ago": cell("Born", ["1921-04-01", "1900-01-00"], unknown("born_on")),
    "born after her calf": alone("Born", lambda _work, _row: "2027-04-30", on_hold, has("Calved")),
    "calved too young": alone("Born", shifted("Calved", -400), on_hold, has("Calved")),
    "calved tomorrow": cell("Calved", [TOMORROW], on_hold),
    "calved in year of two digits": cell("Calved", ["3/4/27", "4-Mar-27"], on_hold),
    "calved, order not told": cell("Calved", ["03/04/2027", "3.4.2027"], on_hold),
    "calved, a word": cell("Calved", ["early", "soon", "?"], on_hold),
    "calved as a day number": alone("Calved", as_serial, unchanged, has("Calved")),
    "heifer with a calving date": alone("Calved", "2027-03-01", on_hold, is_heifer),
    "calving ease out of scale": cell("Calving ease", ["0", "7", "1.5"], unknown("calving_ease")),
    "membranes neither yes nor no": cell(
        "Retained membranes", ["some"], unknown("retained_membranes")
    ),
    "condition out of scale": cell("BCS", ["0", "12", "55"], unknown("condition")),
    "condition between steps": cell("BCS", ["5.3", "5,25"], unknown("condition")),
    "condition a word": cell("BCS", ["fat", "5-6", "5+"], unknown("condition")),
    "weight in the wrong unit": alone("Weight (lb)", "1200 kg", unknown("weight_kg"), is_cow),
    "weight of kilograms under pounds": alone("Weight (lb)", "510", unknown("weight_kg"), is_cow),
    "weight a word": cell("Weight (lb)", ["heavy", "12x", "-540"], unknown("weight_kg")),
    "mature weight absurd": cell(
        "Mature weight (lb)", ["12500", "125"], unknown("mature_weight_kg")
    ),
    "tract score out of scale": cell("Tract score", ["6", "0", "2.5"], unknown("tract_score")),
    "pelvic area absurd": cell("Pelvic area", ["1700", "12", "15x12"], unknown("pelvic_area_cm2")),
    "cycling not readable": cell("Cycling", ["half", "7"], unknown("cycling")),
    "bull in not readable": cell("Bull in", ["May", "2026-06-31", "yes", "#N/A"], on_hold),
    "bull out before bull in": alone("Bull out", shifted("Bull in", -3), on_hold, has("Bull in")),
    "bull out without bull in": alone(
        "Bull out", "2026-07-01", on_hold, lambda row: not row[AT["Bull in"]]
    ),
    "AI tomorrow": cell("AI date", [TOMORROW], on_hold),
    "AI date not readable": cell("AI date", ["twice", "04/05/2027"], on_hold),
    "pregnancy not readable": cell("Pregnancy", ["S", "B", "-", "90"], on_hold),
    "checked before exposed": alone(
        "Pregnancy check date", shifted("Bull in", -9), on_hold, has("Bull in")
    ),
    "check date not readable": cell("Pregnancy check date", ["fall", "09/10/2026"], on_hold),
    "check method not known": cell(
        "Pregnancy check method", ["guess"], unknown("pregnancy_method")
    ),
    "hold not readable": cell("Hold reason", ["#REF!", "########"], on_hold),
    "estradiol neither yes nor no": cell(
        "Ever given estradiol", ["once"], unknown("ever_given_estradiol")
    ),
    "remarks far too long": cell("Remarks", ["x" * 5000], unknown("remarks")),
    "one cell too many": one_cell_too_many,
    "quotation mark not closed": quote_not_closed,
}


def table_bytes(rows, broken_quote=frozenset()):
    lines = []
    for index, row in enumerate([HEADER, *rows]):
        line = io.StringIO()
        csv.writer(line, lineterminator="\n").writerow(row)
        text = line.getvalue()
        if index - 1 in broken_quote:
            text = ",".join(row[:-1]).replace('"', "") + ',"thin\n'
        lines.append(text)
    return "".join(lines).encode()


def clean_rows():
    rng = random.Random(20270501)  # noqa: S311 - luck, not secrets
    return [clean_row(rng, number) for number in range(ROWS)]


@pytest.fixture(scope="module")
def clean():
    return read_herd(table_bytes(clean_rows()), "herd.csv", on=ON, limits=LIMITS, reading=READING)


def test_clean_file_loads_whole_and_without_a_word(clean):
    assert clean.problems == ()
    assert [row[0] for row in clean_rows()] == [female.tag for female in clean.females]
    assert list(range(2, ROWS + 2)) == [female.row for female in clean.females]
    assert len(HEADER) == len(clean.columns)
    held = sum(bool(row[AT["Hold reason"]]) for row in clean_rows())
    assert held == sum(female.hold_reason is not None for female in clean.females)


def test_there_are_at_least_twenty_kinds_of_fault():
    assert len(KINDS) >= 20


@pytest.mark.parametrize("seed", range(RUNS))
def test_each_fault_is_reported_where_it_is_and_nothing_else_is(seed, clean):
    rng = random.Random(seed)  # noqa: S311 - luck, not secrets
    work = Injection(rng, clean_rows())
    names = [sorted(KINDS)[seed % len(KINDS)], *rng.choices(sorted(KINDS), k=rng.randrange(6))]
    for name in names:
        KINDS[name](work)
    data = table_bytes(work.rows, work.broken_quote)
    found = read_herd(data, "herd.csv", on=ON, limits=LIMITS, reading=READING)
    reported = [(problem.row, problem.column) for problem in found.problems]
    assert sorted(work.expected, key=str) == sorted(reported, key=str), names
    for problem in found.problems:
        assert problem.where.startswith(f"herd.csv row {problem.row}")
        assert problem.what
        assert problem.fix
        assert problem.severity in {Severity.ERROR, Severity.WARNING}
        if problem.column is not None:
            assert work.rows[problem.row - 2][AT[problem.column]][:70] == problem.value[:70]
    was = {female.row - 2: female for female in clean.females}
    became = {female.row - 2: female for female in found.females}
    for index in range(ROWS):
        if index in work.touched:
            for check in work.touched[index]:
                if index in became or check is out:
                    check(became.get(index), was[index])
            assert index in became or out in work.touched[index], names
        else:
            assert was[index] == became.get(index), (names, index)
