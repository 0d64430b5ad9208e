"""Files to start from: every key with its meaning, range, default and source, made from the metadata.

`write` is for every kind of file; a `Starter` says what is particular to one.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from scenarios.format.edge_units import number_text
from scenarios.format.keys import Key, read_series
from scenarios.format.tables import ROOT, Table, Variants
from scenarios.format.written import quoted, toml_value

Path = tuple[str, ...]


@dataclass(frozen=True)
class Starter:
    """What is particular to the starter of one kind of file."""

    head: str  # comments that it begins with
    root: Table
    order: tuple[str, ...]  # tables and lists of the root in the order in which they are written
    used: Mapping[Path, str]  # keys without default that are switched on, by table and key, as TOML
    off: Collection[str]  # tables that are switched off
    left_out: str = " "  # keys that begin so are not written: they hold in no file of this kind
    brief: bool = False  # of the root only the title, plain; and no word where a key has no default


SCENARIO_STARTER = Starter(
    head="""\
# A scenario for rowbench: one row unit, the ground it crosses, its settings, and what is asked of it.
#
# Only `title` and [ground] have to be there. Every other line below holds the value that is used without it:
# delete what you leave as it is. One does not: without `class` in [ground.roughness] the ground is perfectly flat,
# as a bench floor is and no field. A line that begins with # and a key is switched off: take the # away to use it.
# Beside each key: meaning · what is allowed · default · where the value comes from ("assumed": made up).
# Points are [x, z] in m, x forward (so what is behind the pin is negative), z up; each says from which pin it counts.
# rowbench draw FILE --figure unit.png shows these pins (O, U0, L0, U1) and where all others come to lie.
#
# Stored gas and oil under pressure injure, and so do raised machines: relieve pressure and support the machine
# before work, charge accumulators with dry nitrogen only, follow local codes and leave it to licensed people.
""",
    root=ROOT,
    order=tuple(ROOT.tables),
    used={("ground", "length_m"): "300", ("ground", "roughness", "class"): '"D"'},
    off=("profile", "uncertain"),
)


def starter_text(title: str) -> str:
    """Text of a scenario file with every key; it loads as it stands and then equals all defaults.

    Its ground is 300 m of class D. `title` may be any text.
    """
    return write(SCENARIO_STARTER, title)


def write(starter: Starter, title: str) -> str:
    """Text of a file with every key of its tables; `title` may be any text."""
    root = starter.root
    lines = [starter.head]
    if starter.brief:
        lines.append(f"title = {quoted(title)}")
    else:
        lines += [_line(starter, key, quoted(title if key.name == "title" else ""), "") for key in root.keys.values()]
    for name in starter.order:
        if name in root.lists:
            lines += _list(starter, root.lists[name], (name,))
        else:
            lines += _table(starter, root.tables[name], (name,), off=name in starter.off)
    return "\n".join(lines) + "\n"


def _list(starter: Starter, variants: Variants, path: Path) -> Iterator[str]:
    """Lines of one item of each kind of a list of tables, commented out."""
    for kind, inner in variants.tables.items():
        tag = f'{variants.tag} = "{kind}"' if kind else ""
        yield from _table(starter, inner, path, off=True, item=True, tag=tag)


def _table(
    starter: Starter, table: Table, path: Path, *, off: bool, item: bool = False, tag: str = ""
) -> Iterator[str]:
    """Lines of a table and of all in it; `off`: commented out; `item`: one of a list, `tag` its first line."""
    dotted, mark = ".".join(path), "#" if off else ""
    yield ""
    yield f"# {table.doc}"
    yield f"{mark}[[{dotted}]]" if item else f"{mark}[{dotted}]"
    if tag:
        yield f"{mark}{tag}"
    for key in table.keys.values():
        if not key.name.startswith(starter.left_out):
            yield _key(starter, key, (*path, key.name), off)
    for name, inner in table.tables.items():
        yield from _table(starter, inner, (*path, name), off=off or name in starter.off)
    for name, variants in table.lists.items():
        yield from _list(starter, variants, (*path, name))


def _key(starter: Starter, key: Key, path: Path, off: bool) -> str:
    used = None if off else starter.used.get(path)
    if used is not None:
        return _line(starter, key, used, "")
    value = key.example if key.default is None else key.default
    return _line(starter, key, _value(key, value), "#" if off or key.default is None else "")


def _line(starter: Starter, key: Key, value: str, mark: str) -> str:
    notes = [key.doc, key.allowed]
    if key.default is not None:
        notes.append(f"default {_value(key, key.default)}")
    elif not starter.brief and not key.needed:
        notes.append("no default")
    if key.source:
        notes.append(key.source)
    return f"{mark}{key.name} = {value}  # {' · '.join(notes)}"


def _value(key: Key, value: Any) -> str:
    """A value (edge unit) as TOML."""
    if key.kind in ("choice", "text"):
        return quoted(value or "")
    if key.kind == "series":
        triple = f"{number_text(value[0])}:{number_text(value[-1])}:{len(value)}"
        if tuple(read_series(triple)) == tuple(value):
            return quoted(triple)
    return number_text(value) if not isinstance(value, tuple) else toml_value(value)
