"""What a drawn figure shows: its texts, and those that are cut."""

from __future__ import annotations


def outside(figure):
    """Texts that reach beyond the figure, by more than a pixel."""
    figure.canvas.draw()
    box = figure.bbox
    never_drawn = [label for axes in figure.axes for label in beyond_limits(axes)]
    found = []
    for text in figure.findobj(lambda a: hasattr(a, "get_text") and a.get_visible() and a.get_text().strip()):
        extent = text.get_window_extent()
        inside = extent.x0 >= -1 and extent.y0 >= -1 and extent.x1 <= box.x1 + 1 and extent.y1 <= box.y1 + 1
        if not inside and not any(text is label for label in never_drawn):
            found.append(text.get_text())
    return found


def beyond_limits(axes):
    """Labels of ticks that lie beyond the limits of their axis: they are never drawn."""
    for axis in (axes.xaxis, axes.yaxis):
        low, high = sorted(axis.get_view_interval())
        for tick in axis.get_major_ticks():
            if not low <= tick.get_loc() <= high:
                yield from (tick.label1, tick.label2)


def texts(figure):
    return [t.get_text() for t in figure.findobj(lambda a: hasattr(a, "get_text")) if t.get_text().strip()]
