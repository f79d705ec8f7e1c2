"""The reference page on files in and out, from the readers' own tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunup.exchange import ade_words as ade
from sunup.exchange.ade_lost import ALWAYS, HELD, NOT_WRITTEN, lost_fields
from sunup.exchange.ade_out_events import MOST_WITHDRAWAL_DAYS
from sunup.exchange.plausible import Limits
from sunup.exchange.reader_file import SAME_READ_S
from sunup.exchange.result_fields import NEEDED, RESULT_FIELDS, ResultKind

if TYPE_CHECKING:
    from sunup.library.library import Library

_NAMES_SHOWN = 6
_READ_AS = {
    "tag": "text",
    "rfid": "15 digits, as in a herd file",
    "on": "date; a clock time may stand behind it",
    "time": "14:30, 2:30 pm, 0630",
    "by": "text",
    "remarks": "text",
    "calving_ease": "1 (unassisted) to 5",
    "retained_membranes": "yes or no",
    "sex": "heifer, bull, female, male",
    "alive": "alive or dead, yes or no",
    "calf_weight": "lb or kg; {limits.born_kg[0]:g} to {limits.born_kg[1]:g} kg believed",
    "calf_tag": "text",
    "weight": "lb or kg",
    "condition": "1 to 9 in halves",
    "cycling": "CL, cycling, not cycling",
    "luteum": "yes or no",
    "follicle": "mm, at most {limits.follicle_mm:g}",
    "tract_score": "1 to 5",
    "pelvic_area": "cm2, {limits.pelvic_area_cm2[0]:g} to {limits.pelvic_area_cm2[1]:g}",
    "pregnancy": "pregnant, open, unsure and their other names",
    "pregnancy_method": "ultrasound, palpation, blood",
    "fetal_age": "days, at most {limits.pregnancy_days[1]:g}",
    "fetuses": "1, 2, twins",
    "fetal_sex": "heifer, bull, female, male",
    "act": "active ingredient, GnRH, PGF, insert in, insert out, vaccine against ...",
    "dose": "mL, at most {limits.dose_ml:g}",
    "lot": "text",
    "expires": "date or month (its last day), at most {limits.expiry_years} years ahead",
    "withdrawal": "days, at most {limits.withdrawal_days:g}",
    "site": "text",
}
_RESOURCES = (
    (ade.ANIMAL, "a female: number, tag, birth, breeds, parents, status"),
    (ade.SET, "a group with who is in it now (purpose Reproduction)"),
    (ade.HEAT, "HeatSeen; a HeatAidRead that shows heat (method Other, told in the remark)"),
    (ade.INSEMINATION, "Inseminated with its straw; BullsIn and BullsOut as RunWithBull of each"),
    (ade.CHECK, "PregnancyChecked"),
    (ade.PARTURITION, "Calved; also the calving a female was listed with"),
    (ade.ABORTION, "Aborted"),
    (ade.TREATMENT, "Treated, InsertPlaced, InsertRemoved, Vaccinated"),
    (ade.WEIGHT, "Weighed"),
    (ade.SCORE, "ConditionScored (BodyConditionScore, 1 to 9)"),
    (ade.DO_NOT_BREED, "HoldSet, HoldLifted"),
    (ade.DEPARTURE, "LeftHerd: sold, culled, other"),
    (ade.DEATH, "LeftHerd: died, missing"),
)

_HEAD = """# Files in and out

*Written by `builders/docs_files.py` from the readers; do not edit by hand.*

`sunup exchange read KIND FILE` shows what a file would add or change and takes it after a yes,
or with `--yes`; where nobody can be asked nothing is taken without it. `sunup exchange write
WHAT FILE` writes. Taking the same file again adds nothing: the id of an entry is drawn from what
it says.

What is left out is counted and named every time: rows that cannot be read (with row, column and
what to do), rows **put aside** because they could mean two things, and the exit code is then 1.
`--aside FILE` keeps what was put aside as JSON. A file is recorded whole, in one transaction, or
not at all.

## Who is meant
By electronic code first, then by tag. Of females with one tag, one who is still in the herd goes
before one who left. Put aside, never guessed: two females with one tag; a code of one female
beside the tag of another; a tag whose female has another code on file. A known code beside a tag
nobody has is taken by the code, with a warning. Results of a tag nobody has on file are kept
under an **unlisted** female, who can be identified later; `--no-unlisted` puts them aside.

## Herd lists again
`sunup exchange read herd FILE` reads the [herd file](herd_file.md). New tags are added.
Differences are shown before they are taken: tag, RFID, group, class, birth date, breed, parents,
weights and scores, breeding, holds. An empty cell says nothing, a female who is not in the list
has not left, a hold is not lifted by silence. Put aside: a calving nearer to another on file
than a calf is carried; what the ledger knows from after the list's day.

## Lists of results
CSV or XLSX in the forms of the herd file (separators, encodings, merged cells, `--dates`,
`--weights`, `--column FIELD=HEADER`, `--sheet`). Up to where a number is believed stands in
`practice` of the [figures](figures.md); `--overlay` puts yours in its place. Every row names an
animal (tag or RFID) and a day; `--on DATE` gives the day of a list that has no such column. A day
without a clock time is recorded at noon and marked `day_only`: only its day is known.
"""

_RULES = """
Some rules:
- **Calvings**: where a column for the dam stands beside a plain `Tag`, the dam is taken. Two
  rows of one dam and day are twins. Two calvings of one female less than
  {limits.pregnancy_days[0]:g} days apart (one told twice) are put aside.
- **Treatments**: only active ingredients and plain words are known; any other name is kept as
  "other" with the name as its remark and is never turned into a drug. The same treatment within
  {limits.same_act_h:g} hours of one on file is put aside: was it given twice? Withdrawal is as
  written; where none is written none is held.
- **Weights and scores** equal to one on file of that day are on file already; a differing one is
  shown and recorded beside it.
- **Pregnancy checks**: two findings of one female and day that cannot both be (pregnant and
  open, or ages more than {limits.fetal_ages_days:g} days apart), in the list or one of them on
  file, are put aside; an open female with a fetal age or a fetus beside it is told at its cell and
  left out.

## Files of tag readers
`sunup exchange read reader FILE` reads what a reader or scale wrote, one read a line or row:

```
LA 982 000001088420
LA 00000 0 982 000001088420
A 00000 0 982 000017383201, 890,LB,$,GR,8/27/03,10:15,
20-07-2012 11:46:28 01 TAG 3DD.003BA20748
840003123456789   840 003123456789   0840003123456789
EID,Date,Time
```

Reads of one animal within {same_read_s} s, or without times, are one. A line with two codes or a
damaged code is reported. An order of day and month is taken from the file only where a day past
the twelfth settles it; else say `--dates`. A weight with its unit beside the code is recorded.
`--tags-out FILE` writes the codes for `sunup record ... --file FILE`.

**The reader's clock** is doubted, and nothing is taken, where a read is still to come; where the
reads of three or more females are off by the same half hour or more from what was recorded of
them by hand; where the file was written whole hours after its last read; where most reads are
from the night. Say what it is ahead by (`--clock-ahead 6h`, `-1h`), or `--clock-ahead 0h`. (Half
hour, three, night from {limits.worked_h[1]:g} to {limits.worked_h[0]:g}: assumed.)

## Lists out
`sunup exchange write herd|calvings|weights|condition|scans|pregnancy|treatments|events
FILE.csv|.xlsx`. Headers are those the readers know: what goes out comes in again with nothing
new. A text that a spreadsheet would run as a formula (it begins with = + - @ or a tab) gets an
apostrophe in CSV and stays a text in XLSX; numbers, also negative ones, are not touched. In the
list of herd and results RFIDs are texts. The list of the herd is as of today: with pregnancies, due
dates of those found pregnant, exposures and holds that stand, so that a plan made from it holds
whom it must. Measures older than `practice.measure_old_days` are left empty, as the list has no
column for their day.

## ICAR Animal Data Exchange (ADE)
`sunup exchange write ade FILE.json` (or a folder: one file a resource type) and `sunup exchange
read ade FILES`, JSON of the standard's release line 1.3. Several files are taken together; an
array, a collection (`member`), the push form, one resource, or one resource a line are all read.

| resource | ours |
|---|---|
"""

_ADE_RULES = f"""
Out:
- Times are UTC with `Z`. A day without an hour is midnight, `T00:00:00Z`; an instant that
  happens to be midnight is written `00:00:00.000Z`.
- `meta.source` is `{ade.OURS}`, `meta.sourceId` the id of our event; `created` when it was
  entered, `modified` when it was last corrected; what was taken back goes out with `isDeleted`.
  No nulls.
- A female is named by her electronic code (`{ade.US_OFFICIAL}` for 840, else
  `{ade.ELECTRONIC}`), where she has none by our id (`{ade.FEMALE_SCHEME}`). Her tag is
  `managementTag`. Sires stand under `{ade.SIRE_SCHEME}`.
- A withdrawal goes out as the instant it ends ({MOST_WITHDRAWAL_DAYS} days at most).

In:
- Known again by (source, sourceId): the same adds nothing, a newer `modified` corrects,
  `isDeleted` takes back, an older one that differs is told and ours stands. Without `meta` a
  resource is known again only while not a letter of it changes (warning).
- Order: animals, sets, events by time. Status and due dates are compared with the events, not
  taken.
- `resourceType` in its three spellings (`icarReproHeatEventResource`, `ReproHeatEvent`,
  `icar:ReproHeatEvent`). Fields we make no use of are kept with the record, told, and go out
  again.
- `T00:00:00` with any offset is a day: the date as written, never shifted.
- A fact new by its number is held against those of her on file as a row of a list is: what
  contradicts them, or tells a treatment or insemination within those hours of one on file, is
  put aside; what is there already adds nothing. Of two findings or calvings of the files that
  cannot both be, neither is taken.
- Put aside: an animal nobody knows; a time without zone or with a blank for the T; a time still
  to come; a missing `eventDateTime`; a word the standard does not have; embryos; departures she
  comes back from (show, agistment); sets for anything but reproduction; males and other species.
  An offset in place of `Z` is taken, with a warning.

Out, into an empty ledger, and out again gives the same file to the letter (tested with made-up
herds): a ledger begun with an ADE file takes the ranch's name from it, where `--ranch` says none.

### What ADE cannot hold
Printed with every export, with how many entries it concerns.

| of | not held |
|---|---|
"""


def render_files(library: Library) -> str:
    """Return the page."""
    limits = Limits.of(library)
    parts = [_HEAD]
    for kind in ResultKind:
        parts.append(f"\n### {kind.value.capitalize()}\n")
        needed = NEEDED[kind]
        if needed:
            words = " or ".join(RESULT_FIELDS[kind].by_key[key].words for key in needed)
            parts.append(f"\nNeeds a column for the {words}.\n")
        parts.append("\n| field | known headers, for example | read as |\n|---|---|---|\n")
        for one in RESULT_FIELDS[kind].fields:
            names = [name for rank in one.ranks for name in rank][:_NAMES_SHOWN]
            read_as = _READ_AS[one.key].format(limits=limits)
            parts.append(f"| `{one.key}` | {', '.join(names)} | {read_as} |\n")
    parts.append(_RULES.format(limits=limits, same_read_s=SAME_READ_S))
    parts += [f"| `{name}` | {ours} |\n" for name, ours in _RESOURCES]
    parts.append(_ADE_RULES)
    for held in HELD:
        lost = [name.replace("_", " ") for name in lost_fields(held)]
        if lost:
            parts.append(f"| {held.value} | {', '.join(lost)} |\n")
    parts += [f"| {kind.value} | all: {why} |\n" for kind, why in NOT_WRITTEN.items()]
    parts += [f"| any | {text} |\n" for text in ALWAYS]
    parts.append("| any | what was so before a correction; only the last word is written |\n")
    return "".join(parts)
