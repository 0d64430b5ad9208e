"""What the page draws and tells of a scene: one crossing, one place of it."""

from __future__ import annotations

import time
from typing import Any

from analysis.bench.desk import Desk, Made
from analysis.bench.measures import judged, told
from analysis.bench.scene import Scene
from analysis.crossing.heed import warnings_of
from analysis.drawn.geometry import geometry, room
from analysis.drawn.samples import ground_line, packed, sample_places, sampled
from analysis.explain.places import place_at
from analysis.explain.sentences import place_sentence
from analysis.present.edge import bar, kgf, kmh, mm
from analysis.present.texts import number
from scenarios.scenario import Scenario
from sim.record import Run


def crossing(desk: Desk, scene: Scene) -> dict[str, Any]:
    """What the page draws and tells of a scene: samples, ground, geometry, measures, verdict.

    Raises ScenarioError with every fault of the scene, SimulationError where it cannot be crossed.
    """
    begin = time.perf_counter()
    made = desk.made(scene)
    scenario, run = made.scenario, made.run
    first, last = scenario.x_from, scenario.x_to
    crossed = sampled(run, first, last, scenario.limits.depth_tolerance)
    found = judged(made.measures, scenario, made.laid)
    places = sample_places(first, last)
    answer = {
        "title": scenario.title,
        "samples": packed([crossed], places.size),
        "ground": ground_line(made.laid.track, first, last),
        "from_m": first,
        "to_m": float(places[-1]),
        "unit": {**geometry(scenario.unit), **room(scenario.unit, run.setting)},
        "tolerance_mm": mm(scenario.limits.depth_tolerance),
        "set_depth_mm": mm(scenario.settings.set_depth),
        "crank": crossed.crank_angle,
        "set_load": crossed.set_load,
        "setting": settings_told(scenario, run),
        "measures": measures_told(made),
        "ok": found.ok,
        "fails": [found.stopped] if found.stopped else [check.sentence() for check in found.checks if not check.met],
        "nearest": "" if found.stopped else found.checks[0].sentence(),
        "warnings": warnings_of(run, scenario),
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
        "seed": scenario.seed, "roughness": scenario.roughness_label, "measured": scenario.profile is not None,
    }  # fmt: skip


def measures_told(made: Made) -> list[dict[str, Any]]:
    """Measures as numbers in their units; worth: how large a difference is worth a thought."""
    found = []
    for one, value in told(made.measures, made.scenario):
        unit, factor, decimals = one.form
        decimals = min(decimals, 1) if unit == "kN" and value * factor >= 10.0 else decimals  # three figures
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
