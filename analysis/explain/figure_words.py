"""The line under a figure's title: which crossing, at which settings."""

from __future__ import annotations

from analysis.explain.explain import Explanation
from analysis.present.edge import kmh, mm
from analysis.present.scenario_words import scenario_title
from analysis.present.sentences import loaded


def settings_line(told: Explanation) -> str:
    """Scenario, pressure, downforce, speed, set depth and length of a crossing."""
    s, run = told.run.settings, told.run
    made = "" if s.setting == "redone" else ", depth setting left as it was"
    return (
        f"“{scenario_title(told.scenario)}”: {loaded(s.oil_pressure, run.downforce)}, "
        f"{kmh(s.speed):.3g} km/h, set depth {mm(s.set_depth):.3g} mm{made}, {told.scenario.length:.4g} m, ground "
        f"{told.scenario.seed}."
    )
