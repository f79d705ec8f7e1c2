"""The list of contents on the first page, held against the pages themselves."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO

import pytest
from forecast_by_hand import build_forecast
from plan_by_hand import build_plan
from pypdf import PdfReader

from sunup.reports.packet import render_packet

PARTS = (  # as the contents name it, its heading, and the line below that
    ("Season summary", "Dry Fork Ranch", "Season summary"),
    ("Forecast: Cows", "Forecast: Cows", "7-day CO-Synch"),
    ("Run-up", "Run-up", "What has to be done"),
    ("Who is ready", "Who is ready", "Those that need a decision"),
    ("For the veterinarian", "For the veterinarian", "Dry Fork Ranch."),
    ("Shopping and booking", "Shopping and booking", "Tick when ordered"),
    ("Choices", "Choices", "Protocols that fit"),
)
ALONE = ("For the veterinarian", "Shopping and booking")  # taken out and given away


@pytest.fixture(scope="module", params=["letter", "a4"])
def pdf(request, plan):
    packet = render_packet(plan, paper=request.param, forecasts={"Cows": build_forecast()})
    return PdfReader(BytesIO(packet))


def texts_of(pdf):
    return [" ".join(page.extract_text().split()) for page in pdf.pages]


def contents_of(pdf):
    return texts_of(pdf)[0].split("What is in here, by page")[1]


def starts(pdf, heading, below):
    return next(n for n, text in enumerate(texts_of(pdf), 1) if f"{heading} {below}" in text)


@pytest.mark.parametrize(("words", "heading", "below"), PARTS)
def test_a_part_begins_on_the_page_told(pdf, words, heading, below):
    told = re.search(rf"{words} (\d+)\b", contents_of(pdf))
    assert starts(pdf, heading, below) == int(told[1])


@pytest.mark.parametrize("heading", ALONE)
def test_what_is_given_away_begins_on_a_page_of_its_own(pdf, heading):
    assert any(text.startswith(heading) for text in texts_of(pdf))


def lowest(page):
    """How far down a page its words reach, the foot left out: 0 at the top, 1 at the bottom."""
    foot = 17 / 25.4 * 72  # mm of the lower margin, in points
    found = [float(page.mediabox.height)]

    def note(text, user, matrix, _font, _size):
        y = user[1] * matrix[4] + user[3] * matrix[5] + user[5]
        if text.strip() and y > foot:
            found.append(y)

    page.extract_text(visitor_text=note)
    high = float(page.mediabox.height)
    return (high - min(found)) / high


def test_no_page_is_left_for_a_few_lines(pdf):
    """Parts flow on: only a page before one that is given away, or the sheets, may be short."""
    pages = [page for page in pdf.pages if page.mediabox.width < page.mediabox.height]
    texts = texts_of(pdf)
    for i, page in enumerate(pages[:-1]):
        if not texts[i + 1].startswith(ALONE):
            assert lowest(page) > 0.45, f"page {i + 1} of {len(pages)}: {texts[i][:80]}"


def test_each_visit_stands_on_the_sheets_told_and_on_no_other(pdf):
    """Cows and heifers get visits of one name: group and day part them."""
    texts = texts_of(pdf)
    lines = re.findall(
        r"((?:GnRH|PGF|Timed AI|Watch|Start|Bulls)[\w -]*), (Cows|Heifers),"
        r" (\w{3} \d+ \w{3}) \d{4} (\d+)(?: to (\d+))?\b",
        contents_of(pdf),
    )
    told = {}
    for title, group, day, first, last in lines:
        for n in range(int(first), int(last or first) + 1):
            assert n not in told
            told[n] = (title, group, day)
    sheets = [
        n for n, page in enumerate(pdf.pages, 1) if page.mediabox.width > page.mediabox.height
    ]
    assert sheets == sorted(told)
    for n, (title, group, day) in told.items():
        assert texts[n - 1].startswith(title)
        assert group in texts[n - 1].split("sheet")[0]
        assert day in texts[n - 1].split("sheet")[0]


def test_every_line_is_a_link_to_its_page(pdf):
    """Tapped on a phone, each line leads to the top of its part."""
    aims = []
    for note in pdf.pages[0]["/Annots"]:
        link = note.get_object()
        aim = (link.get("/Dest") or link["/A"]["/D"]).get_object()
        aims.append(next(n for n, p in enumerate(pdf.pages, 1) if p.indirect_reference == aim[0]))
    sheets = [
        n for n, page in enumerate(pdf.pages, 1) if page.mediabox.width > page.mediabox.height
    ]
    parts = [starts(pdf, heading, below) for _, heading, below in PARTS]
    firsts = [n for n in sheets if " sheet 1 of " in texts_of(pdf)[n - 1]]
    assert sorted(parts) + firsts == aims


def test_bookmarks_name_every_part(pdf):
    named = [one.title for one in pdf.outline if not isinstance(one, list)]
    for _, heading, _ in PARTS:
        assert heading in named


def of_groups(n):
    """The plan of the cows alone, in so many pastures of the same schedule."""
    plan = build_plan(cows=4 * n, cows_ready=4 * n, heifers=0, heifers_ready=0)
    cows, names = plan.groups[0], [f"Pasture {i}" for i in range(n)]
    groups = tuple(
        replace(cows, name=name, schedule=tuple(replace(s, group=name) for s in cows.schedule))
        for name in names
    )
    females = tuple(replace(f, group=names[i % n]) for i, f in enumerate(plan.females))
    return replace(plan, groups=groups, females=females)


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("n", [1, 4, 5, 12])
def test_every_sheet_is_found_from_the_first_page_for_any_number_of_groups(paper, n):
    """Four visits a group: beyond 16 lines a day stands as one line, and none goes missing."""
    pdf = PdfReader(BytesIO(render_packet(of_groups(n), paper=paper)))
    told = re.findall(r"20\d\d(?:: [\w, ]*?)? (\d+)(?: to (\d+))?\b", contents_of(pdf))
    pages = [i for first, last in told for i in range(int(first), int(last or first) + 1)]
    sheets = [
        i for i, page in enumerate(pdf.pages, 1) if page.mediabox.width > page.mediabox.height
    ]
    assert sheets == pages
    assert len(told) <= 16


def test_a_plan_without_day_sheets_lists_its_parts_alone():
    plan = build_plan(cows=24, cows_ready=24, heifers=0, heifers_ready=0)
    bare = replace(plan, groups=tuple(replace(group, schedule=()) for group in plan.groups))
    first = texts_of(PdfReader(BytesIO(render_packet(bare))))[0]
    assert "Shopping and booking" in first
    assert "Day sheets" not in first
