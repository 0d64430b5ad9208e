"""A paddock file to start from: every key with its meaning, range and default, made from the metadata."""

from __future__ import annotations

import json
from collections.abc import Iterator

from scenarios.format.edge_units import number_text
from scenarios.format.keys import Key, read_series
from scenarios.format.tables import Table
from scenarios.paddock.tables import PADDOCK

_HEAD = """\
# A paddock for rowbench: a machine, its passes, the ground under them, and the settings that are tried.
#
# Only `title` and the length of the passes (or measured ground) have to be there. Every other line below holds the
# value that is used without it: delete what you leave as it is. A line that begins with # and a key is switched off:
# take the # away to use it. Beside each key: meaning · what is allowed · default · where the value comes from.
# Places are [x, y] in m: x along the passes, y to the left of the first one's direction, from its right-hand edge.
# Places across the machine count from its middle, left positive.
#
# Stored gas and oil under pressure injure, and so do raised machines: relieve pressure and support the machine
# before work, charge accumulators with dry nitrogen only, follow local codes and leave it to licensed people.
"""

_ON = {("passes", "length_m"): "300", ("ground", "roughness", "class"): '"D"'}  # without default, and used here
_OFF = ("lines", "grid", "surface")  # measured ground
_FIRST = ("machine", "passes", "ground", "stones", "zones", "measured", "search", "keep", "settings", "soil", "limits")


def paddock_starter(title: str) -> str:
    """Text of a paddock file with every key; it loads as it stands: four passes of 300 m on class D."""
    lines = [_HEAD, f"title = {_quoted(title)}"]
    for name in (*_FIRST, *(n for n in PADDOCK.tables if n not in _FIRST)):
        if name in PADDOCK.lists:
            lines += _table(PADDOCK.lists[name].tables[""], (name,), off=True, item=True)
        else:
            lines += _table(PADDOCK.tables[name], (name,), off=False)
    return "\n".join(lines) + "\n"


def _table(table: Table, path: tuple[str, ...], *, off: bool, item: bool = False, kind: str = "") -> Iterator[str]:
    """Lines of a table and of all in it; `off`: commented out; `item`: one of a list of tables."""
    dotted, mark = ".".join(path), "#" if off else ""
    yield ""
    yield f"# {table.doc}"
    yield f"{mark}[[{dotted}]]" if item else f"{mark}[{dotted}]"
    if kind:
        yield f'{mark}kind = "{kind}"'
    for key in table.keys.values():
        yield _line(key, (*path, key.name), off)
    for name, inner in table.tables.items():
        yield from _table(inner, (*path, name), off=off or name in _OFF)
    for name, variants in table.lists.items():
        for tag, inner in variants.tables.items():
            yield from _table(inner, (*path, name), off=True, item=True, kind=tag)


def _line(key: Key, path: tuple[str, ...], off: bool) -> str:
    notes = [key.doc, key.allowed]
    used = _ON.get(path)
    if used is not None:
        value, mark = used, ""
    else:
        value = _value(key)
        mark = "#" if off or key.default is None else ""
    if key.default is not None:
        notes.append(f"default {_value(key)}")
    return (
        f"{'#' if off else mark}{key.name} = {value}  # {' · '.join([*notes, *([key.source] if key.source else [])])}"
    )


def _value(key: Key) -> str:
    """The default, or an example where there is none (edge unit), as TOML."""
    value = key.example if key.default is None else key.default
    if key.kind in ("choice", "text"):
        return _quoted(value or (key.choices[0] if key.choices else ""))
    if key.kind == "series":
        triple = f"{number_text(value[0])}:{number_text(value[-1])}:{len(value)}"
        if tuple(read_series(triple)) == tuple(value):
            return _quoted(triple)
    if isinstance(value, tuple):
        return "[" + ", ".join(number_text(v) for v in value) + "]"
    return number_text(value)


def _quoted(text: str) -> str:
    """Any text as a TOML string: JSON's escapes are TOML's, but for the one character that JSON leaves bare."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
