"""Load spectra of pins: how often on a hectare the load goes up and down again by how much."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import Figure

from analysis.pins.duty.worst import PinSpectrum
from analysis.present.cautions import LOADS_NOTE
from analysis.present.figure_style import BLACK, BLUE, GREEN, GREY, ORANGE, PURPLE, VERMILION, blank, headline, style
from analysis.present.sentences import capital, spoken

LOOKS = (
    (BLACK, "-"), (VERMILION, (0, (6, 1.5))), (BLUE, (0, (3, 1.2))), (GREEN, (0, (1, 1))),
    (PURPLE, (0, (6, 1.5, 1, 1.5))), (ORANGE, (0, (6, 1.2, 1, 1.2, 1, 1.2))),
)  # fmt: skip
LEAST_SHOWN = 0.01  # of the largest range
_RAISED = dict(zip("0123456789.", "⁰¹²³⁴⁵⁶⁷⁸⁹˙", strict=True))


def spectrum_figure(shown: Sequence[PinSpectrum], travel: float, slope: float, under: str) -> Figure:
    """Spectra of one to six pins, the most damaged first (`spectra`).

    travel: of each row on a hectare [m] (`duty.travel_per_hectare`); slope: m of the damage n·R^m; under: the settings
    it holds for. Raises ValueError without a pin whose load changes, or with more than six.
    """
    told = [one for one in shown if one.spectrum.ranges.size]
    if not told or len(told) > len(LOOKS):
        raise ValueError(f"{len(told)} pins with a load that changes given; 1 to {len(LOOKS)} can be drawn")
    with style():
        figure = blank(5.2)
        headline(figure, finding(told[0], travel), under, note(slope))
        axes = figure.add_subplot()
        for one, (colour, dashes) in zip(told, LOOKS, strict=False):
            often, ranges = one.spectrum.per_metre * travel, one.spectrum.ranges / 1e3
            axes.plot(often, ranges, color=colour, linestyle=dashes, linewidth=1.7, label=spoken(one.pin))
            axes.plot(one.half_per_metre * travel, one.half / 1e3, "o", color=colour, markersize=7, zorder=4)
            axes.plot(travel, one.worst.equivalent / 1e3, "D", markerfacecolor="white", markeredgecolor=colour,
                      markersize=6, zorder=4)  # fmt: skip
        axes.set_xscale("log")
        axes.set_yscale("log")
        top = max(float(one.spectrum.ranges[0]) for one in told) / 1e3
        axes.set_ylim(LEAST_SHOWN * top, 1.5 * top)
        axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
        axes.xaxis.set_major_formatter(lambda value, _: f"{value:,.10g}".replace(",", " "))
        axes.grid(True, which="major", color="#DDDDDD", linewidth=0.7)
        axes.set_xlabel("times on a hectare that a row's pin goes through this range or more")
        axes.set_ylabel("range of the load, low to high [kN]")
        axes.axvline(travel, color=GREY, linewidth=0.8, zorder=1)
        axes.text(travel, 1.4 * top, " once a metre", color=GREY, fontsize=9.5, va="top")
        axes.legend(ncols=2, loc="lower center", bbox_to_anchor=(0.5, 1.0), handlelength=3.4)
    return figure


def finding(one: PinSpectrum, travel: float) -> str:
    """What a pin's spectrum says."""
    return (
        f"{capital(spoken(one.pin))}: half of the damage comes from loads that change by "
        f"{one.half / 1e3:.2g} kN or more, {often(one.half_per_metre * travel)} on a hectare"
    )


def often(times: float) -> str:
    """How often, in two figures.

    >>> often(1234.0), often(0.4), often(7.1)
    ('some 1200 times', 'less than once', 'some 7 times')
    """
    if times < 1.0:
        return "less than once"
    return f"some {float(f'{times:.2g}'):.0f} times"


def note(slope: float) -> str:
    """What the marks mean."""
    power = "".join(_RAISED.get(sign, sign) for sign in f"{slope:g}")
    return (
        "Component of the load in the direction that does most damage, in the part's own axes; cycles by rainflow "
        f"counting, damage n·R{power}. Dot: half of the damage is done by larger ranges. Diamond: the one range "
        f"that does the same damage once a metre. {LOADS_NOTE}"
    )
