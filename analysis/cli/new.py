"""`rowbench new NAME`: a scenario file to start from."""

from __future__ import annotations

import argparse

from analysis.cli.parts.answer import Answer, text_file
from analysis.cli.parts.faults import refuse
from analysis.cli.parts.output_files import free_place
from analysis.cli.parts.request import Request
from analysis.cli.parts.shared_options import add_shared
from scenarios.format.errors import fault
from scenarios.format.starters import starter_text

WHERE = "rowbench new"


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "--json")
    parser.add_argument("file", nargs="?", metavar="NAME")


def answer(request: Request) -> Answer:
    """A commented file of the name asked for. Raises ScenarioError where it cannot be written or is there already."""
    faults = list(request.faults)
    if not request.source:
        faults.append(fault(WHERE, "no NAME", "a name for the file to write", f"{WHERE} my_field"))
    refuse(faults)
    path = free_place(request.source, WHERE)
    return Answer(
        f"{path} written: every key with its meaning, range and default.\nTry: rowbench run {path}",
        {"written": str(path)},
        files=((path, text_file(starter_text(path.stem.replace("_", " ")))),),
        keep_existing=True,
    )
