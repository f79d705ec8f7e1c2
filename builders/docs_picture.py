"""Make ``docs/pictures/day_sheet.png`` from the demo packet: the first insemination sheet.

Needs ``pdftoppm`` (poppler). Run after ``make demo``, with the Python of ``.venv``.
The picture carries the time the plan was made, so no test compares it.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

from pypdf import PdfReader

ROOT = Path(__file__).parents[1]
PACKET = ROOT / "demo" / "out" / "packet.pdf"
PICTURE = ROOT / "docs" / "pictures" / "day_sheet.png"
TITLE = "Inseminate"
DOTS_PER_INCH = 84


def main() -> int:
    """Find the first insemination sheet and draw it."""
    program = shutil.which("pdftoppm")
    if program is None or not PACKET.is_file():
        print("pdftoppm and demo/out/packet.pdf are needed: install poppler, run make demo.")
        return 2
    pages = PdfReader(PACKET).pages
    number = next(
        i for i, page in enumerate(pages, start=1) if page.extract_text().lstrip().startswith(TITLE)
    )
    PICTURE.parent.mkdir(parents=True, exist_ok=True)
    subprocess.run(  # noqa: S603
        [
            program,
            *("-r", str(DOTS_PER_INCH), "-f", str(number), "-l", str(number)),
            *("-gray", "-png", "-singlefile"),
            str(PACKET),
            str(PICTURE.with_suffix("")),
        ],
        check=True,
    )
    print(f"{PICTURE}: page {number}, {PICTURE.stat().st_size / 1024:.0f} kB", file=sys.stdout)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
