"""Standard output and the words beside it, also where they are full, closed, or read by someone who has gone.

What is said on standard error is by the way: where that cannot be written, nothing is said and the work goes on. What
was asked for goes to standard output: the first failure is kept, the rest is dropped, files are still written, and
`main` tells the fault at the end.
"""

from __future__ import annotations

import errno
import os
import sys
from contextlib import suppress
from typing import Any

from analysis.present.plain_signs import register
from scenarios.format.errors import fault

WANTED = "a place that takes all of it"


class Output:
    """Standard output of one command. `fault`: why not all of it could be written, in words; None as long as it could.

    A reader that has gone away (`rowbench library | head -1`) is no fault: he has what he wanted.
    """

    def __init__(self) -> None:
        self.fault: str | None = None
        _take_numbers()
        for stream in (sys.stdout, sys.stderr):  # what a terminal lacks is shown by another sign, not by a traceback
            if hasattr(stream, "reconfigure"):
                with suppress(OSError):
                    stream.reconfigure(errors=register())
        if sys.stdout is None:
            self.fault = fault("standard output", "closed", "one that is open", "> FILE, or > /dev/null")

    def put(self, text: str, *, end: str = "\n") -> None:
        """A text and the end of its line, passed on at once with whatever else was held back."""
        if self.fault is not None:
            return
        try:
            sys.stdout.write(f"{text}{end}")
            sys.stdout.flush()
        except BrokenPipeError:
            _drop(sys.stdout)
        except OSError as error:
            if error.errno == errno.EINVAL and os.name == "nt":  # Windows' word for a pipe without a reader
                _drop(sys.stdout)
                return
            reason = os.strerror(error.errno) if error.errno else str(error)
            self.fault = fault("standard output", f"could not be written to its end ({reason})", WANTED,
                               "make room, or another place; files that were asked for are written whole")  # fmt: skip
            _drop(sys.stdout)


def say(text: str, *, end: str = "\n") -> None:
    """A word to the user beside the result."""
    if sys.stderr is None:
        return
    try:
        sys.stderr.write(f"{text}{end}")
        sys.stderr.flush()
    except OSError:
        _drop(sys.stderr)


def _drop(stream: Any) -> None:
    """From now on whatever goes to a stream is dropped, also what it holds back and writes when Python ends."""
    with suppress(OSError, ValueError, AttributeError):
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, stream.fileno())
        os.close(nothing)
    with suppress(OSError, ValueError):
        stream.flush()


def _take_numbers() -> None:
    """Give a stream that is closed a number of its own: the next file opened would get it, and with it stray prints."""
    with suppress(OSError):
        while (number := os.open(os.devnull, os.O_RDWR)) < 3:
            pass
        os.close(number)
