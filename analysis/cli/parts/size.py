"""How long and how large a command will be: told before it starts where it is long, refused where it is too large."""

from __future__ import annotations

from collections.abc import Sequence

from analysis.cli.parts.faults import refuse
from analysis.cli.parts.request import Request
from analysis.parallel import usable_cores
from analysis.present.progress import duration
from analysis.rows.size import BASE, MOST_MEMORY, search_size, steps_of
from scenarios.format.edge_units import distance_text
from scenarios.format.errors import fault
from scenarios.scenario import Scenario
from sim.run import STEP_BYTES

LONG = 60.0  # from here on it is worth a word [s]
EXPLAINED = 2_300.0  # memory that a step of an explained crossing takes [bytes] (measured)


def tell_search(
    request: Request,
    scenario: Scenario,
    workers: int | None,
    *,
    settings: int | None = None,
    speeds: Sequence[float] | None = None,
    windows: int = 1,
    kept: bool = False,
) -> None:
    """Say how long a search will take where that is long. Raises ScenarioError where it would take too much memory.

    settings: what is tried at each speed, by default the file's pressures; speeds [m/s] by default the file's; windows:
    how many such searches; kept: the steps of a crossing are kept while it is looked at, one crossing for each core.
    """
    count = len(scenario.search.pressures) if settings is None else settings
    tried, grounds = scenario.search.speeds if speeds is None else speeds, len(scenario.search_seeds)
    size = search_size(scenario, count, tried, grounds, windows)
    cores = usable_cores() if workers is None else workers
    memory = size.memory + (cores * STEP_BYTES * max(steps_of(scenario, v) for v in tried) if kept else 0.0)
    long = f"about {duration(size.work / cores)} on {cores} core{'s' if cores > 1 else ''}"
    made = f"{size.crossings} crossings of {distance_text(size.length)}"
    if memory > MOST_MEMORY:
        where, given = f"{scenario.path}: rowbench {request.command}", f"{made} would take about {_gb(memory)}"
        refuse([fault(where, given, f"up to {_gb(MOST_MEMORY)}", _hint(size.results > 0.5 * memory, grounds))])
    if size.work / cores > LONG:
        request.say(f"{made}: {long}, and as long again for what is told beside the pick; Ctrl-C stops it")


def _hint(many: bool, grounds: int) -> str:
    """What makes it smaller. many: it is the number of crossings that makes it large, else the ground."""
    grounds_too = f", or fewer than {grounds} grounds (--seeds)" if grounds > 1 else ""
    first = "fewer settings" if many else "a smaller ground.length_m (or a shorter profile)"
    return f"{first}{grounds_too}"


def tell_explained(scenario: Scenario) -> None:
    """Raises ScenarioError where explaining a crossing would take too much memory."""
    steps = steps_of(scenario, scenario.settings.speed)
    memory = BASE + EXPLAINED * steps
    if memory > MOST_MEMORY:
        most = scenario.length * (MOST_MEMORY - BASE) / (memory - BASE)
        given = f"{distance_text(scenario.length)} in {steps} steps would take about {_gb(memory)}"
        allowed = f"up to {_gb(MOST_MEMORY)}: some {distance_text(most)} at this speed"
        hint = "a smaller ground.length_m (or a shorter profile), or more settings.speed_kmh"
        refuse([fault(f"{scenario.path}: rowbench explain", given, allowed, hint)])


def _gb(size: float) -> str:
    return f"{size / 1e9:.2g} GB"
