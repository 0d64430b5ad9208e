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

JUDGING = ("search.", "limits.", "machine.")  # tables that change no crossing


def stored_scenario(path: Path, changes: Mapping[str, Any]) -> Scenario:
    """Scenario of a run that `rowbench run --save` wrote; unit, soil and settings as they were used.

    Everything comes from the stored file: the texts of the scenario and of what it takes over, measured ground from the
    stored track. No name in it is followed. changes: values by dotted name in edge units, on top of those the run was
    made with. Raises ScenarioError for a file that is no whole stored run, for one whose ground this version would lay
    otherwise, and for changes of one whose texts no longer say what was used.
    """
    stored = load_run_inputs(path)
    profile = None if stored.measured_from is None else _profile(stored)
    told = load_again(path, stored.source, profile=profile, kept=stored.changes)
    scenario = _as_used(told, stored, path)
    if scenario.profile is None and not np.array_equal(scenario.track().ground, stored.track["ground"]):
        made = stored.versions.get("rowbench", "unknown")
        raise ScenarioError([fault(str(path), f"a run on ground that this version lays otherwise (made by {made})",
                                   "results of this version", "make it again with rowbench run --save")])  # fmt: skip
    if not changes:
        return scenario
    changed = load_again(path, stored.source, profile=profile, kept=stored.changes, changes=changes)
    if all(name.startswith(JUDGING) for name in changes):
        return _as_used(changed, stored, path)
    measured = told.profile is not None and told.profile.strength is not None  # it says the soil's own strength
    soil = replace(told.soil, strength=stored.soil.strength) if measured else told.soil
    if (told.unit, soil, told.settings) != (stored.unit, stored.soil, stored.settings):
        given = f"{', '.join(changes)} changed, in a result whose values are not those of its texts"
        raise ScenarioError([fault(str(path), given, "the result as it is", "change the scenario's own file")])
    if measured:
        changed = replace(changed, soil=replace(changed.soil, strength=stored.soil.strength))
    return _of_profile(replace(changed, name=stored.scenario_name, path=path))


def _as_used(scenario: Scenario, stored: RunInputs, path: Path) -> Scenario:
    """The scenario with the unit, soil and settings of the run."""
    unit, soil, settings = stored.unit, stored.soil, stored.settings
    return _of_profile(replace(scenario, name=stored.scenario_name, path=path, unit=unit, soil=soil, settings=settings))


def _of_profile(scenario: Scenario) -> Scenario:
    """A scenario on stored ground, whose strength holds for its own soil."""
    if scenario.profile is None:
        return scenario
    return replace(scenario, profile=replace(scenario.profile, nominal=scenario.soil.strength))


def _profile(stored: RunInputs) -> Profile:
    """The stored ground of a measured run as a profile, with its lead-in and what lies behind its end."""
    name = PureWindowsPath(str(stored.measured_from)).name or "profile"  # that takes "/" for a folder, too
    track = stored.track
    return Profile(Path(name), track["x"], track["ground"], track["strength"], laid=(stored.x_from, stored.x_to))
