"""The command line: the only place that prints, writes what the user asked for, and sets exit codes."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import replace
from typing import Any

from analysis.cli.answer import Answer, Stopped
from analysis.cli.command_line import VERSION_ASKED, help_text, read_request
from analysis.cli.commands import command
from analysis.cli.parts.output_files import clash_faults
from analysis.present.plain_signs import register
from analysis.present.progress import Meter
from analysis.present.texts import paragraph
from analysis.storage.safe_write import replacing
from analysis.version import VERSION
from scenarios.format.errors import ScenarioError, plain

OK, FAILED, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command → exit code: 0, 1 (a check of `verify` failed), 2 (bad input), 130 (Ctrl-C)."""
    _plain_streams()
    words = list(sys.argv[1:] if arguments is None else arguments)
    try:
        return _done(words)
    except ScenarioError as error:
        _say(_told(error))
        return BAD_INPUT
    except Stopped as stopped:
        _say(f"\nrowbench: stopped; {stopped}")
        return INTERRUPTED
    except KeyboardInterrupt:
        _say("\nrowbench: stopped; nothing was written")
        return INTERRUPTED
    except BrokenPipeError:  # the reader of our output has gone, as in: rowbench library | head -1
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK


def _done(words: list[str]) -> int:
    if not words:
        print(help_text())
        return BAD_INPUT
    request = read_request(words)
    if request.command == VERSION_ASKED:
        print(f"rowbench {VERSION}")
        return OK
    request = replace(request, faults=(*request.faults, *clash_faults(request.given)))
    request = replace(request, say=_say, meter=_meter, show=_dropped if request.json else _show)
    found = command(request.command).answer(request)
    _write(found)
    if request.json:
        _print_json(found.document)
    else:
        print(found.text)
    return OK if found.passed else FAILED


def _write(found: Answer) -> None:
    """Write every file and draw every figure: all of them appear, or none."""
    if found.folder is not None:
        found.folder.mkdir(exist_ok=True)
    with ExitStack() as files:
        for path, write in found.files:
            write(files.enter_context(replacing(path, keep_existing=found.keep_existing)))
        for path, draw in found.figures:
            from analysis.present.figure_style import save  # noqa: PLC0415 (matplotlib: half a second)

            save(draw(), files.enter_context(replacing(path)))


def _meter(what: str) -> Meter:
    """Progress on standard error: one line that is written over on a terminal, a line now and then elsewhere."""
    over = sys.stderr.isatty()
    return Meter(what, _say, 0.2 if over else 10.0, overwrite=over)


def _print_json(document: dict[str, Any]) -> None:
    """One JSON document; numbers of numpy count as numbers, NaN is refused."""
    ascii_only = (sys.stdout.encoding or "").lower().replace("-", "") != "utf8"
    print(json.dumps(document, indent=1, allow_nan=False, ensure_ascii=ascii_only, default=lambda value: value.item()))


def _show(text: str) -> None:
    """A part of the text before the rest is there."""
    print(text, flush=True)


def _told(error: ScenarioError) -> str:
    """Faults for the user: folded on a terminal, a line each elsewhere."""
    faults = tuple(plain(text) for text in error.faults)
    if not sys.stderr.isatty():
        return f"rowbench: {ScenarioError(faults)}"
    if len(faults) == 1:
        return "\n".join(paragraph(f"rowbench: {faults[0]}", indent=2))
    told = [line for i, text in enumerate(faults, 1) for line in paragraph(text, first=f"  {i}. ")]
    return "\n".join([f"rowbench: {len(faults)} faults:", *told])


def _dropped(text: str) -> None:
    """A part of the text where JSON is asked for."""


def _say(text: str, *, end: str = "\n") -> None:
    """A word to the user beside the result."""
    print(text, file=sys.stderr, end=end, flush=True)


def _plain_streams() -> None:
    """A terminal that lacks a character shows another in its place, in place of a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors=register())


if __name__ == "__main__":
    sys.exit(main())
