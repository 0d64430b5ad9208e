"""A file's own text with values put in line by line, so that comments stay; or a document as text.

Whoever changes a text so reads it again and holds it against what it has to say: a file that writes its tables in a way
that lines do not show (in braces, by dotted keys) is written anew from what it says (`written`).
"""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scenarios.format.edge_units import number_text
from scenarios.format.written import quoted

Keys = tuple[str, ...]


@dataclass(frozen=True)
class Entry:
    """One value of the file: where it stands, what it is, and what is said beside it."""

    keys: Keys
    value: Any
    said: str = ""


_HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_.]+)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_]+)\s*=\s*[^#]*?\s*(#.*)?$")


def edited(text: str, changes: Sequence[Entry], without: Collection[str] = ()) -> str:
    """The text with values put in: in place of those there, behind the header of their table, or at the end.

    without: tables and lists of tables that are left out.
    """
    lines, left, table = [], {entry.keys: entry for entry in changes}, ""
    skipping = False
    first_of: dict[str, int] = {}
    for line in text.splitlines():
        header = _HEADER.match(line)
        if header:
            table = header.group(2)
            skipping = table in without
        if skipping:
            continue
        key = _KEY.match(line)
        if key and table == "ground.roughness" and key.group(1) == "class" and _roughened(changes):
            continue
        entry = left.pop((*table.split("."), key.group(1)), None) if key else None
        lines.append(line if entry is None or key is None else _line(entry, key.group(2) or ""))
        if header and header.group(1) == "[":
            first_of[table] = len(lines)
    for name in sorted(first_of, key=lambda name: -first_of[name]):
        mine = [entry for keys, entry in left.items() if ".".join(keys[:-1]) == name]
        lines[first_of[name] : first_of[name]] = [_line(left.pop(entry.keys), "") for entry in mine]
    for name in dict.fromkeys(".".join(keys[:-1]) for keys in left):
        lines += ["", f"[{name}]", *(_line(e, "") for k, e in left.items() if ".".join(k[:-1]) == name)]
    return "\n".join(lines) + "\n"


def _roughened(changes: Sequence[Entry]) -> bool:
    return any(entry.keys[:-1] == ("ground", "roughness") for entry in changes)


def _line(entry: Entry, comment: str) -> str:
    before = comment.lstrip("# ").strip()
    if before.startswith("fitted"):
        before = before.partition(" · ")[2]
    said = " · ".join(part for part in (entry.said, before) if part)
    return f"{entry.keys[-1]} = {_toml(entry.value)}  # {said}"


def says(text: str, wanted: Mapping[str, Any]) -> bool:
    """Whether a text means a document."""
    try:
        return tomllib.loads(text) == wanted
    except tomllib.TOMLDecodeError:
        return False


def written(document: Mapping[str, Any], said: Mapping[Keys, str]) -> str:
    """A document as TOML, with what is said beside its values."""
    return "\n".join(_table_text(document, (), said)).strip() + "\n"


def _table_text(table: Mapping[str, Any], path: Keys, said: Mapping[Keys, str]) -> Iterator[str]:
    for name, value in table.items():
        if not isinstance(value, dict) and not _is_list_of_tables(value):
            beside = said.get((*path, name), "")
            yield f"{name} = {_toml(value)}{f'  # {beside}' if beside else ''}"
    for name, value in table.items():
        if isinstance(value, dict):
            yield from ("", f"[{'.'.join((*path, name))}]")
            yield from _table_text(value, (*path, name), said)
        elif _is_list_of_tables(value):
            for one in value:
                yield from ("", f"[[{'.'.join((*path, name))}]]")
                yield from _table_text(one, (*path, name), {})


def _is_list_of_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(one, dict) for one in value)


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    return str(value) if isinstance(value, int) else number_text(float(value))


def move_paths(wanted: dict[str, Any], here: Path, there: Path) -> None:
    """Paths that count from the file's folder, counted from another."""
    places = [(wanted.get("ground", {}).get("profile", {}), "file"), (wanted.get("unit", {}), "base")]
    for table, key in [*places, (wanted.get("soil", {}), "base")]:
        given = table.get(key) if isinstance(table, dict) else None
        moved = here.resolve() != there.resolve()
        if moved and isinstance(given, str) and not Path(given).is_absolute() and (here / given).is_file():
            try:
                table[key] = Path(os.path.relpath(here / given, there)).as_posix()
            except ValueError:  # another drive
                table[key] = str((here / given).resolve())
