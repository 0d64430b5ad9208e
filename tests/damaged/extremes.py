"""Allowed values at the ends of their ranges and in between, a few keys at a time."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

import numpy as np

from scenarios.format.keys import Key
from scenarios.format.tables import ROOT, Table
from scenarios.paddock.tables import PADDOCK

from .case import Case
from .texts import paddock_words, scenario_words
from .values import pick

Rng = np.random.Generator
Path = tuple[str, ...]

SCENARIO_HAS = {("ground",): ["length_m = 10"], ("ground", "roughness"): ['class = "D"'],
                ("search",): ["pressures_bar = [40]", "speeds_kmh = [8]", "seeds = 1"]}  # fmt: skip
PADDOCK_HAS = {("machine",): ["rows = 2"], ("passes",): ["length_m = 12", "count = 1"],
               ("search",): ["pressures_bar = [40, 45]", "speeds_kmh = [8]"]}  # fmt: skip
AMOUNTS = ("length_m", "base", "rows", "count")  # they say how much is computed; `base` is no number


def extreme_case(rng: Rng) -> Case:
    """A scenario with a few extreme values."""
    data = _text(rng, _numbers(ROOT, SCENARIO_HAS), SCENARIO_HAS)
    return Case("scenario, extreme", scenario_words(rng), {"a.toml": data})


def paddock_extreme_case(rng: Rng) -> Case:
    """A paddock with a few extreme values."""
    data = _text(rng, _numbers(PADDOCK, PADDOCK_HAS), PADDOCK_HAS)
    return Case("paddock, extreme", paddock_words(rng), {"a.toml": data})


def _text(rng: Rng, keys: tuple[tuple[Path, Key], ...], always: dict[Path, list[str]]) -> bytes:
    tables: dict[Path, dict[str, str]] = {path: {line.split(" =")[0]: line for line in lines}
                                          for path, lines in always.items()}  # fmt: skip
    for _ in range(int(rng.integers(1, 6))):
        path, key = pick(rng, keys)
        tables.setdefault(path, {})[key.name] = f"{key.name} = {_allowed(rng, key)}"
    lines = ['title = "Extreme"']
    for path, told in tables.items():
        lines += [f"[{'.'.join(path)}]", *told.values()]
    return ("\n".join(lines) + "\n").encode()


def _numbers(root: Table, always: dict[Path, list[str]]) -> tuple[tuple[Path, Key], ...]:
    kept = {(path, line.split(" =")[0]) for path, lines in always.items() for line in lines}
    return tuple((path, key) for path, key in _listed(id(root)) if (path, key.name) not in kept)


@cache
def _listed(which: int) -> tuple[tuple[Path, Key], ...]:
    root = ROOT if which == id(ROOT) else PADDOCK
    return tuple((path, key) for path, key in _plain(root) if key.kind in ("number", "whole", "pair", "choice"))


def _plain(table: Table, path: Path = ()) -> Iterator[tuple[Path, Key]]:
    """Keys that are not in lists, but for those that say how much is computed."""
    for key in table.keys.values():
        amount = key.name in AMOUNTS and not (path[:1] == ("unit",) and key.name == "length_m")
        if path != ("ground", "profile") and path[:1] != ("measured",) and not amount:
            yield path, key
    for name, inner in table.tables.items():
        yield from _plain(inner, (*path, name))


def _allowed(rng: Rng, key: Key) -> str:
    if key.kind == "choice":
        return f'"{pick(rng, key.choices)}"'
    if key.kind == "pair":
        pair = (
            sorted(float(_number(rng, key)) for _ in range(2)) if key.rising else [_number(rng, key) for _ in range(2)]
        )
        return f"[{pair[0]}, {pair[1]}]"
    return str(round(float(_number(rng, key)))) if key.kind == "whole" else _number(rng, key)


def _number(rng: Rng, key: Key) -> str:
    low, high = key.low, key.high
    how = rng.random()
    if how < 0.35:
        return repr(low)
    if how < 0.7:
        return repr(high)
    if low > 0.0 and high / low > 100.0:
        return repr(float(np.exp(rng.uniform(np.log(low), np.log(high)))))
    return repr(float(rng.uniform(low, high)))
