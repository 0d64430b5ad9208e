"""Small paddocks for the tests: files written into a folder and loaded from there."""

from __future__ import annotations

from pathlib import Path

from scenarios.paddock.load import load_paddock
from scenarios.paddock.paddock import Paddock

HEAD = 'title = "Test paddock"\n'
SMALL = {
    "machine": "rows = 5\nrow_spacing_m = 0.25\nfront_wheels_m = [-0.5, 0.5]\nrear_wheels_m = [-0.5, 0.5]",
    "passes": "count = 3\nlength_m = 20\nsection_m = 5",
    "ground": 'seed = 5\nroughness = { class = "D" }',
    "search": "pressures_bar = [45, 60]\nspeeds_kmh = [8]",
}


def text(tables: dict[str, str] | None = None, more: str = "") -> str:
    """A small paddock's file; `tables` take the place of those of SMALL ("" leaves one out), `more` follows them."""
    chosen = {**SMALL, **(tables or {})}
    return HEAD + "".join(f"\n[{name}]\n{body}\n" for name, body in chosen.items() if body) + f"\n{more}\n"


def write(folder: Path, tables: dict[str, str] | None = None, more: str = "", name: str = "small") -> Path:
    """That file in a folder → its path."""
    path = folder / f"{name}.toml"
    path.write_text(text(tables, more), encoding="utf-8")
    return path


def small(folder: Path, tables: dict[str, str] | None = None, more: str = "") -> Paddock:
    """The paddock of that file."""
    return load_paddock(write(folder, tables, more))
