"""``sunup season``: adopt a plan; who joins, moves, leaves, is identified."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sunup.base.problems import counted
from sunup.cli.desk import At, By, at_desk, tell
from sunup.cli.options import (
    Column,
    Dates,
    Json,
    LedgerAt,
    Overlay,
    Ranch,
    Sheet,
    Weights,
)

if TYPE_CHECKING:
    from sunup.exchange.herd_file import HerdReading
    from sunup.forecast.forecast import Forecast
    from sunup.planning.plan import Plan
    from sunup.records.female import Female

app = typer.Typer(no_args_is_help=True, help="Adopt a plan; who joins, moves, leaves.")


@app.callback()
def top() -> None:
    """Adopt a plan; who joins, moves, leaves."""


@app.command(
    "adopt", epilog="Example: sunup season adopt packet/plan.json --herd herd.csv --forecast"
)
def adopt(
    plan_file: Annotated[Path, typer.Argument(help="plan.json of a packet.")],
    herd: Annotated[
        Path | None,
        typer.Option(help="The herd list it was made from: its facts are kept with each female."),
    ] = None,
    dates: Dates = None,
    weights: Weights = None,
    column: Column = None,
    sheet: Sheet = None,
    forecast: Annotated[
        bool,
        typer.Option(
            "--forecast", help="Simulate the plan and keep the forecast; needs the herd list."
        ),
    ] = False,
    seed: Annotated[int, typer.Option(min=0, max=2**64 - 1, help="Of the forecast.")] = 1,
    replicates: Annotated[
        int, typer.Option(min=20, max=100_000, help="Seasons simulated for the forecast.")
    ] = 200,
    sires: Annotated[
        bool,
        typer.Option(
            "--sires", help="Choose a sire for each female by the plan's shares, none near kin."
        ),
    ] = False,
    why: Annotated[str | None, typer.Option(help="Reason, where a plan is changed.")] = None,
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Take a plan as what is to be done: its females into groups, its schedule in force.

    Begins the ledger where there is none. The same season again changes its plan.
    """
    from sunup.app.open import read_bytes
    from sunup.app.season import adopt as adopt_plan
    from sunup.app.sires import GivenOut, assign_from_plan
    from sunup.app.wishes import read_pairs
    from sunup.base.problems import UsageError
    from sunup.cli.record_view import print_given_out
    from sunup.cli.show import print_json, print_problems
    from sunup.exchange.herd_file import HerdReading
    from sunup.exchange.plan_file import read_plan_file

    plan = read_plan_file(read_bytes(plan_file).decode("utf-8", "replace"), str(plan_file))
    if forecast and herd is None:
        message = "--forecast needs the herd list the plan was made from: --herd herd.csv."
        raise UsageError(message)
    reading = HerdReading(
        date_order=dates,
        weight_unit=weights,
        columns=dict(read_pairs(column, "--column")),
        sheet=sheet,
    )
    females = _read_herd(herd, plan, reading, overlay) if herd is not None else ()
    told: dict[str, Forecast] = {}
    kernel = ""
    if forecast:
        told, kernel = _forecasts(plan, females, seed, replicates, overlay)
    with at_desk(
        ledger,
        ranch,
        new_ranch=plan.ranch,
        at=at,
        by=by,
        create=True,
        zone=plan.zone,
        overlay=overlay,
    ) as (desk, when):
        done = adopt_plan(
            desk,
            plan,
            females=females,
            forecasts=told,
            kernel_version=kernel,
            at=when if at else None,
            why=why,
        )
        given_out: tuple[GivenOut, ...] = ()
        if sires:
            given_out, _ = assign_from_plan(desk.with_more(done.events), at=when if at else None)
    if json_:
        print_json(
            {
                "schema_version": 1,
                "plan_id": done.plan_id,
                "season": plan.season,
                "changed": done.changed,
                "added": done.added,
                "moved": done.moved,
                "forecasts": list(done.forecasts),
                "sires": [{"group": g.group, "counts": dict(g.counts)} for g in given_out],
                "problems": [p.to_json() for p in done.problems],
            }
        )
        return
    what = "plan changed" if done.changed else "plan adopted"
    tell(f"{plan.ranch}: {what} for season {plan.season}")
    tell(f"{counted(done.added, 'female')} added, {done.moved} moved to another group", 2)
    for group in plan.groups:
        if group.chosen_name:
            tell(f"{group.name}: {len(group.order)} head, {group.chosen_name}", 2)
    for name in done.forecasts:
        tell(f"forecast kept for {name}", 2)
    if not done.forecasts:
        tell("no forecast kept: heats and pregnancies will not be compared with one", 2)
    if sires:
        print_given_out(given_out)
    print_problems(done.problems)
    tell("Next: sunup today")


def _read_herd(
    herd: Path, plan: "Plan", reading: "HerdReading", overlay: Path | None
) -> "tuple[Female, ...]":
    from sunup.app.open import open_library, read_bytes
    from sunup.base.problems import UsageError
    from sunup.exchange.herd_file import read_herd
    from sunup.exchange.plausible import Limits
    from sunup.planning.request import Request

    on = Request.from_json(plan.settings).judged_on
    limits = Limits.of(open_library(overlay)[0])
    read = read_herd(read_bytes(herd), herd.name, on=on, limits=limits, reading=reading)
    if not read.females:
        why = str(read.problems[0]) if read.problems else f"{herd.name} holds none."
        message = f"No female could be read. {why}"
        raise UsageError(message)
    return read.females


def _forecasts(
    plan: "Plan",
    females: "tuple[Female, ...]",
    seed: int,
    replicates: int,
    overlay: Path | None,
) -> "tuple[dict[str, Forecast], str]":
    import sys

    from sunup.app.forecast_asked import Asked
    from sunup.app.forecast_kernel import prepare_kernel
    from sunup.app.season_forecast import forecast_adopted
    from sunup.cli.forecast_view import Progress

    prepare_kernel(lambda words: print(words, file=sys.stderr))
    return forecast_adopted(
        plan,
        females,
        asked=Asked(seed=seed, replicates=replicates),
        overlay=overlay,
        tell=Progress(),
    )


@app.command("show", epilog="Example: sunup season show")
def show(
    at: At = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Show the plan in force and how far every group and step is."""
    from sunup.cli.season_view import print_season, season_to_json
    from sunup.cli.show import print_json

    with at_desk(ledger, ranch, at=at, overlay=overlay, view=True) as (desk, _):
        desk.need_plan()
        if json_:
            print_json(season_to_json(desk))
        else:
            print_season(desk)


TagList = Annotated[list[str], typer.Argument(help="Tags or 15-digit codes.")]


@app.command("join", epilog="Example: sunup season join 2301 --class heifer --group heifers")
def join(
    tag: Annotated[str, typer.Argument(help="Number on her ear.")],
    class_: Annotated[
        str, typer.Option("--class", help="heifer, first_calf_cow or cow.", metavar="CLASS")
    ],
    group: Annotated[str, typer.Option(help="Group she joins.")],
    rfid: Annotated[str | None, typer.Option(help="Her 15-digit code.")] = None,
    another: Annotated[
        bool,
        typer.Option("--another", help="She is not the one that left the herd with this tag."),
    ] = False,
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Add a female that is on no list, into a group."""
    from sunup.app.season import join as join_herd
    from sunup.base.problems import UsageError

    if class_ not in {"heifer", "first_calf_cow", "cow"}:
        message = f"--class '{class_}': write heifer, first_calf_cow or cow."
        raise UsageError(message)
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        join_herd(desk, tag, class_=class_, group=group, rfid=rfid, at=when, is_another=another)
    print(f"{tag} joined {group}.")


@app.command("move", epilog="Example: sunup season move 2045 2046 --to late_cows")
def move(
    tags: TagList,
    to: Annotated[str, typer.Option(help="Group they go to; empty quotes: to none.")],
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Move females to another group."""
    from sunup.app.season import move as move_females

    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        move_females(desk, tags, to, at=when)
    print(f"{len(tags)} moved to {to or 'no group'}.")


@app.command("leave", epilog="Example: sunup season leave 2045 --why sold")
def leave(
    tags: TagList,
    why: Annotated[str, typer.Option(help="sold, culled, died, missing or other.")],
    at: At = None,
    by: By = None,
    note: Annotated[str | None, typer.Option(help="A remark, kept as written.")] = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Females leave the herd; a withdrawal that still runs is told."""
    from sunup.app.record_facts import record_fact
    from sunup.base.problems import UsageError
    from sunup.cli.record_view import print_entry
    from sunup.planning.warnings import LEAVES
    from sunup.records.event import Kind

    if why not in {"sold", "culled", "died", "missing", "other"}:
        message = f"--why '{why}': write sold, culled, died, missing or other."
        raise UsageError(message)
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        entry = record_fact(
            desk,
            tags,
            Kind.LEFT_HERD,
            {"why": why, "note": note},
            at=when,
            words=f"left the herd: {why}",
            act=LEAVES if why in {"sold", "culled"} else "",
        )
        print_entry(desk, entry)


@app.command("set", epilog="Example: sunup season set sire_breed A31=angus B12=simmental")
def set_(
    name: Annotated[str, typer.Argument(help="sire_breed or once_a_day.")],
    values: Annotated[
        list[str], typer.Argument(help="SIRE=BREED, once for each; or the hour, as 10:30.")
    ],
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Say once what every list reads: breeds of sires and bulls, the once-a-day session."""
    from sunup.app.settings import set_words

    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        set_words(desk, name, values, at=when)
    print(f"{name}: {', '.join(values)}, recorded")


@app.command("retag", epilog="Example: sunup season retag 2045 --new 3045")
def retag(
    tag: Annotated[str, typer.Argument(help="Tag or code she wears now.")],
    new: Annotated[str | None, typer.Option(help="New tag.")] = None,
    rfid: Annotated[str | None, typer.Option(help="New 15-digit code.")] = None,
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Give a female another tag or code; her history stays hers."""
    from sunup.app.season import also_wearing
    from sunup.app.season import retag as retag_female
    from sunup.base.problems import UsageError

    if not new and not rfid:
        message = "Say what she wears now: --new TAG or --rfid CODE."
        raise UsageError(message)
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        others = also_wearing(desk, tag, new=new, rfid=rfid)
        retag_female(desk, tag, new=new, rfid=rfid, at=when)
    print(f"{tag} now wears {new or rfid}.")
    for one in others:
        of = f" of {one.group}" if one.group else ""
        worn = new if new == one.tag else rfid
        tell(f"look: another female{of} wears {worn} too: the two cannot be told apart by it", 2)
        tell(
            "now: read both ears; if it was mistyped, take it back (sunup record undo); if both "
            "are right, give one of them another (sunup season retag, by her 15-digit code)",
            4,
        )


@app.command("identify", epilog="Example: sunup season identify 412 --is 2045")
def identify(
    tag: Annotated[str, typer.Argument(help="The unlisted tag.")],
    is_: Annotated[str, typer.Option("--is", help="Tag or code of the female she is.")],
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Say which female an unlisted tag is; both histories are one from then on."""
    from sunup.app.season import identify as identify_female

    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        identify_female(desk, tag, is_, at=when)
    print(f"{tag} is {is_}: both histories are one now.")
