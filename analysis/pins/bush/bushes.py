"""What the bushes of every pin bear over a crossing: load, pressure, sliding, stress of the pin."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.peaks import peaks
from analysis.pins.bush.beside import pin_force
from analysis.pins.bush.bush_loop import N_SUMS, PEAK, SIZE, SQUARE, WORN, reduce_pins, worn_bushes
from analysis.pins.bush.couples import COUPLED, Balance, Couples, balance, share_out
from analysis.pins.bush.pressure import edge_pressure, mean_pressure, pin_stress
from analysis.pins.duty.duty import Duty, duty
from analysis.pins.duty.gathered import STILL
from analysis.pins.duty.rotation import relative_rates
from sim.bushes import Pin
from sim.record import PINS, Run

SIDES = ("left", "right")
MAIN = PINS[:4]
EVERY = 4  # steps at which the ends of a range are read


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


def bush_duties(
    run: Run,
    names: Sequence[str] = PINS,
    *,
    upper_share: float | None = None,
    pins: dict[str, Pin] | None = None,
    duties: tuple[Duty, ...] | None = None,
    held: Sequence[Balance] | None = None,
) -> tuple[BushDuty, ...]:
    """Bushes of the pins named, in that order. pins: in place of the unit's own, by name; duties and held (`balances`):
    those of the run, where they are there already.

    On a side slope (`unit.pins.side_slope`) whichever side is down, each pin where it is worse.
    """
    chosen = {name: (pins or {}).get(name) or run.unit.pins.of(name) for name in names}
    coupled = [name for name in names if name in COUPLED]
    found = [share_out(run, one, upper_share) for one in held or balances(run)] if coupled else []
    if duties is None and len(coupled) < len(names):
        duties = duty(run)
    still = [] if duties is None else [told.name for told in duties if told.sliding == 0.0]
    rates = rates_of(run, coupled, still)
    alone = {name: _alone(run, name, rates[name], duties) for name in coupled}
    reduced = [_reduced(run, one, {name: chosen[name] for name in coupled}, rates) for one in found]
    return tuple(
        max(
            (_coupled(run, one, pin, rates[name], sums[name], alone[name]) for one, sums in
             zip(found, reduced, strict=True)), key=lambda told: told.worn,
        )
        if name in coupled
        else _plain((duties or ())[PINS.index(name)], pin, run.settings.speed)
        for name, pin in chosen.items()
    )  # fmt: skip


def balances(run: Run) -> list[Balance]:
    """What the main links have to hold; on a side slope twice, with either side down."""
    slope = run.unit.pins.side_slope
    return [balance(run, angle) for angle in ((slope, -slope) if slope else (0.0,))]


def rates_of(run: Run, names: Sequence[str], still: Collection[str] = ()) -> dict[str, NDArray[np.float64]]:
    """Sizes of the turning rates of `COUPLED` pins, (n,) each [rad/s]; still: those known not to turn."""
    arm = np.abs(run.series["arm_rate"])
    found = dict.fromkeys(MAIN, arm) | {"press_arm": np.abs(run.series["press_rate"])}
    if "gauge_arm" in names:
        turns = "gauge_arm" not in still
        rates = relative_rates(run)[:, PINS.index("gauge_arm")] if turns else np.zeros(arm.size)
        found["gauge_arm"] = np.abs(np.ascontiguousarray(rates))
    return {name: found[name] for name in names}


def worn_ends(run: Run, held: Balance, names: Sequence[str]) -> dict[str, tuple[float, float]]:
    """∫ F |dθ| of the worse bush of main pins per travel [N rad/m] with all couples on the lower and on the upper.

    Read at every fourth step: means of loads that change over many steps (a thousandth on rough ground).
    """
    ends, rate, flat = [share_out(run, held, share) for share in (0.0, 1.0)], rates_of(run, MAIN), run.pins.reshape(-1)
    told: dict[str, tuple[float, float]] = {}
    for name in names:
        means = np.zeros((2, 2))
        pin = run.unit.pins.of(name)
        for end, out in zip(ends, means, strict=True):
            couple = end.couple[name].reshape(-1)
            worn_bushes(flat, PINS.index(name), len(PINS), couple, _per_span(pin), rate[name], EVERY, out)
        if pin.bushes == 1:
            means += [[_tilted(end.couple[name], rate[name], pin.length) / rate[name].size] for end in ends]
        lower, upper = means.max(axis=1) / run.settings.speed
        told[name] = float(lower), float(upper)
    return told


def _per_span(pin: Pin) -> float:
    return 1.0 / pin.span if pin.bushes > 1 else 0.0


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


class _Alone(NamedTuple):
    """The pin's own: peak and mean of its load's size [N], turning per travel [rad/m], its rate's root mean square."""

    peak: float
    mean: float
    sliding: float
    rate_rms: float


def _alone(run: Run, name: str, rate: NDArray[np.float64], duties: tuple[Duty, ...] | None) -> _Alone:
    if duties is not None:
        told = duties[PINS.index(name)]
        return _Alone(told.peak, told.mean, told.sliding, told.rate_rms)
    load = run.pin_load(name)
    sliding = float(rate.mean()) / run.settings.speed
    turns = float(sliding > STILL)
    return _Alone(
        math.sqrt(float(peaks(np.square(load)[:, None])[0])), float(load.mean()), turns * sliding,
        turns * math.sqrt(float(np.square(rate).mean())),
    )  # fmt: skip


class _Sums(NamedTuple):
    """What a pass over the steps leaves of a pin (`reduce_pins`)."""

    name: str
    bushes: NDArray[np.float64]  # (2, N_SUMS)
    couple: float  # its size summed [N m]
    worst: int  # step


def _reduced(run: Run, found: Couples, pins: dict[str, Pin], rates: dict[str, NDArray[np.float64]]) -> dict[str, _Sums]:
    sums, shared = np.zeros((len(pins), 2, N_SUMS)), np.zeros((len(pins), 3))
    reduce_pins(
        run.pins.reshape(-1), len(PINS), np.array([PINS.index(name) for name in pins]),
        tuple(found.couple[name].reshape(-1) for name in pins), np.array([_per_span(pin) for pin in pins.values()]),
        tuple(rates[name] for name in pins), sums, shared,
    )  # fmt: skip
    return {name: _Sums(name, sums[k], float(shared[k, 0]), int(shared[k, 1])) for k, name in enumerate(pins)}


def _coupled(run: Run, found: Couples, pin: Pin, rate: NDArray[np.float64], sums: _Sums, alone: _Alone) -> BushDuty:
    name, at, n, speed = sums.name, sums.worst, rate.size, run.settings.speed
    couple = found.couple[name]
    bushes = sums.bushes[: pin.bushes]
    worse = int(bushes[:, WORN].argmax())
    load, peak = bushes[worse], math.sqrt(float(bushes[:, PEAK].max()))
    turn, size = float(np.hypot(*couple[:, at])), float(np.hypot(*run.pins[at, PINS.index(name)]))
    edge = float(mean_pressure(peak, pin.diameter, pin.length)) if pin.bushes > 1 else _edge(run, name, couple, pin)
    turns = float(alone.sliding > 0.0)
    worn = float(load[WORN]) + (_tilted(couple, rate, pin.length) if pin.bushes == 1 else 0.0)
    return BushDuty(
        name=name, pin=pin, side=SIDES[worse] if pin.bushes > 1 else "", pin_peak=alone.peak, peak=peak,
        rms=math.sqrt(float(load[SQUARE]) / n), mean=float(load[SIZE]) / n, in_plane=alone.mean / pin.bushes,
        couple_part=sums.couple / n / pin.span if pin.bushes > 1 else 0.0,
        worn=turns * worn / n / speed, sliding=alone.sliding, rate_mean=alone.sliding * speed,
        rate_rms=alone.rate_rms, stress=pin_stress(size, turn, peak, pin), edge=edge,
    )  # fmt: skip


def _tilted(couple: NDArray[np.float64], rate: NDArray[np.float64], length: float) -> float:
    """What a couple adds to ∑ F·|ω| at the edge of a single bush, the pressure taken as linear along it: 6M/L [N]."""
    return 6.0 / length * float(np.sqrt(couple[0] ** 2 + couple[1] ** 2) @ rate)


def _edge(run: Run, name: str, couple: NDArray[np.float64], pin: Pin) -> float:
    """Highest pressure along a single bush that carries a couple, over the run [Pa]."""
    load = run.pin_load(name)
    return float(np.max(edge_pressure(load, np.hypot(*couple), pin.diameter, pin.length)))
