"""A stored run as read back: what its file consists of, and the reading of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.storage.description import LONG, Data, Description, Mark, Stored, opened
from analysis.storage.stored_values import Unfit, items, made, text
from scenarios.changed.names import find_name
from scenarios.format.read import LARGEST, Chain, Source
from sim.record import CHANNELS, PINS
from sim.unit import Rock, Settings, Soil, Unit

FORMAT, FORMAT_VERSION = "rowbench run", 2
COMPONENTS = ("x forward", "z up")
ENGINES = ("compiled", "rigid")
HEIGHT = 1e7  # heights and distances of a measured profile [m]
# kinds of keys that the command line may put in a file's place, and that are kept: no texts, which may name files
CHANGEABLE = ("number", "whole", "series", "choice", "pair")
OF_PROFILE = "ground.profile."  # what says how a file's ground is read: the ground itself is kept
CHAINS = ("unit", "soil")
LONGEST = 40  # files that a table takes over, one from the other

_TEXT = Data((), "", "text", "text")
RUN = Description(
    format=FORMAT,
    version=FORMAT_VERSION,
    command="run --save",
    again="make it again with rowbench run --save",
    sizes={"pin": len(PINS), "component": len(COMPONENTS)},
    data={
        **{c.name: Data(("distance",), c.unit, c.doc, "f8") for c in CHANNELS},
        "pins": Data(("distance", "pin", "component"), "N",
                     "force of the first-named part on the second at each pin, toolbar axes", "f8"),
        "actuator": Data(("distance",), "N", "force in the depth actuator, compression positive", "f8"),
        "pin": Data(("pin",), "", "name of the pin", "text"),
        "component": Data(("component",), "", "name of the component", "text"),
        "x": Data(("x",), "m", "position along the track", "f8", -HEIGHT, HEIGHT),
        "ground": Data(("x",), "m", "height of the soil surface without stones", "f8", -HEIGHT, HEIGHT),
        "stone_top": Data(("x",), "m", "height of the stones' upper surface, far below where none is", "f8",
                                -HEIGHT, HEIGHT),
        "strength": Data(("x",), "Pa", "soil strength at zero speed", "f8", 0.0, 1e9),
        "inputs/parameters_si": _TEXT,
        "inputs/scenario_toml": _TEXT,
        "inputs/taken_over": _TEXT,
        "inputs/summary": _TEXT,
    },
    marks={
        "@format": Mark("text"),
        "@format_version": Mark("i8"),
        "inputs@scenario": Mark("text"),
        "inputs@profile": Mark("text"),
        "inputs@seed": Mark("i8", 0, 10**9),
        "inputs@step_s": Mark("f8", 1e-7, 1.0),
        "inputs@x_from_m": Mark("f8", -HEIGHT, HEIGHT),
        "inputs@x_to_m": Mark("f8", -HEIGHT, HEIGHT),
        "inputs@engine": Mark("text"),
        "inputs@changes": Mark("text", high=LONG),
    },
    optional=frozenset({"inputs@profile"}),
)  # fmt: skip


@dataclass(frozen=True)
class RunInputs:
    """What went into a stored run, checked."""

    track: dict[str, NDArray[np.float64]]  # x, ground, stone_top [m], strength [Pa], each (k,)
    scenario_name: str
    source: Source  # the scenario file as it was, and what it took over
    changes: dict[str, Any]  # what the command line put in its place, by dotted key
    unit: Unit
    soil: Soil
    settings: Settings
    rock: Rock
    measured_from: str | None  # name of the CSV file that the ground was measured in
    x_from: float  # where the measures begin [m], in the track's own distances: those of a measured profile's file
    x_to: float  # where they end [m]
    seed: int
    step: float  # [s]
    engine: str
    versions: dict[str, str]


@dataclass(frozen=True)
class RunTable(RunInputs):
    """A stored run as read back. Arrays: `series[name]` and `actuator` (n,), `pins` (n, 14, 2) in `pin_names` order."""

    series: dict[str, NDArray[np.float64]]
    units: dict[str, str]
    meanings: dict[str, str]
    pins: NDArray[np.float64]  # [N], toolbar axes
    pin_names: tuple[str, ...]
    actuator: NDArray[np.float64]  # [N]
    summary: dict[str, Any]


def load_run_table(path: Path) -> RunTable:
    """A stored run. Raises ScenarioError for a file that is missing, damaged, or of another kind or version."""
    with opened(path, RUN) as stored:
        stored.check()
        summary = stored.json("inputs/summary")
        if not isinstance(summary, dict):
            stored.refuse("inputs/summary", "no document", "the document of rowbench run --json")
        return RunTable(
            **vars(_inputs(stored)),
            series={c.name: stored.numbers(c.name) for c in CHANNELS},
            units={c.name: c.unit for c in CHANNELS},
            meanings={c.name: c.doc for c in CHANNELS},
            pins=stored.numbers("pins"),
            pin_names=PINS,
            actuator=stored.numbers("actuator"),
            summary=summary,
        )


def load_run_inputs(path: Path) -> RunInputs:
    """What went into a stored run, its series left alone. Raises ScenarioError as `load_run_table`."""
    with opened(path, RUN) as stored:
        stored.check()
        return _inputs(stored)


def _inputs(stored: Stored) -> RunInputs:
    if stored.texts("pin") != PINS or stored.texts("component") != COMPONENTS:
        stored.refuse("pin", "other names", ", ".join((*PINS, *COMPONENTS)))
    engine, name = stored.mark("inputs@engine"), stored.mark("inputs@scenario")
    if engine not in ENGINES:
        stored.refuse("inputs@engine", f'given "{engine}"', " or ".join(ENGINES))
    track = {name: stored.numbers(name) for name in ("x", "ground", "stone_top", "strength")}
    x_from, x_to = stored.mark("inputs@x_from_m"), stored.mark("inputs@x_to_m")
    _check_places(stored, track["x"], x_from, x_to)
    try:
        parts = _parts(stored.json("inputs/parameters_si"))
        source = Source(stored.text("inputs/scenario_toml"), _chains(stored.json("inputs/taken_over")))
        changes = _changes(stored.json("inputs@changes"))
    except Unfit as unfit:
        stored.refuse(unfit.where, unfit.given, unfit.allowed)
    return RunInputs(
        track, name, source, changes, **parts,
        measured_from=stored.mark("inputs@profile") if stored.has("inputs@profile") else None,
        x_from=x_from, x_to=x_to, seed=stored.mark("inputs@seed"), step=stored.mark("inputs@step_s"), engine=engine,
        versions=stored.versions(),
    )  # fmt: skip


def _check_places(stored: Stored, x: NDArray[np.float64], x_from: float, x_to: float) -> None:
    """The track's places rise by equal steps, and the measures lie on it."""
    steps = np.diff(x)
    if x.size < 10 or steps.min() < 1e-3 or np.ptp(steps) > 1e-6:
        stored.refuse("x", f"{x.size} places at unequal steps", "at least 10, rising by equal steps")
    if not x[0] <= x_from < x_to <= x[-1]:
        given = f"measured from {x_from:g} to {x_to:g} m"
        stored.refuse("inputs@x_from_m", given, f"a stretch of the track, {x[0]:g} to {x[-1]:g} m")


def _parts(found: Any) -> dict[str, Any]:
    shapes: dict[str, Any] = {"unit": Unit, "soil": Soil, "settings": Settings, "rock": Rock}
    if not isinstance(found, Mapping) or set(found) != set(shapes):
        raise Unfit("inputs/parameters_si", "other groups", ", ".join(shapes))
    return {name: made(shape, found[name], f"inputs/parameters_si: {name}") for name, shape in shapes.items()}


def _chains(found: Any) -> dict[str, Chain]:
    """Names and texts of the files that unit and soil take over."""
    where = "inputs/taken_over"
    if not isinstance(found, Mapping) or set(found) != set(CHAINS):
        raise Unfit(where, "other tables", " and ".join(CHAINS))
    return {table: tuple(_link(item, where) for item in items(found[table], where, LONGEST)) for table in CHAINS}


def _link(item: Any, where: str) -> tuple[str, str]:
    if len(items(item, where, 2)) != 2:
        raise Unfit(where, f"{len(item)} things", "name and text of each file")
    if not isinstance(item[1], str) or len(item[1]) > LARGEST:
        raise Unfit(where, "no text", f"the text of each file, up to {LARGEST} characters")
    return text(item[0], where, 300), item[1]


def _changes(found: Any) -> dict[str, Any]:
    """Values by dotted key; none that names a file."""
    if not isinstance(found, Mapping):
        raise Unfit("inputs@changes", "no values by key", "values by dotted key")
    for dotted in found:
        if not _may_be_kept(dotted):
            raise Unfit("inputs@changes", f"a key that no option sets ({_short(dotted)})", "keys that options set")
    return dict(found)


def kept_changes(changes: Mapping[str, Any]) -> dict[str, Any]:
    """Those of the changes that are kept with a run: what the others led to stands in its texts and its track."""
    return {dotted: value for dotted, value in changes.items() if _may_be_kept(dotted)}


def _may_be_kept(dotted: str) -> bool:
    found = None if dotted.startswith(OF_PROFILE) else find_name(dotted)
    return found is not None and found.key.kind in CHANGEABLE


def _short(word: str) -> str:
    return "".join(mark if mark.isprintable() else "?" for mark in word[:40])
