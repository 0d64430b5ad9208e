"""`rowbench words [WORD]`: what the words on screens, pages and figures mean."""

from __future__ import annotations

import argparse

from analysis.cli.parts.answer import Answer
from analysis.cli.parts.faults import refuse
from analysis.cli.parts.request import Request
from analysis.cli.parts.shared_options import add_shared
from analysis.present.glossary import GLOSSARY, named
from analysis.present.texts import labelled
from scenarios.format.errors import closest_name, fault, shown

COLUMN = 26


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "--json")
    parser.add_argument("file", nargs="?", metavar="WORD", help="one word alone, as rms")


def answer(request: Request) -> Answer:
    """The glossary, or one entry of it. Raises ScenarioError for a word that is not in it."""
    faults, word = list(request.faults), request.source
    entry = named(word) if word else None
    if word and entry is None:
        names = [name for one in GLOSSARY for name in one.names]
        near = closest_name(word.lower(), [name.lower() for name in names])
        hint = f'rowbench words "{near}"' if near else "rowbench words"
        faults.append(fault("rowbench words", f"given {shown(word)}", ", ".join(names), hint))
    refuse(faults)
    entries = GLOSSARY if entry is None else (entry,)
    lines = [line for one in entries for line in labelled(one.words, one.meaning, column=COLUMN)]
    return Answer("\n".join(lines), {"words": {one.words: one.meaning for one in entries}})
