"""The library: checks and types the data files; ``app`` brings the texts, nothing reads a disk."""

from sunup.library.build import build_library
from sunup.library.library import Library

__all__ = ["Library", "build_library"]
