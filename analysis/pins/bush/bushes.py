"""What the bushes of every pin bear over a crossing: load, pressure, sliding, stress of the pin."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.peaks import peaks
from analysis.crossing.spans import travelled
from analysis.pins.bush.beside import pin_force
from analysis.pins.bush.bush_loop import PEAK, SIZE, SQUARE, WORN
from analysis.pins.bush.bush_sums import BushSums, balances, rates_of, reduced
from analysis.pins.bush.couples import COUPLED, Couples
from analysis.pins.bush.pressure import mean_pressure, pin_stress
from analysis.pins.duty.duty import Duty, duty
from analysis.pins.duty.gathered import STILL
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
    worn: float  # ∫ F |dθ| of that bush per travel; of a single one with a couple at its edge [N rad/m]
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


@dataclass(frozen=True)
class Travel:
    """How far and how long a stretch was."""

    distance: float  # [m]
    duration: float  # [s]

    @property
    def speed(self) -> float:
        """Mean speed [m/s]."""
        return self.distance / self.duration


def bush_duties(
    run: Run, names: Sequence[str] = PINS, *, upper_share: float | None = None, pins: Mapping[str, Pin] | None = None
) -> tuple[BushDuty, ...]:
    """Bushes of the pins named over a run, in that order. pins: in place of the unit's own, by name.

    On a side slope (`unit.pins.side_slope`) whichever side is down, each pin where it is worse.
    """
    chosen = {name: (pins or {}).get(name) or run.unit.pins.of(name) for name in names}
    coupled = {name: pin for name, pin in chosen.items() if name in COUPLED}
    whole = dict(zip(PINS, duty(run), strict=True)) if len(coupled) < len(names) else None
    still = [] if whole is None else [told.name for told in whole.values() if told.sliding == 0.0]
    if "gauge_arm" not in coupled:
        still.append("gauge_arm")
    rates = rates_of(run, still)
    held = balances(run) if coupled else []
    sums = [reduced(run, one, rates, upper_share=upper_share, pins=coupled).pins for one in held]
    alone = whole or {name: _alone(run, name, rates[name]) for name in coupled}
    travel = Travel(travelled(run), run.pins.shape[0] * run.step)
    return bushes_told(chosen, alone, sums, travel)


def bushes_told(
    pins: Mapping[str, Pin], alone: Mapping[str, Duty], sums: Sequence[Mapping[str, BushSums]], travel: Travel
) -> tuple[BushDuty, ...]:
    """Bushes from sums over a stretch, of the pins given in their order.

    alone: what each pin bears by itself; sums: those of `COUPLED` pins, twice where either side of a slope may be down.
    """
    return tuple(
        max((_coupled(alone[name], pin, held[name], travel) for held in sums), key=lambda told: told.worn)
        if name in COUPLED
        else _plain(alone[name], pin, travel.speed)
        for name, pin in pins.items()
    )


def _plain(told: Duty, pin: Pin, speed: float) -> BushDuty:
    """A pin without a couple: its bushes share its load evenly."""
    part = 1.0 / pin.bushes
    return BushDuty(
        name=told.name, pin=pin, side="", pin_peak=told.peak, peak=part * told.peak, rms=part * told.rms,
        mean=part * told.mean, in_plane=part * told.mean, couple_part=0.0, worn=part * told.mean_load_times_sliding,
        sliding=told.sliding, rate_mean=told.sliding * speed, rate_rms=told.rate_rms,
        stress=pin_stress(told.peak, 0.0, part * told.peak, pin),
        edge=float(mean_pressure(part * told.peak, pin.diameter, pin.length)),
    )  # fmt: skip


def _alone(run: Run, name: str, rate: NDArray[np.float64]) -> Duty:
    """What is needed of a pin by itself, without counting its cycles (those are NaN)."""
    load, none = run.pin_load(name), math.nan
    sliding = float(rate.mean()) / run.settings.speed
    turns = float(sliding > STILL)
    return Duty(
        name=name, peak=math.sqrt(float(peaks(np.square(load)[:, None])[0])), rms=none, mean=float(load.mean()),
        sliding=turns * sliding, mean_load_times_sliding=none,
        rate_rms=turns * math.sqrt(float(np.square(rate).mean())), equivalent=none, cycles_per_m=none,
        direction=none, slope=none, distance=travelled(run),
    )  # fmt: skip


def _coupled(alone: Duty, pin: Pin, sums: BushSums, travel: Travel) -> BushDuty:
    bushes, time, speed = sums.bushes[: pin.bushes], travel.duration, travel.speed
    worse = int(bushes[:, WORN].argmax())
    load = bushes[worse]
    turns = float(alone.sliding > 0.0)
    return BushDuty(
        name=alone.name, pin=pin, side=SIDES[worse] if pin.bushes > 1 else "", pin_peak=alone.peak,
        peak=math.sqrt(float(bushes[:, PEAK].max())), rms=math.sqrt(float(load[SQUARE]) / time),
        mean=float(load[SIZE]) / time, in_plane=alone.mean / pin.bushes,
        couple_part=sums.couple / time / pin.span if pin.bushes > 1 else 0.0,
        worn=turns * (float(load[WORN]) + sums.tilted) / travel.distance, sliding=alone.sliding,
        rate_mean=alone.sliding * speed, rate_rms=alone.rate_rms, stress=sums.stress, edge=sums.edge,
    )  # fmt: skip
