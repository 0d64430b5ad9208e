"""Pieces that the sentences of every topic are made of: settings, changes, ends of a range, capital and full stop."""

from __future__ import annotations

import math
from collections.abc import Sequence

from analysis.present.edge import bar, kgf, kmh, mm
from analysis.present.texts import number, paragraph, percent, signed

# figures of a pressure and of a speed: on a screen · over a figure
SCREEN, DRAWN = (4, 4), (4, 3)


def setting(
    oil_pressure: float,
    speed: float,
    digits: tuple[int, int] = SCREEN,
    join: str = " at ",
    force: float | None = None,
) -> str:
    """A setting in words, from gauge pressure [Pa], speed [m/s] and, where it is to be told, downforce [N].

    >>> setting(60e5, 2.5), setting(60e5, 2.5, join=", "), setting(60e5, 2.5, force=1961.33)
    ('60 bar at 9 km/h', '60 bar, 9 km/h', '60 bar (200 kgf a row) at 9 km/h')
    """
    told = "" if force is None else f" ({kgf(force):.0f} kgf a row)"
    return f"{bar(oil_pressure):.{digits[0]}g} bar{told}{join}{kmh(speed):.{digits[1]}g} km/h"


def loaded(oil_pressure: float, force: float) -> str:
    """What a gauge pressure [Pa] puts on a row [N].

    >>> loaded(60e5, 1961.33)
    '60 bar = 200 kgf a row'
    """
    return f"{bar(oil_pressure):.4g} bar = {kgf(force):.0f} kgf a row"


def capital(text: str) -> str:
    """A text with a capital in front; what is written small as a name (of a file, of a key) stays as it is.

    >>> capital("points are far apart"), capital("log.csv: points are far apart"), capital("length_m is 3")
    ('Points are far apart', 'log.csv: points are far apart', 'length_m is 3')
    """
    first = text.split(maxsplit=1)[0].rstrip(".,:;") if text.strip() else ""
    return text if "." in first or "_" in first else text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """A text as a sentence: capital in front, full stop behind.

    >>> sentence("three rows lift it"), sentence("It holds.")
    ('Three rows lift it.', 'It holds.')
    """
    return capital(text if text.endswith(".") else f"{text}.")


def items(*texts: str, first: str = "  ", indent: int = 4) -> list[str]:
    """Lines of texts one under the other, what is folded stands in."""
    return [line for text in texts for line in paragraph(text, first=first, indent=indent)]


def span(low: str, high: str, join: str = " to ") -> str:
    """Two ends in words; one where they read the same.

    >>> span("91 %", "95 %"), span("3", "3"), span("50", "60", "–")
    ('91 % to 95 %', '3', '50–60')
    """
    return low if low == high else f"{low}{join}{high}"


def numbered(one: str, values: Sequence[int]) -> str:
    """Consecutive numbers with what they count.

    >>> numbered("seed", (1, 2, 3)), numbered("seed", (4,))
    ('seeds 1–3', 'seed 4')
    """
    return f"{one}s {values[0]}–{values[-1]}" if len(values) > 1 else f"{one} {values[0]}"


def joined(names: Sequence[str]) -> str:
    """A list with "and" before its last.

    >>> joined(["1"]), joined(["1", "2", "5"])
    ('1', '1, 2 and 5')
    """
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def by_mm(length: float, more: str = "deeper", less: str = "shallower") -> str:
    """How far and which way [m].

    >>> by_mm(0.0018), by_mm(-0.0018), by_mm(0.004, "too deep", "too shallow")
    ('1.8 mm deeper', '1.8 mm shallower', '4.0 mm too deep')
    """
    return f"{number(abs(mm(length)))} mm {more if length > 0.0 else less}"


def changed(share: float) -> str:
    """A change as per cent, with its sign.

    >>> changed(0.081), changed(-0.02)
    ('+8.1 %', '−2.0 %')
    """
    return f"{signed(100.0 * share)} %"


def known(share: float | None) -> str:
    """A share as per cent; a dash where there is none (None, NaN).

    >>> known(0.917), known(None), known(float("nan"))
    ('91.7 %', '–', '–')
    """
    return "–" if share is None or not math.isfinite(share) else percent(share)


def spoken(name: str) -> str:
    """A name of the code as people say it.

    >>> spoken("main_lower_front")
    'main lower front'
    """
    return name.replace("_", " ")
