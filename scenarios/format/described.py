"""Fields of a dataclass that carry what a file needs to know of them: unit, range, edge unit, meaning, example.

The same metadata as `sim.unit.quantity` gives, plus `choices` for a word, `needed` for a key without default and
`rising` for a pair of bounds.
"""

from __future__ import annotations

from dataclasses import MISSING, field
from typing import Any

Bounds = tuple[float, float]


def needed(unit: str, low: float, high: float, doc: str, *, edge: str = "", example: float) -> Any:
    """A number without default; `example` [SI] stands in the starter file."""
    return field(metadata={**_range(unit, low, high, doc, edge), "needed": True, "example": example})


def optional(unit: str, low: float, high: float, doc: str, *, edge: str = "", example: float) -> Any:
    """A number that may be left out (None); `example` [SI] stands in the starter file."""
    return field(default=None, metadata={**_range(unit, low, high, doc, edge), "example": example})


def point(unit: str, low: float, high: float, doc: str, *, axes: str, example: Bounds) -> Any:
    """Two coordinates without default; `axes` names them: "x, y"."""
    return field(metadata={**_range(unit, low, high, doc, ""), "needed": True, "axes": axes, "example": example})


def _range(unit: str, low: float, high: float, doc: str, edge: str, source: str = "") -> dict[str, Any]:
    """The metadata that every number carries, as from `sim.unit.quantity`."""
    return {"unit": unit, "low": low, "high": high, "doc": doc, "edge": edge or unit, "source": source}


def whole(default: int, low: int, high: int, doc: str, *, source: str = "assumed") -> Any:
    """A whole number without unit."""
    return field(default=default, metadata=_range("1", low, high, doc, "", source))


def choice(default: Any, choices: tuple[str, ...], doc: str, *, key: str = "", example: str = "") -> Any:
    """A word out of a list; `key` where the file's word is a keyword of Python."""
    meta = {"choices": choices, "doc": doc, "source": "", "key": key, "example": example}
    return field(default=default, metadata=meta)


def span(
    default: Bounds, unit: str, low: float, high: float, doc: str, *, edge: str = "", source: str = "assumed"
) -> Any:
    """Two bounds, the lower one first."""
    return field(default=default, metadata={**_range(unit, low, high, doc, edge, source), "rising": True})


def series(default: tuple[float, ...], unit: str, low: float, high: float, doc: str, *, edge: str) -> Any:
    """Values to search: in a file a list, or a text "first:last:count"."""
    return field(default=default, metadata={**_range(unit, low, high, doc, edge, "assumed"), "series": True})


def text(default: Any, doc: str, *, example: str = "") -> Any:
    """A line of text; MISSING as default: needed."""
    meta = {"doc": doc, "source": "", "text": True, "example": example, "needed": default is MISSING}
    return field(metadata=meta) if default is MISSING else field(default=default, metadata=meta)


def names(doc: str, *, example: tuple[str, ...]) -> Any:
    """A list of texts without default."""
    return _listed("names", doc, example)


def numbers(doc: str, *, example: tuple[float, ...]) -> Any:
    """A list of plain numbers without default."""
    return _listed("numbers", doc, example)


def rows(doc: str, *, example: tuple[tuple[float, ...], ...]) -> Any:
    """A list of lists of plain numbers without default."""
    return _listed("rows", doc, example)


def _listed(kind: str, doc: str, example: Any) -> Any:
    return field(metadata={"listed": kind, "doc": doc, "source": "", "needed": True, "example": example})


def kinds(groups: tuple[type, ...]) -> Any:
    """A list of tables of several kinds, each a dataclass with a `kind`; none by default."""
    return field(default=(), metadata={"kinds": groups})
