"""A paddock: one machine, its passes, the ground under them, and the settings that are tried."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from scenarios.doubt.prior import Prior
from scenarios.doubt.uncertain import Uncertain
from scenarios.paddock.plan_input import LineInput, PlanInput
from scenarios.paddock.plan_input_csv import StrengthPoints
from scenarios.paddock.spec import Keep, PaddockMachine, Passes, PlanGround, PlanStones, Tried, Zone
from scenarios.spec import Limits, Variation
from sim.unit import Settings, Soil, Unit

COARSE = 0.025  # lengths of passes are whole numbers of these [m]


@dataclass(frozen=True, eq=False)
class Paddock:
    """All that a paddock file says, checked and in SI units."""

    name: str
    path: Path
    text: str  # the file as it was
    title: str
    shows: str
    unit: Unit
    soil: Soil  # `strength` is the mean outside zones
    variation: Variation
    settings: Settings
    machine: PaddockMachine
    passes: Passes
    ground: PlanGround
    stones: PlanStones
    zones: tuple[Zone, ...]
    search: Tried
    keep: Keep
    limits: Limits
    prior: Prior = field(default_factory=Prior)  # what is in doubt where nobody measured
    uncertain: Uncertain | None = None  # and where someone did
    measured: PlanInput | None = None
    strengths: StrengthPoints | None = None
    files: Mapping[str, str] = field(default_factory=dict)  # input files by name → SHA-256 of their bytes
    warnings: tuple[str, ...] = ()
    read_from: tuple[Path, ...] = ()  # all files: its own, those that lend values, those named
    origin: str = ""  # where values come from that the file does not give (`scenarios.paddock.origin`)

    @property
    def seed(self) -> int:
        """Seed of everything random."""
        return self.ground.seed

    @property
    def count(self) -> int:
        """Number of passes."""
        return self.passes.count

    def length(self, number: int) -> float:
        """Measured length of a pass [m]."""
        if self.measured is not None:
            return self.measured.length(number)
        assert self.passes.length is not None
        return round(self.passes.length / COARSE) * COARSE

    def backwards(self, number: int) -> bool:
        """Whether a pass runs against the first one's direction."""
        return number % 2 == 1 and self.passes.direction == "back_and_forth"

    def centre(self, number: int) -> float:
        """Place of a pass's middle across the paddock [m]."""
        return (number + 0.5) * self.machine.width

    @property
    def area(self) -> float:
        """Area of all passes [m²]."""
        return sum(self.length(i) for i in range(self.count)) * self.machine.width

    @property
    def placed(self) -> bool:
        """Whether latitudes and longitudes of all passes are known."""
        if isinstance(self.measured, LineInput):
            return all(line.latitude is not None and line.longitude is not None for line in self.measured.lines)
        return self.passes.latitude is not None and self.passes.longitude is not None

    @property
    def tried(self) -> tuple[Settings, ...]:
        """The settings that are tried, pressures rising within each speed."""
        return tuple(
            replace(self.settings, oil_pressure=p, speed=v) for v in self.search.speeds for p in self.search.pressures
        )
