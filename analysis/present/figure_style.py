"""What all figures share: size, letters, colours that stay apart for colour-blind eyes and in grey."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from numpy.typing import NDArray
from PIL import Image

from analysis.present.texts import GLUE, WITH_UNIT

# Okabe & Ito's palette for colour-blind readers ("Color universal design", jfly.uni-koeln.de; value from memory)
BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
GREY, PALE = "#5A5A5A", "#DADADA"
CAUSE_COLOURS = {  # the five parts of the depth error, in every figure of them
    "ground_shape": ORANGE, "tyre_and_sinkage": BLUE, "linkage": GREEN, "toolbar_pitch": PURPLE, "lift_off": VERMILION,
}  # fmt: skip

WIDTH = 6.0  # [in]: narrow, so that letters stay readable on a phone
DPI = 150

_RC: Any = {
    "font.size": 10.5,
    "axes.titlesize": 10.5,
    "axes.labelsize": 10.5,
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "legend.fontsize": 9.5,
    "legend.frameon": False,
    "lines.linewidth": 1.3,
    "xtick.labelsize": 10,
    "ytick.labelsize": 10,
    "svg.hashsalt": "rowbench",  # names inside a file: equal data give equal files
    "figure.dpi": DPI,
    "savefig.dpi": DPI,
}


@contextmanager
def style() -> Iterator[None]:
    """matplotlib's settings for a figure, put back afterwards."""
    with mpl.rc_context(_RC):
        yield


def blank(height: float, *, width: float = WIDTH) -> Figure:
    """An empty figure [in] that draws into memory: no window, no global state."""
    figure = Figure(figsize=(width, height), layout="constrained")
    FigureCanvasAgg(figure)
    return figure


def headline(figure: Figure, finding: str, settings: str, note: str = "") -> None:
    """The finding in bold over the figure, under it the settings it holds for, a note at the foot; all folded.

    Call it first: it takes its room from what the layout gives the axes.
    """
    width, height = figure.get_size_inches()
    top = height - 0.08
    for text, size, weight, colour in ((finding, 12.0, "bold", BLACK), (settings, 9.5, "normal", GREY)):
        folded = fold(figure, text, width - 0.2, size, weight)
        figure.text(
            0.1 / width, top / height, folded, size=size, weight=weight, color=colour, va="top", parse_math=False
        )
        top -= (folded.count("\n") + 1) * size * 1.25 / 72.0 + 0.05
    bottom = 0.0
    if note:
        folded = fold(figure, note, width - 0.2, 9.0, "normal")
        figure.text(0.1 / width, 0.05 / height, folded, size=9.0, color=GREY, va="bottom", parse_math=False)
        bottom = (folded.count("\n") + 1) * 9.0 * 1.25 / 72.0 + 0.08
    engine = figure.get_layout_engine()
    assert engine is not None
    engine.set(rect=(0.0, bottom / height, 1.0, (top - bottom) / height))  # type: ignore[call-arg]


def fold(figure: Figure, text: str, width: float, size: float, weight: str) -> str:
    """A text broken into lines no wider than `width` [in] at a letter size [pt], measured on the figure.

    A number keeps its unit beside it.
    """
    probe = figure.text(0.0, 0.0, "", size=size, weight=weight, parse_math=False)  # a $ is a $
    lines: list[str] = []
    for word in re.split(r"[ \t\n]+", WITH_UNIT.sub(GLUE, text.strip())):
        longer = f"{lines[-1]} {word}" if lines else word
        probe.set_text(longer)
        if lines and probe.get_window_extent().width <= width * figure.dpi:
            lines[-1] = longer
        else:
            lines.append(word)
    probe.remove()
    return "\n".join(lines).replace(GLUE, " ")


class Indexed:
    """Pictures in the colours of the palette, the nearest for every pixel; what was looked up once is known."""

    def __init__(self) -> None:
        self.colours = _palette()
        self.place = np.zeros(1 << 24, dtype=np.uint8)
        self.known = np.zeros(1 << 24, dtype=np.bool_)

    def picture(self, pixels: NDArray[np.uint8]) -> Image.Image:
        """A picture of 256 colours; pixels: red, green and blue, (rows, columns, 3)."""
        packed = pixels.astype(np.int32) @ np.array([65536, 256, 1], dtype=np.int32)
        new = np.unique(packed[~self.known[packed]])
        if new.size:
            found = np.stack([new >> 16, new >> 8 & 255, new & 255], axis=1).astype(np.float64)
            ours = self.colours.astype(np.float64)
            self.place[new] = ((ours**2).sum(axis=1) - 2.0 * found @ ours.T).argmin(axis=1)
            self.known[new] = True
        made = Image.fromarray(self.place[packed])
        made.putpalette(self.colours.tobytes())
        return made


def _palette() -> NDArray[np.uint8]:
    """256 colours (256, 3): those of the figures with their shades towards white, greys, and the colour map."""
    named = (ORANGE, SKY, GREEN, YELLOW, BLUE, VERMILION, PURPLE)
    inks = np.array([to_rgb(colour) for colour in named])
    shades = [1.0 - share * (1.0 - inks) for share in np.linspace(1.0, 0.125, 10)]
    greys = np.repeat(np.linspace(0.0, 1.0, 58)[:, None], 3, axis=1)
    mapped = mpl.colormaps["cividis"](np.linspace(0.0, 1.0, 128))[:, :3]
    return np.round(np.concatenate([*shades, greys, mapped]) * 255).astype(np.uint8)


def save(figure: Figure, path: Path) -> None:
    """Write a figure in the format of the path's ending, without the date, so that equal data give equal files.

    A PNG gets a palette of 256 colours: a third of the size, and no difference to the eye in drawings like these.
    """
    made = io.BytesIO()  # written in one go: on a full disk matplotlib and pillow tell no reason, or leave files open
    kind = path.suffix.lower()
    with style():
        if kind == ".png":
            pixels = io.BytesIO()
            figure.savefig(pixels, format="png", metadata={"Software": None})
            Indexed().picture(np.asarray(Image.open(pixels).convert("RGB"))).save(made, format="png", optimize=True)
        else:
            dates: dict[str, Any] = {".svg": {"Date": None}, ".pdf": {"CreationDate": None}}
            figure.savefig(made, format=kind[1:], metadata=dates[kind])
    path.write_bytes(made.getvalue())
