"""Readings as someone would bring them home from a field whose values are known: dug, weighed and measured with errors.

Digs are taken at places of one crossing with all its series kept, so that nothing of the fit's own likelihood stands
behind them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from analysis.fit.reading.readings import Reading
from scenarios.doubt.belief import RANGE
from scenarios.scenario import Scenario
from sim.record import Run
from sim.rigid.simulate import simulate_rigid
from sim.run import simulate
from sim.standing import seal_hold, standing

WALK = 60.0  # length of the pass on which readings are made [m]


@dataclass(frozen=True)
class Pass:
    """One pass: at which depth setting, oil pressure [bar] and speed [km/h], and what is read of it."""

    held: str
    bar: float
    kmh: float
    digs: int = 0
    wheel_off: bool = False
    loads: bool = False


@dataclass(frozen=True)
class Job:
    """What is read in an afternoon."""

    passes: Sequence[Pass]
    weighed: Sequence[tuple[str, float]] = ()  # wheel and oil pressure [bar], three times each
    pushes: int = 0  # of a penetrometer, a metre apart


EMPTY = Reading(0, "", 0.0, 1, math.nan, math.nan, math.nan, "", math.nan, math.nan, 0, "")


def brought_home(
    truth: Scenario, cranks: Mapping[str, float], job: Job, rng: np.random.Generator, cone_factor: float = 1.0,
    wrong: str = "",
) -> list[Reading]:  # fmt: skip
    """Readings of a job in a field with the values of `truth`; cranks: angle [rad] of each depth setting.

    wrong: readings of another model than the fit's. "speed": the disc's force rises with the square of the speed, as
    much at 8 km/h; "engine": the second engine's passes.
    """
    found: list[Reading] = []
    for one in job.passes:
        found += _pass(truth, cranks[one.held], one, rng, wrong)
    for wheel, bar in job.weighed:
        held, crank = next(iter(cranks.items()))
        found.append(replace(_weighed(truth, crank, wheel, bar, rng), setting=held))
    if job.pushes:
        found += pushed(truth, job.pushes, cone_factor, rng)
    return [replace(reading, line=2 + k) for k, reading in enumerate(found)]


def _pass(truth: Scenario, crank: float, one: Pass, rng: np.random.Generator, wrong: str) -> list[Reading]:
    settings = replace(truth.settings, oil_pressure=one.bar * 1e5, speed=one.kmh / 3.6, setting="unchanged")
    track = truth.track(int(rng.integers(10_000, 10**9)), WALK)
    soil = truth.soil
    if wrong == "speed":
        soil = replace(soil, speed_factor=soil.speed_factor * one.kmh / 8.0)
    if wrong == "engine":
        run = simulate_rigid(truth.unit, soil, track, settings, crank=crank)
    else:
        run = simulate(truth.unit, soil, track, settings, crank=crank)
    return read_off(run, one, truth.prior.dig_error, rng)


def read_off(run: Run, one: Pass, dig_error: float, rng: np.random.Generator) -> list[Reading]:
    """What is read of a pass that was made; digs spread evenly, rounded to whole millimetres."""
    place = replace(EMPTY, oil_pressure=one.bar * 1e5, speed=one.kmh / 3.6, setting=one.held)
    n = run.series["depth"].size
    found = []
    for k in range(one.digs):
        at = int((k + rng.random()) / one.digs * n)
        dug = run.series["depth"][at] + rng.normal(0.0, dig_error / RANGE)
        where = at * run.step * run.settings.speed
        found.append(replace(place, what="depth_mm", value=max(round(dug * 1e3), 0) / 1e3, at=round(where, 1)))
    load = run.series["gauge_load"]
    if one.wheel_off:
        share = float(np.mean(load <= 0.0)) + rng.normal(0.0, 0.01) * (np.mean(load <= 0.0) > 0.0)
        found.append(replace(place, what="wheel_off_share", value=min(max(share, 0.0), 1.0), length=WALK))
    if one.loads:
        mean = load.mean() * math.exp(rng.normal(0.0, 0.03))
        cv = load.std() / load.mean() * math.exp(rng.normal(0.0, 0.05))
        found.append(replace(place, what="gauge_load_N", value=float(mean), length=WALK))
        found.append(replace(place, what="gauge_load_cv", value=float(cv), length=WALK))
    return found


def _weighed(truth: Scenario, crank: float, wheel: str, bar: float, rng: np.random.Generator) -> Reading:
    stands = standing(truth.unit, truth.soil, truth.settings, crank, bar * 1e5)
    load = stands.press if wheel == "press" else stands.gauge
    hold = seal_hold(truth.unit, bar * 1e5) if wheel == "gauge" else 0.0
    read = load * (1.0 + rng.normal(0.0, 0.01, 3)) + hold * rng.uniform(-1.0, 1.0, 3)
    return replace(
        EMPTY, what="scale_kg", value=float(read.mean()), n=3, sd=float(read.std(ddof=1)), oil_pressure=bar * 1e5,
        where=wheel,
    )  # fmt: skip


def pushed(truth: Scenario, count: int, factor: float, rng: np.random.Generator) -> list[Reading]:
    track = truth.track(int(rng.integers(10_000, 10**9)), WALK)
    found = []
    for k in range(count):
        at = track.x_from + 1.0 + k * 1.0
        strength = float(np.interp(at, track.x, track.strength)) / factor * (1.0 + rng.normal(0.0, 0.05))
        found.append(replace(EMPTY, what="penetrometer_MPa", value=strength, at=at))
    return found


def as_csv(readings: Sequence[Reading]) -> str:
    """Readings as a file of them."""
    head = "what,value,n,sd,oil_pressure_bar,speed_kmh,setting,length_m,at_m,row,where"
    return "\n".join([head, *map(_line, readings)]) + "\n"


def _line(one: Reading) -> str:
    factor = one.kind.factor
    numbers = (one.oil_pressure / 1e5, one.speed * 3.6)
    bar, kmh = ("" if math.isnan(v) else f"{v:.4g}" for v in numbers)
    length, at = ("" if math.isnan(v) else f"{v:.4g}" for v in (one.length, one.at))
    sd = "" if math.isnan(one.sd) else f"{one.sd / factor:.3g}"
    n = "" if one.n == 1 else str(one.n)
    row = str(one.row) if one.row else ""
    cells = (one.what, f"{one.value / factor:.4g}", n, sd, bar, kmh, one.setting, length, at, row, one.where)
    return ",".join(cells)
