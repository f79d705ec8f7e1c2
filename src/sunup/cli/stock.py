"""``sunup stock``: what is on the shelf, in the tank, who got what; lists to hand over."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sunup.base.problems import some
from sunup.cli.desk import At, By, Note, at_desk, clock, tell
from sunup.cli.options import Json, LedgerAt, Overlay, Ranch

if TYPE_CHECKING:
    from sunup.app.stock import Parcel
    from sunup.app.stock_lists import Listing

app = typer.Typer(
    no_args_is_help=True, help="Drugs, inserts, straws, nitrogen; the lists to hand over."
)


@app.callback()
def top() -> None:
    """Drugs, inserts, straws, nitrogen; the lists to hand over."""


Item = Annotated[
    str, typer.Argument(help="Drug by active (cloprostenol), inserts, a supply; or a sire's code.")
]
Amount = Annotated[float, typer.Argument(help="How many; of a drug mL, or as --unit says.")]
Unit = Annotated[str | None, typer.Option(help="ml or bottles, of drugs; else a word.")]
Lot = Annotated[str | None, typer.Option(help="Lot, or collection code of semen.")]
Expires = Annotated[str | None, typer.Option(help="Expiry as printed.", metavar="DATE")]
Bottle = Annotated[float | None, typer.Option(help="Size of a bottle, mL.", min=0)]
Straws = Annotated[bool, typer.Option("--straws", help="They are straws of this sire.")]
Semen = Annotated[str | None, typer.Option(help="conventional or sexed.")]
Tank = Annotated[str | None, typer.Option(help="Tank.")]
Canister = Annotated[str | None, typer.Option(help="Canister.")]
Csv = Annotated[Path | None, typer.Option("--csv", help="Write the list as CSV.", metavar="FILE")]


def _parcel(
    item: str,
    amount: float,
    unit: str | None,
    lot: str | None,
    expires: str | None,
    bottle_ml: float | None,
    *,
    straws: bool,
    semen: str | None,
    tank: str | None,
    canister: str | None,
    cost: float | None = None,
    note: str | None = None,
) -> "Parcel":
    from sunup.app.stock import Parcel
    from sunup.app.wishes import read_day

    return Parcel(
        item=item,
        amount=amount,
        unit=unit,
        lot=lot,
        expires_on=read_day(expires, "--expires") if expires else None,
        bottle_ml=bottle_ml,
        sire=straws,
        semen=semen,
        tank=tank,
        canister=canister,
        cost=cost,
        note=note,
    )


@app.command(
    "buy",
    epilog="Example: sunup stock buy cloprostenol 4 --bottle-ml 100 --lot C12 --expires 2028-01-31",
)
def buy(
    item: Item,
    amount: Amount,
    unit: Unit = None,
    lot: Lot = None,
    expires: Expires = None,
    bottle_ml: Bottle = None,
    straws: Straws = False,
    semen: Semen = None,
    tank: Tank = None,
    canister: Canister = None,
    cost: Annotated[float | None, typer.Option(help="What it cost, all of it.")] = None,
    breed: Annotated[
        str | None, typer.Option(help="Straws: breed of the sire; due dates count with it.")
    ] = None,
    note: Note = None,
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record what came in."""
    from sunup.app.settings import set_sire_breed
    from sunup.app.stock import move_stock
    from sunup.base.problems import UsageError

    parcel = _parcel(
        item, amount, unit, lot, expires, bottle_ml,
        straws=straws, semen=semen, tank=tank, canister=canister, cost=cost, note=note,
    )  # fmt: skip
    if breed and not straws:
        message = "--breed is of a sire: give --straws too."
        raise UsageError(message)
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        if breed:
            set_sire_breed(desk, item, breed, at=when)
        event = move_stock(desk, parcel, why="bought", at=when)
    print(f"{item}: {event.body['amount']:g} {event.body['unit']} in, recorded")


@app.command("lose", epilog="Example: sunup stock lose cloprostenol 20 --why broken --lot C12")
def lose(
    item: Item,
    amount: Amount,
    why: Annotated[str, typer.Option(help="broken, expired, returned, moved or used.")] = "broken",
    unit: Unit = None,
    lot: Lot = None,
    bottle_ml: Bottle = None,
    straws: Straws = False,
    semen: Semen = None,
    tank: Tank = None,
    canister: Canister = None,
    note: Note = None,
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record what went out other than by treatments: those are counted by themselves."""
    from sunup.app.stock import doubt_loss, move_stock
    from sunup.base.problems import UsageError

    if why == "bought":
        message = "What was bought came in: sunup stock buy."
        raise UsageError(message)
    parcel = _parcel(
        item, amount, unit, lot, None, bottle_ml,
        straws=straws, semen=semen, tank=tank, canister=canister, note=note,
    )  # fmt: skip
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        doubt = doubt_loss(desk, parcel)
        event = move_stock(desk, parcel, why=why, at=when)
    print(f"{item}: {-event.body['amount']:g} {event.body['unit']} out ({why}), recorded")
    if doubt:
        tell(f"look: {doubt}", 2)
        tell("now: If that is wrong, take it back (sunup record undo) and say it again.", 4)


@app.command("count", epilog="Example: sunup stock count inserts 12 --lot P9")
def count(
    item: Item,
    amount: Amount,
    unit: Unit = None,
    lot: Lot = None,
    bottle_ml: Bottle = None,
    straws: Straws = False,
    semen: Semen = None,
    tank: Tank = None,
    canister: Canister = None,
    note: Note = None,
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record how much there is; a difference from the records is told."""
    from sunup.app.stock import count_stock, stock_now

    parcel = _parcel(
        item, amount, unit, lot, None, bottle_ml,
        straws=straws, semen=semen, tank=tank, canister=canister, note=note,
    )  # fmt: skip
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        event = count_stock(desk, parcel, at=when)
        after = stock_now(desk.with_more([event]))
        print(f"{item}: {amount:g} counted, recorded")
        for line in after:
            if line.counted_at == when.replace(microsecond=0):
                for flag in line.flags:
                    tell(f"look: {line.item.name.replace('_', ' ')}: {flag}", 2)


@app.command("nitrogen", epilog="Example: sunup stock nitrogen north 18.5")
def nitrogen(
    tank: Annotated[str, typer.Argument(help="Name of the tank.")],
    level_cm: Annotated[float, typer.Argument(help="Liquid on the stick, cm.", min=0)],
    inches: Annotated[bool, typer.Option("--inches", help="The level is in inches.")] = False,
    filled: Annotated[bool, typer.Option("--filled", help="Read after a refill.")] = False,
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
) -> None:
    """Record the level of a semen tank; says how fast it falls and when to refill it."""
    from sunup.app.stock import find_tanks, read_nitrogen
    from sunup.base.quantities import CM_PER_IN

    cm = round(level_cm * CM_PER_IN, 2) if inches else level_cm
    with at_desk(ledger, ranch, at=at, by=by, overlay=overlay) as (desk, when):
        event = read_nitrogen(desk, tank, cm, filled=filled, at=when)
        after = desk.with_more([event])
        danger = desk.library.figure("practice.nitrogen_danger").value
        print(f"tank {tank}: {cm:g} cm recorded")
        for state in find_tanks(after):
            if state.tank == tank:
                from sunup.cli.stock_view import tank_words

                tell(tank_words(state), 2)
        tell(f"{danger}", 2)


@app.command("show", epilog="Example: sunup stock show")
def show(
    at: At = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Show drugs by lot, inserts in and out, straws, nitrogen, and what will run out."""
    from sunup.app.stock import find_shelf
    from sunup.cli.show import print_json
    from sunup.cli.stock_view import print_shelf, shelf_to_json

    with at_desk(ledger, ranch, at=at, overlay=overlay, view=True) as (desk, _):
        shelf = find_shelf(desk)
        if json_:
            print_json(shelf_to_json(shelf))
        else:
            print_shelf(desk, shelf)


@app.command("cautions", epilog="Example: sunup stock cautions --by Ana --read")
def cautions(
    read: Annotated[
        bool, typer.Option("--read", help="The person named has read them: keep that.")
    ] = False,
    at: At = None,
    by: By = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Show what people who handle the season's drugs must know; keep who has read it.

    Nobody's health is asked or kept: only that the lines were read.
    """
    from sunup.app.stock import find_cautions, read_cautions
    from sunup.cli.show import print_json

    with at_desk(ledger, ranch, at=at, by=by, overlay=overlay) as (desk, when):
        told = find_cautions(desk)
        if json_:
            print_json(
                {
                    "schema_version": 1,
                    "drugs": [
                        {"active": c.active, "texts": list(c.texts), "read_by": list(c.read_by)}
                        for c in told
                    ],
                }
            )
        else:
            for line in told:
                print(line.name.upper())
                for text in line.texts:
                    tell(f"- {text}", 2)
                if line.read_by:
                    tell(f"read by {some(line.read_by)}", 2)
        if read:
            read_cautions(desk, desk.writer.by, at=when)
            tell(f"Kept: {desk.writer.by} has read them ({clock(when, desk.season.zone)}).")


@app.command("treatments", epilog="Example: sunup stock treatments --csv treatments.csv")
def treatments(
    csv: Csv = None,
    tag: Annotated[str | None, typer.Option(help="Only this female.")] = None,
    at: At = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """List every treatment as a food-safety audit asks for it, with the withdrawal as given."""
    from sunup.app.stock_lists import treatment_list

    with at_desk(ledger, ranch, at=at, overlay=overlay, view=True) as (desk, _):
        _put(treatment_list(desk, tag=tag), csv, json_=json_)


@app.command("withdrawals", epilog="Example: sunup stock withdrawals")
def withdrawals(
    csv: Csv = None,
    at: At = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """List females whose withdrawal runs, or of whom none was written down."""
    from sunup.app.stock_lists import withdrawal_list

    with at_desk(ledger, ranch, at=at, overlay=overlay, view=True) as (desk, _):
        _put(withdrawal_list(desk), csv, json_=json_)


@app.command("certificates", epilog="Example: sunup stock certificates --csv ai.csv")
def certificates(
    csv: Csv = None,
    at: At = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """List inseminations with what an AI certificate asks for."""
    from sunup.app.stock_lists import certificate_list

    with at_desk(ledger, ranch, at=at, overlay=overlay, view=True) as (desk, _):
        _put(certificate_list(desk), csv, json_=json_)


@app.command("bred", epilog="Example: sunup stock bred --csv bred.csv")
def bred(
    csv: Csv = None,
    at: At = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """List bred females as a buyer asks for them: service, sire, finding, what is due."""
    from sunup.app.stock_lists import bred_list

    with at_desk(ledger, ranch, at=at, overlay=overlay, view=True) as (desk, _):
        _put(bred_list(desk), csv, json_=json_)


def _put(listing: "Listing", csv: Path | None, *, json_: bool) -> None:
    from sunup.app.stock_lists import write_csv
    from sunup.base.problems import counted
    from sunup.cli.show import print_json
    from sunup.cli.stock_view import print_listing

    if csv is not None:
        print(f"written: {write_csv(listing, csv)}, {counted(len(listing.rows), 'row')}")
    elif json_:
        rows = [dict(zip(listing.head, row, strict=True)) for row in listing.rows]
        print_json({"schema_version": 1, "rows": rows, "notes": list(listing.notes)})
    else:
        print_listing(listing)
