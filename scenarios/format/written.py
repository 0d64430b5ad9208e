"""Dataclasses back to the text of a file: what a table's group holds, under the file's own keys and units."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from scenarios.format.edge_units import number_text, to_edge
from scenarios.format.keys import LISTS, Key
from scenarios.format.tables import Table


def table_lines(table: Table, name: str, *groups: Any) -> Iterator[str]:
    """Lines of a table and the tables in it, SI → edge units; what is None is left out, lists of tables too.

    groups: the dataclasses whose fields its keys are (one, of [soil] two).
    """
    yield f"[{name}]"
    for key in table.keys.values():
        values = [getattr(group, key.field) for group in groups if hasattr(group, key.field)]
        if key.name != "base" and values and values[0] is not None:
            yield f"{key.name} = {_value(key, values[0])}"
    for inner, below in table.tables.items():
        held = getattr(groups[0], inner, None)
        if held is not None:
            yield ""
            yield from table_lines(below, f"{name}.{inner}", held)


def _value(key: Key, value: Any) -> str:
    """A value [SI] as TOML in its edge unit."""
    if key.kind in ("choice", "text"):
        return quoted(value)
    if key.kind in LISTS:
        return toml_value(value)
    if isinstance(value, tuple):
        return "[" + ", ".join(_number(to_edge(v, key.edge)) for v in value) + "]"
    return str(int(value)) if key.kind == "whole" else _number(to_edge(value, key.edge))


def toml_value(value: Any) -> str:
    """Texts, numbers and lists of them in lists as TOML, numbers without loss.

    >>> toml_value(("a", (1.0, 0.1)))
    '["a", [1, 0.1]]'
    """
    if isinstance(value, str):
        return quoted(value)
    return "[" + ", ".join(map(toml_value, value)) + "]" if isinstance(value, tuple) else number_text(value)


def _number(value: float) -> str:
    """A number with as many figures as tell it from its neighbours in a file that people read."""
    return repr(float(f"{value:.12g}"))


def quoted(text: str) -> str:
    """Any text as a TOML string: JSON's escapes are TOML's, but for the one character that JSON leaves bare."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
