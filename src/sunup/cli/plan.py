"""``sunup plan``: from a herd file to a season's packet."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from sunup.base.problems import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sunup.app.plan_season import Outcome
    from sunup.planning.request import Request

EXAMPLE = (
    "Example: sunup plan herd.csv --first-ai 2027-05-25 --zone America/Denver "
    "--protocol cows=co_synch_insert7_cow --sire heifers=B12:sexed --out packet"
)


def plan(
    herd_file: Annotated[
        Path, typer.Argument(help="CSV or XLSX with a header row; 'tag' is the only must.")
    ],
    first_ai: Annotated[
        str | None,
        typer.Option(help="Wanted first insemination: DATE or DATETHH:MM.", metavar="DATE"),
    ] = None,
    first_treatment: Annotated[
        str | None, typer.Option(help="Or plan forward from this day.", metavar="DATE")
    ] = None,
    zone: Annotated[str | None, typer.Option(help="IANA time zone of the ranch.")] = None,
    hours: Annotated[str | None, typer.Option(help="Working hours.", metavar="06:00-20:00")] = None,
    protocol: Annotated[
        list[str] | None, typer.Option(help="GROUP=KEY; once for each group.", metavar="GROUP=KEY")
    ] = None,
    option: Annotated[
        list[str] | None,
        typer.Option(
            help="GROUP=sexed_semen | no_gnrh_for_rubbed | calf_removal_48h.",
            metavar="GROUP=OPTION",
        ),
    ] = None,
    sire: Annotated[
        list[str] | None,
        typer.Option(help="GROUP=CODE[:sexed][:SHARE].", metavar="GROUP=CODE"),
    ] = None,
    drug: Annotated[
        list[str] | None,
        typer.Option(help="STEP=ACTIVE/STRENGTH, e.g. pgf=dinoprost/5.", metavar="STEP=DRUG"),
    ] = None,
    region: Annotated[
        str | None, typer.Option(help="Rule pack: US CA UK EU AU BR AR other.")
    ] = None,
    ranch: Annotated[str | None, typer.Option(help="Name printed on everything.")] = None,
    prescriber: Annotated[
        str | None, typer.Option(help="Veterinarian who authorises the drugs.")
    ] = None,
    chutes: Annotated[int | None, typer.Option(min=1, help="Chutes working side by side.")] = None,
    split: Annotated[
        list[str] | None, typer.Option(help="GROUP=N starts a day apart.", metavar="GROUP=N")
    ] = None,
    max_passes: Annotated[
        int | None, typer.Option(min=1, help="Most times through the chute.")
    ] = None,
    no_watching: Annotated[
        bool, typer.Option("--no-watching", help="Nobody can watch for heats.")
    ] = False,
    vaccination: Annotated[list[str] | None, typer.Option(metavar="[GROUP=]DATE")] = None,
    haul: Annotated[list[str] | None, typer.Option(metavar="[GROUP=]DATE")] = None,
    diet_change: Annotated[list[str] | None, typer.Option(metavar="[GROUP=]DATE")] = None,
    earlier_days: Annotated[
        float | None, typer.Option(help="Days AI calves come earlier on your ranch, on average.")
    ] = None,
    dates: Annotated[
        str | None, typer.Option(help="Order of dates like 3/4/27: mdy or dmy.")
    ] = None,
    weights: Annotated[
        str | None, typer.Option(help="Unit of weights without one: lb or kg.")
    ] = None,
    column: Annotated[
        list[str] | None,
        typer.Option(help="FIELD=HEADER where a header is not known.", metavar="FIELD=HEADER"),
    ] = None,
    as_of: Annotated[
        str | None, typer.Option(help="Plan as if today were this day.", metavar="DATE")
    ] = None,
    overlay: Annotated[Path | None, typer.Option(help="Your own figures (TOML).")] = None,
    again: Annotated[
        Path | None,
        typer.Option(help="A plan file: its settings and ids are kept.", metavar="PLANFILE"),
    ] = None,
    out: Annotated[Path | None, typer.Option(help="Folder for the packet.", metavar="DIR")] = None,
    paper: Annotated[str, typer.Option(help="letter or a4.")] = "letter",
    no_pdf: Annotated[bool, typer.Option("--no-pdf", help="Leave the PDF out.")] = False,
    show_all: Annotated[
        bool, typer.Option("--all", help="Show older and research protocols too.")
    ] = False,
    json_: Annotated[bool, typer.Option("--json", help="Print the plan as JSON.")] = False,
) -> None:
    """Say who is ready and which protocols fit; lay them out to the hour; write the packet.

    Reads a herd file, judges every female for the wanted first insemination day, sorts the
    protocols that fit each group with their cost beside bulls alone, chooses clock times, and
    writes PDF, calendar, workbook and plan file into --out.
    """
    from sunup.app.plan_season import PLAN_FILE, find_today, plan_season, write_packet
    from sunup.cli.plan_view import print_plan
    from sunup.cli.show import has_errors, print_json, print_problems
    from sunup.exchange.herd_file import HerdReading
    from sunup.exchange.plan_file import plan_to_json

    if again is None and out is not None and (out / PLAN_FILE).exists():
        again = out / PLAN_FILE
        kept_settings = False
    else:
        kept_settings = again is not None
    request = _request(
        {
            "first_ai": first_ai,
            "first_treatment": first_treatment,
            "zone": zone,
            "hours": hours,
            "region": region,
            "ranch": ranch or (None if kept_settings else herd_file.stem.replace("_", " ")),
            "prescriber": prescriber,
            "chutes": chutes,
            "max_passes": max_passes,
            "earlier_days": earlier_days,
            "as_of": as_of,
        },
        protocols=_pairs(protocol, "--protocol"),
        options=_pairs(option, "--option"),
        sires=_pairs(sire, "--sire"),
        drugs=_pairs(drug, "--drug"),
        splits=_pairs(split, "--split"),
        events=[
            *(("vaccination", text) for text in vaccination or ()),
            *(("haul", text) for text in haul or ()),
            *(("diet", text) for text in diet_change or ()),
        ],
        watching=not no_watching,
        today=find_today(),
        base=again if kept_settings else None,
    )
    outcome = plan_season(
        herd_file,
        request,
        reading=HerdReading(
            date_order=dates, weight_unit=weights, columns=dict(_pairs(column, "--column"))
        ),
        overlay=overlay,
        previous=again,
        as_of_given=as_of is not None,
    )
    if out is not None:
        outcome = write_packet(outcome, out, pdf=not no_pdf, paper=paper)
    if json_:
        print_json(_as_json(outcome, plan_to_json(outcome.plan)))
    else:
        print_plan(outcome, show_all=show_all)
        print_problems(outcome.problems)
    if has_errors(outcome.problems):
        raise typer.Exit(1)


def _as_json(outcome: Outcome, data: dict[str, Any]) -> dict[str, Any]:
    data["problems"] = [p.to_json() for p in outcome.problems]
    data["files"] = [str(path) for path in outcome.files]
    return data


def _pairs(texts: Sequence[str] | None, flag: str) -> list[tuple[str, str]]:
    pairs: list[tuple[str, str]] = []
    for text in texts or ():
        key, found, value = text.partition("=")
        if not found or not key or not value:
            message = f"{flag} '{text}': write it as NAME=VALUE."
            raise UsageError(message)
        pairs.append((key.strip(), value.strip()))
    return pairs


def read_day(text: str, flag: str) -> date:
    """Read an ISO date typed on the command line."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        message = f"{flag} '{text}' is not a date. Write it as 2027-05-25."
        raise UsageError(message) from None


def _request(
    given: dict[str, Any],
    *,
    protocols: list[tuple[str, str]],
    options: list[tuple[str, str]],
    sires: list[tuple[str, str]],
    drugs: list[tuple[str, str]],
    splits: list[tuple[str, str]],
    events: list[tuple[str, str]],
    watching: bool,
    today: date,
    base: Path | None,
) -> Request:
    """Put what was typed into a request, over the settings of a plan file where one is given."""
    from sunup.app.open import read_bytes
    from sunup.exchange.plan_file import read_plan_file
    from sunup.planning.request import Request

    settings: dict[str, Any] = {}
    if base is not None:
        former = read_plan_file(read_bytes(base).decode("utf-8", "replace"), str(base))
        settings = dict(former.settings)
    settings |= {k: v for k, v in given.items() if k in _PLAIN and v is not None}
    if given["first_ai"] is not None:
        day, _, clock = given["first_ai"].partition("T")
        settings |= {
            "first_ai_on": read_day(day, "--first-ai").isoformat(),
            "first_ai_at": clock or None,
            "first_treatment_on": None,
        }
    if given["first_treatment"] is not None:
        if given["first_ai"] is not None:
            message = "Give --first-ai or --first-treatment, not both."
            raise UsageError(message)
        day = read_day(given["first_treatment"], "--first-treatment").isoformat()
        settings |= {"first_treatment_on": day, "first_ai_on": None, "first_ai_at": None}
    if not settings.get("first_ai_on") and not settings.get("first_treatment_on"):
        message = "Say when: --first-ai DATE (the wanted first insemination day) or --first-treatment DATE."
        raise UsageError(message)
    if not settings.get("zone"):
        message = "Say where the clock is: --zone America/Denver (the IANA zone of the ranch)."
        raise UsageError(message)
    if given["hours"] is not None:
        opens, found, closes = given["hours"].partition("-")
        if not found:
            message = f"--hours '{given['hours']}': write it as 06:00-20:00."
            raise UsageError(message)
        settings |= {"open_at": opens.strip(), "close_at": closes.strip()}
    by_group: dict[str, list[str]] = {}
    for group, key in options:
        by_group.setdefault(group, []).append(key)
    settings["protocols"] = dict(settings.get("protocols", {})) | dict(protocols)
    settings["options"] = dict(settings.get("options", {})) | by_group
    settings["drugs"] = dict(settings.get("drugs", {})) | dict(drugs)
    settings["splits"] = dict(settings.get("splits", {})) | {
        k: _count(v, "--split") for k, v in splits
    }
    if sires:
        settings["sires"] = [_sire(g, text) for g, text in sires]
    if events:
        settings["events"] = [_event(kind, text) for kind, text in events]
    settings.setdefault("sires", [])
    settings.setdefault("events", [])
    settings.setdefault("region", "US")
    settings.setdefault("ranch", "ranch")
    settings["watching"] = watching if not watching else settings.get("watching", True)
    settings["today"] = (
        read_day(given["as_of"], "--as-of") if given["as_of"] else today
    ).isoformat()
    settings |= {
        key: _clock(settings[key])
        for key in ("first_ai_at", "open_at", "close_at")
        if settings.get(key)
    }
    request = Request.from_json(settings)
    if request.open_at >= request.close_at:
        message = "--hours: the working day must start before it ends."
        raise UsageError(message)
    return request


_PLAIN = {"zone", "region", "ranch", "prescriber", "chutes", "max_passes", "earlier_days"}


def _clock(text: str) -> str:
    from sunup.base.hours import read_clock

    return read_clock(text).strftime("%H:%M")


def _count(text: str, flag: str) -> int:
    if not text.isdigit() or int(text) < 1:
        message = f"{flag} '{text}': give a whole number of starts."
        raise UsageError(message)
    return int(text)


def _sire(group: str, text: str) -> dict[str, Any]:
    code, *rest = text.split(":")
    semen, share = "conventional", 1.0
    for part in rest:
        if part in {"sexed", "conventional"}:
            semen = part
        else:
            try:
                share = float(part)
            except ValueError:
                message = (
                    f"--sire {group}={text}: '{part}' is neither sexed nor a share such as 0.5."
                )
                raise UsageError(message) from None
    if not code or not 0 < share <= 1:
        message = f"--sire {group}={text}: give a code and a share above 0, at most 1."
        raise UsageError(message)
    return {"group": group, "code": code, "semen": semen, "share": share}


def _event(kind: str, text: str) -> dict[str, Any]:
    group, found, day = text.rpartition("=")
    return {
        "kind": kind,
        "on": read_day(day, f"--{kind}").isoformat(),
        "group": group if found else None,
    }
