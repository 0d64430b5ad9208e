"""The scenario of a stored run, made again from the file alone: its text, its parameters, its ground."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from dataclasses import fields, replace
from pathlib import Path, PureWindowsPath
from typing import Any

import numpy as np

from analysis.storage.file_names import fitting
from analysis.storage.run_file import RunTable, load_run_table
from scenarios.format.errors import ScenarioError, fault
from scenarios.load import load
from scenarios.scenario import Scenario
from sim.unit import Settings, Soil, Unit


def stored_scenario(path: Path, changes: Mapping[str, Any]) -> Scenario:
    """Scenario of a run that `rowbench run --save` wrote; unit, soil and settings as they were used.

    Measured ground comes from the stored track, so the CSV need not be there. changes: values by dotted key in edge
    units, beside those the run was made with. Raises ScenarioError for a file that is no whole stored run, and for
    one whose ground this version would lay otherwise.
    """
    table = load_run_table(path)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / fitting(f"{table.scenario_name}.toml")  # the name may be of another system
        file.write_text(table.scenario_text, encoding="utf-8")
        profile = _profile(table, Path(folder)) if table.measured_from is not None else None
        laid = None if profile is None else (table.x_from, table.x_to)
        loaded = load(file, profile=profile, changes={**table.changes, **changes}, laid=laid)
    parts = table.parameters
    settings = replace(Settings(**parts["settings"]))
    scenario = replace(loaded, name=table.scenario_name, path=path, unit=_unit(parts["unit"]),
                       soil=Soil(**parts["soil"]), settings=settings)  # fmt: skip
    if scenario.profile is not None:
        return replace(scenario, profile=replace(scenario.profile, nominal=scenario.soil.strength))
    if not np.array_equal(scenario.track().ground, table.track["ground"]):
        made = table.versions.get("rowbench", "unknown")
        raise ScenarioError([fault(str(path), f"a run on ground that this version lays otherwise (made by {made})",
                                   "results of this version", "make it again with rowbench run --save")])  # fmt: skip
    return scenario


def _unit(values: Mapping[str, Mapping[str, Any]]) -> Unit:
    """A Unit from its parameters as stored: points are lists there."""
    default = Unit()
    groups = {
        f.name: type(getattr(default, f.name))(
            **{k: tuple(v) if isinstance(v, list) else v for k, v in values[f.name].items()}
        )
        for f in fields(Unit)
    }
    return Unit(**groups)


def _profile(table: RunTable, folder: Path) -> Path:
    """The stored ground of a measured run as a profile, with its lead-in and what lies behind its end."""
    columns = (table.track["x"], table.track["ground"], table.track["strength"] / 1e6)
    path = folder / fitting(PureWindowsPath(str(table.measured_from)).name)  # that takes "/" for a folder, too
    header = "distance_m,height_m,strength_MPa"
    np.savetxt(path, np.stack(columns, axis=1), fmt="%.9g", delimiter=",", header=header, comments="")
    return path
