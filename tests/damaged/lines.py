"""Command lines: every command, with options and values that fit and that do not."""

from __future__ import annotations

import argparse
from functools import cache

import numpy as np

from analysis.cli.command_line import _Parser
from analysis.cli.commands import COMMANDS, command

from .case import Case
from .results import wholes
from .texts import PADDOCK, SHORT
from .values import NAMES, NUMBERS, OUTPUTS, pick

Rng = np.random.Generator

DIGS = "row,depth_mm\n" + "".join(f"{row},{38 + (3 * row + k) % 6}\n" for row in range(1, 5) for k in range(6))
PLAIN = {
    "short.toml": SHORT.encode(), "empty.toml": b"", "binary.toml": bytes(range(256)), "binary.h5": bytes(range(256)),
    "ground.csv": b"distance_m,height_m\n" + b"".join(b"%.2f,0.01\n" % (0.2 * i) for i in range(60)), "folder/": b"",
    "pipe|": b"", "digs.csv": DIGS.encode(), "paddock.toml": PADDOCK.encode(),
}  # fmt: skip
WRITES = ("--figure", "--figures", "--save", "--engines", "--movie", "--out", "--map", "--rows", "--settings", "--csv",
          "--geojson", "--crossings", "--shapes")  # fmt: skip
QUICK = ("run", "pressures", "disc", "press", "draw", "level", "library", "new", "words", "modes")
KEYS = ("unit.disc.edge_width_mm", "unit.disc.hub_m.x", "together.arm_m", "settings.set_depth_mm", "soil.base",
        "ground.seed", "machine.rows", "unit.carrier.mass_kg", "ground.features", "unit.dics.radius_m", "")  # fmt: skip
# what a command takes seconds for: tried seldom, and always with little to do
LITTLE = {
    "window": ("--pressures", "40", "--speeds", "8", "--seeds", "1"),
    "compare": ("--pressures", "40", "--speeds", "8", "--seeds", "1", "--grounds", "2"),
    "design": ("--free", "settings.precharge_bar=20:28", "--tries", "40", "--seeds", "1"),
    "rank": ("--draws", "8", "--seeds", "1", "--keys", "tyres"),
}
GOOD = {"level": ("digs.csv",), "words": ("rms",), "paddock": ("paddock.h5", "paddock.toml"), "library": (),
        "report": ("short.toml", "run.h5", "paddock.h5"), "new": ("fresh", "fresh.toml")}  # fmt: skip
NEEDED = {
    "compare": ("--vary", "unit.carrier.mass_kg=95,115"),
    "design": ("--out", "designs"),
    "level": ("--unit", "demo"),
    "report": ("--out", "page.html"),
}
LONG = ("short.toml", "short", "hump", "short.toml ", "--")  # `verify` of these takes its time, by what it is


@cache
def files() -> dict[str, bytes]:
    """What lies in the folder."""
    return {**PLAIN, **{whole.name: whole.data for whole in wholes() if whole.name != "measured.h5"}}


SERVE = ("bench",)  # goes on until it is closed: tried in tests/unit/analysis/bench and tests/browser


@cache
def _options(name: str) -> dict[str, bool]:
    """Options of a command: whether each takes a value."""
    parser = _Parser(prog=name)
    command(name).options(parser)
    return {
        option: not isinstance(action, argparse._StoreTrueAction) and action.nargs != 0
        for action in parser._actions
        for option in action.option_strings
        if option.startswith("--")
    }


def line_case(rng: Rng) -> Case:
    """A command line in a folder with a few files."""
    if rng.random() < 0.03:
        known = [*(name for name in COMMANDS if name not in ("verify", *SERVE)), *NAMES, *NUMBERS]
        return Case("line, words", tuple(pick(rng, known) for _ in range(int(rng.integers(4)))), files())
    name = pick(rng, QUICK if rng.random() < 0.85 else tuple(name for name in COMMANDS if name not in SERVE))
    options = _options(name)
    bad_file = name == "verify" or rng.random() < 0.35
    listed = [each for each in NAMES if name != "verify" or each not in LONG]
    given = [pick(rng, listed)] if bad_file else list(_good(rng, name))
    words: list[str] = [name, *(given if rng.random() < 0.97 or name == "verify" else []), *LITTLE.get(name, ())]
    words += NEEDED.get(name, ()) if rng.random() < 0.8 else ()
    for _ in range(int(rng.integers(0, 4))):
        words += _option(rng, options)
    if name == "paddock" and "--workers" not in words and "paddock.h5" not in words:
        words += ["--workers", "1"]
    if rng.random() < 0.3:
        words.append("--json")
    if rng.random() < 0.05:
        rng.shuffle(words)
    return Case(f"line, {'file' if bad_file else 'options'}", tuple(words), files())


def _good(rng: Rng, name: str) -> tuple[str, ...]:
    """A FILE, or a WORD, that fits a command."""
    known = GOOD.get(name, ("short.toml",))
    return (pick(rng, known),) if known else ()


def _option(rng: Rng, options: dict[str, bool]) -> list[str]:
    if rng.random() < 0.04:
        return [pick(rng, ("--no-such", "-x", "--", "--pressure", "--json=1", "--=", "extra", "", "--Speed", "-h"))]
    option = pick(rng, tuple(options))
    if not options[option]:
        return [option] if rng.random() < 0.9 else [f"{option}=x"]
    value = pick(rng, OUTPUTS if option in WRITES else NUMBERS if rng.random() < 0.8 else NAMES)
    if option in ("--set", "--vary") and rng.random() < 0.95:
        value = f"{pick(rng, KEYS)}={value}"
    if option in ("--workers", "--seeds") and value.strip() in ("40", "8", "1e3", "9" * 400):
        value = "1"
    how = rng.random()
    if how < 0.04:
        return [option]
    return [f"{option}={value}"] if how < 0.5 else [option, value]
