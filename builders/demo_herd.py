"""Write ``demo/herd.csv``: the herd list of an invented ranch, mess included.

Every animal is invented. Nothing here is a source of figures: the numbers below were chosen so that
the list looks like a spring-calving list of the northern plains, and are used nowhere else.

How the herd was drawn (normal distributions unless said otherwise; weights in pounds):

- 152 cows born 2018 to 2024, fewer the older; calved from 8 February 2027, half of them in the
  first 21 days, the rest thinning out over seven weeks (exponential). First-calf cows (38, born
  spring 2025) were bred 10 days earlier.
- Cow weight 1290 +- 95, first-calf cow 1085 +- 65. Condition 5.3 +- 0.6 for cows and 5.0 +- 0.6 for
  first-calf cows, in halves, 3 to 7.
- Calving ease 1 for most; 2 to 4 in about 1 of 20 cows and 1 of 6 first-calf cows.
- 48 heifers born 20 February to 12 April 2026. Birth weight 78, gain to weaning (1 October 2026)
  2.1 +- 0.12 lb a day, then 1.25 +- 0.16 lb a day to weighing on 12 April 2027.
- Tract score from the share of mature weight (1300) and age, with noise; pelvic area 170 +- 11 cm2.

After that, the faults of real lists are put in by hand: see ``put_faults``.

Run: ``python builders/demo_herd.py`` writes the file; ``--check`` only compares.
"""

from __future__ import annotations

import csv
import io
import random
import sys
from datetime import date, timedelta
from pathlib import Path

RANCH = "Quiet Gravel Ranch"
LISTED_ON = date(2027, 4, 19)
PLACE = Path(__file__).parents[1] / "demo" / "herd.csv"
SEED = 20270419
MATURE_LB = 1300
WEIGHED_ON = date(2027, 4, 12)
WEANED_ON = date(2026, 10, 1)
LAST_CALVING = date(2027, 4, 9)  # the late ones are put in by hand
COWS_BY_BIRTH_YEAR = {2018: 11, 2019: 16, 2020: 21, 2021: 24, 2022: 27, 2023: 27, 2024: 26}
COLUMNS = (
    "Visual Tag",
    "RFID",
    "Class",
    "Group",
    "Breed",
    "Born",
    "Last Calving",
    "Calving Ease",
    "Retained Membranes",
    "Body Condition",
    "Weight (lb)",
    "Mature Weight (lb)",
    "Tract Score",
    "Pelvic Area (cm2)",
    "Scan Finding",
    "Bull In",
    "Bull Out",
    "Pregnancy Finding",
    "Preg Check Date",
    "Preg Check Method",
    "Hold",
    "Sire",
    "Dam",
    "Remarks",
)
BREED_PERCENT = {"Angus": 62, "Angus x Hereford": 24, "Red Angus": 9, "AN 75 SM 25": 5}
HEIFER_SIRES = ("A14", "A14", "A22", "H07")  # the ranch's own codes for its bulls

Row = dict[str, str]


def draw_rows(luck: random.Random) -> list[Row]:
    """Draw the herd as it is, before anyone wrote it down wrongly."""
    rows: list[Row] = []
    for year, count in COWS_BY_BIRTH_YEAR.items():
        rows += [_cow(luck, f"{year % 10}{number:03d}", year) for number in _numbers(luck, count)]
    rows += [_first_calf_cow(luck, f"5{number:03d}") for number in _numbers(luck, 38, most=60)]
    dams = [row["Visual Tag"] for row in rows if row["Class"] == "cow"]
    rows += [_heifer(luck, f"6{number:03d}", luck.choice(dams)) for number in range(1, 49)]
    for row in rows:
        # 840000: below the numbers given out in the United States as far as we know, so that no
        # invented animal carries a real one's number.
        row["RFID"] = f"840000{luck.randrange(410_000_000, 419_999_999):09d}"
    return rows


def _numbers(luck: random.Random, count: int, most: int = 80) -> list[int]:
    return sorted(luck.sample(range(1, most), count))


def _blank(tag: str, class_: str) -> Row:
    return dict.fromkeys(COLUMNS, "") | {"Visual Tag": tag, "Class": class_}


def _breed(luck: random.Random) -> str:
    return luck.choices(list(BREED_PERCENT), list(BREED_PERCENT.values()))[0]


def _condition(luck: random.Random, mean: float) -> str:
    halves = round(min(7.0, max(3.0, luck.gauss(mean, 0.6))) * 2)
    return f"{halves / 2:g}"


def _calved(luck: random.Random, first: date) -> date:
    days = luck.expovariate(1 / 26) + luck.uniform(0, 4)
    day = first + timedelta(days=int(days))
    return day if day <= LAST_CALVING else LAST_CALVING - timedelta(days=luck.randrange(30))


def _cow(luck: random.Random, tag: str, year: int) -> Row:
    row = _blank(tag, "cow")
    row["Breed"] = _breed(luck)
    row["Born"] = (date(year, 2, 10) + timedelta(days=luck.randrange(60))).isoformat()
    row["Last Calving"] = _calved(luck, date(2027, 2, 8)).isoformat()
    row["Calving Ease"] = luck.choices("1234", (95, 3, 1.5, 0.5))[0]
    row["Body Condition"] = _condition(luck, 5.3)
    row["Weight (lb)"] = str(round(luck.gauss(1290, 95) / 5) * 5)
    return row


def _first_calf_cow(luck: random.Random, tag: str) -> Row:
    row = _blank(tag, "first-calf cow")
    row["Breed"] = _breed(luck)
    row["Born"] = (date(2025, 2, 10) + timedelta(days=luck.randrange(50))).isoformat()
    row["Last Calving"] = _calved(luck, date(2027, 1, 29)).isoformat()
    row["Calving Ease"] = luck.choices("1234", (82, 10, 6, 2))[0]
    row["Body Condition"] = _condition(luck, 5.0)
    row["Weight (lb)"] = str(round(luck.gauss(1085, 65) / 5) * 5)
    return row


def _heifer(luck: random.Random, tag: str, dam: str) -> Row:
    row = _blank(tag, "heifer")
    born = date(2026, 2, 20) + timedelta(days=min(51, int(luck.expovariate(1 / 20))))
    at_weaning = 78 + luck.gauss(2.1, 0.12) * (WEANED_ON - born).days
    weight = at_weaning + luck.gauss(1.25, 0.16) * (WEIGHED_ON - WEANED_ON).days
    row |= {
        "Group": "heifers",
        "Breed": _breed(luck),
        "Born": born.isoformat(),
        "Weight (lb)": str(round(weight)),
        "Mature Weight (lb)": str(MATURE_LB),
        "Body Condition": _condition(luck, 5.6),
        "Tract Score": str(_tract_score(luck, weight / MATURE_LB, (WEIGHED_ON - born).days)),
        "Pelvic Area (cm2)": str(round(luck.gauss(170, 11))),
        "Sire": luck.choice(HEIFER_SIRES),
        "Dam": dam,
    }
    return row


def _tract_score(luck: random.Random, share: float, age_days: int) -> int:
    latent = 4.0 + (share - 0.57) * 14 + (age_days - 400) / 40 + luck.gauss(0, 0.75)
    return max(2, min(5, round(latent)))  # the infantile one is put in by hand


def put_faults(rows: list[Row]) -> None:
    """Put in what real lists have: late, thin, held and exposed females, and slips of the pen."""
    cows = [row for row in rows if row["Class"] == "cow"]
    first = [row for row in rows if row["Class"] == "first-calf cow"]
    heifers = [row for row in rows if row["Class"] == "heifer"]
    _late_and_not_calved(cows, first)
    _health_and_holds(cows, first)
    _exposed(cows, heifers)
    _ovaries_scanned(first)
    _young_light_and_narrow(heifers)
    _slips_of_the_pen(cows, first, heifers)
    twice = dict(cows[57])  # a tag written for two animals
    twice |= {"RFID": "840000414902217", "Weight (lb)": "1190", "Born": "2021-03-30"}
    rows.insert(rows.index(cows[57]) + 9, twice)


def _late_and_not_calved(cows: list[Row], first: list[Row]) -> None:
    for index, day in ((6, 11), (19, 12), (33, 12), (48, 14), (71, 15), (90, 16), (113, 18)):
        cows[index]["Last Calving"] = date(2027, 4, day).isoformat()
    first[11]["Last Calving"] = "2027-04-13"
    for index, remark in ((25, "not calved yet 4/19"), (82, "not calved yet, springing")):
        cows[index] |= {
            "Last Calving": "",
            "Calving Ease": "",
            "Bull In": "2026-06-01",
            "Bull Out": "2026-08-01",
            "Pregnancy Finding": "pregnant",
            "Preg Check Date": "2026-10-06",
            "Preg Check Method": "palpation",
            "Remarks": remark,
        }
    cows[101] |= {"Last Calving": "", "Remarks": "calf at side, date not written down"}


def _health_and_holds(cows: list[Row], first: list[Row]) -> None:
    for index in (3, 40, 77, 120):
        cows[index]["Body Condition"] = "3.5"
    cows[120]["Remarks"] = "thin, broken mouth"
    cows[64] |= {"Retained Membranes": "yes", "Remarks": "treated 3/2, cleaned late"}
    cows[14] |= {"Hold": "lame, right hind", "Remarks": "see vet"}
    cows[132] |= {"Hold": "for sale"}
    first[7] |= {"Calving Ease": "4", "Remarks": "hard pull, calf alive"}


def _exposed(cows: list[Row], heifers: list[Row]) -> None:
    """Put in a bull that broke in (not checked; found open too early) and one not cut in time."""
    cows[52] |= {
        "Last Calving": "2027-02-14",
        "Bull In": "2027-04-05",
        "Bull Out": "2027-04-07",
        "Remarks": "neighbour's bull in south pasture, not checked",
    }
    cows[59] |= {
        "Last Calving": "2027-02-17",
        "Bull In": "2027-04-05",
        "Bull Out": "2027-04-07",
        "Pregnancy Finding": "open",
        "Preg Check Date": "2027-04-16",
        "Preg Check Method": "ultrasound",
        "Remarks": "neighbour's bull in south pasture",
    }
    heifers[21] |= {
        "Bull In": "2026-12-18",
        "Bull Out": "2026-12-20",
        "Pregnancy Finding": "pregnant",
        "Preg Check Date": "2027-04-12",
        "Preg Check Method": "ultrasound",
        "Remarks": "bred by bull calf before he was cut",
    }
    heifers[30] |= {
        "Bull In": "2026-12-18",
        "Bull Out": "2026-12-20",
        "Pregnancy Finding": "open",
        "Preg Check Date": "2027-04-12",
        "Preg Check Method": "ultrasound",
    }


def _ovaries_scanned(first: list[Row]) -> None:
    """The veterinarian scanned the first-calf cows that calved before March."""
    calved = [row for row in first if row["Last Calving"] < "2027-03-01"]
    for index, row in enumerate(calved):
        thin = float(row["Body Condition"]) < 5
        row["Scan Finding"] = "not cycling" if thin or index % 4 == 1 else "CL"


def _young_light_and_narrow(heifers: list[Row]) -> None:
    heifers[9] |= {"Born": "2026-06-04", "Weight (lb)": "612", "Tract Score": "2"}
    heifers[14] |= {"Weight (lb)": "634", "Tract Score": "2", "Remarks": "poor doer"}
    heifers[26] |= {"Tract Score": "1", "Weight (lb)": "688"}
    heifers[35]["Pelvic Area (cm2)"] = "138"


def _slips_of_the_pen(cows: list[Row], first: list[Row], heifers: list[Row]) -> None:
    cows[8]["RFID"] = "8.40000E+14"
    cows[29]["Last Calving"] = "03/04/2027"
    cows[45]["Body Condition"] = "55"
    cows[96]["Born"] = "2021"
    first[22]["Class"] = "2 yr old"
    heifers[5]["Weight (lb)"] = "345 kg"


def render(rows: list[Row]) -> str:
    """Write the rows as the file's text: a line saying what it is, the header, one row each."""
    out = io.StringIO()
    out.write(f"{RANCH} herd list as of {LISTED_ON.isoformat()}\n")
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def build() -> str:
    """Return the text of ``demo/herd.csv``; the same every time."""
    rows = draw_rows(random.Random(SEED))  # noqa: S311 - a demo herd, not a secret
    put_faults(rows)
    return render(rows)


def main() -> int:
    """Write the file, or with ``--check`` say whether it is what this builder writes."""
    text = build()
    if "--check" in sys.argv[1:]:
        is_same = PLACE.exists() and PLACE.read_text(encoding="utf-8") == text
        if not is_same:
            print(f"{PLACE} is not what {Path(__file__).name} writes; run it.")
        return 0 if is_same else 1
    PLACE.write_text(text, encoding="utf-8", newline="\n")
    print(f"{PLACE}: {text.count(chr(10)) - 2} rows")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
