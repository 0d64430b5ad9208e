"""What the bushes of every pin bear over a crossing: load, pressure, sliding, stress of the pin."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.pins.bush.beside import pin_force
from analysis.pins.bush.bush_loop import N_SUMS, PEAK, SIZE, SQUARE, WORN, reduce_pin
from analysis.pins.bush.couples import Couples, couples
from analysis.pins.bush.pressure import edge_pressure, mean_pressure, pin_stress
from analysis.pins.duty.rotation import relative_rates
from sim.bushes import Pin
from sim.record import PINS, Run

SIDES = ("left", "right")


@dataclass(frozen=True)
class BushDuty:
    """One pin's bushes over a crossing. Loads and pressures are those of the worse bush, which has most to slide under.

    couple_part: what the couple adds on one bush and takes off the other, mean size; in_plane: half the pin's load (all
    of it on a single bush), mean size.
    """

    name: str
    pin: Pin
    side: str  # "left" or "right" of the machine; "" where there is one bush alone
    pin_peak: float  # size of the pin's reaction [N]
    peak: float  # [N]
    rms: float  # [N]
    mean: float  # [N]
    in_plane: float  # [N]
    couple_part: float  # [N]
    worn: float  # ∫ F |dθ| of that bush per travel [N rad/m]
    sliding: float  # |dθ| per travel [rad/m]
    rate_mean: float  # |turning rate|, mean [rad/s]
    rate_rms: float  # [rad/s]
    stress: float  # of the pin at its worst instant [Pa]
    edge: float  # highest pressure along a single bush with a couple; else peak pressure [Pa]

    @property
    def pressure_peak(self) -> float:
        """On projected area [Pa]."""
        return float(mean_pressure(self.peak, self.pin.diameter, self.pin.length))

    @property
    def pressure_rms(self) -> float:
        """On projected area [Pa]."""
        return float(mean_pressure(self.rms, self.pin.diameter, self.pin.length))

    @property
    def pressure_mean(self) -> float:
        """On projected area [Pa]."""
        return float(mean_pressure(self.mean, self.pin.diameter, self.pin.length))

    @property
    def velocity(self) -> float:
        """Sliding speed in the bush, root mean square [m/s]."""
        return 0.5 * self.pin.diameter * self.rate_rms

    def pressure_velocity(self, speed: float) -> float:
        """Mean of pressure × sliding speed [W/m²] at a travel speed [m/s]."""
        return 0.5 * self.worn * speed / self.pin.length


def bush_loads(run: Run, found: Couples, name: str) -> NDArray[np.float64]:
    """Loads (bushes, 2, n) on the bushes of a pin as vectors [N]: F/2 ± couple/span, the left bush first."""
    pin, force = run.unit.pins.of(name), pin_force(run, name)
    if pin.bushes == 1:
        return force[None]
    couple = found.couple.get(name, np.zeros_like(force))
    more = np.stack([-couple[1], couple[0]]) / pin.span  # about x: y·Fz, about z: −y·Fx, with y = ± span/2
    return np.stack([0.5 * force + more, 0.5 * force - more])


def bush_duties(
    run: Run,
    names: Sequence[str] = PINS,
    *,
    upper_share: float | None = None,
    pins: dict[str, Pin] | None = None,
) -> tuple[BushDuty, ...]:
    """Bushes of the pins named, in that order. pins: in place of the unit's own, by name.

    On a side slope (`unit.pins.side_slope`) whichever side is down, each pin where it is worse.
    """
    slope = run.unit.pins.side_slope
    rates = relative_rates(run)
    found = [couples(run, upper_share, angle) for angle in ((slope, -slope) if slope else (0.0,))]
    told = []
    for name in names:
        pin = (pins or {}).get(name) or run.unit.pins.of(name)
        rate = np.ascontiguousarray(rates[:, PINS.index(name)])
        told.append(max((_duty(run, one, name, pin, rate) for one in found), key=lambda duty: duty.worn))
    return tuple(told)


def _duty(run: Run, found: Couples, name: str, pin: Pin, rate: NDArray[np.float64]) -> BushDuty:
    couple, n, speed = found.couple.get(name), rate.size, run.settings.speed
    sums, shared = np.zeros((3, N_SUMS)), np.zeros(4)
    reduce_pin(
        run.pins.reshape(-1), PINS.index(name), len(PINS), np.zeros((2, 0)) if couple is None else couple,
        1.0 / pin.span if pin.bushes > 1 else 0.0, pin.bushes, rate, np.empty((3, n)), sums, shared,
    )  # fmt: skip
    bushes = sums[: pin.bushes]
    worse, at = int(bushes[:, WORN].argmax()), int(shared[3])
    load = bushes[worse]
    peak = math.sqrt(float(bushes[:, PEAK].max()))
    turn = 0.0 if couple is None else float(np.hypot(*couple[:, at]))
    size = float(np.hypot(*run.pins[at, PINS.index(name)]))
    edge = float(mean_pressure(peak, pin.diameter, pin.length))
    if pin.bushes == 1 and couple is not None:
        edge = _edge(run, name, couple, pin)
    return BushDuty(
        name=name, pin=pin, side=SIDES[worse] if pin.bushes > 1 and couple is not None else "",
        pin_peak=math.sqrt(float(sums[2, PEAK])), peak=peak, rms=math.sqrt(float(load[SQUARE]) / n),
        mean=float(load[SIZE]) / n, in_plane=float(sums[2, SIZE]) / n / pin.bushes,
        couple_part=float(shared[0]) / n / pin.span if pin.bushes > 1 else 0.0, worn=float(load[WORN]) / n / speed,
        sliding=float(shared[1]) / n / speed, rate_mean=float(shared[1]) / n,
        rate_rms=math.sqrt(float(shared[2]) / n), stress=pin_stress(size, turn, peak, pin), edge=edge,
    )  # fmt: skip


def _edge(run: Run, name: str, couple: NDArray[np.float64], pin: Pin) -> float:
    """Highest pressure along a single bush that carries a couple, over the run [Pa]."""
    load = run.pin_load(name)
    return float(np.max(edge_pressure(load, np.hypot(*couple), pin.diameter, pin.length)))
