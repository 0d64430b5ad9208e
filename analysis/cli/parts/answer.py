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

    shown: how the text begins, where that was shown already; figures: by path, what draws each; files: by path, what
    writes each. All of them appear, or none.
    """

    text: str
    document: dict[str, Any]
    figures: tuple[tuple[Path, Callable[[], Figure]], ...] = ()
    files: tuple[tuple[Path, Write], ...] = ()
    folder: Path | None = None  # made for the files where it is not there yet
    keep_existing: bool = False  # a file that is there already is not written over
    passed: bool = True  # False: a check failed, exit code 1
    shown: str = ""


def encoded(text: str) -> bytes:
    """A text as a file holds it; where it names a file by bytes that are no text, "?" stands for each of them."""
    return text.encode("utf-8", "replace")


def text_file(text: str) -> Write:
    """Writes a text."""
    return lambda path: path.write_bytes(encoded(text))


class Stopped(Exception):
    """The user stopped a job of which something is kept: `str()` says what, and how to go on.

    kept: what was found by then, to be printed and written as any answer; None: nothing, or it is on the disk already.
    """

    def __init__(self, said: str, kept: Answer | None = None) -> None:
        super().__init__(said)
        self.kept = kept


def stopped_by(error: BaseException, said: str, kept: Answer | None = None) -> Stopped:
    """What to raise, outside of any handler, for an error that came of Ctrl-C or of being ended."""
    found: BaseException | None = error
    while found is not None and not isinstance(found, KeyboardInterrupt):
        found = found.__cause__ or found.__context__
    told = Stopped(said, kept)
    told.__context__ = found  # what `analysis.cli.main` reads the exit code from
    return told
