"""No heading stands at the foot of a page with nothing, or with one row, of what it is for."""

from __future__ import annotations

import re
from importlib.resources import as_file, files
from io import BytesIO

import pytest
import typst
from pypdf import PdfReader

TEMPLATES = files("sunup.reports") / "templates"
LINE_MM = 8  # as much as a line of a table takes, so that every place on a page comes up
BODY = """
#for place in range({n}) {{
  [before {{#place}}]
  v(place * {line}mm)
  heading(level: 2)[To look at {{#place}}]
  [A line that says what it is.]
  ruled((1fr, 1fr), ("Where", "What"), range(6).map(i => ([row #place/#i], [what])))
  pagebreak()
}}
"""


@pytest.mark.parametrize("template", ["main.typ", "review.typ"])
def test_a_heading_is_followed_by_words_and_at_least_two_rows(template):
    """Wherever on a page it falls, under the rules the packet and the review are set with."""
    main = (TEMPLATES / template).read_text("utf-8")
    rules = "\n".join(
        x for x in main.splitlines() if x.startswith(("#show", "#set text", "#set par"))
    )
    body = BODY.format(n=32, line=LINE_MM).replace("{#place}", "#place")
    source = f'#import "look.typ": *\n{rules}\n#set page(margin: 16mm)\n{body}'
    parts = {"main.typ": source.encode(), "look.typ": (TEMPLATES / "look.typ").read_bytes()}
    with as_file(files("sunup.reports") / "fonts") as fonts:
        pdf = typst.compile(parts, font_paths=[str(fonts)], ignore_system_fonts=True)
    told = {}
    for page in PdfReader(BytesIO(pdf)).pages:
        text = page.extract_text()
        for place in re.findall(r"To look at (\d+)", text):
            told[int(place)] = len(re.findall(rf"row {place}/\d", text))
    assert len(told) == 32
    assert min(told.values()) >= 2, told


REASONS = """
#import "look.typ": *
#import "lists.typ": readiness-pages
#set page(margin: 16mm)
#set text(font: plain-font, size: 10.5pt)
#show heading.where(level: 2): it => headed(it)
#for place in range(32) {
  v(place * 8mm)
  let reasons = range(9).map(i => ("reason " + str(place) + "/" + str(i), 1))
  readiness-pages((
    readiness: ((name: "G", n: "9 females", by_reason: reasons, later: (), rows: (), plain: ()),),
    problems: (),
  ))
  pagebreak()
}
"""


def test_the_reasons_of_a_group_stand_on_one_page():
    """The last of nine stood alone on the next page, under no heading."""
    parts = {name: (TEMPLATES / name).read_bytes() for name in ("look.typ", "lists.typ")}
    with as_file(files("sunup.reports") / "fonts") as fonts:
        pdf = typst.compile(
            parts | {"main.typ": REASONS.encode()},
            font_paths=[str(fonts)],
            ignore_system_fonts=True,
        )
    found = [
        {int(place) for place in re.findall(r"reason (\d+)/\d", page.extract_text())}
        for page in PdfReader(BytesIO(pdf)).pages
    ]
    places = [place for on_page in found for place in on_page]
    assert sorted(places) == list(range(32))


SIGNED = """
#import "look.typ": *
#import "lists.typ": vet-page
#set page(margin: 16mm)
#set text(font: plain-font, size: 10.5pt)
#show heading.where(level: 2): it => headed(it)
#for place in range(32) {
  v(place * 8mm)
  vet-page((ranch: "R", vet: (
    rows: (), to_see: (), asks: (), differs: (), withdrawal: (), cautions: (), drugs: (),
    region: "US", prescriber: "",
    region_notes: range(4).map(i => "note " + str(place) + "/" + str(i)),
  )))
  pagebreak()
}
"""


def test_a_signature_never_stands_on_a_page_alone():
    """What is signed for stands above it, wherever the page ends."""
    parts = {name: (TEMPLATES / name).read_bytes() for name in ("look.typ", "lists.typ")}
    with as_file(files("sunup.reports") / "fonts") as fonts:
        pdf = typst.compile(
            parts | {"main.typ": SIGNED.encode()},
            font_paths=[str(fonts)],
            ignore_system_fonts=True,
        )
    pages = [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]
    signed = [text for text in pages if "Authorised as written" in text]
    assert len(signed) == 32
    assert all(re.search(r"note \d+/3", text) for text in signed)
    notes = re.findall(r"note (\d+/\d)", " ".join(pages))
    assert sorted(notes) == sorted(f"{place}/{i}" for place in range(32) for i in range(4))
