"""The page of the bench: template, style and scripts put together; everything that changes comes by questions."""

from __future__ import annotations

from analysis.bench.desk import Desk
from analysis.bench.keys import kinds_told
from analysis.drawn.templates import rendered, script_data
from analysis.present.cautions import LOADS_NOTE, PRESSURE_NOTE, SLOT_NOTE
from analysis.version import VERSION


def bench_page(desk: Desk) -> str:
    """The whole page (HTML)."""
    words = {
        "version": VERSION,
        "folder": str(desk.folder),
        "cautions": [PRESSURE_NOTE, SLOT_NOTE, LOADS_NOTE],
        "data": script_data({"file": desk.given, "kinds": kinds_told()}),
    }
    return rendered("analysis.bench", "bench.html.j2", words)
