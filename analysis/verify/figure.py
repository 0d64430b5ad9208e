"""Checks of the numbers as a picture: every value as a share of its bound."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.present.figure_style import BLACK, BLUE, GREY, VERMILION, blank, fold, headline, style
from analysis.verify.checks import Check, VerifyResult

LEAST, MOST = 1e-6, 10.0  # shares of a bound that are told apart


def verify_figure(result: VerifyResult) -> Figure:
    """One bar for each check, on a logarithmic scale that ends in the bound; beyond it a check has failed."""
    failed = [check for check in result.checks if not check.passed]
    count = len(result.checks)
    finding = f"All {count} checks of the numbers passed" if not failed else f"{len(failed)} of {count} checks failed"
    with style():
        figure = blank(1.7 + 0.46 * count)
        headline(
            figure,
            finding,
            f"“{result.title}”, default step {result.step * 1e3:.2f} ms. Bars: value as a share of what is allowed.",
            "Second engine: the same unit as loose bodies in a general rigid-body engine. Bounds: this project's own.",
        )
        axes = figure.add_subplot()
        for row, check in enumerate(result.checks):
            _bar(axes, count - 1 - row, check)
        axes.axvline(1.0, color=BLACK, linewidth=1.6)
        axes.set_xscale("log")
        axes.set_xlim(LEAST, MOST)
        axes.set_ylim(-0.5, count - 0.5)
        axes.set_xlabel("share of the bound (line at 1: bound)")
        names = [fold(figure, check.what, 2.3, 9.0, "normal") for check in reversed(result.checks)]
        axes.set_yticks(range(count), names, fontsize=9.0)
        axes.tick_params(axis="y", length=0)
    return figure


def share_of_bound(check: Check) -> float | None:
    """Value over bound (bound over value where at least the bound is asked for); None where there is no value."""
    if check.value is None:
        return None
    return check.bound / max(check.value, 1e-300) if check.least else check.value / check.bound


def _bar(axes: Axes, place: int, check: Check) -> None:
    share = share_of_bound(check)
    if share is None:
        axes.text(LEAST * 1.3, place, "too small to tell", va="center", fontsize=9.0, color=GREY)
        return
    length = min(max(share, LEAST * 1.5), MOST)
    colour = BLUE if check.passed else VERMILION
    axes.barh(place, length - LEAST, left=LEAST, height=0.42, color=colour, hatch=None if check.passed else "///",
              edgecolor="white", linewidth=0.0)  # fmt: skip
    text = f"{check.value:.2g} {check.unit}".strip() + ("" if check.passed else "  FAILED")
    inside = length > 1e-2
    axes.text(length * (0.8 if inside else 1.25), place, text, va="center", ha="right" if inside else "left",
              fontsize=9.0, color="white" if inside else BLACK)  # fmt: skip
