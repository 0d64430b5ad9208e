"""The library: named scenarios, units, soils and paddocks that come with the program."""

from __future__ import annotations

import tomllib
from importlib.resources import files
from pathlib import Path
from typing import NamedTuple

from scenarios.format.errors import ScenarioError, closest_name, fault, shown

FOLDER = Path(str(files("scenarios"))) / "library"
KINDS = {"scenario": FOLDER, "unit": FOLDER / "units", "soil": FOLDER / "soils", "paddock": FOLDER / "paddocks"}


class Entry(NamedTuple):
    """One named file of the library."""

    name: str
    path: Path
    title: str
    shows: str


def library(kind: str = "scenario") -> list[Entry]:
    """What the library holds of a kind (one of `KINDS`), by name."""
    entries = []
    for path in sorted(KINDS[kind].glob("*.toml")):
        document = tomllib.loads(path.read_text(encoding="utf-8"))
        entries.append(Entry(path.stem, path, str(document.get("title", "")), str(document.get("shows", ""))))
    return entries


def is_librarys(kind: str, name: str, text: str) -> bool:
    """Whether a text is that of the library's file of that name and kind, or a copy of it."""
    named = KINDS[kind] / name
    return Path(name).name == name and named.is_file() and named.read_text(encoding="utf-8-sig") == text


def _is_file(path: Path) -> bool:
    """Whether a file is there; a name that no file can have is none."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def named(kind: str, text: str) -> Path | None:
    """The library's file of a kind that a name means; None where there is none."""
    path = KINDS[kind] / f"{text}.toml"
    return path if text and _is_file(path) else None


def find(source: str | Path, kind: str, *, where: str, folder: Path | None = None) -> Path:
    """The file that a name or a path means; a relative path counts from `folder` (default: the current one).

    A text that ends in .toml or holds a slash, or names a file that is there, is a path; anything else is a name
    in the library. Raises ScenarioError if there is no such name.
    """
    text = str(source)
    path = Path(text) if folder is None else folder / text
    if isinstance(source, Path) or text.endswith(".toml") or "/" in text or "\\" in text:
        return path
    own = named(kind, text)
    if own is not None:
        return own
    if folder is None and text and _is_file(path):
        return path
    names = [entry.name for entry in library(kind)]
    near = closest_name(text, names)
    raise ScenarioError(
        [
            fault(
                where,
                f"given {shown(text)}, which is no {kind} of the library",
                f"a path to a file, or {', '.join(names)}",
                f'"{near}"' if near else "rowbench library: it lists them, or a path ending in .toml",
            )
        ]
    )
