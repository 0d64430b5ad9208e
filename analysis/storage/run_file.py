"""Writes one run to an HDF5 file: every series with its unit and meaning, what went in, what it was made with.

Layout: at the root, so that xarray (engine h5netcdf) opens it as it is, every channel (n,) over `distance`, `pins`
(n, 14, 2) and `actuator` (n,) beside them, with `distance`, `pin` and `component` as dimension scales, and the ground,
`ground`, `stone_top` and `strength` (k,) over `x`; in the group `inputs` what went in (scenario text, texts it takes
over, changes, seed, step, engine, all parameters in SI units) and `summary`, the JSON document of the run. Each
dataset of numbers carries `units`, `long_name` and a checksum of its own; a checksum over the whole file follows it
(`sealed`). What is read back is described in `run_table`. The same run gives the same bytes, wherever and whenever:
no place and no time is in the file.
"""

from __future__ import annotations

import json
import platform
from collections.abc import Mapping
from dataclasses import asdict
from importlib.metadata import version
from pathlib import Path
from typing import Any

import h5py
import numpy as np
from numpy.typing import NDArray

from analysis.storage.description import line, tame
from analysis.storage.hdf5_whole import new_hdf5
from analysis.storage.run_table import COMPONENTS, FORMAT, FORMAT_VERSION, kept_changes
from analysis.storage.sealed import seal
from analysis.version import VERSION
from scenarios.scenario import Scenario
from sim.record import CHANNELS, PINS, Run

TIMES = ("wall_s", "compile_s")  # of the document: how long it took, which is no part of a result
_PACKED = {"compression": "gzip", "compression_opts": 4, "shuffle": True, "fletcher32": True}


def save_run(path: Path, run: Run, scenario: Scenario, summary: Mapping[str, Any], changes: Mapping[str, Any]) -> None:
    """Write a run to a new file at `path` (the caller names a temporary one and renames it).

    summary: the run's JSON document; changes: values that stood in place of the scenario file's, by dotted key.
    """
    with new_hdf5(path) as file:
        file.attrs["format"] = FORMAT
        file.attrs["format_version"] = FORMAT_VERSION
        for name, text in _versions().items():
            file.attrs[f"version_{name}"] = text
        _write_series(file, run)
        _write_track(file, run)
        _write_inputs(file, run, scenario, changes)
        document = {**summary, "run": {k: v for k, v in summary["run"].items() if k not in TIMES}}
        file["inputs"].create_dataset("summary", data=tame(json.dumps(document, ensure_ascii=False, allow_nan=False)))
    seal(path)


def _versions() -> dict[str, str]:
    packages = {name: version(name) for name in ("numpy", "scipy", "numba", "h5py")}
    return {"rowbench": VERSION, "python": platform.python_version(), **packages}


def _write_series(file: h5py.File, run: Run) -> None:
    for channel in CHANNELS:
        _dataset(file, channel.name, run.series[channel.name], channel.unit, channel.doc)
    _dataset(file, "pins", run.pins, "N", "force of the first-named part on the second at each pin, toolbar axes")
    _dataset(file, "actuator", run.actuator, "N", "force in the depth actuator, compression positive")
    for name, words in (("pin", PINS), ("component", COMPONENTS)):
        scale = file.create_dataset(name, data=np.array(words, dtype=h5py.string_dtype()))
        scale.attrs["long_name"] = f"name of the {name}"
        scale.make_scale(name)
    _over(file, "distance", *(channel.name for channel in CHANNELS if channel.name != "distance"), "pins", "actuator")
    for axis, name in ((1, "pin"), (2, "component")):
        file["pins"].dims[axis].attach_scale(file[name])


def _write_track(file: h5py.File, run: Run) -> None:
    track = run.track
    _dataset(file, "x", track.x, "m", "position along the track")
    _dataset(file, "ground", track.ground, "m", "height of the soil surface without stones")
    _dataset(file, "stone_top", track.stone_top, "m", "height of the stones' upper surface, far below where none is")
    _dataset(file, "strength", track.strength, "Pa", "soil strength at zero speed")
    _over(file, "x", "ground", "stone_top", "strength")


def _over(file: h5py.File, scale: str, *names: str) -> None:
    """Makes a dataset the scale of the first dimension of others."""
    file[scale].make_scale(scale)
    for name in names:
        file[name].dims[0].attach_scale(file[scale])


def _dataset(group: Any, name: str, values: NDArray[np.float64], unit: str, meaning: str) -> None:
    made = group.create_dataset(name, data=values, **_PACKED)
    made.attrs["units"] = unit
    made.attrs["long_name"] = meaning


def _write_inputs(file: h5py.File, run: Run, scenario: Scenario, changes: Mapping[str, Any]) -> None:
    group = file.create_group("inputs")
    group.attrs["scenario"] = line(scenario.name)
    group.attrs["seed"] = scenario.seed
    group.attrs["step_s"] = run.step
    group.attrs["x_from_m"] = run.track.x_from
    group.attrs["x_to_m"] = run.track.x_to
    group.attrs["engine"] = run.engine
    group.attrs["changes"] = json.dumps(kept_changes(changes))
    if scenario.profile is not None:
        group.attrs["profile"] = line(scenario.profile.path.name)
    parts: dict[str, Any] = {"unit": run.unit, "soil": run.soil, "settings": run.settings, "rock": run.track.rock}
    parameters = {name: asdict(part) for name, part in parts.items()}
    group.create_dataset("parameters_si", data=json.dumps(parameters))
    assert scenario.source is not None
    group.create_dataset("scenario_toml", data=scenario.source.text)
    group.create_dataset("taken_over", data=json.dumps(scenario.source.chains))
