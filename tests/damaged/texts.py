"""Damaged scenario and paddock files: a good one, and one or a few things done to it."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache

import numpy as np

from scenarios.format.starters import starter_text
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
UNCERTAIN = """
[uncertain]
keys = ["soil.strength_MPa", "unit.disc.edge_width_mm"]
centre = [1.2, 5]
spread = [1.2, 1.1]
correlation = [[1, -0.5], [-0.5, 1]]
readings = 40
"""
BESIDE = {"pipe|": b"", "folder/": b""}  # what a text may name
OFTEN = (("run",), ("run",), ("pressures",), ("press",), ("disc",))
SELDOM = (
    ("window", "--pressures", "40", "--speeds", "8", "--seeds", "1"), ("explain",), ("report", "--out", "page.html"),
    ("explain", "--all"), ("explain", "--figures", "figures"), ("draw", "--figure", "a.png"), ("run", "--save", "a.h5"),
    ("run", "--figure", "a.svg"), ("run", "--pins", "--details"), ("run", "--stone", "60"),
    ("run", "--engine", "rigid"),
    ("rank", "--draws", "8", "--seeds", "1", "--keys", "gas"), ("pressures", "--figure", "a.png"),
    ("window", "--details", "--workers", "1"),
)  # fmt: skip
ROW = ("--pass", "1", "--row", "1", "--out", "row.toml")
MORE = (
    ROW, ("--csv", "s.csv"), ("--geojson", "s.geojson"), ("--details",), ("--map", "m.png"), ("--rows", "r.svg"),
    ("--settings", "s.png"), ("--map", "m.png", "--shade", "worst-pin"),
)  # fmt: skip


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
    seldom = rng.random() < 0.07
    words = list(pick(rng, SELDOM if seldom else OFTEN))
    words.insert(1, file)
    if rng.random() < 0.5:
        words.append("--json")
    return tuple(words)


def paddock_words(rng: Rng, file: str = "a.toml") -> tuple[str, ...]:
    """A command that reads a paddock."""
    more = pick(rng, MORE) if rng.random() < 0.3 else ()
    json = ("--json",) if rng.random() < 0.5 else ()
    if more == ROW:
        return ("paddock", file, *more, *json)
    return ("paddock", file, "--out", "r.h5", "--workers", "1", *more, *json)


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
    return text[:i] + pick(rng, STRANGE) + text[i + int(rng.integers(2)) :]


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
    text += UNCERTAIN if rng.random() < 0.3 else ""
    kind, data = damaged(rng, text)
    return Case(f"scenario, {kind}", scenario_words(rng), {"a.toml": data, **BESIDE})


def paddock_case(rng: Rng) -> Case:
    """A damaged paddock file."""
    kind, data = damaged(rng, good_paddock() + (UNCERTAIN if rng.random() < 0.05 else ""))
    return Case(f"paddock, {kind}", paddock_words(rng), {"a.toml": data, **BESIDE})
