"""`rowbench bench [FILE]`: a page in the browser on which all is moved by hand."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from analysis.bench.browser import show
from analysis.bench.desk import Desk
from analysis.bench.opening import first_scene
from analysis.bench.serve import serve
from analysis.cli.parts.answer import Answer
from analysis.cli.parts.faults import gathered, refuse
from analysis.cli.parts.request import Request
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.warmup import ready
from analysis.present.sentences import joined
from scenarios.format.errors import fault, shown

USUAL = "hump"  # what lies on the bench where no FILE is given
CLOSE = "Close it with the button on the page, or with Ctrl-C here."


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "--json", "file")
    parser.add_argument("--port", metavar="N", help="port to serve it on (default: 8417 where it is free)")
    parser.add_argument("--no-browser", action="store_true", help="only print the address")


def answer(request: Request) -> Answer:
    """Serve the bench until it is closed. Raises ScenarioError with all faults."""
    faults = list(request.faults)
    port = _port(request.given, faults)
    desk = Desk(Path.cwd(), request.source or USUAL)
    with gathered(faults):
        scene, _ = first_scene(desk.opened(desk.given))
        unit = desk.scenario(scene).unit
    refuse(faults)

    def make_ready() -> None:
        ready(request, unit, rows=True)

    def told(address: str) -> None:
        text = f"The bench is open at {address}\nOnly this machine can reach it, and only by this address. {CLOSE}"
        (request.say if request.json else request.show)(text)
        if not request.given["no_browser"]:
            show(address)

    saved = serve(desk, port, make_ready, told)
    names = joined(saved) if saved else "nothing"
    text = f"The bench is closed; saved in {desk.folder}: {names}."
    return Answer(text, {"saved": saved, "folder": str(desk.folder)})


def _port(given: Mapping[str, Any], faults: list[str]) -> int:
    text = given["port"]
    if text is None:
        return 0
    if text.isascii() and text.isdigit() and 1024 <= int(text) <= 65535:
        return int(text)
    faults.append(fault("--port", f"given {shown(text)}", "a whole number, 1024 to 65535", "leave it out"))
    return 0
