"""Runs whose motion and pin loads are given by formulas: a real crossing with its series replaced."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sim.record import PINS, Run


def swung(run: Run, step: float, theta, theta_rate, loads=None) -> Run:
    """A run of as many steps [s] as θ (n,) [rad] has, with its rate [rad/s] and the load on every pin, complex x + i·z,
    (n,) or a number [N], in toolbar axes, by name; the press arm stands still.
    """
    n = np.size(theta)
    pins = np.zeros((n, len(PINS), 2))
    for name, load in (loads or {}).items():
        force = np.broadcast_to(load, n)
        pins[:, PINS.index(name)] = np.stack([force.real, force.imag], axis=1)
    series = {name: np.zeros(n) for name in run.series}
    series |= {"arm_angle": np.asarray(theta), "arm_rate": np.asarray(theta_rate)}
    return replace(run, step=step, series=series, pins=pins)


def cut(run: Run, first: int, last: int) -> Run:
    """Steps first … last of a run as a run."""
    series = {name: values[first:last].copy() for name, values in run.series.items()}
    return replace(run, series=series, pins=run.pins[first:last].copy())
