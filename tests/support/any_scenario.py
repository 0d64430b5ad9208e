"""Any scenario inside the ranges of the described keys: made from the one description that each key has.

What is drawn is a document as a file holds it, in edge units; `written` gives its text. Some keys are changed, from a
bit beside their default to the ends of their range, all others are left out. Left alone are the tables that no
crossing reads (machine, limits, search), and the length is kept short.
"""

from __future__ import annotations

import json
import os
from collections import defaultdict
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st

from scenarios.format.keys import Key
from scenarios.format.tables import ROOT, Table, Variants, walk
from scenarios.load import load
from scenarios.scenario import Scenario

LENGTH = 5.0  # measured [m], the least that is allowed
FAR = 1e5  # a key that reaches so far is a place along the row
UNREAD = ("machine", "limits", "search")
LONG_RUN = "PROPERTY_EXAMPLES"  # environment: how many made-up cases in place of the few of a usual run


def few(examples: int) -> Any:
    """So many made-up cases, the same in every run; or as many as PROPERTY_EXAMPLES says, new ones each time."""
    many = int(os.environ.get(LONG_RUN, "0"))
    return settings(
        max_examples=many or examples,
        derandomize=not many,
        database=None,
        deadline=None,
        phases=(Phase.explicit, Phase.generate, Phase.shrink),
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
        print_blob=bool(many),
    )


def numbers(low: float, high: float, usual: float | None) -> st.SearchStrategy[float]:
    """Numbers of a range: near the usual one, evenly or by orders of size, and its ends."""
    ways = [st.floats(low, high), st.sampled_from((low, high))]
    if low > 0.0 and high > 10.0 * low:
        ways.append(st.floats(0.0, 1.0).map(lambda share: _held(low * (high / low) ** share, low, high)))
    if usual is not None:
        size = abs(usual) or 0.02 * (high - low)
        ways += [st.floats(-0.3, 0.3).map(lambda part: _held(usual + part * size, low, high))] * 3
    return st.one_of(ways)


def _held(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


def value(key: Key) -> st.SearchStrategy[Any]:
    """A value that a key may have, in its edge unit."""
    if key.kind == "choice":
        return st.sampled_from(key.choices)
    if key.kind == "whole":
        return st.integers(int(key.low), int(key.high))
    usual = key.default if key.default is not None else key.example
    if key.kind == "pair":
        pair = st.tuples(*(st.one_of(numbers(key.low, key.high, end), _alike(key)) for end in usual)).map(list)
        return pair.map(sorted) if key.rising else pair
    if key.high >= FAR and key.low <= -FAR:
        return st.floats(1.0, LENGTH - 1.0)
    return st.one_of(numbers(key.low, key.high, usual), numbers(key.low, key.high, usual), _alike(key))


def _alike(key: Key) -> st.SearchStrategy[float]:
    """Numbers that other keys of that unit have by default: lengths that are the same, points that fall together."""
    found = {sign * end for end in _USUAL[key.edge] for sign in (1.0, -1.0) if key.low <= sign * end <= key.high}
    return st.sampled_from(sorted(found)) if found else st.nothing()


def _usual() -> dict[str, set[float]]:
    """What keys have by default, by unit."""
    found: dict[str, set[float]] = defaultdict(lambda: {0.0})
    for _, key in walk():
        given = key.default if isinstance(key.default, tuple) else (key.default,)
        found[key.edge] |= {float(end) for end in given if isinstance(end, float)}
    return found


_USUAL = _usual()


@st.composite
def table(draw: Any, of: Table, changed: int) -> dict[str, Any]:
    """A table with its needed keys and up to so many others."""
    needed = [name for name, key in of.keys.items() if key.needed]
    others = [name for name, key in of.keys.items() if not key.needed and key.kind != "text"]
    picked = draw(st.lists(st.sampled_from(others), unique=True, max_size=changed)) if others else []
    return {name: draw(value(of.keys[name])) for name in [*needed, *picked] if of.keys[name].kind != "text"}


@st.composite
def listed(draw: Any, variants: Variants, most: int) -> list[dict[str, Any]]:
    """A list of tables, of any kinds."""
    kinds = draw(st.lists(st.sampled_from(sorted(variants.tables)), max_size=most))
    tag = variants.tag
    return [{**({tag: kind} if tag else {}), **draw(table(variants.tables[kind], 2))} for kind in kinds]


@st.composite
def documents(draw: Any) -> dict[str, Any]:
    """A scenario file."""
    document: dict[str, Any] = {"title": "any", "ground": {"length_m": LENGTH, "seed": draw(st.integers(0, 10**9))}}
    names = [*_places("unit", ROOT.tables["unit"]), *_places("soil", ROOT.tables["soil"])]
    names += [*_places("settings", ROOT.tables["settings"]), *_places("stones", ROOT.tables["stones"])]
    most = draw(st.sampled_from((1, 2, 4, 12)))
    for tables, key in draw(st.lists(st.sampled_from(names), unique=True, max_size=most)):
        place = document
        for name in tables:
            place = place.setdefault(name, {})
        place[key.name] = draw(value(key))
    ground = ROOT.tables["ground"]
    if draw(st.booleans()):
        document["ground"]["roughness"] = draw(_roughness(ground.tables["roughness"]))
    if features := draw(listed(ground.lists["features"], 2)):
        document["ground"]["features"] = features
    if placed := draw(listed(ROOT.tables["stones"].lists["placed"], 2)):
        low = [{**stone, "top_mm": min(stone["top_mm"], 300.0 * stone["length_m"])} for stone in placed]
        document.setdefault("stones", {})["placed"] = low  # higher ones would hang over the ground, and are refused
    return document


@st.composite
def _roughness(draw: Any, of: Table) -> dict[str, Any]:
    """A roughness by class or by density, which exclude each other."""
    given = draw(table(of, 2))
    found = {name: kept for name, kept in given.items() if name not in ("class", "gd_n0_m3")}
    way = draw(st.sampled_from(("class", "class", "gd_n0_m3")))
    return {**found, way: draw(value(of.keys[way]))}


def _places(name: str, of: Table) -> list[tuple[tuple[str, ...], Key]]:
    """Keys under a table that are numbers or words, each with the path of its table."""
    here = [((name,), key) for key in of.keys.values() if key.kind not in ("text", "series")]
    return here + [((name, *way), key) for inner, sub in of.tables.items() for way, key in _places(inner, sub)]


def written(document: Mapping[str, Any]) -> str:
    """The document as TOML; inline tables throughout."""
    return "".join(f"{name} = {_toml(value)}\n" for name, value in document.items())


def _toml(given: Any) -> str:
    if isinstance(given, dict):
        return "{" + ", ".join(f"{name} = {_toml(inner)}" for name, inner in given.items()) + "}"
    if isinstance(given, list):
        return "[" + ", ".join(map(_toml, given)) + "]"
    return json.dumps(given)


def read(document: Mapping[str, Any], folder: Path) -> Scenario:
    """The scenario that a document means. Raises ScenarioError."""
    path = folder / "any.toml"
    path.write_text(written(document), encoding="utf-8")
    return load(path)
