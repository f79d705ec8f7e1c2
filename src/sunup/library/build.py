"""The library from its texts: every file read, checked and joined."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Any

from sunup.library.actives import ActiveIndex, read_actives
from sunup.library.breeds import read_breeds
from sunup.library.figures import read_figures
from sunup.library.library import Library
from sunup.library.overlay import OVERLAY, Overlay, read_overlay
from sunup.library.protocols import KEY, read_protocol
from sunup.library.regions import REGION_KEY, read_region
from sunup.library.scores import read_scores
from sunup.library.season_entries import read_options, read_run_up
from sunup.library.sources import RANCH, RANCH_SOURCE, read_sources, unused_sources
from sunup.library.toml_parse import parse_toml
from sunup.library.toml_tables import Table
from sunup.library.toml_text import Reading, listed, nearest
from sunup.protocols.rules import RuleLimits

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sunup.base.figures import Figure, Source
    from sunup.base.problems import Problem
    from sunup.library.region import RegionPack
    from sunup.protocols.protocol import Protocol

FIGURE_FILES = (
    "practice",
    "prices",
    "readiness",
    "bulls",
    "gestation",
    "breeding",
    "review",
    "physiology",
    "forecast",
    "ensemble",
    "held_out",
)
SOURCES = "sources.toml"
REQUIRED = (
    SOURCES,
    *(f"{stem}.toml" for stem in FIGURE_FILES),
    "actives.toml",
    "options.toml",
    "scores.toml",
    "breeds.toml",
    "run_up.toml",
)
FOLDERS = ("regions", "protocols")
LIMITS = ("long_progestin_days", "heat_to_pass_days", "exposure_before_pgf_days")
_DAYS = frozenset({"d", "days"})


@dataclass(slots=True)
class _Files:
    """The texts, each parsed once, with the problems and sources met on the way."""

    texts: Mapping[str, str]
    parsed: dict[str, dict[str, Any]] = field(default_factory=dict)
    unread: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    used: set[str] = field(default_factory=set)
    known_sources: set[str] | None = None

    def reading(self, file: str) -> Reading:
        """Start on one file; what it meets is kept here."""
        return Reading(file, self.known_sources, self.problems, self.used)

    def parse(self, file: str, text: str) -> None:
        """Parse one text and keep its tables."""
        values = parse_toml(self.reading(file), text)
        if values is None:
            self.unread.append(text)
        else:
            self.parsed[file] = values

    def within(self, folder: str) -> list[str]:
        """Return the names of a folder's files, parsed or not."""
        return sorted(name for name in self.texts if name.startswith(f"{folder}/"))


def build_library(
    files: Mapping[str, str], overlay: str | None = None
) -> tuple[Library, list[Problem]]:
    """Build the library from its texts.

    What is at fault is left out and reported; everything else loads. A protocol or region is one
    thing: any fault in it leaves it out. In the other files each table stands for itself.

    Parameters
    ----------
    files : mapping of str to str
        Path relative to the data folder, with "/" (``protocols/co_synch.toml``), to its text.
    overlay : str, optional
        Text of a ranch's overlay.

    Returns
    -------
    Library
    list of Problem
        Each names the file and the dotted key. Nothing in a text makes this function raise.
    """
    work = _Files(files)
    for file in sorted(files):
        _place_file(work, file)
    _report_missing(work)
    if overlay is not None:
        work.parse(OVERLAY, overlay)

    sources, listed = _read_all_sources(work)
    figures = _read_all_figures(work)
    region_keys = [PurePosixPath(name).stem for name in work.within("regions")]
    actives = _read_active_index(work, region_keys)
    limits = _read_limits(work, figures)
    regions = _read_all_regions(work, actives)
    protocols = _read_all_protocols(work, actives, limits)
    gestations = None
    if "gestation.toml" in work.parsed:
        gestations = [f"gestation.{key}" for key in work.parsed["gestation.toml"]]
    options = read_options(work.reading("options.toml"), work.parsed.get("options.toml", {}))
    scores = read_scores(work.reading("scores.toml"), work.parsed.get("scores.toml", {}))
    breeds = read_breeds(
        work.reading("breeds.toml"), work.parsed.get("breeds.toml", {}), gestations=gestations
    )
    run_up = read_run_up(work.reading("run_up.toml"), work.parsed.get("run_up.toml", {}))
    work.problems += unused_sources(listed, work.used, file=SOURCES, unread=work.unread)

    ours = Overlay({}, {})
    if overlay is not None:
        sources[RANCH] = RANCH_SOURCE
        if work.known_sources is not None:
            work.known_sources.add(RANCH)
        ours = read_overlay(
            work.reading(OVERLAY),
            work.parsed.get(OVERLAY, {}),
            figures=figures,
            protocols=protocols,
            actives=actives,
            limits=limits,
        )
    library = Library(
        version=library_version(files, overlay),
        sources=sources,
        figures={**figures, **ours.figures},
        actives=dict(actives.sound),
        regions=regions,
        protocols={**protocols, **ours.protocols},
        options=options,
        scores=scores,
        breeds=breeds,
        run_up=run_up,
    )
    return library, work.problems


def library_version(files: Mapping[str, str], overlay: str | None = None) -> str:
    """Return 12 hex digits that change with any text the library was built from.

    Line ends do not count, so that a checkout on Windows gives the same version.
    """
    pairs = sorted((name, text.replace("\r\n", "\n")) for name, text in files.items())
    if overlay is not None:
        pairs.append((OVERLAY, overlay.replace("\r\n", "\n")))
    return hashlib.sha256(json.dumps(pairs).encode("ascii")).hexdigest()[:12]


def _place_file(work: _Files, file: str) -> None:
    """Parse a file that has a place in the library; report any other."""
    path = PurePosixPath(file)
    if len(path.parts) == 1 and file in REQUIRED:
        work.parse(file, work.texts[file])
        return
    if len(path.parts) == 2 and path.parts[0] in FOLDERS and path.suffix == ".toml":
        form = REGION_KEY if path.parts[0] == "regions" else KEY
        if form.fullmatch(path.stem):
            work.parse(file, work.texts[file])
            return
        words = "two capitals or 'other'" if form is REGION_KEY else "lower case, digits and _"
        work.reading(file).report(
            "", f"'{path.stem}' cannot be a key.", f"Name the file in {words}."
        )
        return
    allowed = [*REQUIRED, "regions/KEY.toml", "protocols/KEY.toml"]
    work.reading(file).report(
        "",
        "this file has no place in the library.",
        f"{nearest(file, allowed)}Allowed: {listed(allowed)}.",
    )


def _report_missing(work: _Files) -> None:
    for file in REQUIRED:
        if file not in work.texts:
            work.reading(file).report("", "the file is missing.", "Put it back.")
    for folder in FOLDERS:
        if not work.within(folder):
            work.reading(f"{folder}/").report("", "the folder is empty.", "Put its files back.")


def _read_all_sources(work: _Files) -> tuple[dict[str, Source], list[str]]:
    """Read the sources; the second value is every key listed, also of entries that failed."""
    values = work.parsed.get(SOURCES)
    if values is None:
        return {}, []
    sources = read_sources(work.reading(SOURCES), values)
    work.known_sources = set(values)
    return sources, list(values)


def _read_all_figures(work: _Files) -> dict[str, Figure]:
    figures: dict[str, Figure] = {}
    for stem in FIGURE_FILES:
        file = f"{stem}.toml"
        figures |= read_figures(work.reading(file), work.parsed.get(file, {}), stem=stem)
    return figures


def _read_active_index(work: _Files, region_keys: list[str]) -> ActiveIndex:
    values = work.parsed.get("actives.toml")
    if values is None:
        return ActiveIndex({}, None)
    sound = read_actives(work.reading("actives.toml"), values, regions=region_keys)
    return ActiveIndex(sound, list(values))


def _read_limits(work: _Files, figures: Mapping[str, Figure]) -> RuleLimits | None:
    """Read the figures the rules rest on; without them no protocol is taken."""
    days: list[float] = []
    values = work.parsed.get("practice.toml", {})
    for name in LIMITS:
        figure = figures.get(f"practice.{name}")
        table = Table(work.reading("practice.toml"), {}, path="")
        if figure is None:
            if name not in values and "practice.toml" in work.parsed:
                table.wrong(
                    name,
                    "the figure is missing; no protocol can be checked without it.",
                    f"Add [{name}].",
                )
        elif _is_days(figure):
            days.append(figure.number)
        else:
            table.wrong(
                name,
                f"{figure.value} {figure.unit} is no number of days.",
                f"Allowed units: {listed(sorted(_DAYS))}; more than 0.",
            )
    return RuleLimits(*days) if len(days) == len(LIMITS) else None


def _is_days(figure: Figure) -> bool:
    is_number = isinstance(figure.value, int | float) and not isinstance(figure.value, bool)
    return is_number and figure.unit in _DAYS and figure.number > 0


def _read_all_regions(work: _Files, actives: ActiveIndex) -> dict[str, RegionPack]:
    regions: dict[str, RegionPack] = {}
    for name in work.within("regions"):
        if name in work.parsed:
            key = PurePosixPath(name).stem
            pack = read_region(work.reading(name), work.parsed[name], key=key, actives=actives)
            if pack is not None:
                regions[key] = pack
    return regions


def _read_all_protocols(
    work: _Files, actives: ActiveIndex, limits: RuleLimits | None
) -> dict[str, Protocol]:
    protocols: dict[str, Protocol] = {}
    if limits is None:
        return protocols
    for name in work.within("protocols"):
        if name in work.parsed:
            key = PurePosixPath(name).stem
            table = Table(work.reading(name), work.parsed[name], path="")
            protocol = read_protocol(table, key=key, actives=actives, limits=limits)
            if protocol is not None:
                protocols[key] = protocol
    return protocols
