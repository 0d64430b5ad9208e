"""Two designs crossing the same metres, one above the other, as a moving picture."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib.artist import Artist
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from analysis.compare.figure_crossings import settings_of, stages_of
from analysis.compare.pair import Pair
from analysis.movie.figure_gif import FRAMES_PER_METRE, pace_words, write_gif
from analysis.movie.figure_page import Page
from analysis.movie.figure_stage import TOOLBAR, Stage, force_key
from analysis.movie.figure_trace import Trace, depth_axes, depths, pressure_axes, pressures
from analysis.movie.movie import FOOT, GAP, OIL, SIDES, TRACE, told_at
from analysis.present.figure_style import BLACK, PALE, VERMILION, style

NAMES, UNIT, NUMBERS, KEY = 0.44, 2.4, 0.30, 0.92  # heights of words, a unit, the metres under it, the legend [in]
LONGEST = 24  # letters of a design's name
LOOKS = ({"color": BLACK, "marker": "o"}, {"color": VERMILION, "marker": "s"})  # of the first design and the other


def save_pair_movie(pair: Pair, path: Path) -> int:
    """Write both units crossing the same metres at the same distance as a moving picture (GIF) → number of frames."""
    with style():
        film = PairFilm(pair)
        write_gif(film.page.figure, film.draw, film.count, path)
    return film.count


class PairFilm:
    """Both units, one above the other, over depth and oil pressure of both; `draw(n)` shows the n-th instant."""

    def __init__(self, pair: Pair) -> None:
        first, last = pair.stretch
        self.pair, self.count = pair, max(2, round((last - first) * FRAMES_PER_METRE))
        self.names = [name if len(name) <= LONGEST else f"{name[: LONGEST - 1]}…" for name in pair.names]
        page = self.page = Page((settings_of(pair), f"In this film {_pace(pair)}."),
                                (NAMES, UNIT, NUMBERS, NAMES, UNIT, KEY, TRACE, GAP, OIL, FOOT))  # fmt: skip
        places = [page.axes(part, (0.03, 0.97)) for part in (1, 4)]
        self.stages = stages_of(pair, np.linspace(first, last, self.count), places)
        depth, oil = page.axes(6, SIDES), page.axes(8, SIDES)
        depth_axes(depth, pair.runs, pair.tolerances, pair.stretch)
        pressure_axes(oil, pair.runs, pair.stretch)
        self.traces = [
            Trace(stage.run, [shown.step for shown in stage.scenes], of(stage.run), axes, **look)
            for stage, look in zip(self.stages, LOOKS, strict=True)
            for of, axes in ((depths, depth), (pressures, oil))
        ]
        page.key(self._key(), 5)
        self.tells = [page.text(part, 0.02, str(look["color"])) for part, look in zip((0, 3), LOOKS, strict=True)]

    def _key(self) -> list[Artist]:
        """What colours and lines mean; a name that began with "_" would be left out."""
        lines = [Line2D([], [], linewidth=1.8, markersize=5.5, label=f" {name}", **look)  # type: ignore[arg-type]
                 for name, look in zip(self.names, LOOKS, strict=True)]  # fmt: skip
        found: list[Artist] = [
            *force_key([shown for stage in self.stages for shown in stage.scenes]),
            *lines,
            Patch(color=PALE, label="on depth"),
        ]
        if any(run.settings.toolbar == "carried" for run in self.pair.runs):
            found.append(Line2D([], [], color=TOOLBAR, linewidth=4, label="toolbar, its wheels"))
        return found

    def draw(self, n: int) -> list[Artist]:
        """Put instant n in place of the one before → what was drawn anew."""
        for field, stage, name in zip(self.tells, self.stages, self.names, strict=True):
            where, depth, wheel = told_at(stage.run, stage.scenes[n].step)
            field.set_text(f"{name}\n{where}: {depth}; {wheel}")
        parts: tuple[Stage | Trace, ...] = (*self.stages, *self.traces)
        return [*self.tells, *(artist for part in parts for artist in part.draw(n))]


def _pace(pair: Pair) -> str:
    """How slow it plays: both go over the same metres in a frame, each at its own speed on the machine."""
    told = [pace_words(run.settings.speed) for run in pair.runs]
    if told[0] == told[1]:
        return told[0]
    return " and ".join(f"{words} of {name}" for words, name in zip(told, pair.names, strict=True))
