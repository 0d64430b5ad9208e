"""Frames of a figure written as a moving picture, at a pace that the file can hold."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from analysis.present.figure_style import Indexed
from analysis.present.texts import number

DPI = 80
FRAME = 0.06  # that each picture stands [s]; a GIF counts in hundredths, so that other paces would be rounded
LAST = 1.2  # that the last one stands, before it begins again [s]
FRAMES_PER_METRE = 16


def slowed(speed: float) -> float:
    """How many times slower than the machine a film plays, at a speed of travel [m/s].

    >>> round(slowed(8.0 / 3.6), 2)
    2.13
    """
    return FRAMES_PER_METRE * FRAME * speed


def pace_words(speed: float) -> str:
    """How slow a film plays, in words; speed of travel [m/s]."""
    return f"1 s of driving takes {number(slowed(speed), 1)} s"


def write_gif(figure: Figure, draw: Callable[[int], list[Artist]], count: int, path: Path) -> None:
    """Write what a figure shows after `draw(n)` for every n below count, all frames in the same 256 colours.

    draw(n) gives what it changed, in the order in which it lies on the page; the rest is drawn once.
    """
    figure.set_dpi(DPI)
    canvas = FigureCanvasAgg(figure)
    for artist in draw(0):
        artist.set_animated(True)
    canvas.draw()
    still = canvas.copy_from_bbox(figure.bbox)
    frames, known = [], Indexed()
    for n in range(count):
        canvas.restore_region(still)
        for artist in draw(n):
            artist.draw(canvas.get_renderer())
        frames.append(known.picture(np.asarray(canvas.buffer_rgba())[..., :3]))
    stand = [round(1e3 * FRAME)] * (count - 1) + [round(1e3 * LAST)]
    frames[0].save(path, format="gif", save_all=True, append_images=frames[1:], duration=stand, loop=0)
