"""Opening the library: the shipped files and a ranch's overlay."""

from __future__ import annotations

import sys
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from sunup.base.problems import Problem, UsageError
from sunup.library import Library, build_library

if TYPE_CHECKING:
    from pathlib import Path


class FileError(UsageError):
    """A file cannot be read or written; the message says which and what to do."""


def read_bytes(path: Path) -> bytes:
    """Read a file ("-": what is piped in), turning what the system says into words.

    Raises
    ------
    FileError
        If it is missing, a folder, or may not be read.
    """
    try:
        return sys.stdin.buffer.read() if str(path) == "-" else path.read_bytes()
    except FileNotFoundError:
        message = f"There is no file '{path}'. Check the name and the folder."
    except IsADirectoryError:
        message = f"'{path}' is a folder; give a file."
    except OSError as error:
        message = f"'{path}' cannot be read: {error.strerror or error}."
    raise FileError(message)


@cache
def shipped_texts() -> dict[str, str]:
    """The texts of the shipped library, by path inside it."""
    root = files("sunup.library") / "data"
    texts: dict[str, str] = {}
    for entry in sorted(root.iterdir(), key=lambda e: e.name):
        if entry.is_dir():
            for inner in sorted(entry.iterdir(), key=lambda e: e.name):
                if inner.name.endswith(".toml"):
                    texts[f"{entry.name}/{inner.name}"] = inner.read_text(encoding="utf-8")
        elif entry.name.endswith(".toml"):
            texts[entry.name] = entry.read_text(encoding="utf-8")
    return texts


def open_library(overlay: Path | None = None) -> tuple[Library, list[Problem]]:
    """Build the library from the shipped files and a ranch's overlay, if one is given.

    Raises
    ------
    FileError
        If the overlay cannot be read.
    """
    text = None
    if overlay is not None:
        try:
            text = read_bytes(overlay).decode("utf-8-sig")
        except UnicodeDecodeError:
            message = f"'{overlay}' is not UTF-8 text. Save it as UTF-8."
            raise FileError(message) from None
    return build_library(shipped_texts(), text)
