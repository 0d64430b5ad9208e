"""One run in an HDF5 file: every series with its unit and meaning, what went in, and what it was made with.

Layout: `series/<channel>` (n,), `pins` (n, 14, 2), `actuator` (n,), with `series/distance`, `pin` and `component` as
dimension scales; `track/<name>` (k,) over `track/x`; `inputs` (scenario text, changes, seed, step, engine, all
parameters in SI units); `summary`, the JSON document of the run. Each dataset of numbers carries `units`, `long_name`
and a checksum of its own.
"""

from __future__ import annotations

import json
import platform
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

import h5py
import numpy as np
from numpy.typing import NDArray

from analysis.version import VERSION
from scenarios.format.errors import ScenarioError, fault, shown
from scenarios.scenario import Scenario
from sim.record import CHANNELS, PINS, Run

FORMAT, FORMAT_VERSION = "rowbench run", 1
COMPONENTS = ("x forward", "z up")
_WANTED = "a whole file that rowbench run --save wrote"
_PACKED = {"compression": "gzip", "compression_opts": 4, "shuffle": True, "fletcher32": True}


@dataclass(frozen=True)
class RunTable:
    """A stored run as read back. Arrays: `series[name]` and `actuator` (n,), `pins` (n, 14, 2) in `pin_names` order."""

    series: dict[str, NDArray[np.float64]]
    units: dict[str, str]
    meanings: dict[str, str]
    pins: NDArray[np.float64]  # [N], toolbar axes
    pin_names: tuple[str, ...]
    actuator: NDArray[np.float64]  # [N]
    track: dict[str, NDArray[np.float64]]  # x, ground, stone_top [m], strength [Pa], each (k,)
    scenario_name: str
    scenario_text: str  # the scenario file as it was
    changes: dict[str, Any]  # what the command line put in its place, by dotted key
    parameters: dict[str, Any]  # unit, soil, settings and stone contact, SI units, as they were used
    measured_from: str | None  # the CSV file that the ground was measured in
    x_from: float  # where the measures begin [m], in the track's own distances: those of a measured profile's file
    x_to: float  # where they end [m]
    seed: int
    step: float  # [s]
    engine: str
    versions: dict[str, str]
    summary: dict[str, Any]


def save_run(path: Path, run: Run, scenario: Scenario, summary: Mapping[str, Any], changes: Mapping[str, Any]) -> None:
    """Write a run to a new file at `path` (the caller names a temporary one and renames it).

    summary: the run's JSON document; changes: values that stood in place of the scenario file's, by dotted key.
    """
    with h5py.File(path, "w", libver=("earliest", "v110")) as file:
        file.attrs["format"] = FORMAT
        file.attrs["format_version"] = FORMAT_VERSION
        for name, text in _versions().items():
            file.attrs[f"version_{name}"] = text
        _write_series(file, run)
        _write_track(file, run)
        _write_inputs(file, run, scenario, changes)
        file.create_dataset("summary", data=json.dumps(summary, ensure_ascii=False))


def _versions() -> dict[str, str]:
    packages = {name: version(name) for name in ("numpy", "scipy", "numba", "h5py")}
    return {"rowbench": VERSION, "python": platform.python_version(), **packages}


def _write_series(file: h5py.File, run: Run) -> None:
    group = file.create_group("series")
    for channel in CHANNELS:
        _dataset(group, channel.name, run.series[channel.name], channel.unit, channel.doc)
    _dataset(file, "pins", run.pins, "N", "force of the first-named part on the second at each pin, toolbar axes")
    _dataset(file, "actuator", run.actuator, "N", "force in the depth actuator, compression positive")
    distance = group["distance"]
    distance.make_scale("distance")
    scales = {"pin": PINS, "component": COMPONENTS}
    for name, words in scales.items():
        scale = file.create_dataset(name, data=np.array(words, dtype=h5py.string_dtype()))
        scale.attrs["long_name"] = f"name of the {name}"
        scale.make_scale(name)
    for made in (*(group[c.name] for c in CHANNELS if c.name != "distance"), file["pins"], file["actuator"]):
        made.dims[0].attach_scale(distance)
        made.dims[0].label = "distance"
    for axis, name in ((1, "pin"), (2, "component")):
        file["pins"].dims[axis].attach_scale(file[name])
        file["pins"].dims[axis].label = name


def _write_track(file: h5py.File, run: Run) -> None:
    group, track = file.create_group("track"), run.track
    _dataset(group, "x", track.x, "m", "position along the track")
    _dataset(group, "ground", track.ground, "m", "height of the soil surface without stones")
    _dataset(group, "stone_top", track.stone_top, "m", "height of the stones' upper surface, far below where none is")
    _dataset(group, "strength", track.strength, "Pa", "soil strength at zero speed")
    group["x"].make_scale("x")
    for name in ("ground", "stone_top", "strength"):
        group[name].dims[0].attach_scale(group["x"])
        group[name].dims[0].label = "x"


def _dataset(group: Any, name: str, values: NDArray[np.float64], unit: str, meaning: str) -> None:
    made = group.create_dataset(name, data=values, **_PACKED)
    made.attrs["units"] = unit
    made.attrs["long_name"] = meaning


def _write_inputs(file: h5py.File, run: Run, scenario: Scenario, changes: Mapping[str, Any]) -> None:
    group = file.create_group("inputs")
    group.attrs["scenario"] = scenario.name
    group.attrs["seed"] = scenario.seed
    group.attrs["step_s"] = run.step
    group.attrs["x_from_m"] = run.track.x_from
    group.attrs["x_to_m"] = run.track.x_to
    group.attrs["engine"] = run.engine
    group.attrs["changes"] = json.dumps(dict(changes))
    if scenario.profile is not None:
        group.attrs["profile"] = str(scenario.profile.path)
    parts: dict[str, Any] = {"unit": run.unit, "soil": run.soil, "settings": run.settings, "rock": run.track.rock}
    parameters = {name: asdict(part) for name, part in parts.items()}
    group.create_dataset("parameters_si", data=json.dumps(parameters))
    group.create_dataset("scenario_toml", data=scenario.path.read_text(encoding="utf-8-sig"))


def load_run_table(path: Path) -> RunTable:
    """A stored run. Raises ScenarioError for a file that is missing, damaged, or of another kind or version."""
    try:
        with h5py.File(path, "r") as file:
            _check_kind(file, path)
            return _read(file)
    except FileNotFoundError:
        raise _refused(path, "there is no such file", _WANTED, "check the path") from None
    except (OSError, KeyError, ValueError, RuntimeError) as error:
        if isinstance(error, ScenarioError):
            raise
        reason = str(error).strip("'\"").split("(")[0].strip() or type(error).__name__
        raise _refused(path, f"damaged or no HDF5 file ({reason})", _WANTED,
                       "make it again with rowbench run --save") from None  # fmt: skip


def _check_kind(file: h5py.File, path: Path) -> None:
    kind, number = file.attrs.get("format", ""), file.attrs.get("format_version", 0)
    if kind != FORMAT:
        raise _refused(path, f"HDF5 of another kind ({shown(str(kind))})", f"format {shown(FORMAT)}",
                       _WANTED)  # fmt: skip
    if int(number) != FORMAT_VERSION:
        raise _refused(path, f"format version {number}", f"version {FORMAT_VERSION}",
                       "the rowbench that wrote it, or make it again with rowbench run --save")  # fmt: skip


def _refused(path: Path, given: str, allowed: str, hint: str) -> ScenarioError:
    return ScenarioError([fault(str(path), given, allowed, hint)])


def _read(file: h5py.File) -> RunTable:
    group, inputs = file["series"], file["inputs"]
    series = {name: np.asarray(group[name][...], dtype=np.float64) for name in group}
    pins = np.asarray(file["pins"][...], dtype=np.float64)
    actuator = np.asarray(file["actuator"][...], dtype=np.float64)
    names = tuple(text.decode() for text in file["pin"][...])
    length = series["distance"].size
    wrong = [name for name, values in series.items() if values.shape != (length,)]
    if wrong or pins.shape != (length, len(names), 2) or actuator.shape != (length,):
        raise ValueError(f"series of unequal length: {', '.join(wrong) or 'pins or actuator'}")
    summary = json.loads(file["summary"][()].decode())
    return RunTable(
        series=series,
        units={name: str(group[name].attrs["units"]) for name in group},
        meanings={name: str(group[name].attrs["long_name"]) for name in group},
        pins=pins,
        pin_names=names,
        actuator=actuator,
        track={name: np.asarray(file["track"][name][...], dtype=np.float64) for name in file["track"]},
        scenario_name=str(inputs.attrs["scenario"]),
        scenario_text=inputs["scenario_toml"][()].decode(),
        changes=json.loads(inputs.attrs["changes"]),
        parameters=json.loads(inputs["parameters_si"][()].decode()),
        measured_from=str(inputs.attrs["profile"]) if "profile" in inputs.attrs else None,
        x_from=(start := float(inputs.attrs["x_from_m"])),
        x_to=float(inputs.attrs.get("x_to_m", start + summary["distance_m"])),  # older files have no end
        seed=int(inputs.attrs["seed"]),
        step=float(inputs.attrs["step_s"]),
        engine=str(inputs.attrs["engine"]),
        versions={name[8:]: str(text) for name, text in file.attrs.items() if name.startswith("version_")},
        summary=summary,
    )
