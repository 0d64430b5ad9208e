"""A figure put into a page; a template shows it with `shown` of `static/picture.html.j2`."""

from __future__ import annotations

import base64
import re
import tempfile
from pathlib import Path

from matplotlib.figure import Figure

from analysis.present.figure_style import save


def picture(figure: Figure) -> dict[str, str]:
    """A figure as a PNG inside the page (`source`), its finding and settings as words."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "figure.png"
        save(figure, place)
        data = place.read_bytes()
    said = " – ".join(re.sub(r"\s+", " ", text.get_text()) for text in figure.texts[:2])
    size = {"width": str(int.from_bytes(data[16:20], "big")), "height": str(int.from_bytes(data[20:24], "big"))}
    return {"source": f"data:image/png;base64,{base64.b64encode(data).decode()}", "words": said, **size}
