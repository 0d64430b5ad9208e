"""`rowbench library`: what comes with the program."""

from __future__ import annotations

import argparse

from analysis.cli.parts.answer import Answer
from analysis.cli.parts.faults import refuse
from analysis.cli.parts.request import Request
from analysis.cli.parts.shared_options import add_shared
from analysis.present.library_words import library_text
from scenarios.format.library import KINDS, library


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "--json")


def answer(request: Request) -> Answer:
    """The named scenarios, units, soils and paddocks."""
    refuse(request.faults)
    entries = {kind: library(kind) for kind in KINDS}
    found = {
        kind: [{"name": e.name, "title": e.title, "shows": e.shows, "path": str(e.path)} for e in named]
        for kind, named in entries.items()
    }
    return Answer(library_text(found), {f"{kind}s": entries for kind, entries in found.items()})
