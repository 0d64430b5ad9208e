"""Fields whose values are known, the file that is believed of them, and the readings of one afternoon."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.fit.reading.readings import Reading
from scenarios.doubt.belief import RANGE, Belief, belief
from scenarios.doubt.prior import Prior
from scenarios.doubt.varied import with_values
from scenarios.load import load
from scenarios.scenario import Scenario
from scenarios.spec import Search
from sim.run import prepare
from tests.fit_proof.other_soil import readings_there
from tests.support.invented_readings import Job, Pass, brought_home

# in doubt here; all else is known, so that a hundred trials end within the hour
IN_DOUBT = (
    "soil_strength", "sinkage_moduli", "speed_term", "strength_scatter", "strength_length", "roughness", "edge_width",
    "tyre_stiffness", "unit_mass", "downforce", "press_spring",
)  # fmt: skip
AFTERNOON = Job(
    passes=(Pass("A", 30, 6, 10), Pass("A", 30, 10, 10, wheel_off=True), Pass("A", 50, 6, 10), Pass("A", 50, 10, 10)),
    weighed=(("gauge", 0.0), ("gauge", 40.0), ("press", 40.0)),
    pushes=20,
)
GRID = Search(
    pressures=tuple(p * 1e5 for p in (30.0, 35.0, 40.0, 45.0, 50.0)),
    speeds=tuple(v / 3.6 for v in (5.0, 6.0, 7.0, 8.0, 9.0, 10.0)),
    seeds=3,
)


@dataclass(frozen=True, eq=False)
class Field:
    """One field: what its file says, what is true there, and what was read."""

    believed: Scenario
    doubt: Belief
    z: NDArray[np.float64]  # truth, in standard deviations of the prior
    truth: Scenario
    cone_factor: float
    readings: tuple[Reading, ...]
    cranks: Mapping[str, float]  # depth settings [rad]


def believed(names: tuple[str, ...] = IN_DOUBT) -> Scenario:
    """The file: the library's rough field, 100 m of it, with only some of its values in doubt."""
    found = load("rough", changes={"ground.length_m": 100})
    known = {one: (1.0 if one.endswith("_times") else 0.0) for one in _ways() if one.rpartition("_")[0] not in names}
    return replace(found, prior=replace(found.prior, **known), search=GRID)


def _ways() -> list[str]:
    return [name for name in vars(Prior()) if name.endswith(("_times", "_plus")) and not name.startswith("cone")]


def field(trial: int, wrong: str = "", file: Scenario | None = None, job: Job = AFTERNOON) -> Field:
    """A field drawn from the prior by the number of a trial; wrong: "speed", "engine" or "hysteresis", another model's
    readings.
    """
    file = file or believed()
    rng = np.random.default_rng([2024, trial])
    doubt = belief(file)
    z = rng.standard_normal(len(doubt.names))
    truth = with_values(file, dict(zip(doubt.names, doubt.from_z(z).tolist(), strict=True)))
    factor = file.prior.cone_factor * float(
        np.exp(rng.standard_normal() * np.log(file.prior.cone_factor_times) / RANGE)
    )
    cranks = _cranks(file, rng)
    if wrong == "hysteresis":
        readings = list(readings_there(trial))
    else:
        readings = brought_home(truth, cranks, job, rng, factor, wrong)
    return Field(file, doubt, z, truth, factor, tuple(readings), cranks)


def _cranks(file: Scenario, rng: np.random.Generator) -> Mapping[str, float]:
    """Depth settings that someone made by eye: within some 6 mm of the file's."""
    made = prepare(file.unit, file.soil, file.stones.contact, file.settings).setting.crank_angle
    return {"A": made + np.radians(rng.uniform(-1.5, 1.5))}
