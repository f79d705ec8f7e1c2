"""``docs/reference/cli.md``: every command as its help says it."""

from __future__ import annotations

from typing import Any

import typer.main

from docs_markdown import page, table
from sunup.cli.main import app

_SHAPES = {"str": "TEXT", "int": "NUMBER", "float": "NUMBER", "Path": "FILE", "bool": ""}
_EXIT_CODES = table(
    ("code", "meaning"),
    (
        ("0", "fine"),
        (
            "1",
            (
                "problems were found: something in the herd file or the request was not used. What "
                "could be done was done, and the files were written. Warnings and notices alone "
                "give 0."
            ),
        ),
        (
            "2",
            (
                "wrong usage: a file is missing, a date is not a date, a protocol or region is not "
                "held. Nothing was written."
            ),
        ),
        ("130", "stopped with Ctrl-C"),
    ),
)


def render_cli() -> str:
    """Return the page of commands."""
    root = typer.main.get_command(app)
    parts = [
        (
            "Problems go to standard error, everything else to standard output. `--json` prints "
            "one JSON document and nothing else on standard output. Options that name several "
            "groups may be repeated."
        ),
        "## Exit codes\n\n" + _EXIT_CODES,
    ]
    parts += [_command(path, command) for path, command in commands(root)]
    return page("Commands", "the help of the program", *parts)


def commands(root: Any, path: str = "sunup") -> list[tuple[str, Any]]:
    """Return every command that can be run, with what is typed to reach it."""
    found: list[tuple[str, Any]] = []
    for name, command in root.commands.items():
        here = f"{path} {name}"
        found += commands(command, here) if hasattr(command, "commands") else [(here, command)]
    return found


def _command(path: str, command: Any) -> str:
    arguments = [p for p in command.params if not p.opts[0].startswith("-")]
    options = [p for p in command.params if p.opts[0].startswith("-")]
    usage = " ".join((path, *(p.name.upper() for p in arguments), "[OPTIONS]"))
    lines = [f"## `{path}`", command.help.strip(), f"```\n{usage}\n```"]
    rows = [(f"`{p.name.upper()}`", _help(p)) for p in arguments]
    rows += [(f"`{_typed(p)}`", _help(p)) for p in options]
    lines.append(table(("argument or option", "meaning"), rows).rstrip("\n"))
    if command.epilog:
        word, _, example = command.epilog.partition(": ")
        examples = "\n".join(part.strip() for part in example.split("   or   "))
        lines.append(f"{word}:\n```\n{examples}\n```")
    return "\n\n".join(lines)


def _typed(option: Any) -> str:
    names = ", ".join(option.opts)
    if option.is_flag:
        return names
    annotation = getattr(option.type_descriptor.annotation, "__name__", "str")
    shape = option.metavar or _SHAPES.get(annotation, "TEXT")
    return f"{names} {shape}".strip()


def _help(parameter: Any) -> str:
    text = (parameter.help or "").strip()
    if parameter.default not in {None, False} and not parameter.required:
        text = f"{text} Default: {parameter.default}.".strip()
    if parameter.multiple:
        text = f"{text} May be repeated.".strip()
    return text
