"""Units and soils that take over the values of a named one: follows `base` and merges.

A unit may bring settings along that go with it, its own oil pressures say, and the pressures that are worth trying: the
tables [settings] and [search] of a file that is a unit alone (one without [ground]) hold where nothing nearer does. A
scenario that lends its unit to another scenario lends neither. A paddock is a whole machine of that unit: the file that
its `[unit] base` names, scenario or unit alone, lends it its settings, soil and limits too (`FileKind.lent`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from scenarios.format.errors import ScenarioError, fault, shown
from scenarios.format.library import find, is_librarys
from scenarios.format.messages import Fault
from scenarios.format.read import Chain, parse_toml, read_text
from scenarios.format.schema import check
from scenarios.format.tables import PART, FileKind

DEFAULTS = {"unit": "demo", "soil": "firm"}
BROUGHT = ("settings", "search")  # tables that a unit alone brings along


class Lower(NamedTuple):
    """A file whose values hold where none nearer does; asked: some file names it, else it is the default."""

    path: Path
    document: dict[str, Any]
    asked: bool
    text: str


class Taken(NamedTuple):
    """Tables with the values of their bases filled in; `lenders`: the files that lent some, by table, nearest first."""

    tables: dict[str, Any]
    lenders: dict[str, tuple[Path, ...]]
    chains: dict[str, Chain]  # name and text of all files of a unit and a soil
    lower: dict[str, tuple[Lower, ...]]  # the files that some file names, by table that they lend, nearest first
    files: tuple[Path, ...]  # those that were read


def taken_over(
    document: dict[str, Any], path: Path, kind: FileKind, faults: list[Fault], given: Mapping[str, Chain] | None = None
) -> Taken:
    """The tables unit, soil, settings and search of a document, what their bases give filled in under its own values.

    Of a kind of file with `lent` tables those too. Faults of the base files are added to `faults`. What a chain leaves
    out has the value of the demonstration unit or of firm soil. given: the bases' texts by table; then no file is read.
    """
    unit = _bases(document, "unit", path, faults) if given is None else _given(given["unit"], "unit", faults)
    whole = [lower for lower in unit if lower.asked]
    lower: dict[str, list[Lower]] = {"unit": unit}
    alone = [below for below in unit if "ground" not in below.document]
    lower |= {name: whole if name in kind.lent else alone for name in BROUGHT}
    lower |= dict.fromkeys(kind.lent, whole)
    if given is None:
        lower["soil"] = _soils(document, path, whole if "soil" in kind.lent else [], faults)
    else:
        lower["soil"] = _given(given["soil"], "soil", faults)
    tables = {name: below for name, below in lower.items() if isinstance(document.get(name, {}), dict)}
    return Taken(
        {name: _over(name, [document, *(b.document for b in below)]) for name, below in tables.items()},
        {name: tuple(b.path for b in below if b.asked and b.document.get(name)) for name, below in lower.items()},
        {name: tuple((b.path.name, b.text) for b in lower[name]) for name in DEFAULTS},
        {name: tuple(b for b in below if b.asked) for name, below in lower.items()},
        tuple(dict.fromkeys(b.path for below in lower.values() for b in below)) if given is None else (),
    )


def _soils(document: dict[str, Any], path: Path, whole: list[Lower], faults: list[Fault]) -> list[Lower]:
    """What the soil of a document takes over: its own base; else that of the nearest file lent whole that has one."""
    own: list[Lower] = []
    for here in [Lower(path, document, True, ""), *whole]:
        if here.path != path:
            own.append(here)
        table = here.document.get("soil", {})
        if isinstance(table, dict) and "base" in table:
            return [*own, *_bases(here.document, "soil", here.path, faults)]
    return [*own, *_bases({}, "soil", path, faults)]


def stated(document: dict[str, Any], chains: Mapping[str, Chain]) -> frozenset[str]:
    """Dotted keys of unit and soil that a document gives itself or takes from texts that are not the library's.

    >>> sorted(stated({"soil": {"base": "hard", "strength_MPa": 1.5}}, {}))
    ['soil.strength_MPa']
    """
    found: set[str] = set()
    for name in DEFAULTS:
        own = [
            parse_toml(text, Path(label)) for label, text in chains.get(name, ()) if not is_librarys(name, label, text)
        ]
        for given in (document, *own):
            found |= set(_leaves(given.get(name, {}), name))
    return frozenset(found)


def _leaves(table: Any, dotted: str) -> Iterator[str]:
    """Dotted names of all values of a table and of the tables in it."""
    if not isinstance(table, dict):
        return
    for key, value in table.items():
        if isinstance(value, dict):
            yield from _leaves(value, f"{dotted}.{key}")
        elif key != "base":
            yield f"{dotted}.{key}"


def _over(name: str, documents: list[dict[str, Any]]) -> dict[str, Any]:
    """The table `name` of documents, the nearest first, laid over each other; {} where the first has no table there."""
    tables = [document.get(name, {}) for document in documents]
    merged: dict[str, Any] = {}
    for table in reversed(tables if isinstance(tables[0], dict) else []):
        merged = merge(merged, table) if isinstance(table, dict) else merged
    return {key: value for key, value in merged.items() if key != "base"}


def _given(chain: Chain, name: str, faults: list[Fault]) -> list[Lower]:
    """The documents of texts that were kept; what `_bases` made of the files then."""
    found = []
    for label, text in chain:
        try:
            lower = parse_toml(text, Path(label))
        except ScenarioError as error:
            faults += [Fault((name,), told) for told in error.faults]
            break
        faults += check(lower, label, PART)
        found.append(Lower(Path(label), lower, True, text))
    return found


def _bases(document: dict[str, Any], name: str, path: Path, faults: list[Fault]) -> list[Lower]:
    """The files that the table `name` (unit or soil) of a document takes over, the nearest first.

    A base file without `base` of its own ends the chain.
    """
    table = document.get(name, {})
    if not isinstance(table, dict):
        return []
    bases: list[Lower] = []
    seen = [path.resolve()]
    base: Any = table.get("base", DEFAULTS[name])
    asked = "base" in table  # else it is the default, which the default's own file does not take over
    while isinstance(base, str) and "\0" not in base:  # that no name of a file holds, and the schema tells
        where = f"{path}: {name}.base"
        try:
            found = find(base, name, where=where, folder=path.parent)
            if found.resolve() in seen and not asked:
                break
            if found.resolve() in seen:
                chain = " → ".join(p.name for p in (*seen, found))
                raise ScenarioError([fault(where, f"a circle: {chain}", "a chain that ends", "remove one base")])
            text = read_text(found, "a scenario file (TOML)")
            lower = parse_toml(text, found)
        except ScenarioError as error:
            faults += [Fault((name,), _named(text, where, base)) for text in error.faults]
            break
        seen.append(found.resolve())
        faults += check(lower, str(found), PART)
        bases.append(Lower(found, lower, asked, text))
        path, asked = found, True
        inner = lower.get(name, {})
        base = inner.get("base") if isinstance(inner, dict) else None
    return bases


def _named(text: str, where: str, base: str) -> str:
    """A fault of a base file that says which key asked for the file."""
    return text if text.startswith(where) else f"{where}: given {shown(base)}: {text}"


def merge(lower: dict[str, Any], upper: dict[str, Any]) -> dict[str, Any]:
    """`upper` over `lower`, table by table; a value in `upper` takes the place of the whole value in `lower`.

    >>> merge({"a": {"x": 1, "y": 2}, "b": 3}, {"a": {"y": 5}})
    {'a': {'x': 1, 'y': 5}, 'b': 3}
    """
    result = dict(lower)
    for key, value in upper.items():
        below = result.get(key)
        result[key] = merge(below, value) if isinstance(below, dict) and isinstance(value, dict) else value
    return result
