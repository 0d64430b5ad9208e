"""The key in a file of each value in doubt, with its unit, its range and its default: read off the dataclasses."""

from __future__ import annotations

from dataclasses import fields
from functools import cache
from typing import Any, get_args, get_type_hints

from scenarios.doubt.doubtful import DOUBTFUL, Doubtful, Path
from scenarios.format.edge_units import file_key, to_si
from scenarios.spec import Ground, Stones, Variation
from sim.unit import Settings, Soil, Unit

GROUPS: dict[str, type] = {
    "soil": Soil, "variation": Variation, "unit": Unit, "settings": Settings, "stones": Stones, "ground": Ground,
}  # fmt: skip


def value_at(thing: Any, path: Path) -> float:
    """The number that a path leads to."""
    for step in path:
        thing = thing[step] if isinstance(step, int) else getattr(thing, step)
    return float(thing)


@cache
def _metadata(path: Path) -> Any:
    """What is said of the number that a path leads to."""
    names = [step for step in path if isinstance(step, str)]
    group = GROUPS[names[0]]
    for name in names[1:-1]:
        hint = get_type_hints(group)[name]
        group = next((arg for arg in get_args(hint) if arg is not type(None)), hint)
    name = "gd_n0" if names[-1] == "density" else names[-1]
    return next(item.metadata for item in fields(group) if item.name == name)


def allowed(path: Path) -> tuple[float, float]:
    """Lowest and highest value [SI] that the key of a path may have."""
    meta = _metadata(path)
    return meta["low"], meta["high"]


def edge_of(doubtful: Doubtful) -> str:
    """Its unit in a file, as `scenarios.format.edge_units` names it."""
    return str(_metadata(doubtful.paths[0])["edge"])


def key_of(doubtful: Doubtful) -> str:
    """The key in a scenario file: "unit.disc.edge_width_mm"; of the roughness the one that is no class."""
    path = [step for step in doubtful.paths[0] if isinstance(step, str)]
    name = "gd_n0" if path[-1] == "density" else path[-1]
    return ".".join([doubtful.table, *path[1:-1], file_key(name, edge_of(doubtful))])


def default_of(path: Path) -> Any:
    """What a value is where no file gives it; None where it has no default."""
    if path[0] == "ground":
        return None
    return value_at(GROUPS[str(path[0])](), path[1:])


def amount_si(amount: float, edge: str) -> float:
    """A difference in its edge unit → SI: a temperature's has no zero of its own."""
    return to_si(amount, edge) - to_si(0.0, edge)


BY_KEY = {key_of(one): one for one in DOUBTFUL}
