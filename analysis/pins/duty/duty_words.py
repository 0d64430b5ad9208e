"""Sentences on what a stretch of row does to a pin in plane."""

from __future__ import annotations

import math

from analysis.pins.duty.duty import SMOOTH, WELDED, Duty
from analysis.pins.duty.strikes import MOST
from analysis.present.sentences import sentence, spoken
from analysis.present.texts import number

STEEL = {WELDED: "welded steel", SMOOTH: "steel without welds"}


def cycles_sentence(told: Duty, travel: float) -> str:
    """Load cycles of a pin; travel: of each row on a hectare [m] (`duty.travel_per_hectare`)."""
    steel = f"{STEEL[told.slope]}, slope {told.slope:g}" if told.slope in STEEL else f"slope {told.slope:g}"
    if told.equivalent == 0.0:
        return sentence(f"{spoken(told.name)}: the load does not change")
    return sentence(
        f"{spoken(told.name)}: its load cycles do the damage of one of {number(told.equivalent / 1e3, 2)} kN (low to "
        f"high) every metre of row ({steel}); {figures(told.cycles_per_m * travel)} cycles on a hectare"
    )


def sliding_sentence(told: Duty, travel: float, diameter: float | None = None) -> str:
    """How far the parts of a pin turn against each other on a hectare, and slide at a diameter [m]."""
    if told.sliding == 0.0:
        return sentence(
            f"{spoken(told.name)}: its parts do not turn against each other while the unit works, so nothing slides; "
            "play and shocks can still fret it"
        )
    angle = told.sliding * travel
    turns = (
        f"{spoken(told.name)}: its parts turn {figures(angle / (2.0 * math.pi))} whole turns to and fro on a hectare"
    )
    return sentence(turns if diameter is None else f"{turns}, {figures(0.5 * diameter * angle)} m of sliding")


def figures(value: float) -> str:
    """A number in two figures, never with an exponent.

    >>> figures(41234.0), figures(9512.0), figures(12.34), figures(0.0456)
    ('41 000', '9500', '12', '0.046')
    """
    if value < 10.0:
        return f"{value:.2g}"
    whole = float(f"{value:.2g}")
    return f"{whole:,.0f}".replace(",", " ") if whole >= 1e4 else f"{whole:.0f}"


def struck_words(pin: str) -> str:
    """A pin that stones strike, or whichever bears most (`strikes.MOST`).

    >>> struck_words("press_arm"), struck_words(MOST)
    ('the press arm pin', 'the most loaded pin')
    """
    return "the most loaded pin" if pin == MOST else f"the {spoken(pin)} pin"
