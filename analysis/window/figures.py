"""The figure of a window: by chance where values were fitted, else by share on depth."""

from __future__ import annotations

from matplotlib.figure import Figure

from analysis.window.advice import Advice
from analysis.window.doubt.figure_chance import chance_figure
from analysis.window.figure import window_figure
from scenarios.scenario import Scenario


def advice_figure(advice: Advice, scenario: Scenario) -> Figure:
    """The map on which the pick stands out: by what it was picked."""
    if advice.doubt is not None and advice.doubt.decides:
        return chance_figure(advice.window, advice.doubt, scenario)
    return window_figure(advice.window, advice.outcome, scenario)
