"""Small herd files of our own invention, written where a test wants them."""

from __future__ import annotations

from datetime import timedelta

from herds import AI_ON

HEADER = (
    "tag,class,group,birth date,calved,condition,weight lb,mature weight lb,tract score,remarks"
)
# a list that states its own date, so that no test depends on the day it is run
AS_OF = "2027-04-20"


def rows(cows=24, heifers=16):
    """Cows 40 to 86 days calved at the season's AI day, heifers of 14 to 16 months."""
    lines = [HEADER]
    for i in range(cows):
        calved = AI_ON - timedelta(days=40 + 2 * i)
        lines.append(f"{2001 + i},cow,cows,2021-03-01,{calved},{(4, 5, 6)[i % 3]},,,,")
    for i in range(heifers):
        born = AI_ON - timedelta(days=430 + 4 * i)
        lines.append(f"{7001 + i},heifer,heifers,{born},,,{720 + 5 * i},1250,{(5, 4, 3)[i % 3]},")
    return lines


def write_herd(path, lines=None):
    path.write_text("\n".join(lines or rows()) + "\n", encoding="utf-8")
    return path
