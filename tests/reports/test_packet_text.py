"""The words on the paper, read back from the PDF by another program and counted."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from functools import lru_cache
from io import BytesIO
from zoneinfo import ZoneInfo

import pytest
from plan_by_hand import build_plan
from pypdf import PdfReader

from sunup.reports.day_sheets import day_sheets
from sunup.reports.packet import UnknownPaperError, render_packet

PT_PER_MM = 72 / 25.4  # a point is 1/72 inch, an inch 25.4 mm


@lru_cache(maxsize=8)
def read_pages(pdf):
    return [(p.extract_text(), is_landscape(p)) for p in PdfReader(BytesIO(pdf)).pages]


def pages_of(pdf):
    return [text for text, _ in read_pages(pdf)]


def is_landscape(page):
    return page.mediabox.width > page.mediabox.height


@pytest.fixture(scope="module", params=["letter", "a4"])
def packet(request, plan):
    return render_packet(plan, paper=request.param)


@pytest.fixture(scope="module")
def letter(plan):
    return render_packet(plan)


def day_sheet_texts(pdf):
    return [text for text, on_its_side in read_pages(pdf) if on_its_side]


def test_the_same_plan_gives_the_same_bytes(plan, letter):
    assert letter == render_packet(plan)


def test_each_page_says_which_of_how_many_it_is(packet):
    texts = pages_of(packet)
    for n, text in enumerate(texts, start=1):
        assert f"page {n} of {len(texts)}" in text


def test_every_treated_cow_stands_once_on_each_treatment(plan, packet):
    """Three visits, and the sheets of each hold each of the 150 tags exactly once."""
    treated = {f.tag for f in plan.females if f.group == "Cows" and f.is_treated}
    for title in ("GnRH and insert in", "PGF and insert out", "Timed AI and GnRH"):
        sheets = [t for t in day_sheet_texts(packet) if t.startswith(title) and "Cows" in t]
        found = Counter(re.findall(r"\b1\d\d\d\b(?!/)", " ".join(tags_only(t) for t in sheets)))
        assert treated == set(found)
        assert set(found.values()) == {1}


def tags_only(text):
    """Drop what else may look like a four-figure tag: RFID ends, and the foot with the id."""
    return re.sub(r"…\s?\d{4}", "", text.split("Wrong?")[0])


def test_no_held_female_stands_on_a_day_sheet(plan, letter):
    held = {f.tag for f in plan.females if not f.is_treated}
    text = " ".join(tags_only(t) for t in day_sheet_texts(letter))
    assert not held & set(re.findall(r"\b\d{4}\b", text))


def test_a_sheet_holds_twenty_females_at_most(packet):
    for text in day_sheet_texts(packet):
        due = re.findall(r"\b\d\d:\d\d\b(?=\s+[15]\d\d\d\b)", tags_only(text))
        assert len(due) <= 20


def test_sheets_are_counted_without_a_gap(letter):
    """150 cows at 20 a sheet are 8 sheets; "sheet 1 of 8" to "sheet 8 of 8" for each visit."""
    texts = [t for t in day_sheet_texts(letter) if t.startswith("GnRH and insert in")]
    numbers = [re.search(r"sheet (\d+) of (\d+)", t).groups() for t in texts]
    assert [(str(n), "8") for n in range(1, 9)] == numbers


def test_every_day_sheet_fits_on_one_page(packet):
    """A sheet that ran over would leave a landscape page without its head."""
    for text in day_sheet_texts(packet):
        assert text.count("start") >= 1
        assert re.search(r"sheet \d+ of \d+", text)


def test_long_cautions_take_fewer_females_and_are_never_cut(plan):
    long = "Keep away from skin, eyes and feed. " * 40
    group = plan.groups[0]
    schedule = tuple(
        replace(s, dose=replace(s.dose, cautions=(long,))) if s.dose else s for s in group.schedule
    )
    pdf = render_packet(replace(plan, groups=(replace(group, schedule=schedule),)))
    texts = [t for t in day_sheet_texts(pdf) if t.startswith("PGF and insert out")]
    assert len(texts) > 8
    for text in texts:
        assert " ".join(text.split()).count("Keep away from skin, eyes and feed.") == 40
        assert re.search(r"sheet \d+ of \d+", text)


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("sentences", [0, 5, 9, 13, 21])
def test_no_sheet_runs_over_whatever_the_length_of_its_cautions(paper, sentences):
    """The program's count of sheets and the printed landscape pages must agree."""
    plan = build_plan(cows=24, cows_ready=24, heifers=0, heifers_ready=0)
    caution = ("Wash spills off the skin at once and see a doctor.",) * sentences
    caution = tuple(f"{i}: {text}" for i, text in enumerate(caution))
    group = plan.groups[0]
    schedule = tuple(
        replace(s, dose=replace(s.dose, cautions=caution)) if s.dose else s
        for s in group.schedule
        if s.visit != "v4"
    )
    changed = replace(plan, groups=(replace(group, schedule=schedule),))
    printed = day_sheet_texts(render_packet(changed, paper=paper))
    assert len(printed) == len(day_sheets(changed, ZoneInfo(changed.zone)))


def test_tags_are_printed_bold_in_eighteen_point(letter):
    """18 pt so that a tag reads at arm's length (field guidance, our decision)."""
    sizes = []

    def visit(text, _cm, matrix, font, size):
        if font and text.strip() in {"1001", "1002"}:
            sizes.append((font["/BaseFont"], round(abs(size * matrix[3]), 1)))

    pages = [page for page in PdfReader(BytesIO(letter)).pages if is_landscape(page)]
    page = next(page for page in pages if page.extract_text().startswith("GnRH and insert in"))
    page.extract_text(visitor_text=visit)
    assert sizes
    for font, size in sizes:
        assert "AtkinsonHyperlegible-Bold" in font
        assert size == pytest.approx(18, abs=0.1)


def test_no_type_on_a_day_sheet_is_under_eleven_point(letter):
    small = []

    def visit(text, _cm, matrix, _font, size):
        if text.strip() and abs(size * matrix[3]) < 10.95:
            small.append((text, size))

    for page in PdfReader(BytesIO(letter)).pages:
        if is_landscape(page):
            page.extract_text(visitor_text=visit)
    assert not small


def test_every_font_is_embedded_and_ours(letter):
    names, embedded = set(), set()
    for page in PdfReader(BytesIO(letter)).pages:
        for font in page["/Resources"]["/Font"].values():
            inner = font.get_object()["/DescendantFonts"][0].get_object()
            names.add(inner["/BaseFont"].split("+")[-1])
            descriptor = inner["/FontDescriptor"]
            if {"/FontFile2", "/FontFile3"} & set(descriptor):
                embedded.add(inner["/BaseFont"].split("+")[-1])
    assert names == embedded
    assert {n.split("-")[0] for n in names} == {"AtkinsonHyperlegible", "SourceSans3"}


def test_the_file_says_it_is_accessible(letter):
    """ISO 14289-1: pdfuaid:part 1 in the metadata, tagged, with a title and a language."""
    reader = PdfReader(BytesIO(letter))
    root = reader.trailer["/Root"]
    assert "pdfuaid:part" in root["/Metadata"].get_object().get_data().decode()
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert reader.metadata.title == "Dry Fork Ranch: Spring 2027"


@pytest.mark.parametrize(("paper", "wide", "high"), [("letter", 215.9, 279.4), ("a4", 210, 297)])
def test_paper_is_the_size_asked_for(plan, paper, wide, high):
    """ISO 216 A4, and 8.5 by 11 inches; day sheets on their side."""
    pages = PdfReader(BytesIO(render_packet(plan, paper=paper))).pages
    assert float(pages[0].mediabox.width) == pytest.approx(wide * PT_PER_MM, abs=1)
    assert float(pages[0].mediabox.height) == pytest.approx(high * PT_PER_MM, abs=1)
    assert float(pages[-1].mediabox.width) == pytest.approx(high * PT_PER_MM, abs=1)


def test_an_unknown_paper_is_refused_in_words(plan):
    with pytest.raises(UnknownPaperError, match="letter or a4"):
        render_packet(plan, paper="foolscap")


def test_prescription_drugs_are_not_yet_authorised_without_a_veterinarian(plan):
    def vet_page(pdf):
        return next(t for t in pages_of(pdf) if t.startswith("For the veterinarian"))

    text = " ".join(vet_page(render_packet(plan)).split())
    assert text.count("not yet authorised") == 5  # GnRH and PGF: cows three times, heifers twice
    named = " ".join(vet_page(render_packet(replace(plan, prescriber="Dr. Example"))).split())
    assert "not yet authorised" not in named
    assert "Dr. Example" in named


def test_withdrawal_is_left_to_fill_in(letter):
    text = next(t for t in pages_of(letter) if t.startswith("For the veterinarian"))
    part = text.split("Withdrawal")[1].split("Cautions")[0]
    assert not re.search(r"\d", part)


def test_example_prices_are_marked_wherever_money_stands(letter):
    texts = pages_of(letter)
    shopping = next(t for t in texts if t.startswith("Shopping and booking"))
    assert shopping.count("example price") >= 5
    assert "example prices" in texts[0]


def test_overdue_is_said_in_words(letter):
    text = "".join(pages_of(letter)).split("What has to be done")[1].split("Those that need")[0]
    assert text.count("overdue") == 1


def test_a_warning_of_a_step_stands_on_each_of_its_sheets(letter):
    sheets = [t for t in day_sheet_texts(letter) if t.startswith("PGF and insert out")]
    for text in sheets:
        assert "Ends a pregnancy" in text
        assert "Women of child-bearing age" in " ".join(text.split())


def test_a_step_called_off_has_no_sheet(letter):
    assert not [t for t in day_sheet_texts(letter) if t.startswith("Pregnancy check")]


def test_odd_names_long_tags_and_an_empty_group_still_print(odd_plan):
    pdf = render_packet(odd_plan, paper="a4")
    text = " ".join(" ".join(pages_of(pdf)).split())
    assert "ñandú" in text
    assert "question mark" in text  # the emoji has no glyph and the page says so
    sheets = day_sheet_texts(pdf)
    joined = re.sub(r"\s", "", "".join(t for t in sheets if t.startswith("PGF")))
    for female in odd_plan.females:
        if female.is_treated:
            assert joined.count(female.tag) == 1
    assert not [t for t in sheets if "Vacas" in t]


def test_five_hundred_cows_print():
    big = build_plan(cows=520, cows_ready=500)
    sheets = day_sheet_texts(render_packet(big))
    assert len([t for t in sheets if t.startswith("GnRH and insert in")]) == 25  # 500 / 20


def test_a_plan_without_groups_still_prints(plan):
    empty = replace(
        plan, groups=(), females=(), clashes=(), shopping=(), run_up=(), label_differences=(),
        problems=(), cautions=(),
    )  # fmt: skip
    assert not day_sheet_texts(render_packet(empty))
