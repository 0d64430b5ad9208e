"""Values given as keywords → values by dotted key, as `scenarios.load.load` takes them.

A keyword is a key of [settings], or `seed`, or whatever stands at the top of a scenario file; a table is given as a
dict: `speed_kmh=9, soil={"base": "firm", "strength_MPa": 1.5}`. A dotted name is taken as it stands, parts that move
together among them: `**{"unit.disc.edge_width_mm": 4, "together.arm_m": 0.6}`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from os import PathLike, fspath
from typing import Any, TypedDict

import numpy as np

from scenarios.changed.names import find_name, name_fault
from scenarios.format.errors import closest, fault
from scenarios.format.keys import SETTINGS_KEYS
from scenarios.format.tables import ROOT, Table

SEED = "ground.seed"
_NAMES: dict[str, str] = {name: f"settings.{name}" for name in SETTINGS_KEYS} | {"seed": SEED}


class Changes(TypedDict, total=False):
    """Values in place of a scenario file's: names and units of its keys, tables as dicts."""

    oil_pressure_bar: float
    speed_kmh: float
    set_depth_mm: float
    seed: int
    precharge_bar: float
    precharge_temperature_degC: float
    gas_temperature_degC: float
    reference_pressure_bar: float
    reference_speed_kmh: float
    setting: str
    toolbar: str
    gas: str
    oil: str
    press_notch: int
    title: str
    shows: str
    settings: Mapping[str, Any]
    ground: Mapping[str, Any]
    stones: Mapping[str, Any]
    soil: Mapping[str, Any]
    machine: Mapping[str, Any]
    limits: Mapping[str, Any]
    search: Mapping[str, Any]
    prior: Mapping[str, Any]
    uncertain: Mapping[str, Any]
    unit: Mapping[str, Any]


def dotted(given: Mapping[str, Any]) -> tuple[dict[str, Any], list[str]]:
    """Keywords → values by dotted key (edge units), and the faults of the keywords themselves.

    >>> dotted({"speed_kmh": 9, "soil": {"base": "firm", "strength_MPa": 1.5}})[0]
    {'settings.speed_kmh': 9, 'soil.base': 'firm', 'soil.strength_MPa': 1.5}
    """
    found: dict[str, Any] = {}
    faults = []
    for name, value in given.items():
        if "." in name:  # as on the command line, behind --set
            if find_name(name) is None:
                faults.append(name_fault(name, name))
            elif name in found:
                faults.append(fault(name, "given twice", "one value", "one of the two"))
            else:
                found[name] = _plain(value)
            continue
        if name not in _NAMES and name not in ROOT.names:
            faults.append(_unknown(name, value))
            continue
        if name in ROOT.tables and not isinstance(value, Mapping):
            hint = f'{name}={{"{next(iter(ROOT.tables[name].names))}": …}}'
            faults.append(fault(name, f"given {value!r}", f"a dict with keys of the table [{name}]", hint))
            continue
        for key, one in _flat(_NAMES.get(name, name), value):
            if key in found:
                faults.append(fault(key, "given twice", "one value", f"leave it out of {key.split('.')[0]}={{…}}"))
            found[key] = one
    return found, faults


def _flat(key: str, value: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(value, Mapping):
        for name, inner in value.items():
            yield from _flat(f"{key}.{name}", inner)
    else:
        yield key, _plain(value)


def _plain(value: Any) -> Any:
    """A value as TOML would have given it: numbers of numpy, tuples and paths turned into plain ones."""
    if isinstance(value, np.generic | np.ndarray):
        return value.tolist()
    if isinstance(value, PathLike):
        return fspath(value)
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return {name: _plain(item) for name, item in value.items()} if isinstance(value, Mapping) else value


def _unknown(name: str, value: Any) -> str:
    given = f"given {value!r}, which is no keyword" if len(repr(value)) < 40 else "no such keyword"
    allowed = f"a key of [settings] ({', '.join(SETTINGS_KEYS)}), seed, or a table of the file as a dict"
    for path in _tables_with(name, ROOT):
        text = f"{name!r}: …".replace("'", '"')
        for table in reversed(path[1:]):
            text = f'"{table}": {{{text}}}'
        return fault(name, given, allowed, f"{path[0]}={{{text}}}")
    near = closest(name, [*_NAMES, *ROOT.names])
    return fault(name, given, allowed, near or "rowbench new writes a file with every key")


def _tables_with(name: str, table: Table, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Paths of the tables that hold a key of that name, the outermost first."""
    if path and name in table.keys:
        yield path
    for inner, below in table.tables.items():
        yield from _tables_with(name, below, (*path, inner))
