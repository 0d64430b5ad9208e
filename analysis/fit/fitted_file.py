"""The fitted scenario as a file: the text that it was read from with the fitted values in it, and [uncertain] behind.

Lines are changed one by one, so that comments stay. The result is read again and held against what it has to say; a
file that writes its tables in a way that lines do not show (in braces, by dotted keys) is written anew from what it
says.
"""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from analysis.fit.fitted import Fit, Fitted
from analysis.version import VERSION
from scenarios.doubt.doubtful import TIMES, Doubtful
from scenarios.doubt.keys import amount_si, edge_of, key_of
from scenarios.format.edge_units import number_text, to_edge
from scenarios.format.written import quoted
from scenarios.scenario import Scenario
from scenarios.spec import FEATURES, Surface

FIGURES = 6  # of a fitted value
HOW = {"learned": "much", "a little": "a little", "not at all": "hardly anything"}
HEAD = '# Written by rowbench fit: values marked "fitted" follow from {count} readings in {file}.\n'

Keys = tuple[str, ...]


@dataclass(frozen=True)
class Entry:
    """One value of the file: where it stands, what it is, and what is said beside it."""

    keys: Keys
    value: Any
    said: str = ""


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
    changed = edited(text, list(entries(found)))
    if _says(f"{head}{changed}\n{tail}", tail, wanted):
        return f"{head}{changed}\n{tail}"
    return f"{head}\n{written(wanted, {e.keys: e.said for e in entries(found)})}\n{tail}"


def _says(text: str, tail: str, wanted: Mapping[str, Any]) -> bool:
    """Whether a text says what it has to."""
    try:
        return tomllib.loads(text) == {**wanted, **tomllib.loads(tail)}
    except tomllib.TOMLDecodeError:
        return False


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


_HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_.]+)\s*\]\]?\s*(#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_]+)\s*=\s*[^#]*?\s*(#.*)?$")


def edited(text: str, changes: Sequence[Entry]) -> str:
    """The text with values put in: in place of those there, behind the header of their table, or at the end."""
    lines, left, table = [], {entry.keys: entry for entry in changes}, ""
    skipping = False
    first_of: dict[str, int] = {}
    for line in text.splitlines():
        header = _HEADER.match(line)
        if header:
            table = header.group(2)
            skipping = table == "uncertain"
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
