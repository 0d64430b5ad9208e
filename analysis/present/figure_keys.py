"""What lines and marks of a figure mean: names at the ends of lines, and a legend under the axes, over nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.legend import Legend
from matplotlib.transforms import ScaledTranslation

from analysis.present.figure_style import fold

Name = tuple[float, str, str]  # height at which a line ends [data], its words and their colour

SIZE = 9.5  # of its letters [pt]
HANDLE = 2.6  # length of a line in the legend, in letters
SPARE = 0.42  # of a column of the legend besides line and words [in]


def foot_key(figure: Figure, handles: Sequence[Artist], columns: int = 2, handle: float = HANDLE) -> None:
    """A legend between the axes and the note at the foot, its words folded to their columns. Call after `headline`.

    handle: length of its lines, in letters.
    """
    if not handles:
        return
    width, height = figure.get_size_inches()
    room = width / columns - handle * SIZE / 72.0 - (SPARE if handle else 0.06)
    for one in handles:
        one.set_label(fold(figure, str(one.get_label()), room, SIZE, "normal"))
    engine: Any = figure.get_layout_engine()
    left, foot, wide, tall = engine.get()["rect"]
    made = figure.legend(handles=list(handles), loc="lower left", bbox_to_anchor=(0.06 / width, foot), ncols=columns,
                         fontsize=SIZE, handlelength=handle, labelspacing=0.35, columnspacing=1.2,
                         borderaxespad=0.0)  # fmt: skip
    made.set_in_layout(False)
    plain(made)
    taken = made.get_window_extent(_canvas(figure).get_renderer()).height / figure.dpi / height
    engine.set(rect=(left, foot + taken, wide, tall - taken))


def plain(legend: Legend) -> None:
    """Shows the words of a legend as they are: a $ is a $."""
    for text in legend.get_texts():
        text.set_parse_math(False)


def line_names(figure: Figure, named: Sequence[tuple[Axes, Sequence[Name]]]) -> None:
    """Names right of axes, each at the height at which its line ends, moved apart where they would touch.

    Call it when limits and legends are final.
    """
    step = ScaledTranslation(5.0 / 72.0, 0.0, figure.dpi_scale_trans)
    drawn = []
    for axes, names in named:
        low, high = sorted(axes.get_ylim())
        where = axes.get_yaxis_transform() + step
        drawn.append([axes.text(1.0, min(max(y, low), high), words, transform=where, fontsize=SIZE, color=colour,
                                va="center") for y, words, colour in names])  # fmt: skip
    figure.draw_without_rendering()
    for (axes, _), texts in zip(named, drawn, strict=True):
        boxes = [text.get_window_extent() for text in texts]
        middles = spread([0.5 * (box.y0 + box.y1) for box in boxes], [box.height + 1.0 for box in boxes])
        for text, middle in zip(texts, middles, strict=True):
            text.set_y(float(axes.transData.inverted().transform((0.0, middle))[1]))


def spread(middles: Sequence[float], sizes: Sequence[float]) -> list[float]:
    """Places along a line moved as little as keeps things of these sizes from each other, their order kept.

    >>> spread([10.0, 11.0, 40.0], [6.0, 6.0, 6.0])
    [7.5, 13.5, 40.0]
    """
    order = sorted(range(len(middles)), key=lambda i: middles[i])
    groups: list[list[int]] = []
    for i in order:
        groups.append([i])
        while len(groups) > 1 and _end(groups[-2], middles, sizes) > _start(groups[-1], middles, sizes):
            last = groups.pop()
            groups[-1] += last
    found = [0.0] * len(middles)
    for group in groups:
        at = _start(group, middles, sizes)
        for i in group:
            found[i] = at + 0.5 * sizes[i]
            at += sizes[i]
    return found


def _start(group: Sequence[int], middles: Sequence[float], sizes: Sequence[float]) -> float:
    """Where a group begins whose things touch each other and lie, on the whole, where they want to."""
    before, wanted = 0.0, 0.0
    for i in group:
        wanted += middles[i] - 0.5 * sizes[i] - before
        before += sizes[i]
    return wanted / len(group)


def _end(group: Sequence[int], middles: Sequence[float], sizes: Sequence[float]) -> float:
    return _start(group, middles, sizes) + sum(sizes[i] for i in group)


def _canvas(figure: Figure) -> FigureCanvasAgg:
    canvas = figure.canvas
    return canvas if isinstance(canvas, FigureCanvasAgg) else FigureCanvasAgg(figure)
