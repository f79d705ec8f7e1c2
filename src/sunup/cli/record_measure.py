"""``sunup record measure``: condition, weight, tract, pelvis, ovaries."""

from typing import Annotated, Any

import typer

from sunup.cli.desk import At, By, Note, TagFile, Tags, at_desk, read_tag_words
from sunup.cli.options import LedgerAt, Ranch

MEASURE = "Example: sunup record measure 2045 --condition 5.5 --weight-kg 610"


def measure(
    tags: Tags = None,
    file: TagFile = None,
    condition: Annotated[
        float | None, typer.Option(min=1, max=9, help="Body condition, 1 to 9.")
    ] = None,
    weight_kg: Annotated[float | None, typer.Option(min=1, help="Body weight, kg.")] = None,
    weight_lb: Annotated[float | None, typer.Option(min=1, help="Body weight, lb.")] = None,
    tract: Annotated[int | None, typer.Option(min=1, max=5, help="Tract score, 1 to 5.")] = None,
    pelvis: Annotated[float | None, typer.Option(min=1, help="Pelvic area, cm2.")] = None,
    luteum: Annotated[
        bool | None,
        typer.Option("--luteum/--no-luteum", help="Ovaries scanned: a corpus luteum, or none."),
    ] = None,
    follicle: Annotated[
        float | None, typer.Option(min=1, help="Ovaries scanned: largest follicle, mm.")
    ] = None,
    cycling: Annotated[
        bool | None, typer.Option("--cycling/--not-cycling", help="Ovaries scanned: as judged.")
    ] = None,
    at: At = None,
    by: By = None,
    note: Note = None,
    ledger: LedgerAt = None,
    ranch: Ranch = None,
) -> None:
    """Record condition, weight, tract score, pelvic area, or a scan of the ovaries."""
    from sunup.app.record_facts import record_facts
    from sunup.base.problems import UsageError
    from sunup.base.quantities import kg_from
    from sunup.cli.record_view import print_entry
    from sunup.records.event import Kind

    kg = weight_kg if weight_lb is None else round(kg_from(weight_lb, "lb"), 1)
    ovaries = {"luteum": luteum, "follicle_mm": follicle, "cycling": cycling}
    said: list[tuple[Kind, dict[str, Any], str]] = [
        (
            Kind.CONDITION_SCORED,
            {"score": condition},
            f"condition {condition:g}" if condition else "",
        ),
        (Kind.WEIGHED, {"weight_kg": kg}, f"weight {kg:g} kg" if kg else ""),
        (Kind.TRACT_SCORED, {"score": tract}, f"tract score {tract}"),
        (
            Kind.PELVIS_MEASURED,
            {"area_cm2": pelvis},
            f"pelvic area {pelvis:g} cm2" if pelvis else "",
        ),
        (
            Kind.OVARY_SCANNED,
            ovaries,
            f"ovaries: {_ovary_words(luteum=luteum, follicle=follicle, cycling=cycling)}",
        ),
    ]
    told = [one for one in said if any(value is not None for value in one[1].values())]
    if not told:
        message = (
            "Say what was measured: --condition, --weight-kg, --tract, --pelvis, --luteum, "
            "--follicle or --cycling."
        )
        raise UsageError(message)
    with at_desk(ledger, ranch, at=at, by=by) as (desk, when):
        names = read_tag_words(tags, file)
        facts = [(kind, {**body, "note": note}, words) for kind, body, words in told]
        for entry in record_facts(desk, names, facts, at=when):
            print_entry(desk, entry)


def _ovary_words(*, luteum: bool | None, follicle: float | None, cycling: bool | None) -> str:
    words = []
    if luteum is not None:
        words.append("a corpus luteum" if luteum else "no corpus luteum")
    if follicle is not None:
        words.append(f"follicle {follicle:g} mm")
    if cycling is not None:
        words.append("cycling" if cycling else "not cycling")
    return ", ".join(words)
