"""The files of a bench and what was crossed last."""

from __future__ import annotations

import json
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import Any

from analysis.bench.opening import named_file
from analysis.bench.scene import Opened, Scene, document_of, open_text
from analysis.crossing.one_run import RunMeasures, measure
from analysis.rows.cells import Laid, lay
from scenarios.format.errors import ScenarioError, fault, shown
from scenarios.load import load_document
from scenarios.scenario import Scenario
from sim.record import Run
from sim.run import simulate

KEPT = 6  # crossings kept for questions about a place


@dataclass(frozen=True)
class Made:
    """A scene crossed."""

    scenario: Scenario
    laid: Laid
    run: Run
    measures: RunMeasures


class Desk:
    """The files of one bench and what was crossed last; safe to be asked from several threads.

    folder: where files are opened and saved; given: the FILE it was started with.
    """

    def __init__(self, folder: Path, given: str) -> None:
        self.folder, self.given = folder, given
        self._files: dict[str, Opened] = {}
        self._made: OrderedDict[str, Made] = OrderedDict()
        self._ground: tuple[tuple[Any, ...], Laid] | None = None
        self._lock = Lock()

    def opened(self, name: str, *, anew: bool = False) -> Opened:
        """A file by its name on the bench, as it was when it was opened. Raises ScenarioError.

        anew: as it is now; without, whatever becomes of it meanwhile changes nothing that lies on the bench.
        """
        with self._lock:
            kept = self._files.get(name)
        if kept is not None and not anew:
            return kept
        path = named_file(name, self.folder, self.given)
        if path is None:
            allowed = "a scenario of the library, or a .toml file of the folder that the bench was started in"
            raise ScenarioError([fault("file", f"given {shown(name)}", allowed, "one of the list")])
        opened = open_text(name, path)
        with self._lock:
            self._files[name] = opened
            self._made.clear()
        return opened

    def files(self) -> list[Opened]:
        """The files that were opened so far."""
        with self._lock:
            return list(self._files.values())

    def scenario(self, scene: Scene) -> Scenario:
        """The scenario that a scene stands for. Raises ScenarioError with all its faults."""
        opened = self.opened(scene.file)
        return load_document(document_of(scene, opened), opened.path)

    def laid(self, scenario: Scenario) -> Laid:
        """The ground of a scenario, the last one again where nothing it depends on has changed."""
        if scenario.profile is not None:
            return lay(scenario, (scenario.seed,))[0]
        on = (scenario.unit, scenario.ground, scenario.stones, scenario.soil.strength, scenario.variation,
              scenario.x_from, scenario.x_to, scenario.settings.set_depth)  # fmt: skip
        with self._lock:
            kept = self._ground
        if kept is not None and kept[0] == on:
            return kept[1]
        laid = lay(scenario, (scenario.seed,))[0]
        with self._lock:
            self._ground = (on, laid)
        return laid

    def made(self, scene: Scene) -> Made:
        """A scene crossed, kept for the next questions. Raises ScenarioError, SimulationError."""
        name = _name(scene)
        with self._lock:
            kept = self._made.get(name)
        if kept is not None:
            return kept
        scenario = self.scenario(scene)
        laid = self.laid(scenario)
        run = simulate(scenario.unit, scenario.soil, laid.track, scenario.settings, tables=laid.tables)
        made = Made(scenario, laid, run, measure(run, scenario.limits.depth_tolerance))
        with self._lock:
            self._made[name] = made
            while len(self._made) > KEPT:
                self._made.popitem(last=False)
        return made


def _name(scene: Scene) -> str:
    return json.dumps([scene.file, scene.changes, scene.features, scene.stones, scene.roughness], sort_keys=True)
