"""Regular waves: a plain sine, and old ridges that the row crosses at an angle."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from scenarios.format.described import needed
from scenarios.format.errors import fault
from scenarios.ground.curves import Values, blend
from scenarios.ground.feature import Stretch, Surface, begin, crossing_angle, finish


@dataclass(frozen=True, kw_only=True)
class Sine(Surface):
    """Regular waves, amplitude·sin(2π(x − start)/wavelength), faded over half a wave where they start and end."""

    kind: ClassVar[str] = "sine"
    amplitude: float = needed("m", 0.0005, 1.0, "half the height from trough to crest", edge="mm", example=0.03)
    wavelength: float = needed("m", 0.05, 200.0, "length of one wave", example=2.0)
    start: float | None = begin("they start")
    end: float | None = finish("they end")

    def heights(self, x: Values, seed: int, number: int) -> Values:
        return self.amplitude * np.sin(_phase(self, x)) * _fade(self, x)

    def faults(self, where: str, stretch: Stretch) -> Iterator[str]:
        return _room_faults(self, where, stretch)


@dataclass(frozen=True, kw_only=True)
class Ridges(Surface):
    """Old ridges, height/2·cos(2π(x − start)·sin(angle)/spacing): the row meets waves of spacing/sin(angle)."""

    kind: ClassVar[str] = "ridges"
    spacing: float = needed("m", 0.1, 20.0, "distance from ridge to ridge, square to them", example=0.9)
    height: float = needed("m", 0.002, 0.5, "height from furrow to ridge", edge="mm", example=0.05)
    angle: float = crossing_angle("angle between the ridges and the direction of travel; 90: crossed square")
    start: float | None = begin("they start")
    end: float | None = finish("they end")

    @property
    def wavelength(self) -> float:
        """Length of the waves that the row meets [m]."""
        return self.spacing / math.sin(self.angle)

    def heights(self, x: Values, seed: int, number: int) -> Values:
        return 0.5 * self.height * np.cos(_phase(self, x)) * _fade(self, x)

    def faults(self, where: str, stretch: Stretch) -> Iterator[str]:
        return _room_faults(self, where, stretch)


def _phase(waves: Sine | Ridges, x: Values) -> Values:
    """Phase of regular waves [rad], from their start, or from distance 0 where they have none."""
    start = 0.0 if waves.start is None else waves.start
    return 2.0 * np.pi * (x - start) / waves.wavelength


def _fade(waves: Sine | Ridges, x: Values) -> Values:
    """Waves fade in and out over half a wave inside their ends, where they have ends: their share, 0 to 1."""
    share = np.ones(x.size)
    if waves.start is not None:
        share = share * blend((x - waves.start) / (0.5 * waves.wavelength))
    if waves.end is not None:
        share = share * blend((waves.end - x) / (0.5 * waves.wavelength))
    return share


def _room_faults(waves: Sine | Ridges, where: str, stretch: Stretch) -> Iterator[str]:
    """Ends so near each other that no wave fits between them."""
    start = stretch[0] if waves.start is None else waves.start
    end = stretch[1] if waves.end is None else waves.end
    if end - start < waves.wavelength:
        given, allowed = f"waves from {start:g} to {end:g} m", f"room for one wave, {waves.wavelength:.4g} m"
        yield fault(f"{where}.end_m", given, allowed, "a later end_m or an earlier start_m")
