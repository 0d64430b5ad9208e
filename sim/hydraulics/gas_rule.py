"""The rule that a nitrogen precharge has to keep between the working pressures of the gas: its numbers alone.

Common practice (no standard was at hand; the vessel's own plate and papers come first):
· precharge at most `share` of the lowest working pressure, hot gas, so that the gas never pushes its separator against
  the end
· highest working pressure at most `squeeze` times the precharge, cold gas, so that a bladder is not pressed too small
  (value from memory; other separators stand more)
All ratios are of absolute pressures at one temperature. `sim.hydraulics.working` holds settings against it.
"""

from __future__ import annotations

from dataclasses import dataclass

from sim.unit import KELVIN

COLD, HOT = 0.0 + KELVIN, 35.0 + KELVIN  # gas on a cold morning and on a hot afternoon [K] (assumed)
SHARE, SQUEEZE = 0.9, 4.0
MOST = 100.0  # a ratio is told up to here: more, and gas beyond its law, count as this much


@dataclass(frozen=True)
class GasRule:
    """What is asked of a precharge; gas temperatures [K]."""

    share: float = SHARE  # most precharge over the lowest working pressure
    squeeze: float = SQUEEZE  # most highest working pressure over the precharge
    cold: float = COLD
    hot: float = HOT
