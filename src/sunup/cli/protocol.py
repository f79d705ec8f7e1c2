"""``sunup protocol``: the treatment schedules held."""

from typing import Annotated, Any

import typer

from sunup.base.problems import UsageError
from sunup.cli.options import Json, Overlay

app = typer.Typer(no_args_is_help=True, help="The treatment schedules held.")

LIST_EXAMPLE = "Example: sunup protocol list --class heifer"
SHOW_EXAMPLE = "Example: sunup protocol show co_synch_insert7_cow --region US"
_CLASSES = ("heifer", "first_calf_cow", "cow")


@app.callback()
def top() -> None:
    """The treatment schedules held."""


@app.command("list", epilog=LIST_EXAMPLE)
def list_(
    class_: Annotated[
        str | None, typer.Option("--class", help="heifer, first_calf_cow or cow.")
    ] = None,
    show_all: Annotated[bool, typer.Option("--all", help="Older and research ones too.")] = False,
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """List the recommended protocols for a class; --all adds older and research ones."""
    from sunup.app.inspect_library import find_protocols
    from sunup.app.open import open_library
    from sunup.cli.show import console, print_json, print_table
    from sunup.planning.fit import result_range
    from sunup.protocols.timing import passes_through_chute, total_days, watch_days

    if class_ is not None and class_ not in _CLASSES:
        message = f"--class '{class_}' is not known. Classes: {', '.join(_CLASSES)}."
        raise UsageError(message)
    library, _ = open_library(overlay)
    found = find_protocols(library, class_=class_, include_all=show_all)
    if json_:
        print_json(
            {
                "schema_version": 1,
                "protocols": [
                    {
                        "key": p.key,
                        "name": p.name,
                        "standing": p.standing.value,
                        "style": p.style.value,
                        "classes": list(p.classes),
                        "passes": passes_through_chute(p),
                        "days": total_days(p),
                        "watch_days": watch_days(p),
                        "published_pregnancy_to_ai_pct": result_range(p),
                    }
                    for p in found
                ],
            }
        )
        return
    for standing in dict.fromkeys(p.standing.value for p in found):
        print_table(
            [
                ("protocol", "left"),
                ("name", "left"),
                ("chute", "right"),
                ("days", "right"),
                ("published %", "right"),
            ],
            [
                (
                    p.key,
                    p.name,
                    str(passes_through_chute(p)),
                    f"{total_days(p):.1f}",
                    _span(result_range(p)),
                )
                for p in found
                if p.standing.value == standing
            ],
            title=standing,
        )
    out = console()
    hidden = len(find_protocols(library, class_=class_, include_all=True)) - len(found)
    if hidden:
        out.print(f"\n{hidden} more (older, research): --all")
    out.print("\nPublished pregnancy to AI beside each; sunup protocol show KEY names its source.")


def _span(span: tuple[float, float] | None) -> str:
    if span is None:
        return "-"
    low, high = span
    return f"{low:g}" if low == high else f"{low:g}-{high:g}"


@app.command("show", epilog=SHOW_EXAMPLE)
def show(
    key: Annotated[str, typer.Argument(help="Key, as listed by sunup protocol list --all.")],
    region: Annotated[str, typer.Option(help="Rule pack for the label notes.")] = "US",
    overlay: Overlay = None,
    json_: Json = False,
) -> None:
    """Show one protocol: why, for whom, steps, windows, label notes, results, cautions."""
    from sunup.app.show_protocol import describe_protocol
    from sunup.cli.show import print_json

    page = describe_protocol(key, region=region, overlay=overlay)
    if json_:
        print_json({"schema_version": 1, **page})
        return
    _print_page(page)


def _print_page(page: dict[str, Any]) -> None:
    from sunup.cli.show import console, print_table

    out = console()
    out.print(f"{page['name']}  ({page['key']}, {page['standing']})")
    out.print(page["standing_note"])
    out.print(f"\nWhy: {page['why']}")
    out.print(f"For: {page['suits']}")
    out.print(
        f"{page['passes']} times through the chute, {page['days']:.1f} days"
        + (f", heats watched for {page['watch_days']:.1f} days" if page["watch_days"] else "")
    )
    print_table(
        [
            ("hour", "right"),
            ("what", "left"),
            ("who", "left"),
            ("window", "left"),
            ("clock", "left"),
        ],
        [(f"{s['hour']:g}", s["words"], s["who"], s["window"], s["clock"]) for s in page["steps"]],
    )
    if page["steps_note"]:
        out.print(page["steps_note"])
    if page["refused"]:
        out.print(f"\nRefused in {page['region']}: {page['refused']}")
    for title, key in (
        ("Label notes", "label_notes"),
        ("Published results", "results"),
        ("Before you start", "prerequisites"),
        ("Cautions", "cautions"),
        ("When not to use it", "when_not"),
        ("Where sources disagree", "disagree"),
        ("Sources", "sources"),
    ):
        if page[key]:
            out.print(f"\n{title}")
            for line in page[key]:
                out.print(f"  - {line}")
    out.print("\nThe label in hand and your veterinarian decide.")
