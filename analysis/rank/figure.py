"""A ranking drawn: bars of total shares with their intervals, coloured and hatched by group, the strongest on top."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from analysis.present.figure_keys import foot_key
from analysis.present.figure_style import BLACK, BLUE, GREEN, GREY, ORANGE, PURPLE, SKY, blank, headline, style
from analysis.present.sentences import DRAWN, capital, joined, numbered, setting
from analysis.present.texts import percent
from analysis.rank.crossed import RANKED
from analysis.rank.rank import Ranking
from analysis.rank.words import LITTLE, effect_words, leaders, signed_two, spoken_key

SHOWN = 12
LOOKS = {"unit": (BLUE, ""), "gas": (PURPLE, "xx"), "tyres": (GREEN, ".."), "soil and ground": (ORANGE, "//"),
         "settings": (SKY, "--")}  # fmt: skip


def rank_figure(found: Ranking, title: str) -> Figure:
    """Bars of the values that matter; behind each what it does from the low end of its range to the high end."""
    high = found.shares.total.high[:, found.by]
    shown = [i for i in found.order if high[i] >= LITTLE][:SHOWN]
    with style():
        figure = blank(2.6 + 0.52 * max(len(shown), 2))
        headline(figure, _finding(found, shown), _settings(found, title), _note(found, len(shown)))
        axes = figure.add_subplot()
        foot_key(figure, _bars(found, shown, axes), 3)
    return figure


def _bars(found: Ranking, shown: list[int], axes: Axes) -> list[Patch]:
    """The bars with their words → what their colours mean."""
    value, low, high = (np.clip(part[shown, found.by] * 100.0, 0.0, 100.0) for part in found.shares.total)
    by = RANKED[found.by]
    at = np.arange(len(shown))[::-1]
    for k, i in enumerate(shown):
        knob = found.varied.knobs[i]
        colour, hatch = LOOKS[knob.group]
        axes.barh(at[k] - 0.16, value[k], 0.42, color=colour, hatch=hatch, edgecolor="white", linewidth=0.0)
        axes.hlines(at[k] - 0.16, low[k], high[k], color=BLACK, linewidth=1.4)
        axes.vlines([low[k], high[k]], at[k] - 0.24, at[k] - 0.08, color=BLACK, linewidth=1.4)
        moved = signed_two(float(found.shares.effect.value[i, found.by]) * by.factor)
        axes.text(
            0.0, at[k] + 0.12, f"{spoken_key(knob)}: {moved} {by.unit} from low to high", fontsize=9.5, va="bottom"
        )
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.set_xlim(0.0, 100.0)
    axes.set_ylim(-0.6, len(shown) - 0.45 if len(shown) else 1.0)
    axes.set_xlabel(f"share of the variance of the {by.words}, with combinations [%]; line: 95 %")
    groups = dict.fromkeys(found.varied.knobs[i].group for i in shown)
    handles = [Patch(facecolor=LOOKS[name][0], hatch=LOOKS[name][1], edgecolor="white", label=name) for name in groups]
    if not handles:
        axes.text(0.5, 0.5, "nothing that was varied moves it", ha="center", transform=axes.transAxes, color=GREY)
    return handles


def _finding(found: Ranking, shown: list[int]) -> str:
    by = RANKED[found.by]
    if not shown:
        return f"Nothing that was varied moves the {by.words}"
    lead = leaders(found, found.order)
    names = capital(joined([spoken_key(found.varied.knobs[i]) for i in lead]))
    if len(lead) > 1:
        return f"{names} move the {by.words} most"
    return f"{names} moves the {by.words} most: {effect_words(found, lead[0])}"


def _settings(found: Ranking, title: str) -> str:
    s = found.scenario.settings
    ranges = "as far as values are in doubt" if found.share is None else f"each value ±{found.share * 100:g} %"
    return (
        f"“{title}”, {setting(s.oil_pressure, s.speed, DRAWN, ', ')}, depth set again for each set; "
        f"{numbered('ground', found.seeds)}, the same for all; {ranges}."
    )


def _note(found: Ranking, shown: int) -> str:
    mean = found.shares.mean[found.by]
    by = RANKED[found.by]
    told = percent(float(mean)) if by.unit == "points" else f"{float(mean) * by.factor:.3g} {by.unit}"
    left = len(found.varied.knobs) - shown + len(found.small) + len(found.still)
    more = f" {left} more values matter less or not." if left else ""
    return f"{capital(by.words)} in the mean of all sets: {told}.{more} Another ground may rank otherwise."
