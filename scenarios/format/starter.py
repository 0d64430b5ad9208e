"""A scenario file to start from: every key with its meaning, range, default and source, made from the metadata."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from scenarios.format.edge_units import number_text
from scenarios.format.keys import Key, read_series
from scenarios.format.tables import ROOT, Table

_HEAD = """\
# A scenario for rowbench: one row unit, the ground it crosses, its settings, and what is asked of it.
#
# Only `title` and [ground] have to be there. Every other line below holds the value that is used without it:
# delete what you leave as it is. A line that begins with # and a key is switched off: take the # away to use it.
# Beside each key: meaning · what is allowed · default · where the value comes from ("assumed": made up).
# Points are [x, z] in m, x forward, z up.
#
# Stored gas and oil under pressure injure, and so do raised machines: relieve pressure and support the machine
# before work, charge accumulators with dry nitrogen only, follow local codes and leave it to licensed people.
"""

_ON = {"length_m": "300", "class": '"D"'}  # keys without default that the starter file uses


def starter_text(title: str) -> str:
    """Text of a scenario file with every key; it loads as it stands and then equals all defaults.

    Its ground is 300 m of class D. `title` may be any text.
    """
    lines = [_HEAD]
    for key in ROOT.keys.values():
        value = _quoted(title) if key.name == "title" else _quoted("")
        lines.append(_line(key, value, ""))
    for name, table in ROOT.tables.items():
        lines += _table(table, (name,), off=False)
    return "\n".join(lines) + "\n"


def _table(table: Table, path: tuple[str, ...], *, off: bool, lists: bool = False) -> Iterator[str]:
    """Lines of a table and of all in it; `off`: commented out."""
    dotted, mark = ".".join(path), "#" if off else ""
    yield ""
    yield f"# {table.doc}"
    yield f"{mark}[[{dotted}]]" if lists else f"{mark}[{dotted}]"
    for key in table.keys.values():
        yield from _key(key, path, off)
    for name, inner in table.tables.items():
        yield from _table(inner, (*path, name), off=off or name == "profile")
    for name, variants in table.lists.items():
        for kind, inner in variants.tables.items():
            item = list(_table(inner, (*path, name), off=True, lists=True))
            if kind:
                item.insert(3, f'#{variants.tag} = "{kind}"')
            yield from item


def _key(key: Key, path: tuple[str, ...], off: bool) -> Iterator[str]:
    used = _ON.get(key.name) if path[0] == "ground" and not off else None
    if used is not None:
        yield _line(key, used, "")
    elif key.default is None:
        yield _line(key, _value(key, key.example), "#")
    else:
        yield _line(key, _value(key, key.default), "#" if off else "")


def _value(key: Key, value: Any) -> str:
    """A value (edge unit) as TOML."""
    if key.kind in ("choice", "text"):
        return _quoted(value or "profile.csv")
    if key.kind == "series":
        triple = f"{number_text(value[0])}:{number_text(value[-1])}:{len(value)}"
        if tuple(read_series(triple)) == tuple(value):
            return _quoted(triple)
    if isinstance(value, tuple):
        return "[" + ", ".join(number_text(v) for v in value) + "]"
    return number_text(value)


def _line(key: Key, value: str, mark: str) -> str:
    notes = [key.doc, key.allowed]
    if key.default is not None:
        notes.append(f"default {_quoted('') if key.default == '' else _value(key, key.default)}")
    elif not key.needed:
        notes.append("no default")
    if key.source:
        notes.append(key.source)
    return f"{mark}{key.name} = {value}  # {' · '.join(notes)}"


def _quoted(text: str) -> str:
    """Any text as a TOML string: JSON's escapes are TOML's, but for the one character that JSON leaves bare."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
