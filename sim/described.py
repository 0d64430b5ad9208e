"""A number of a unit, described where it stands: unit, range, meaning, edge unit and source."""

from __future__ import annotations

from dataclasses import field
from typing import Any


def quantity(
    default: float,
    unit: str,
    low: float,
    high: float,
    doc: str,
    *,
    edge: str = "",
    source: str = "assumed",
) -> Any:
    """A dataclass field with unit [SI], allowed range (SI), meaning, edge unit and source."""
    meta = {"unit": unit, "low": low, "high": high, "doc": doc, "edge": edge or unit, "source": source}
    return field(default=default, metadata=meta)


def word(default: str, choices: tuple[str, ...], doc: str, *, source: str = "assumed") -> Any:
    """A dataclass field that holds one of some words."""
    return field(default=default, metadata={"choices": choices, "doc": doc, "source": source})


def beside(default: float, doc: str) -> Any:
    """A dataclass field with a place [m] beside the plane of the main links, to the left positive."""
    said = f"{doc}, from the plane of the main links, left positive"
    return quantity(default, "m", -0.5, 0.5, said, edge="mm")
