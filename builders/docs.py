"""Write the reference pages that come from code and data; ``--check`` says which are stale.

Run by ``make docs`` (writes) and ``make check`` (``--check``, exit 1 naming each stale page).
Pages and what they are written from stand in ``PAGES``.
"""

from __future__ import annotations

import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from docs_cli import render_cli
from docs_events import render_events
from docs_files import render_files
from docs_library import (
    render_actives,
    render_figures,
    render_protocols,
    render_regions,
    render_sources,
)
from docs_plan_file import render_plan_file
from docs_readiness import render_readiness
from docs_science import PROCESSES, render_process
from docs_trust import render_science_readme, render_trust
from sunup.app.open import open_library

if TYPE_CHECKING:
    from collections.abc import Callable

    from sunup.library import Library

DOCS = Path(__file__).parents[1] / "docs"
PAGES: dict[str, Callable[[Library], str]] = {
    "reference/cli.md": lambda _library: render_cli(),
    "reference/plan_file.md": lambda _library: render_plan_file(),
    "reference/events.md": lambda _library: render_events(),
    "reference/files.md": render_files,
    "reference/protocols.md": render_protocols,
    "reference/figures.md": render_figures,
    "reference/sources.md": render_sources,
    "reference/actives.md": render_actives,
    "reference/regions.md": render_regions,
    "science/readiness.md": render_readiness,
    "science/README.md": render_science_readme,
    "science/trust.md": render_trust,
    **{f"science/{page}.md": partial(render_process, page) for page in PROCESSES},
}


def render_all() -> dict[str, str]:
    """Return the text of every generated page by its path under ``docs/``.

    Raises
    ------
    SystemExit
        If the library is not sound: pages are not written from doubtful data.
    """
    library, problems = open_library()
    if problems:
        message = f"the library has problems; run sunup check. First: {problems[0]}"
        raise SystemExit(message)
    return {name: render(library) for name, render in PAGES.items()}


def find_stale(docs: Path, pages: dict[str, str]) -> list[str]:
    """Return the pages that are not there or not what would be written now."""
    return [
        name
        for name, text in pages.items()
        if not (docs / name).is_file() or (docs / name).read_text(encoding="utf-8") != text
    ]


def main() -> int:
    """Write stale pages, or with ``--check`` name them."""
    pages = render_all()
    stale = find_stale(DOCS, pages)
    if "--check" in sys.argv[1:]:
        for name in stale:
            print(f"docs/{name} is stale. Run: make docs", file=sys.stderr)
        return 1 if stale else 0
    for name in stale:
        (DOCS / name).parent.mkdir(parents=True, exist_ok=True)
        (DOCS / name).write_text(pages[name], encoding="utf-8", newline="\n")
        print(f"written: docs/{name}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
