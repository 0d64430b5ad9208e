"""The fitted scenario as a file: the text that it was read from with the fitted values in it, and [uncertain] behind.

Lines are changed one by one, so that comments stay. The result is read again and held against what it has to say; a
file that writes its tables in a way that lines do not show (in braces, by dotted keys) is written anew from what it
says.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from analysis.fit.fitted import Fit, Fitted
from analysis.version import VERSION
from scenarios.doubt.doubtful import TIMES, Doubtful
from scenarios.doubt.keys import amount_si, edge_of, key_of
from scenarios.format.edge_units import number_text, to_edge
from scenarios.format.kept_text import Entry, edited, move_paths, says, written
from scenarios.format.written import quoted
from scenarios.scenario import Scenario
from scenarios.spec import FEATURES, Surface

FIGURES = 6  # of a fitted value
HOW = {"learned": "much", "a little": "a little", "not at all": "hardly anything"}
HEAD = '# Written by rowbench fit: values marked "fitted" follow from {count} readings in {file}.\n'


def short_value(value: float) -> float:
    """A value with so many figures as a file of fitted values has."""
    return float(f"{value:.{FIGURES}g}")


def edge_amount(one: Doubtful, amount: float) -> float:
    """A difference [SI] in the unit of a value's key."""
    return amount / amount_si(1.0, edge_of(one))


def entries(found: Fit) -> Iterator[Entry]:
    """The fitted values and what goes along with them, with how far they are in doubt."""
    fitted = found.fitted
    for one in found.values:
        if one.value == one.before:
            continue
        for number, path in enumerate(one.doubtful.paths):
            part = replace(one.doubtful, paths=(path,))
            keys = tuple(key_of(part).split("."))
            said = _said(one) if number == 0 else f"fitted, goes with {key_of(one.doubtful)}"
            yield Entry(keys, _value(fitted, part), said)
    names = {one.doubtful.name for one in found.values if one.value != one.before}
    if "sinkage_exponent" in names and "sinkage_moduli" not in names:
        for name, edge in (("frictional_modulus", "kN/m^(n+2)"), ("cohesive_modulus", "kN/m^(n+1)")):
            key = f"{name}_{'kN_per_m_n2' if edge.endswith('2)') else 'kN_per_m_n1'}"
            value = short_value(to_edge(getattr(fitted.soil, name), edge))
            yield Entry(("soil", key), value, "fitted, goes with soil.sinkage_exponent")


def _value(scenario: Scenario, one: Doubtful) -> Any:
    """A value in the unit of its key; of a point both coordinates."""
    path, edge = one.paths[0], edge_of(one)
    thing: Any = scenario
    for step in path:
        if isinstance(step, int):
            return [short_value(to_edge(v, edge)) for v in thing]
        thing = getattr(thing, step)
    return short_value(to_edge(float(thing), edge))


def _said(one: Fitted) -> str:
    half = float(f"{edge_amount(one.doubtful, 0.5 * (one.high - one.low)):.2g}")
    before = float(f"{to_edge(one.before, edge_of(one.doubtful)):.4g}")
    return f"fitted, ± {number_text(half)} (was {number_text(before)}; learned from readings: {HOW[one.learned]})"


def uncertain_lines(found: Fit) -> list[str]:
    """The table [uncertain]."""
    rows = {entry.keys: entry.value for entry in entries(found)}
    keys, centre, spread = [], [], []
    for one, width in zip(found.values, found.spreads, strict=True):
        key = key_of(one.doubtful)
        value = rows.get(tuple(key.split(".")), to_edge(one.before, edge_of(one.doubtful)))
        keys.append(key)
        centre.append(value[0] if isinstance(value, list) else value)
        spread.append(max(width, 1.0) if one.doubtful.way == TIMES else edge_amount(one.doubtful, width))
    lines = [
        "# What readings left in doubt: 19 of 20 lie within `spread` of `centre` (times and divided by it, or plus and",
        "# minus it, as in [prior]), going together as `correlation` says.",
        "[uncertain]",
        f"keys = [{', '.join(map(quoted, keys))}]",
        f"centre = [{', '.join(map(number_text, centre))}]",
        f"spread = [{', '.join(number_text(float(f'{v:.7g}')) for v in spread)}]",
        "correlation = [",
    ]
    lines += [f"  [{', '.join(number_text(round(float(v), 6) + 0.0) for v in row)}]," for row in found.correlation]
    return [*lines, "]", f"readings = {found.measured.count}", f"version = {quoted(VERSION)}"]


def file_text(found: Fit, out: Path, profile: Path | None = None) -> str:
    """Text of the fitted scenario's file, to stand at `out`; profile: measured ground in place of its own."""
    source = found.scenario.source
    text = source.text if source is not None else ""
    wanted = _wanted(tomllib.loads(text), found, out, profile)
    head = HEAD.format(count=found.measured.count, file=found.measured.path.name)
    tail = "\n".join(uncertain_lines(found)) + "\n"
    changed = edited(text, list(entries(found)), ("uncertain",))
    if says(f"{head}{changed}\n{tail}", {**wanted, **tomllib.loads(tail)}):
        return f"{head}{changed}\n{tail}"
    return f"{head}\n{written(wanted, {e.keys: e.said for e in entries(found)})}\n{tail}"


def _wanted(wanted: dict[str, Any], found: Fit, out: Path, profile: Path | None) -> dict[str, Any]:
    """What the file has to say, without [uncertain], from what it said."""
    wanted.pop("uncertain", None)
    for entry in entries(found):
        place = wanted
        for name in entry.keys[:-1]:
            place = place.setdefault(name, {})
        place[entry.keys[-1]] = entry.value
        if entry.keys[:-1] == ("ground", "roughness"):
            place.pop("class", None)
    if profile is not None:
        wanted["ground"] = _on_profile(wanted.get("ground", {}), profile, out)
    move_paths(wanted, found.scenario.path.parent, out.parent)
    return wanted


_SHAPES = [feature.kind for feature in FEATURES if issubclass(feature, Surface)]


def _on_profile(ground: Mapping[str, Any], profile: Path, out: Path) -> dict[str, Any]:
    """The table [ground] with a measured profile in place of shapes and roughness."""
    left = {name: value for name, value in ground.items() if name not in ("length_m", "roughness", "profile")}
    features = [one for one in left.get("features", []) if one.get("kind") not in _SHAPES]
    left = {name: value for name, value in left.items() if name != "features"}
    if features:
        left["features"] = features
    kept = {k: v for k, v in ground.get("profile", {}).items() if k == "roughness_class"}
    return {**left, "profile": {"file": str(profile.resolve()), **kept}}
