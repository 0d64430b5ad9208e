"""What a drawn figure shows: its texts, and those that are cut."""

from __future__ import annotations

from matplotlib.text import Text


def outside(figure):
    """Texts that reach beyond the figure, by more than a pixel."""
    figure.canvas.draw()
    box = figure.bbox
    never_drawn = [label for axes in all_axes(figure) for label in beyond_limits(axes)]
    found = []
    for text in figure.findobj(lambda a: hasattr(a, "get_text") and a.get_visible() and a.get_text().strip()):
        extent = text.get_window_extent()
        inside = extent.x0 >= -1 and extent.y0 >= -1 and extent.x1 <= box.x1 + 1 and extent.y1 <= box.y1 + 1
        if not inside and not any(text is label for label in never_drawn):
            found.append(text.get_text())
    return found


def all_axes(figure):
    """Its axes, and the second ones at their sides."""
    return [*figure.axes, *(child for axes in figure.axes for child in axes.child_axes)]


def beyond_limits(axes):
    """Labels of ticks that lie beyond the limits of their axis: they are never drawn."""
    for axis in (axes.xaxis, axes.yaxis):
        low, high = sorted(axis.get_view_interval())
        for tick in axis.get_major_ticks():
            if not low <= tick.get_loc() <= high:
                yield from (tick.label1, tick.label2)


def texts(figure):
    return [t.get_text() for t in figure.findobj(lambda a: hasattr(a, "get_text")) if t.get_text().strip()]


def _overlaps(figure):
    """Pairs of texts that lie on each other by more than a pixel both ways, in a figure that is drawn."""
    never_drawn = [label for axes in all_axes(figure) for label in beyond_limits(axes)]
    boxes = []
    for text in dict.fromkeys(figure.findobj(Text)):
        if not (text.get_visible() and text.get_text().strip()):
            continue
        if not any(text is label for label in never_drawn):
            boxes.append((text.get_text(), Text.get_window_extent(text)))  # of an annotation without its arrow
    return [(one, other) for i, (one, a) in enumerate(boxes) for other, b in boxes[:i] if _common(a, b)]


def _common(a, b):
    return min(a.x1, b.x1) - max(a.x0, b.x0) > 1.0 and min(a.y1, b.y1) - max(a.y0, b.y0) > 1.0


def _under_legends(figure):
    """Labels of lines of which a point that is drawn lies under a legend of the figure."""
    legends = [*figure.legends, *(axes.get_legend() for axes in figure.axes if axes.get_legend() is not None)]
    boxes = [legend.get_window_extent() for legend in legends]
    found = []
    for axes in figure.axes:
        seen = axes.bbox
        for line in axes.lines if boxes else ():
            x, y = line.get_transform().transform(line.get_xydata()).T
            shown = (x >= seen.x0) & (x <= seen.x1) & (y >= seen.y0) & (y <= seen.y1)
            found += [line.get_label() for box in boxes
                      if (shown & (x > box.x0) & (x < box.x1) & (y > box.y0) & (y < box.y1)).any()]  # fmt: skip
    return found


def amiss(figure):
    """Everything that keeps a figure from being read: texts cut or on each other, lines under a legend."""
    return [*outside(figure), *_overlaps(figure), *_under_legends(figure)]
