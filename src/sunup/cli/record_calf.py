"""``sunup record weaning`` and ``sunup record abortion``: the end of a pregnancy, of a suckling."""

from typing import Annotated

import typer

from sunup.cli.desk import At, By, Note, TagFile, Tags, at_desk, read_tag_words
from sunup.cli.options import LedgerAt, Ranch

WEANING = "Example: sunup record weaning 2045 2046 --calf-lb 545"
ABORTION = "Example: sunup record abortion 2045 --found 'membranes at the gate'"


def weaning(
    tags: Tags = None,
    file: TagFile = None,
    calves: Annotated[int, typer.Option(min=1, max=3, help="Calves weaned off each.")] = 1,
    calf_kg: Annotated[
        float | None, typer.Option("--calf-kg", min=1, help="What a calf weighed, kg.")
    ] = None,
    calf_lb: Annotated[
        float | None, typer.Option("--calf-lb", min=1, help="What a calf weighed, lb.")
    ] = None,
    at: At = None,
    by: By = None,
    note: Note = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record that calves were weaned off their dams; tags are the dams'."""
    from sunup.app.record_facts import record_fact
    from sunup.base.quantities import kg_from
    from sunup.cli.record_view import print_entry
    from sunup.records.event import Kind

    kg = calf_kg if calf_lb is None else kg_from(calf_lb, "lb")
    body = {
        "calves": calves,
        "weight_kg": None if kg is None else round(kg * calves, 1),
        "note": note,
    }
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        names = read_tag_words(tags, file)
        words = "weaned" if kg is None else f"weaned at {kg:.0f} kg a calf"
        print_entry(desk, record_fact(desk, names, Kind.WEANED, body, at=when, words=words))


def abortion(
    tags: Tags = None,
    found: Annotated[str | None, typer.Option(help="What was found, in words.")] = None,
    at: At = None,
    by: By = None,
    note: Note = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record an abortion seen; a pregnancy lost unseen shows at the next check."""
    from sunup.app.record_facts import record_fact
    from sunup.cli.record_view import print_entry
    from sunup.records.event import Kind

    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        names = read_tag_words(tags, None)
        body = {"found": found, "note": note}
        print_entry(desk, record_fact(desk, names, Kind.ABORTED, body, at=when, words="aborted"))
