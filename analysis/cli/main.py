"""The command line: the only place that prints, writes what the user asked for, and sets exit codes."""

from __future__ import annotations

import json
import logging
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from analysis.cli.command_line import VERSION_ASKED, help_text, read_request
from analysis.cli.commands import command
from analysis.cli.parts.answer import Answer, Stopped, Write
from analysis.cli.parts.machine import Ended, ends_in_order, machine_fault
from analysis.cli.parts.output_files import clash_faults
from analysis.cli.parts.streams import Output, say
from analysis.present.compile_notice import CompileNotice
from analysis.present.progress import Meter
from analysis.present.texts import paragraph
from analysis.storage.safe_write import write_all
from analysis.version import VERSION
from scenarios.format.errors import ScenarioError, plain, steady
from sim.arithmetic.compiling import watched

OK, FAILED, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130  # BAD_INPUT also where the machine fails: full, closed, no memory
NOTES = logging.getLogger("rowbench")  # what the model says by the way, e.g. of its machine code


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command → exit code.

    0; 1: a check of `verify` failed; 2: bad input, or a fault of the machine (disk or output full, no memory); 130
    after Ctrl-C, 143 and 129 where the command was ended or its terminal closed.
    """
    output = Output()
    words = list(sys.argv[1:] if arguments is None else arguments)
    notes = _Notes()
    NOTES.addHandler(notes)
    try:
        with ends_in_order():
            if output.fault is not None:
                raise ScenarioError([output.fault])
            code = _done_or_helped(words, output)
            if output.fault is not None:
                raise ScenarioError([output.fault])
            return code
    except ScenarioError as error:
        say(_told(error))
        return BAD_INPUT
    except Stopped as stopped:
        say(f"\nrowbench: stopped; {stopped}")
        return _ended_by(stopped.__context__)
    except KeyboardInterrupt as stopped:
        say("\nrowbench: stopped; nothing was written")
        return _ended_by(stopped)
    except (OSError, MemoryError, RuntimeError) as error:
        wrong = machine_fault(error)
        if wrong is None:
            raise
        say(_told(ScenarioError([wrong])))
        return BAD_INPUT
    finally:
        NOTES.removeHandler(notes)


class _Notes(logging.Handler):
    """Says what is noted by the way."""

    def emit(self, record: logging.LogRecord) -> None:
        say(_told(ScenarioError([record.getMessage()])))


def _ended_by(stopped: BaseException | None) -> int:
    return stopped.code if isinstance(stopped, Ended) else INTERRUPTED


def _done_or_helped(words: list[str], output: Output) -> int:
    """As `_done`; argparse prints its help itself and ends with it."""
    try:
        return _done(words, output)
    except SystemExit:
        output.put("", end="")
        if output.fault is None:
            raise
        return BAD_INPUT


def _done(words: list[str], output: Output) -> int:
    if not words:
        output.put(help_text())
        return BAD_INPUT
    request = read_request(words)
    if request.command == VERSION_ASKED:
        output.put(f"rowbench {VERSION}")
        return OK
    request = replace(request, faults=(*request.faults, *clash_faults(request.given)))
    told = CompileNotice(say, _usual_time, overwrite=sys.stderr is not None and sys.stderr.isatty())
    show = _dropped if request.json else _shown_on(output)
    request = replace(request, say=say, meter=_meter, show=show, compiling=told.spell)
    try:
        with watched(told):
            found = command(request.command).answer(request)
    except Stopped as stopped:
        if stopped.kept is not None:
            _give(stopped.kept, output, request.json)
        raise
    _give(found, output, request.json)
    return OK if found.passed else FAILED


def _give(found: Answer, output: Output, as_json: bool) -> None:
    """Write the files of an answer, then print it."""
    text = _json(found.document) if as_json else _rest(found)
    _write(found)
    output.put(text)


def _rest(found: Answer) -> str:
    """The text of an answer without what was shown before it was whole."""
    text, shown = steady(found.text), f"{steady(found.shown)}\n"
    return text[len(shown) :] if found.shown and text.startswith(shown) else text


def _usual_time(name: str) -> float:
    """How long a part of the model usually takes to compile [s]."""
    from analysis.first_run.ready import usual_time  # noqa: PLC0415 (asked for only where something is compiled)

    return usual_time(name)


def _write(found: Answer) -> None:
    """Write every file and draw every figure: all of them appear, or none."""
    files: list[tuple[Path, Write]] = [*found.files, *((path, partial(_draw, draw)) for path, draw in found.figures)]
    write_all(files, folder=found.folder, keep_existing=found.keep_existing)


def _draw(draw: Callable[[], Any], path: Path) -> None:
    from analysis.present.figure_style import save  # noqa: PLC0415 (matplotlib: half a second)

    save(draw(), path)


def _meter(what: str) -> Meter:
    """Progress on standard error: one line that is written over on a terminal, a line now and then elsewhere."""
    over = sys.stderr is not None and sys.stderr.isatty()
    return Meter(what, say, 0.2 if over else 10.0, overwrite=over)


def _json(document: dict[str, Any]) -> str:
    """One JSON document; numbers of numpy count as numbers, NaN is refused."""
    ascii_only = (sys.stdout.encoding or "").lower().replace("-", "") != "utf8"
    return json.dumps(document, indent=1, allow_nan=False, ensure_ascii=ascii_only, default=lambda value: value.item())


def _told(error: ScenarioError) -> str:
    """Faults for the user: folded on a terminal, a line each elsewhere."""
    faults = tuple(plain(text) for text in error.faults)
    if sys.stderr is None or not sys.stderr.isatty():
        return f"rowbench: {ScenarioError(faults)}"
    if len(faults) == 1:
        return "\n".join(paragraph(f"rowbench: {faults[0]}", indent=2))
    told = [line for i, text in enumerate(faults, 1) for line in paragraph(text, first=f"  {i}. ")]
    return "\n".join([f"rowbench: {len(faults)} faults:", *told])


def _shown_on(output: Output) -> Callable[[str], None]:
    return lambda text: output.put(steady(text))


def _dropped(text: str) -> None:
    """A part of the text where JSON is asked for."""


if __name__ == "__main__":
    sys.exit(main())
