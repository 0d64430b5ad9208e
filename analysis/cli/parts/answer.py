"""What a command found: for `analysis.cli.main` to print and to write."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Write = Callable[[Path], object]  # writes a whole file to the path that it is given


@dataclass(frozen=True)
class Answer:
    """Text and JSON document for standard output (one of them is asked for), and the files to write.

    figures: by path, what draws each; files: by path, what writes each. All of them appear, or none.
    """

    text: str
    document: dict[str, Any]
    figures: tuple[tuple[Path, Callable[[], Figure]], ...] = ()
    files: tuple[tuple[Path, Write], ...] = ()
    folder: Path | None = None  # made for the files where it is not there yet
    keep_existing: bool = False  # a file that is there already is not written over
    passed: bool = True  # False: a check failed, exit code 1


def encoded(text: str) -> bytes:
    """A text as a file holds it; where it names a file by bytes that are no text, "?" stands for each of them."""
    return text.encode("utf-8", "replace")


def text_file(text: str) -> Write:
    """Writes a text."""
    return lambda path: path.write_bytes(encoded(text))


class Stopped(Exception):
    """The user stopped a job of which something is kept: `str()` says what, and how to go on."""
