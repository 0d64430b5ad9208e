"""The tree of tables that a paddock file may hold, and the faults of a document against it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from scenarios.format.errors import closest, fault, shown
from scenarios.format.keys import Key, read_series
from scenarios.format.messages import Fault, value_fault
from scenarios.format.tables import ROOT, Table, Variants, table_of
from scenarios.paddock.spec import Keep, Measured, PaddockMachine, Passes, PlanGround, PlanStones, Tried, Zone

PADDOCK = Table(
    "A paddock.",
    {name: ROOT.keys[name] for name in ("title", "shows")},
    {
        "machine": table_of(PaddockMachine),
        "passes": table_of(Passes),
        "ground": table_of(PlanGround),
        "stones": table_of(PlanStones),
        "measured": table_of(Measured),
        "search": table_of(Tried),
        "keep": table_of(Keep),
        **{name: ROOT.tables[name] for name in ("settings", "soil", "limits", "unit")},
    },
    {"zones": Variants("", {"": table_of(Zone)})},
)


def check_paddock(document: dict[str, Any], file: str) -> list[Fault]:
    """Faults of a parsed TOML document against the tables above, all of them, each with the path of its table."""
    return list(_table_faults(document, PADDOCK, file, "", ()))


def _table_faults(
    document: Any, table: Table, file: str, dotted: str, path: tuple[str, ...], tag: str = ""
) -> Iterator[Fault]:
    where = f"{file}: {dotted or 'the file'}"
    if not isinstance(document, dict):
        header = f"[{dotted}]"
        hint = f"write {header} on a line of its own, with its keys under it"
        yield Fault(path, fault(where, f"given {shown(document)}", f"a table {header}", hint))
        return
    for name, given in document.items():
        if name == tag:
            continue
        inner = f"{dotted}.{name}" if dotted else name
        if name in table.keys:
            text = key_fault(f"{file}: {inner}", table.keys[name], given)
            if text:
                yield Fault(path, text)
        elif name in table.tables:
            yield from _table_faults(given, table.tables[name], file, inner, (*path, name))
        elif name in table.lists:
            yield from _list_faults(given, table.lists[name], file, inner, (*path, name))
        else:
            yield Fault(path, _unknown(name, table, f"{file}: {inner}", dotted))
    for key in table.keys.values():
        if key.needed and key.name not in document:
            yield Fault(path, fault(f"{file}: {dotted}.{key.name}".replace(": .", ": "), "missing",
                                    f"{key.allowed} ({key.doc})", f"add {key.name}"))  # fmt: skip


def _list_faults(given: Any, variants: Variants, file: str, dotted: str, path: tuple[str, ...]) -> Iterator[Fault]:
    header = f"[[{dotted}]]"
    if not isinstance(given, list):
        hint = f"write {header} on a line of its own, with its keys under it"
        yield Fault(path, fault(f"{file}: {dotted}", f"given {shown(given)}", f"tables {header}", hint))
        return
    for number, item in enumerate(given):
        where = f"{dotted}[{number}]"
        if not variants.tag or not isinstance(item, dict):
            yield from _table_faults(item, variants.tables.get("", Table("")), file, where, path)
            continue
        kind = item.get(variants.tag)
        if kind in variants.tables:
            yield from _table_faults(item, variants.tables[kind], file, where, path, variants.tag)
            continue
        names = ", ".join(f'"{name}"' for name in variants.tables)
        near = closest(str(kind), variants.tables) or next(iter(variants.tables))
        said = "missing" if kind is None else f"given {shown(kind)}"
        yield Fault(path, fault(f"{file}: {where}.{variants.tag}", said, names, f'{variants.tag} = "{near}"'))


def key_fault(where: str, key: Key, given: Any) -> str:
    """What is wrong with a value (edge unit) of a key, in words; "" if nothing is."""
    if key.kind == "text":
        good = isinstance(given, str) and len(given) <= 1000 and bool(given or not key.needed)
        return "" if good else value_fault(where, key, given)
    if key.kind == "pair":
        good = isinstance(given, list) and len(given) == 2 and all(map(key.accepts, given))
        if good and key.rising and given[0] > given[1]:
            return value_fault(where, key, given)
        allowed = key.allowed.replace("[x, z]", "[x, y]")
        return "" if good else fault(where, f"given {shown(given)}", f"{allowed} ({key.doc})", "two numbers")
    if key.kind == "series":
        try:
            values = read_series(given)
        except (ValueError, TypeError) as error:
            return fault(where, f"given {shown(given)} ({error})", f"{key.allowed} ({key.doc})", "a list of numbers")
        outside = [value for value in values if not key.low <= value <= key.high]
        return value_fault(where, key, outside[0]) if outside else ""
    return "" if key.accepts(given) else value_fault(where, key, given)


def _unknown(name: str, table: Table, where: str, dotted: str) -> str:
    near = closest(name, table.names)
    near = near or next((n for n in table.names if n.startswith(f"{name}_") or f"_{name}_" in n), None)
    header = f"[{dotted}]" if dotted else "the top of a paddock file"
    listed = table.names if len(table.names) <= 14 else [*table.names[:13], f"and {len(table.names) - 13} more"]
    hint = f'"{near}"' if near else "remove the key"
    return fault(where, "unknown key", f"{header} takes {', '.join(listed)}", hint)
