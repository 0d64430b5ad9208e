"""The scenario of a stored run, made again from the file alone: its texts, its parameters, its ground."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path, PureWindowsPath
from typing import Any

import numpy as np

from analysis.storage.run_table import RunInputs, load_run_inputs
from scenarios.format.errors import ScenarioError, fault
from scenarios.ground.profile import Profile
from scenarios.load import load_again
from scenarios.scenario import Scenario


def stored_scenario(path: Path, changes: Mapping[str, Any]) -> Scenario:
    """Scenario of a run that `rowbench run --save` wrote; unit, soil and settings as they were used.

    Everything comes from the stored file: the texts of the scenario and of what it takes over, measured ground from the
    stored track. No name in it is followed. changes: values by dotted key in edge units, beside those the run was made
    with. Raises ScenarioError for a file that is no whole stored run, and for one whose ground this version would lay
    otherwise.
    """
    stored = load_run_inputs(path)
    profile = None if stored.measured_from is None else _profile(stored)
    loaded = load_again(path, stored.source, profile=profile, changes={**stored.changes, **changes})
    scenario = replace(loaded, name=stored.scenario_name, path=path, unit=stored.unit, soil=stored.soil,
                       settings=stored.settings)  # fmt: skip
    if scenario.profile is not None:
        return replace(scenario, profile=replace(scenario.profile, nominal=scenario.soil.strength))
    if not np.array_equal(scenario.track().ground, stored.track["ground"]):
        made = stored.versions.get("rowbench", "unknown")
        raise ScenarioError([fault(str(path), f"a run on ground that this version lays otherwise (made by {made})",
                                   "results of this version", "make it again with rowbench run --save")])  # fmt: skip
    return scenario


def _profile(stored: RunInputs) -> Profile:
    """The stored ground of a measured run as a profile, with its lead-in and what lies behind its end."""
    name = PureWindowsPath(str(stored.measured_from)).name or "profile"  # that takes "/" for a folder, too
    track = stored.track
    return Profile(Path(name), track["x"], track["ground"], track["strength"], laid=(stored.x_from, stored.x_to))
