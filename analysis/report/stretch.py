"""The stretch of ground that the page shows, crossed at every setting of the grid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from analysis.crossing.breakouts import Breakout
from analysis.drawn.samples import Crossed, sample_places, sampled
from analysis.parallel import Progress, part_of, run_all
from analysis.present.edge import mm
from analysis.report.lead import Lead
from analysis.window.grid import Window
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.run import simulate
from sim.track import Track

BEYOND = 1.0  # crossed behind the stretch, so that the disc is past its end however the unit stands [m]


@dataclass(frozen=True)
class Stretch:
    """The stretch, from and to along the track [m], and every setting's crossing by (pressure, speed)."""

    first: float
    last: float
    seed: int
    track: Track
    cells: Mapping[tuple[int, int], Crossed]
    breakouts: tuple[Breakout, ...] = ()  # of the whole ground with the setting that the page leads with
    problem: str = ""  # why it is the head of the ground and not its worst piece; "": it is the worst

    @property
    def samples(self) -> int:
        """Samples along the stretch."""
        return sample_places(self.first, self.last).size


def cross_stretch(
    scenario: Scenario,
    window: Window,
    chosen: tuple[int, int],
    lead: Lead,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Stretch:
    """Cross the first ground of a window at every setting, depth setting redone, and keep the stretch that is shown.

    At `chosen` (pressure, speed) it was crossed already. The others are crossed as far as the end of the stretch, but
    for those that the window could not cross: they say why.
    """
    laid = lead.laid
    near = replace(laid.track, x_to=min(laid.track.x_to, lead.last + BEYOND))

    def job(cell: tuple[int, int]) -> Crossed:
        i, j = cell
        settings = replace(
            scenario.settings, oil_pressure=float(window.pressures[i]), speed=float(window.speeds[j]), setting="redone"
        )
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
    return Stretch(
        lead.first, lead.last, laid.seed, laid.track, {**found, chosen: lead.crossed}, lead.breakouts, lead.problem
    )


def breakout_rows(found: tuple[Breakout, ...], most: int) -> list[dict[str, Any]]:
    """The highest breakouts as rows of a table, in trade units."""
    ranked = sorted(found, key=lambda b: -b.rise)[:most]
    return [
        {
            "at_m": b.position, "rise_mm": mm(b.rise), "regain_m": b.regain,
            "disc_kN": b.disc_peak / 1e3, "pin": b.pin.replace("_", " "), "pin_kN": b.pin_peak / 1e3,
            "oil_bar": b.pressure_max / 1e5,
        }
        for b in ranked
    ]  # fmt: skip
