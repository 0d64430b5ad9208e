"""Every figure of one crossing, each able to stand alone, by name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from analysis.crossing.figure_crossing import crossing_figure
from analysis.crossing.summary import run_summary
from analysis.explain.explain import Explanation
from analysis.explain.figure_causes import causes_figure
from analysis.explain.figure_drift import drift_figure
from analysis.explain.figure_gas import gas_figure
from analysis.explain.figure_histograms import depth_figure, gauge_load_figure
from analysis.explain.figure_names import NAMES
from analysis.explain.figure_pins import pins_figure
from analysis.explain.figure_spectrum import spectrum_figure
from analysis.explain.gas_loop import gas_loop
from analysis.explain.spectrum import spectrum
from analysis.explain.swing import swing
from analysis.present.figure_style import save
from analysis.present.scenario_words import scenario_title

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Writer = Callable[[Path], object]


def figure_makers(told: Explanation) -> dict[str, Callable[[], Figure]]:
    """Every figure by name (those of NAMES), made when called."""
    scenario, run = told.scenario, told.run
    tolerance = scenario.limits.depth_tolerance

    def crossing() -> Figure:
        return crossing_figure(run, run_summary(run, scenario), tolerance, scenario_title(scenario))

    return {
        "crossing": crossing,
        "causes": lambda: causes_figure(told),
        "gauge_load": lambda: gauge_load_figure(told),
        "depth": lambda: depth_figure(told),
        "pins": lambda: pins_figure(told),
        "gas": lambda: gas_figure(told, gas_loop(run)),
        "drift": lambda: drift_figure(told, swing(run)),
        "spectrum": lambda: spectrum_figure(told, spectrum(run.track)),
    }


def all_figures(told: Explanation) -> list[tuple[str, Writer]]:
    """(name, writer of a picture file), made only when written."""
    makers = figure_makers(told)
    return [(name, lambda path, make=makers[name]: save(make(), path)) for name in NAMES]  # type: ignore[misc]
