"""What a crossing does to each pin in plane: load, cycles, sliding."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import rainflow

from analysis.crossing.loads import pin_loads
from analysis.crossing.spans import travelled
from analysis.pins.duty.rotation import SECOND, part_lines, relative_rates
from sim.record import PINS, Run


@dataclass(frozen=True)
class Duty:
    """One pin over a crossing; loads are the size of its reaction unless said otherwise."""

    name: str
    peak: float  # [N]
    rms: float  # [N]
    mean: float  # [N]
    sliding: float  # mean |relative rotation rate| / speed [rad per m of travel]
    mean_load_times_sliding: float  # ∫ F |dθ| per travel [N rad/m]
    rate_rms: float  # of the relative rotation [rad/s]
    equivalent: float  # range that once per metre of travel does the damage of all cycles [N]
    cycles_per_m: float  # cycles counted per metre of travel [1/m]


def duty(run: Run, slope: float = 3.0) -> tuple[Duty, ...]:
    """What a run does to its pins, in the order of PINS; slope m of the damage n·R^m [1]."""
    speed, distance = run.settings.speed, travelled(run)
    rates, loads = np.abs(relative_rates(run)), pin_loads(run)
    force = run.pins[:, :, 0] + 1j * run.pins[:, :, 1]
    own = force * np.conj(part_lines(run))[:, SECOND]
    told = []
    for i, name in enumerate(PINS):
        rate, load = rates[:, i], loads[name]
        cycles = list(rainflow.extract_cycles(own[:, i].real))
        damage = sum(count * size**slope for size, _, count, *_ in cycles)
        told.append(
            Duty(
                name=name, peak=load.peak, rms=load.rms, mean=load.mean, sliding=float(rate.mean()) / speed,
                mean_load_times_sliding=float((np.abs(force[:, i]) * rate).mean()) / speed,
                rate_rms=float(np.sqrt((rate * rate).mean())), equivalent=float(damage / distance) ** (1.0 / slope),
                cycles_per_m=sum(count for _, _, count, *_ in cycles) / distance,
            )
        )  # fmt: skip
    return tuple(told)
