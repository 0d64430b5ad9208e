"""The page of the bench: template, style and scripts put together; everything that changes comes by questions."""

from __future__ import annotations

import json

from analysis.bench.desk import Desk
from analysis.bench.keys import kinds_told
from analysis.drawn.templates import rendered
from analysis.present.cautions import LOADS_NOTE, PRESSURE_NOTE, SLOT_NOTE
from analysis.version import VERSION


def bench_page(desk: Desk) -> str:
    """The whole page (HTML)."""
    data = json.dumps({"file": desk.given, "kinds": kinds_told()}, sort_keys=True)
    words = {
        "version": VERSION,
        "folder": str(desk.folder),
        "cautions": [PRESSURE_NOTE, SLOT_NOTE, LOADS_NOTE],
        "data": data.replace("</", "<\\/").replace("<!--", "<\\!--"),
    }
    return rendered("analysis.bench", "bench.html.j2", words)
