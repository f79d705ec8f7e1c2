"""Room to write on the sheet of a timed AI, where Skip, Bull and Initials stand in the row too."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader

from herds import cow, season
from sunup.planning.request import Sire
from sunup.reports.packet import render_packet

MM = 72 / 25.4
RFIDS = {str(2001 + i): f"8400030000{i:05d}" for i in range(24)}


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_remarks_take_the_room_that_short_tags_leave(paper):
    """A word or two by hand with cold fingers: 20 mm at the least (ours)."""
    herd = [cow(tag, rfid=rfid) for tag, rfid in RFIDS.items()]
    plan = season(
        herd, protocols={"cows": "select_synch_insert_tai_cow"}, sires=(Sire("cows", "A31"),)
    )
    reader = PdfReader(BytesIO(render_packet(plan, paper=paper)))
    page = next(p for p in reader.pages if "tick Skip for the others" in p.extract_text())
    heads = {"Remarks": [], "No.": [], "2nd id": []}

    def note(text, around, matrix, *_):
        for name, found in heads.items():
            if text.strip() == name:
                found.append(around[0] * matrix[4] + around[2] * matrix[5] + around[4])

    page.extract_text(visitor_text=note)
    assert len(heads["Remarks"]) == len(heads["No."]) == 2
    room = (heads["No."][1] - heads["Remarks"][0]) / MM
    assert room - 6 >= 20, room  # 6 mm lie between the halves
