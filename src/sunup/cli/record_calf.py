"""``sunup record calving``, ``weaning``, ``abortion``: what becomes of a pregnancy."""

from typing import Annotated

import typer

from sunup.cli.desk import At, By, Look, Note, TagFile, Tags, at_desk, read_tag_words
from sunup.cli.options import LedgerAt, Ranch

CALVING = "Example: sunup record calving 2045 --ease 1 --calf female"
WEANING = "Example: sunup record weaning 2045 2046 --calf-lb 545"
ABORTION = "Example: sunup record abortion 2045 --found 'membranes at the gate'"


def calving(
    tags: Tags = None,
    ease: Annotated[
        int | None, typer.Option(min=1, max=5, help="1 unassisted to 5 caesarean or abnormal.")
    ] = None,
    calf: Annotated[
        list[str] | None,
        typer.Option(help="SEX[:dead][:KG]; once for each calf.", metavar="CALF"),
    ] = None,
    retained: Annotated[
        bool, typer.Option("--retained", help="The membranes were not shed.")
    ] = False,
    at: At = None,
    by: By = None,
    note: Note = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record a calving."""
    from sunup.app.record_calving import record_calvings
    from sunup.cli.record_view import print_entry

    body = {
        "ease": ease,
        "retained_membranes": True if retained else None,
        "calves": [_calf(text) for text in calf] if calf else None,
        "note": note,
    }
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        names = read_tag_words(tags, None)
        print_entry(desk, record_calvings(desk, names, body, at=when))


def _calf(text: str) -> dict[str, object]:
    from sunup.base.problems import UsageError

    sex, *rest = text.split(":")
    found: dict[str, object] = {"sex": sex, "alive": "dead" not in rest}
    weights = [part for part in rest if part != "dead"]
    try:
        if weights:
            found["weight_kg"] = float(weights[0])
    except ValueError:
        sex = ""
    if sex not in {"female", "male"}:
        message = f"--calf '{text}': write female, male:dead or female:38 (kg)."
        raise UsageError(message)
    return found


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
    look: Look = False,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record that calves were weaned off their dams; tags are the dams'."""
    from sunup.app.record_facts import record_fact
    from sunup.base.quantities import kg_from
    from sunup.cli.record_view import print_entry
    from sunup.planning.warnings import WEANS
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
        entry = record_fact(
            desk, names, Kind.WEANED, body, at=when, words=words, act=WEANS, keep=not look
        )
        print_entry(desk, entry, before=look)


def abortion(
    tags: Tags = None,
    file: TagFile = None,
    found: Annotated[str | None, typer.Option(help="What was found, in words.")] = None,
    at: At = None,
    by: By = None,
    note: Note = None,
    look: Look = False,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record an abortion seen; a pregnancy lost unseen shows at the next check."""
    from sunup.app.record_facts import record_fact
    from sunup.cli.record_view import print_entry
    from sunup.planning.warnings import ABORTS
    from sunup.records.event import Kind

    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        names = read_tag_words(tags, file)
        entry = record_fact(
            desk,
            names,
            Kind.ABORTED,
            {"found": found, "note": note},
            at=when,
            words="aborted",
            act=ABORTS,
            keep=not look,
        )
        print_entry(desk, entry, before=look)
