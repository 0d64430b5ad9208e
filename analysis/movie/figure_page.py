"""The page that frames are taken from: what is told at its top, and its parts one below the other."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text

from analysis.present.figure_keys import plain
from analysis.present.figure_style import GREY, WIDTH, blank, fold

SIZE = 10.0  # of its letters [pt]
LINE = 1.25 * SIZE / 72.0  # [in]


class Page:
    """An empty figure laid out by hand, since a layout for every frame would take most of the time.

    told: what holds for the whole film, a line or more each; heights: of the parts below, from the top down [in].
    """

    def __init__(self, told: Sequence[str], heights: Sequence[float], width: float = WIDTH) -> None:
        self.figure: Figure = blank(1.0, width=width)
        self.figure.set_layout_engine("none")
        folded = "\n".join(fold(self.figure, text, width - 0.2, SIZE, "normal") for text in told)
        top = 0.06 + (folded.count("\n") + 1) * LINE + 0.04
        self.height = top + sum(heights)
        self.tops = [top + sum(heights[:i]) for i in range(len(heights) + 1)]  # [in] under the top of the page
        self.figure.set_size_inches(width, self.height)
        self.figure.text(0.1 / width, self._up(0.06), folded, size=SIZE, color=GREY, va="top", parse_math=False)

    def _up(self, down: float) -> float:
        return 1.0 - down / self.height

    def axes(self, part: int, sides: tuple[float, float]) -> Axes:
        """Axes that fill a part between two shares of the width."""
        foot, tall = self._up(self.tops[part + 1]), self.tops[part + 1] - self.tops[part]
        return self.figure.add_axes((sides[0], foot, sides[1] - sides[0], tall / self.height))

    def text(self, part: int, across: float, color: str = "black") -> Text:
        """An empty line in bold at the top of a part, from a share of the width on."""
        return self.figure.text(across, self._up(self.tops[part]), "", size=SIZE, weight="bold", va="top", color=color,
                                parse_math=False)  # fmt: skip

    def key(self, handles: Sequence[Artist], part: int, columns: int = 3) -> None:
        """The legend in a part, under the numbers of the axes above it."""
        made = self.figure.legend(
            handles=list(handles), loc="upper center", bbox_to_anchor=(0.5, self._up(self.tops[part] + 0.24)),
            ncols=columns, fontsize=9.5, handlelength=1.3, columnspacing=1.6, labelspacing=0.25, borderaxespad=0.0,
            borderpad=0.0,
        )  # fmt: skip
        plain(made)
