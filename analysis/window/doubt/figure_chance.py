"""The window by chance: a map of the chance that all limits are met, over speed and oil pressure."""

from __future__ import annotations

from matplotlib.figure import Figure

from analysis.present.figure_keys import foot_key
from analysis.present.figure_style import blank, headline, style
from analysis.present.sentences import DRAWN, setting
from analysis.present.texts import percent, plural
from analysis.window.doubt.pick import Doubt
from analysis.window.figure_map import (
    Shown,
    coloured,
    hatched,
    mark_choice,
    present_setting,
    settings_line,
    ticks,
)
from analysis.window.grid import Window
from analysis.window.pick import Nearest, Pick
from analysis.window.sentences import asked_chance, depth_words
from analysis.window.sentences import headline as headline_words
from scenarios.scenario import Scenario

DARK = 0.55  # chances below this have white numbers


def chance_figure(window: Window, doubt: Doubt, scenario: Scenario) -> Figure:
    """Map of a window under doubt: one cell for each pressure and speed, numbers the chance in per cent; a cell that
    was not looked at is left white.
    """
    share, found = doubt.chance.grid, doubt.outcome
    shown = Shown(share * 100.0, "chance that all limits are met, %", "cividis", 0.0, 100.0, share < DARK)
    with style():
        figure = blank(2.6 + min(max(0.42 * window.pressures.size, 1.6), 5.0))
        headline(figure, _finding(doubt, found), settings_line(window, scenario), _note(doubt))
        axes = figure.add_subplot()
        coloured(axes, shown)
        less = f"less than {asked_chance(doubt.confidence)}"
        handles = [hatched(axes, share < doubt.confidence - 1e-9, shown, less)]
        mark_choice(axes, found, isinstance(found, Pick), handles)
        present_setting(axes, window, scenario, handles)
        ticks(axes, window)
        foot_key(figure, handles)
    return figure


def _finding(doubt: Doubt, found: Pick | Nearest) -> str:
    place = f"{setting(found.oil_pressure, found.speed, DRAWN, ', ')}, {depth_words(found.set_depth)}"
    said = headline_words(found, place)
    if isinstance(found, Nearest):
        return said
    share = percent(float(doubt.chance.grid[found.i, found.j]), 0)
    if not doubt.decides:
        return f"{said}: as far as values are in doubt, a chance of {share} that all limits are met"
    return f"{said}: the fastest tried with a chance of {asked_chance(doubt.confidence)}; here {share}"


def _note(doubt: Doubt) -> str:
    held = doubt.chance.held
    what = "as far as readings left them" if doubt.decides else "as assumed ([prior])"
    white = "" if doubt.chance.looked.all() else " White: not looked at."
    return (
        f"{plural(len(held.names), 'value')} in doubt {what}; numbers: share of {plural(doubt.chance.sets, 'set')} of "
        f"values with which all limits are met on every ground.{white}"
    )
