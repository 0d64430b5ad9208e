"""Pressure and wear in bushes: worked examples, and the life of main pins by common practice."""

from __future__ import annotations

from dataclasses import replace

from analysis.pins.bush.pressure import edge_pressure, mean_pressure
from analysis.pins.wear.law import time_to_wear
from analysis.pins.wear.life import PRACTICE, pin_lives
from analysis.pins.wear.stretch import stretch_of
from scenarios.load import load
from sim.run import simulate

INCH, POUND_FORCE, FOOT = 0.0254, 4.4482216152605, 0.3048  # exact
EXAMPLE = {"source": "linear pressure along a bush, partial contact beyond F L/6", "status": "derived"}


def test_pressure_of_the_worked_example(published):
    """2 kN and 10 N m on a bush of 20 × 25 mm."""
    published("bush of 20 × 25 mm under 2 kN: pressure on projected area", value=4.0,
              ours=mean_pressure(2000.0, 0.020, 0.025) / 1e6, unit="MPa", rel=1e-12, **EXAMPLE)  # fmt: skip
    published("its edge pressure with a couple of 10 N m", value=8.89,
              ours=edge_pressure(2000.0, 10.0, 0.020, 0.025) / 1e6, unit="MPa", rel=1e-3, **EXAMPLE)  # fmt: skip


def test_wear_of_the_worked_example(published):
    """D = L = 1 in, 700 lbf, 33 ft/min, 0.005 in, K = 0.6e-10 in³·min/(lbf·ft·h), f1 1.3, f2 1.0."""
    factor = 0.6e-10 * 1.3 * INCH**3 * 60.0 / (POUND_FORCE * FOOT * 3600.0)
    hours = time_to_wear(factor, 700.0 * POUND_FORCE, INCH, INCH, 33.0 * FOOT / 60.0, 0.005 * INCH) / 3600.0
    published("self-lubricating bush, 1 in, 700 lbf, 33 ft/min: time to 0.005 in of wear", value=2180.0, ours=hours,
              unit="h", rel=1e-3, source="Shigley's Mechanical Engineering Design, ch. 12, worked example",
              status="memory (high)")  # fmt: skip


def test_life_of_main_pins_beside_common_practice(published):
    """Nothing is fitted to it: the range is that of the assumed wear factors and of who takes the couples."""
    scenario = load("rough")
    field = replace(scenario, x_to=scenario.x_from + 100.0)
    lives = pin_lives(stretch_of(simulate(field.unit, field.soil, field.track(), field.settings)), field.machine.width)
    low, high = lives.first_main.years or (0.0, 0.0)
    published.readings(
        "life of the demo unit's main pin that wears out first, 250 ha a year for each metre of width",
        source="well-built, greased main pins on a broadacre farm", status="common practice", low=PRACTICE[0],
        high=PRACTICE[1], ours={"highest wear factor": low, "lowest": high}, unit="years", verdict="in part",
        why="wear factors are assumed and spread over a factor of ten and more; the range holds the practice",
    )  # fmt: skip
