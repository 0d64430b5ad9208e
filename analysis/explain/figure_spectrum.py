"""The ground's roughness by wave length, against the classes of ISO 8608."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import NDArray

from analysis.explain.explain import Explanation
from analysis.explain.figure_words import settings_line
from analysis.explain.spectrum import HIGH, LOW, N0, class_of, fitted, has_class
from analysis.present.figure_keys import foot_key
from analysis.present.figure_style import BLACK, BLUE, GREY, blank, headline, style
from scenarios.ground.spec_ground import CLASS_A_MEAN, ROUGHNESS_CLASSES


def spectrum_figure(told: Explanation, bands: tuple[NDArray[np.float64], NDArray[np.float64]]) -> Figure:
    """Density of the ground over spatial frequency over the classes' means; bands: as from `spectrum`."""
    n, density = bands
    fit, like = fitted(n, density), has_class(n, density)
    with style():
        figure = blank(5.2)
        headline(
            figure,
            _finding(fit, like) if n.size else "The ground is flat: there is no roughness to show",
            settings_line(told),
            "Grey lines: borders between classes of ISO 8608, slope −2 (values seen in public code). Measured over "
            f"{LOW:g} to {HIGH:g} cycles a metre. A class is told only of ground that keeps to that slope, as random "
            "ground does.",
        )
        axes = figure.add_subplot()
        line = np.array([0.02, max(20.0, float(n.max(initial=0.0)))])
        for i, letter in enumerate(ROUGHNESS_CLASSES):
            mean = CLASS_A_MEAN * 4.0**i * (line / N0) ** -2.0
            axes.loglog(line, 2.0 * mean, color=GREY, linewidth=0.8)
            axes.text(line[1] * 0.92, mean[1] * 0.85, letter, ha="right", va="center", fontsize=9.5, color=GREY,
                      bbox={"facecolor": "white", "linewidth": 0.0, "pad": 0.3})  # fmt: skip
        axes.loglog(n, density, color=BLUE, linewidth=2.0, marker="o", markersize=3.5, label="this ground")
        if np.isfinite(fit) and like:
            axes.loglog([LOW, HIGH], fit * (np.array([LOW, HIGH]) / N0) ** -2.0, color=BLACK, linestyle="--",
                        label=f"slope −2 through it: Gd(0.1) = {_three(fit * 1e6)}·10⁻⁶ m³")  # fmt: skip
        low, high = CLASS_A_MEAN * 0.1 * (line[1] / N0) ** -2.0, CLASS_A_MEAN * 4.0**7 * 2.0 * (0.04 / N0) ** -2.0
        axes.set_ylim(low, max(high, 2.0 * float(density.max(initial=0.0))))
        axes.set_xlim(max(0.02, 0.8 * float(n.min())) if n.size else 0.02, line[1])
        axes.set_xlabel("spatial frequency [cycles/m]")
        axes.set_ylabel("displacement density, one-sided [m³]")
        top = axes.secondary_xaxis("top", functions=(_turned, _turned))
        top.set_xlabel("wave length [m]")
        for axis in (axes.xaxis, top.xaxis):
            axis.set_major_formatter("{x:g}")
        foot_key(figure, axes.get_legend_handles_labels()[0])
    return figure


def _three(value: float) -> str:
    """A number with three figures and no exponent."""
    return f"{float(f'{value:.3g}'):.10g}"


def _turned(value: Any) -> Any:
    """Wave length from frequency and back; 0 stays out of the way."""
    return 1.0 / np.maximum(np.asarray(value, dtype=np.float64), 1e-9)


def _finding(fit: float, like: bool) -> str:
    if not np.isfinite(fit):
        return "The ground is too short for a roughness class"
    if not like:
        return "No roughness class: this ground does not fall off as random roughness does"
    if fit < CLASS_A_MEAN / 50.0:
        return "The ground is far smoother than class A of ISO 8608"
    if fit > 2.0 * CLASS_A_MEAN * 4.0**7:
        return "The ground is rougher than class H of ISO 8608"
    return f"As rough as class {class_of(fit)} of ISO 8608"
