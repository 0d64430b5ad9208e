"""Damaged scenario and paddock files: a good one, and one or a few things done to it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cache
from typing import Any

import numpy as np

from scenarios.format.keys import Key
from scenarios.format.starters import starter_text
from scenarios.format.tables import ROOT, Table
from scenarios.paddock.starter import paddock_starter

from .case import Case
from .values import TOML_VALUES, pick

Rng = np.random.Generator

FEATURES = """
[[ground.features]]
kind = "hump"
at_m = 6
length_m = 1.5
height_mm = 80

[[ground.features]]
kind = "bank"
at_m = 3
"""
STONES = """
[stones]
rate_per_100m = 40

[[stones.placed]]
at_m = 5
"""
SHORT = """\
title = "Short"
[ground]
length_m = 10
roughness = { class = "D" }
[search]
pressures_bar = [40]
speeds_kmh = [8]
seeds = 1
"""
PADDOCK = """\
title = "Small"
[passes]
length_m = 12
count = 1
[machine]
rows = 2
"""


@cache
def good_scenario() -> str:
    """Every key of a scenario file, on a short ground and with little to try."""
    text = starter_text("All keys").replace("length_m = 300", "length_m = 10")
    text = re.sub(r"(?m)^pressures_bar = .*$", "pressures_bar = [40]", text)
    text = re.sub(r"(?m)^speeds_kmh = .*$", "speeds_kmh = [8]", text)
    return re.sub(r"(?m)^seeds = .*$", "seeds = 1", text)


@cache
def good_paddock() -> str:
    """Every key of a paddock file, small."""
    text = paddock_starter("All keys").replace("length_m = 300", "length_m = 12")
    text = re.sub(r"(?m)^count = .*$", "count = 1", text)
    return re.sub(r"(?m)^rows = .*$", "rows = 2", text)


def scenario_words(rng: Rng, file: str = "a.toml") -> tuple[str, ...]:
    """A command that reads a scenario, seldom one that takes long."""
    heavy = rng.random() < 0.04
    name = (
        pick(rng, ("window", "explain", "report")) if heavy else pick(rng, ("run", "run", "pressures", "press", "disc"))
    )
    words = [name, file]
    if name == "window":
        words += ["--pressures", "40", "--speeds", "8", "--seeds", "1"]
    if name == "report":
        words += ["--out", "page.html"]
    elif rng.random() < 0.5:
        words.append("--json")
    return tuple(words)


def paddock_words(rng: Rng, file: str = "a.toml") -> tuple[str, ...]:
    """A command that reads a paddock."""
    return ("paddock", file, "--out", "r.h5", "--workers", "1", *(["--json"] if rng.random() < 0.5 else []))


def damaged(rng: Rng, text: str) -> tuple[str, bytes]:
    """One thing done to a text → its kind, and the file."""
    name = pick(rng, tuple(DAMAGE))
    for _ in range(int(rng.integers(1, 4))):
        text = DAMAGE[name](rng, text)
    data = text.encode("utf-8", "surrogatepass")
    if name == "bytes":
        data = _bytes(rng, data)
    return name, data


def _lines(text: str) -> tuple[list[str], list[int]]:
    lines = text.split("\n")
    return lines, [i for i, line in enumerate(lines) if re.match(r"#? ?\w+ = ", line)]


def _value(rng: Rng, text: str) -> str:
    """A key's value is another."""
    lines, keys = _lines(text)
    i = pick(rng, keys)
    name = lines[i].lstrip("# ").split(" = ")[0]
    lines[i] = f"{name} = {pick(rng, TOML_VALUES)}"
    return "\n".join(lines)


def _key(rng: Rng, text: str) -> str:
    """A key has another name."""
    lines, keys = _lines(text)
    i = pick(rng, keys)
    name, value = lines[i].lstrip("# ").split(" = ", maxsplit=1)
    other = pick(rng, (
        name[:-1], name + "s", name.upper(), "", "x" * 300, '"' + "y" * 300 + '"', f"{name}.{name}",
        ".".join("a" * 2000), '"\\u0000"', "ключ", '"<b>"', "base", "kind", "title", "__class__", '"$x$"', f'"{name}"',
        name.replace("_", "-"),
    ))  # fmt: skip
    lines[i] = f"{other} = {value}"
    return "\n".join(lines)


def _line(rng: Rng, text: str) -> str:
    """A line is left out, stands twice, elsewhere, or is cut."""
    lines, _ = _lines(text)
    i, j = (int(rng.integers(len(lines))) for _ in range(2))
    how = int(rng.integers(5))
    if how == 0:
        del lines[i]
    elif how == 1:
        lines.insert(j, lines[i])
    elif how == 2:
        lines.insert(j, lines.pop(i))
    elif how == 3:
        lines[i] = lines[i][: int(rng.integers(len(lines[i]) + 1))]
    else:
        lines = lines[:i]
    return "\n".join(lines)


def _table(rng: Rng, text: str) -> str:
    """A table's head is another."""
    heads = re.findall(r"(?m)^#? ?\[+[\w.]+\]+", text)
    old = pick(rng, heads)
    name = old.strip("# []")
    new = pick(rng, (
        f"[[{name}]]", f"[{name}s]", f"[{name}.{name}]", f"[{name}]\n[{name}]", "[]", f"{name} = 3", f"[{name}",
        "[[x]]",
        f"[{name}.base]", f'{name} = "x"', f"[[[{name}]]]", "[" + ".".join("a" * 2500) + "]", "", f"[{name.upper()}]",
    ))  # fmt: skip
    return text.replace(old, new, 1)


STRANGE = ("", "\0", "\r", "\x1b[2J", "\ufeff", "\ud800", "é", "\N{NO-BREAK SPACE}", "#", '"', "[", "\t", "\x7f", "−")


def _signs(rng: Rng, text: str) -> str:
    """Signs put in or taken out."""
    i = int(rng.integers(len(text)))
    new = pick(
        rng,
        ("", "\0", "\r", "\x1b[2J", "\ufeff", "\ud800", "é", "\N{NO-BREAK SPACE}", "#", '"', "[", "\t", "\x7f", "−"),
    )
    return text[:i] + new + text[i + int(rng.integers(2)) :]


def _none(rng: Rng, text: str) -> str:
    return text


def _bytes(rng: Rng, data: bytes) -> bytes:
    how = int(rng.integers(6))
    if how == 0:
        return data.replace(b"\n", b"\r")
    if how == 1:
        return data.decode("utf-8", "replace").encode("utf-16")
    if how == 2:
        return data[: int(rng.integers(len(data)))]
    if how == 3:
        return bytes(rng.integers(0, 256, 200, dtype=np.uint8))
    made = bytearray(data)
    for _ in range(int(rng.integers(1, 9))):
        made[int(rng.integers(len(made)))] ^= 1 << int(rng.integers(8))
    return bytes(made)


DAMAGE: dict[str, Callable[[Rng, str], str]] = {
    "value": _value, "key": _key, "line": _line, "table": _table, "signs": _signs, "bytes": _none,
}  # fmt: skip


def scenario_case(rng: Rng) -> Case:
    """A damaged scenario file and a command that reads it."""
    text = good_scenario() if rng.random() < 0.7 else SHORT + FEATURES + STONES
    kind, data = damaged(rng, text)
    return Case(f"scenario, {kind}", scenario_words(rng), {"a.toml": data})


def paddock_case(rng: Rng) -> Case:
    """A damaged paddock file."""
    kind, data = damaged(rng, good_paddock())
    return Case(f"paddock, {kind}", paddock_words(rng), {"a.toml": data})


def extreme_case(rng: Rng) -> Case:
    """Allowed values at the ends of their ranges and in between, a few keys at a time."""
    tables: dict[tuple[str, ...], list[str]] = {}
    for _ in range(int(rng.integers(1, 6))):
        path, key = pick(rng, _numbers())
        tables.setdefault(path, []).append(f"{key.name} = {_allowed(rng, key)}")
    short = {"ground": ["length_m = 10", 'roughness = { class = "D" }'],
             "search": ["pressures_bar = [40]", "speeds_kmh = [8]", "seeds = 1"]}  # fmt: skip
    lines = ['title = "Extreme"']
    for name, always in short.items():
        own = tables.pop((name,), [])
        told = {line.split(" =")[0] for line in always}
        lines += [
            f"[{name}]",
            *always,
            *{line.split(" =")[0]: line for line in own if line.split(" =")[0] not in told}.values(),
        ]
    for path, keys in tables.items():
        lines += [f"[{'.'.join(path)}]", *{line.split(" =")[0]: line for line in keys}.values()]
    return Case("scenario, extreme", scenario_words(rng), {"a.toml": ("\n".join(lines) + "\n").encode()})


def _once(lines: Iterable[str]) -> list[str]:
    """The last line of each key."""
    return list({line.split(" =")[0]: line for line in lines}.values())


@cache
def _numbers() -> tuple[tuple[tuple[str, ...], Key], ...]:
    listed = tuple(_plain(ROOT))
    return tuple((path, key) for path, key in listed if key.kind in ("number", "whole", "pair", "choice"))


def _plain(table: Table, path: tuple[str, ...] = ()) -> Any:
    """Keys that are not in lists, but for those that say how much is computed."""
    for key in table.keys.values():
        if path not in (("search",), ("ground", "profile")) and key.name not in ("length_m", "base"):
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
