"""One crossing of a scene, and what the page draws and tells of it."""

from __future__ import annotations

import json
import time
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path
from threading import Lock
from typing import Any

from analysis.bench.measures import heeded, judged, told
from analysis.bench.opening import named_file
from analysis.bench.scene import Opened, Scene, document_of, open_text
from analysis.drawn.geometry import geometry, room
from analysis.drawn.samples import ground_line, packed, sample_places, sampled
from analysis.explain.places import place_at
from analysis.explain.sentences import place_sentence
from analysis.present.edge import bar, kgf, kmh, mm
from analysis.present.texts import number
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


class Desk:
    """The files of one bench and what was crossed last; safe to be asked from several threads.

    folder: where files are opened and saved; given: the FILE it was started with.
    """

    def __init__(self, folder: Path, given: str) -> None:
        self.folder, self.given = folder, given
        self._files: dict[str, tuple[int, Opened]] = {}
        self._made: OrderedDict[str, Made] = OrderedDict()
        self._ground: tuple[tuple[Any, ...], Laid] | None = None
        self._lock = Lock()

    def opened(self, name: str) -> Opened:
        """A file by its name on the bench, read again where it changed. Raises ScenarioError."""
        path = named_file(name, self.folder, self.given)
        if path is None:
            allowed = "a scenario of the library, or a .toml file of the folder that the bench was started in"
            raise ScenarioError([fault("file", f"given {shown(name)}", allowed, "one of the list")])
        stamp = path.stat().st_mtime_ns if path.is_file() else 0
        with self._lock:
            kept = self._files.get(name)
        if kept is not None and kept[0] == stamp:
            return kept[1]
        opened = open_text(name, path)
        with self._lock:
            self._files[name] = (stamp, opened)
        return opened

    def files(self) -> list[Opened]:
        """The files that were opened so far."""
        with self._lock:
            return [opened for _, opened in self._files.values()]

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
        made = Made(scenario, laid, run)
        with self._lock:
            self._made[name] = made
            while len(self._made) > KEPT:
                self._made.popitem(last=False)
        return made


def _name(scene: Scene) -> str:
    return json.dumps([scene.file, scene.changes, scene.features, scene.stones, scene.roughness], sort_keys=True)


def crossing(desk: Desk, scene: Scene) -> dict[str, Any]:
    """What the page draws and tells of a scene: samples, ground, geometry, measures, verdict.

    Raises ScenarioError with every fault of the scene, SimulationError where it cannot be crossed.
    """
    begin = time.perf_counter()
    made = desk.made(scene)
    scenario, run = made.scenario, made.run
    first, last = scenario.x_from, scenario.x_to
    crossed = sampled(run, first, last, scenario.limits.depth_tolerance)
    found = judged(run, scenario, made.laid)
    places = sample_places(first, last)
    answer = {
        "title": scenario.title,
        "samples": packed([crossed], places.size),
        "ground": ground_line(made.laid.track, first, last),
        "from_m": first,
        "to_m": float(places[-1]),
        "unit": {**geometry(scenario.unit), **room(scenario)},
        "tolerance_mm": mm(scenario.limits.depth_tolerance),
        "set_depth_mm": mm(scenario.settings.set_depth),
        "crank": crossed.crank_angle,
        "set_load": crossed.set_load,
        "setting": settings_told(scenario, run),
        "measures": measures_told(made),
        "ok": found.ok,
        "fails": [found.stopped] if found.stopped else [check.sentence() for check in found.checks if not check.met],
        "nearest": "" if found.stopped else found.checks[0].sentence(),
        "warnings": heeded(run, scenario),
        "breakouts": [b.position for b in crossed.breakouts],
    }
    answer["server_ms"] = 1e3 * (time.perf_counter() - begin)
    return answer


def settings_told(scenario: Scenario, run: Run) -> dict[str, Any]:
    """The setting as it stands, in trade units."""
    s = scenario.settings
    return {
        "pressure": bar(s.oil_pressure), "speed": kmh(s.speed), "depth": mm(s.set_depth), "precharge": bar(s.precharge),
        "downforce": number(kgf(run.downforce), 0), "setting": s.setting,
        "reference_pressure": bar(s.reference_pressure), "reference_speed": kmh(s.reference_speed),
        "seed": scenario.seed, "rough": scenario.ground.roughness is not None or scenario.profile is not None,
        "roughness": scenario.roughness_label, "measured": scenario.profile is not None,
    }  # fmt: skip


def measures_told(made: Made) -> list[dict[str, Any]]:
    """Measures as numbers in their units; worth: how large a difference is worth a thought."""
    found = []
    for one, value in told(made.run, made.scenario):
        unit, factor, decimals = one.form
        found.append(
            {"name": one.name, "words": one.words, "unit": unit, "value": value * factor, "decimals": decimals,
             "better": one.better, "worth": one.worth_at(value) * factor}
        )  # fmt: skip
    return found


def place_told(desk: Desk, scene: Scene, at: float) -> dict[str, Any]:
    """The sentences of one place [m]: what the depth is there, which parts give it, what ground and wheel do."""
    made = desk.made(scene)
    place = place_at(made.run, made.scenario.limits.depth_tolerance, at)
    return {"at": place.at, "sentence": place_sentence(place, made.run)}
