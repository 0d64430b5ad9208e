"""The two kinds of error that a user of the door meets."""

from __future__ import annotations

from scenarios.format.errors import ScenarioError
from sim.errors import SimulationError

__all__ = ["ScenarioError", "SimulationError"]
