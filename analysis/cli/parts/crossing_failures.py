"""What a crossing can fail with, told as a fault of its scenario; any other error is a mistake of the program."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from scenarios.format.errors import ScenarioError
from scenarios.scenario import Scenario
from sim.errors import SimulationError


@contextmanager
def told_as_fault(scenario: Scenario) -> Iterator[None]:
    """A failure of a crossing in the block is raised as ScenarioError with the path of the file."""
    try:
        yield
    except SimulationError as error:
        raise ScenarioError([f"{scenario.path}: {error}"]) from None
