"""The stretch of ground that the page shows, crossed at every setting of the grid."""

from __future__ import annotations

from dataclasses import replace

from analysis.drawn.samples import Crossed, sampled
from analysis.parallel import Progress, part_of, run_all
from analysis.report.lead import Lead
from analysis.window.grid import Window
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.run import simulate

BEYOND = 1.0  # crossed behind the stretch, so that the disc is past its end however the unit stands [m]


def cross_stretch(
    scenario: Scenario,
    window: Window,
    chosen: tuple[int, int],
    lead: Lead,
    workers: int | None = None,
    progress: Progress | None = None,
) -> dict[tuple[int, int], Crossed]:
    """Cross the first ground of a window at every setting, depth setting redone → the stretch by (pressure, speed).

    At `chosen` (pressure, speed) it was crossed already. The others are crossed as far as the end of the stretch, but
    for those that the window could not cross: they say why.
    """
    laid = lead.laid
    near = replace(laid.track, x_to=min(laid.track.x_to, lead.last + BEYOND))

    def job(cell: tuple[int, int]) -> Crossed:
        i, j = cell
        settings = scenario.settings.redone_at(float(window.pressures[i]), float(window.speeds[j]))
        track = laid.track if (i, j, 0) in window.problems else near
        try:
            run = simulate(scenario.unit, scenario.soil, track, settings, tables=laid.tables)
        except SimulationError as error:
            return Crossed({}, problem=str(error))
        return sampled(run, lead.first, lead.last, scenario.limits.depth_tolerance)

    cells = [(i, j) for j in range(window.speeds.size) for i in range(window.pressures.size)]
    others = [cell for cell in cells if cell != chosen]
    told = None if progress is None else part_of(progress, 1, len(cells))
    found = dict(zip(others, run_all(job, others, workers, told), strict=True))
    return {**found, chosen: lead.crossed}
