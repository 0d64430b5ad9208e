"""Pieces of text that all commands share: numbers, tables, folded lines."""

from __future__ import annotations

import re
import shutil
import textwrap
from collections.abc import Iterable, Mapping, Sequence

USUAL, NARROWEST, WIDEST = (80, 24), 34, 100  # columns and lines where nothing is known of the screen; bounds of a line
_UNITS = "%|°C?|bar|ha|kgf?|km/h|c?m|mm|km|k?N|kN/m|MN/m|kJ|k?Pa|MPa|Hz|m?s|l|rad|times|degrees"
WITH_UNIT = re.compile(rf"(?<=\d) (?=(?:{_UNITS})(?![\w]))")
GLUE = "\N{NO-BREAK SPACE}"


def screen_width() -> int:
    """Columns that a line may take: those of the terminal (or of COLUMNS), 80 where there is none, 34 to 100."""
    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size(USUAL).columns))


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


def to_figures(value: float, count: int = 3) -> str:
    """A number to so many figures, written out as a reader would up to a million, with a true minus sign.

    >>> to_figures(0.12345), to_figures(-25.0), to_figures(3333.3), to_figures(2e7)
    ('0.123', '−25', '3330', '2e+07')
    """
    text = f"{value:.{count}g}"
    if "e+" in text and abs(value) < 1e6:
        text = f"{float(text):.0f}"
    return text.replace("-", "−")


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


def table(head: Sequence[str], rows: Iterable[Sequence[str]], *, indent: int = 2, gap: int = 3) -> list[str]:
    """Lines of a table: the first column to the left, the others to the right, `gap` signs between them.

    On a screen that is too narrow for it every row becomes lines of its own, one for each column.
    """
    lines = [list(head), *(list(row) for row in rows)]
    widths = [max(len(line[i]) for line in lines) for i in range(len(head))]
    made = []
    for line in lines:
        numbers = [cell.rjust(width) for cell, width in zip(line[1:], widths[1:], strict=True)]
        cells = [line[0].ljust(widths[0]), *numbers]
        made.append((" " * indent + (" " * gap).join(cells)).rstrip())
    return made if max(map(len, made)) <= screen_width() else _stacked(lines, indent)


def _stacked(lines: Sequence[Sequence[str]], indent: int) -> list[str]:
    """A table's rows one under the other: its first cell, then each of the others beside the head of its column."""
    head, *rows = lines
    made = paragraph(head[0].strip(), first=" " * indent) if head[0].strip() else []
    label = max((len(name) for name in head[1:] if len(name) + indent + 4 <= screen_width() // 2), default=0)
    for row in rows:
        made += paragraph(row[0].strip(), first=" " * indent)
        for name, cell in zip(head[1:], row[1:], strict=True):
            if cell:
                made += labelled(f"{' ' * (indent + 2)}{name}", cell, column=label + indent + 4)
    return made


def pin_lines(title: str, loads: Mapping[str, tuple[float, float, float]]) -> list[str]:
    """Lines of a table of pin loads in kN; loads: peak, root mean square and mean [N] by name of the pin."""
    rows = [(name.replace("_", " "), *(number(load / 1e3, 2) for load in of)) for name, of in loads.items()]
    return table((title, "peak", "RMS", "mean"), rows, indent=0)


def paragraph(text: str, *, first: str = "", indent: int = 0) -> list[str]:
    """A text folded to the screen's width, with a mark before its first line; a number keeps its unit beside it."""
    return _folded(text, first, " " * (indent or len(first)))


def labelled(label: str, text: str, *, column: int = 18) -> list[str]:
    """A text with its label in the left column; over it where there is no room for both."""
    if label and max(column, len(label) + 1) > screen_width() // 2:
        indent = " " * (len(label) - len(label.lstrip()) + 2)
        return [*_folded(label.strip(), indent[2:], indent), *_folded(text, indent, indent)]
    return _folded(text, label.ljust(column), " " * column)


def _folded(text: str, first: str, after: str) -> list[str]:
    glued = WITH_UNIT.sub(GLUE, text)
    lines = textwrap.wrap(glued, screen_width(), initial_indent=first, subsequent_indent=after, break_on_hyphens=False)
    return [line.replace(GLUE, " ") for line in lines]


def plural(count: int, one: str, many: str = "") -> str:
    """A count with its noun.

    >>> plural(1, "stone"), plural(0, "stone"), plural(2, "leaf", "leaves")
    ('1 stone', 'no stones', '2 leaves')
    """
    if count == 1:
        return f"1 {one}"
    return f"{count or 'no'} {many or one + 's'}"
