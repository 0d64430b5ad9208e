"""Fields of a dataclass that carry what a file needs to know of them: unit, range, edge unit, meaning, example.

The same metadata as `sim.unit.quantity` gives, plus `choices` for a word, `needed` for a key without default and
`rising` for a pair of bounds.
"""

from __future__ import annotations

from dataclasses import MISSING, field
from typing import Any


def needed(unit: str, low: float, high: float, doc: str, *, edge: str = "", example: float) -> Any:
    """A number without default; `example` [SI] stands in the starter file."""
    meta = {"unit": unit, "low": low, "high": high, "doc": doc, "edge": edge or unit, "source": ""}
    return field(metadata={**meta, "needed": True, "example": example})


def optional(unit: str, low: float, high: float, doc: str, *, edge: str = "", example: float) -> Any:
    """A number that may be left out (None); `example` [SI] stands in the starter file."""
    meta = {"unit": unit, "low": low, "high": high, "doc": doc, "edge": edge or unit, "source": ""}
    return field(default=None, metadata={**meta, "example": example})


def whole(default: int, low: int, high: int, doc: str, *, source: str = "assumed") -> Any:
    """A whole number without unit."""
    meta = {"unit": "1", "low": low, "high": high, "doc": doc, "edge": "1", "source": source}
    return field(default=default, metadata=meta)


def choice(default: Any, choices: tuple[str, ...], doc: str, *, key: str = "", example: str = "") -> Any:
    """A word out of a list; `key` where the file's word is a keyword of Python."""
    meta = {"choices": choices, "doc": doc, "source": "", "key": key, "example": example}
    return field(default=default, metadata=meta)


def span(
    default: tuple[float, float],
    unit: str,
    low: float,
    high: float,
    doc: str,
    *,
    edge: str = "",
    source: str = "assumed",
) -> Any:
    """Two bounds, the lower one first."""
    meta = {"unit": unit, "low": low, "high": high, "doc": doc, "edge": edge or unit, "source": source}
    return field(default=default, metadata={**meta, "rising": True})


def series(default: tuple[float, ...], unit: str, low: float, high: float, doc: str, *, edge: str) -> Any:
    """Values to search: in a file a list, or a text "first:last:count"."""
    meta = {"unit": unit, "low": low, "high": high, "doc": doc, "edge": edge, "source": "assumed", "series": True}
    return field(default=default, metadata=meta)


def text(default: Any, doc: str, *, example: str = "") -> Any:
    """A line of text; MISSING as default: needed."""
    meta = {"doc": doc, "source": "", "text": True, "example": example, "needed": default is MISSING}
    return field(metadata=meta) if default is MISSING else field(default=default, metadata=meta)


def kinds(groups: tuple[type, ...]) -> Any:
    """A list of tables of several kinds, each a dataclass with a `kind`; none by default."""
    return field(default=(), metadata={"kinds": groups})
