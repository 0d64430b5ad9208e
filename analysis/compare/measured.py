"""What designs are compared by: measures of one crossing, and how large a difference is worth a thought."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from analysis.crossing.one_run import RunMeasures, measure
from analysis.pins.duty.duty import duty
from scenarios.scenario import Scenario
from sim.record import Run

PERCENT, MM, M, KN, N = ("%", 100.0, 1), ("mm", 1e3, 1), ("m", 1.0, 1), ("kN", 1e-3, 2), ("N", 1.0, 0)


class Crossed(NamedTuple):
    """One crossing: its measures, and the largest equivalent load range of its pins [N]."""

    measures: RunMeasures
    equivalent: float


@dataclass(frozen=True)
class Measured:
    """One measure. form: unit, factor from SI, decimals; better: 1 more is better, −1 less is, 0 neither.

    worth: how large a difference is worth a thought, SI, or as a share of the first design's value where `relative`
    (common sense, not a standard: a point of on-depth share, half a millimetre, a twentieth of a load).
    """

    name: str
    words: str
    form: tuple[str, float, int]
    better: int
    worth: float
    find: Callable[[Crossed], float]
    relative: bool = False

    def worth_at(self, value: float) -> float:
        """The difference worth a thought at a value of the first design [SI]."""
        return self.worth * abs(value) if self.relative else self.worth


SHARES = (
    Measured("on_depth_share", "on-depth share", PERCENT, 1, 0.01, lambda c: c.measures.depth.on_depth_share),
    Measured("wheel_off_share", "wheel-off share", PERCENT, -1, 0.005, lambda c: c.measures.gauge.off_share),
)
ON_FEATURE = (  # in place of shares where the ground is one feature
    Measured("off_depth_at_one_place", "way off depth at one place", M, -1, 0.2, lambda c: c.measures.places.off_depth),
    Measured(
        "wheel_off_at_one_place",
        "way with the wheel off at one place",
        M,
        -1,
        0.1,
        lambda c: c.measures.places.wheel_off,
    ),
)
ALWAYS = (
    Measured("error_sd", "scatter of depth (SD)", MM, -1, 0.5e-3, lambda c: c.measures.depth.error_sd),
    Measured("pin_peak", "highest pin load", KN, -1, 0.05, lambda c: max(p.peak for p in c.measures.pins.values()),
             relative=True),
    Measured("pin_equivalent", "equivalent pin load", KN, -1, 0.05, lambda c: c.equivalent, relative=True),
    Measured("gauge_load_mean", "mean gauge load", N, 0, 0.05, lambda c: c.measures.gauge.mean, relative=True),
    Measured("draught", "draught of the disc", N, -1, 0.05,
             lambda c: -float(c.measures.run.series["disc_draught"].mean()), relative=True),
)  # fmt: skip


def compared_by(scenario: Scenario) -> tuple[Measured, ...]:
    """The measures that say something on a ground."""
    return (*(ON_FEATURE if scenario.limits.on_feature else SHARES), *ALWAYS)


def crossed(run: Run, tolerance: float) -> Crossed:
    """The measures of a run; tolerance of the depth [m]."""
    return Crossed(measure(run, tolerance), max(one.equivalent for one in duty(run)))
