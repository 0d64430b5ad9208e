"""Pieces of text that all commands share: numbers, tables, folded lines."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence

WIDTH = 100


def percent(share: float, digits: int = 1) -> str:
    """A fraction as per cent; 0 and 100 only where it is exactly that.

    >>> percent(0.917), percent(0.00001), percent(0.99999), percent(1.0)
    ('91.7 %', '<0.1 %', '>99.9 %', '100 %')
    """
    least = 10.0**-digits
    if share in (0.0, 1.0):
        return f"{share * 100:.0f} %"
    if 0.0 < share * 100 < 0.5 * least:
        return f"<{least:.{digits}f} %"
    if 100.0 - 0.5 * least < share * 100 < 100.0:
        return f">{100.0 - least:.{digits}f} %"
    return f"{share * 100:.{digits}f} %"


def number(value: float, digits: int = 1) -> str:
    """A number with a true minus sign and no minus zero.

    >>> number(-0.04), number(-1.25), number(3.0, 0)
    ('0.0', '−1.2', '3')
    """
    text = f"{value:.{digits}f}"
    return (text if float(text) else f"{0:.{digits}f}").replace("-", "−")


def signed(value: float, digits: int = 1) -> str:
    """A number with its sign; zero without.

    >>> signed(2.04), signed(-2.04), signed(0.01)
    ('+2.0', '−2.0', '0.0')
    """
    text = number(value, digits)
    return text if text.startswith("−") or not float(text) else f"+{text}"


def short(value: float) -> str:
    """A setting as short as it goes.

    >>> short(60.0), short(7.5), short(1234.0)
    ('60', '7.5', '1234')
    """
    return f"{value:.10g}" if value >= 1000 else f"{value:.4g}"


def table(head: Sequence[str], rows: Iterable[Sequence[str]], *, indent: int = 2) -> list[str]:
    """Lines of a table: the first column to the left, the others to the right."""
    lines = [list(head), *(list(row) for row in rows)]
    widths = [max(len(line[i]) for line in lines) for i in range(len(head))]
    made = []
    for line in lines:
        numbers = [cell.rjust(width) for cell, width in zip(line[1:], widths[1:], strict=True)]
        cells = [line[0].ljust(widths[0]), *numbers]
        made.append((" " * indent + "   ".join(cells)).rstrip())
    return made


def pin_lines(title: str, loads: Mapping[str, tuple[float, float, float]]) -> list[str]:
    """Lines of a table of pin loads in kN; loads: peak, root mean square and mean [N] by name of the pin."""
    rows = [(name.replace("_", " "), *(number(load / 1e3, 2) for load in of)) for name, of in loads.items()]
    return table((title, "peak", "RMS", "mean"), rows, indent=0)


def paragraph(text: str, *, first: str = "", indent: int = 0, width: int = WIDTH) -> list[str]:
    """A text folded to the width, with a mark before its first line."""
    return textwrap.wrap(text, width, initial_indent=first, subsequent_indent=" " * (indent or len(first)))


def labelled(label: str, text: str, *, column: int = 18, width: int = WIDTH) -> list[str]:
    """A text with its label in the left column."""
    return textwrap.wrap(text, width, initial_indent=label.ljust(column), subsequent_indent=" " * column)


def plural(count: int, one: str, many: str = "") -> str:
    """A count with its noun.

    >>> plural(1, "stone"), plural(0, "stone"), plural(2, "leaf", "leaves")
    ('1 stone', 'no stones', '2 leaves')
    """
    if count == 1:
        return f"1 {one}"
    return f"{count or 'no'} {many or one + 's'}"
