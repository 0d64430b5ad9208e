"""Pin loads along the ground: the span that each pin's load goes through, the highest first."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from analysis.crossing.loads import pin_loads
from analysis.explain.explain import Explanation, shown_stretch
from analysis.explain.figure_words import settings_line
from analysis.explain.parts import along
from analysis.present.cautions import LOADS_NOTE
from analysis.present.figure_style import BLACK, BLUE, GREEN, GREY, ORANGE, PURPLE, VERMILION, blank, headline, style
from analysis.present.sentences import spoken
from analysis.present.texts import number
from sim.record import PINS

SHOWN = 5  # pins drawn along the ground: the most loaded one of each part
_LOOKS = ((BLACK, "-"), (VERMILION, "-"), (BLUE, (0, (5, 1.5))), (GREEN, (0, (1, 1))), (PURPLE, (0, (4, 1.5, 1, 1.5))))
POINTS = 2500


def pins_figure(told: Explanation) -> Figure:
    """The most loaded pins over the stretch shown, and peak against root mean square of all of them."""
    run = told.run
    loads = pin_loads(run)
    ranked = sorted(PINS, key=lambda name: -loads[name].peak)
    worst = ranked[0]
    x = along(run)
    first, last = shown_stretch(told)
    inside = np.flatnonzero((x >= first) & (x <= last))
    keep = inside[:: max(1, inside.size // POINTS)]
    with style():
        figure = blank(7.4)
        headline(
            figure,
            f"Most loaded pin: {spoken(worst)}, up to {number(loads[worst].peak / 1e3)} kN",
            settings_line(told),
            LOADS_NOTE,
        )
        upper, lower = figure.subplots(2, 1, gridspec_kw={"height_ratios": [1.2, 1.5]})
        for name, (colour, dashes) in zip(_one_of_each(ranked)[:SHOWN], _LOOKS, strict=False):
            load = run.pin_load(name)[keep] / 1e3
            upper.plot(x[keep], load, color=colour, linestyle=dashes, linewidth=1.1, label=spoken(name))
        upper.set_xlim(first, last)
        upper.set_ylim(bottom=0.0)
        upper.set_xlabel("distance along the track [m]")
        upper.set_ylabel("pin load [kN]")
        upper.legend(ncols=2, loc="lower center", bbox_to_anchor=(0.5, 1.0), handlelength=2.6)
        place = np.arange(len(PINS))[::-1]
        lower.barh(place, [loads[n].peak / 1e3 for n in ranked], color=ORANGE, label="peak of the whole crossing")
        lower.barh(place, [loads[n].rms / 1e3 for n in ranked], height=0.45, color=BLUE, label="root mean square")
        for at, name in zip(place, ranked, strict=True):
            lower.text(loads[name].peak / 1e3, at, f" {number(loads[name].peak / 1e3)}", va="center", fontsize=9,
                       color=GREY)  # fmt: skip
        lower.set_yticks(place, [spoken(name) for name in ranked], fontsize=9)
        lower.set_xlabel("pin load [kN]")
        lower.margins(x=0.1, y=0.01)
        lower.legend(loc="lower right")
    return figure


def _one_of_each(ranked: list[str]) -> list[str]:
    """The most loaded pin of each part: both ends of a bar carry nearly the same."""
    first: dict[str, str] = {}
    for name in ranked:
        first.setdefault(name.removesuffix("_front").removesuffix("_rear").removesuffix("_frame").removesuffix("_arm"),
                         name)  # fmt: skip
    return list(first.values())
