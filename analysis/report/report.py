"""What a page tells, gathered: window, advice, pins, and one stretch of ground crossed at every setting."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from analysis.drawn.samples import Crossed
from analysis.parallel import Progress
from analysis.present.progress import Meter
from analysis.report.lead import Lead, lead_of
from analysis.report.stretch import cross_stretch
from analysis.window.advice import Advice, advise
from analysis.window.cross_grid import search
from analysis.window.pins_at import PinsAt, pins_at
from scenarios.scenario import Scenario


@dataclass(frozen=True)
class Report:
    """Everything behind a page."""

    scenario: Scenario
    changes: Mapping[str, Any]  # what the command line put in place of the file's values, by dotted key
    advice: Advice
    pins: PinsAt  # at the setting found, the highest of the seeds
    lead: Lead  # the setting found over the first of the grounds, and where the stretch lies that is shown
    cells: Mapping[tuple[int, int], Crossed]  # the stretch at every setting, by (pressure, speed)


def make_report(
    scenario: Scenario,
    workers: int | None = None,
    meter: Callable[[str], Meter] | None = None,
    changes: Mapping[str, Any] | None = None,
) -> Report:
    """Search the window, find the pick and what stands beside it, cross the stretch → Report."""

    def told(what: str) -> Progress | None:
        return None if meter is None else meter(what)

    window = search(scenario, workers=workers, progress=told("crossings"))
    advice = advise(scenario, window, workers, told("how sure: sets and changes"))
    found = advice.outcome
    lead = lead_of(scenario, window, found)
    pins = pins_at(scenario, window.seeds, found, workers, lead.loads)
    cells = cross_stretch(scenario, window, (found.i, found.j), lead, workers, told("stretch on the page"))
    return Report(scenario, dict(changes or {}), advice, pins, lead, cells)
