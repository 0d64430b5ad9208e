"""A scenario: one row unit, the ground it crosses, its settings, and what is asked of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from scenarios.changed.put_in import Change
from scenarios.doubt.prior import Prior
from scenarios.doubt.uncertain import Uncertain
from scenarios.format.edge_units import to_edge
from scenarios.format.errors import ScenarioError
from scenarios.format.keys import SETTINGS_KEYS
from scenarios.format.messages import value_fault
from scenarios.format.read import Source
from scenarios.ground.lay import Layout, lay_track, layout, spacing, stones_on
from scenarios.ground.profile import Profile
from scenarios.ground.roughness import roughness_name
from scenarios.ground.stones import Stone
from scenarios.single import is_feature
from scenarios.spec import Ground, Limits, Machine, Search, Stones, Variation
from sim.track import Track
from sim.unit import Settings, Soil, Unit


@dataclass(frozen=True, repr=False)
class Scenario:
    """All that a scenario file says, checked and in SI units."""

    name: str  # in the library, or the file's name without .toml
    path: Path
    title: str
    shows: str
    unit: Unit
    soil: Soil  # `strength` is the mean; with a measured strength, that mean
    variation: Variation
    settings: Settings
    ground: Ground
    stones: Stones
    machine: Machine
    limits: Limits
    search: Search
    x_from: float  # measured stretch [m]
    x_to: float
    prior: Prior = field(default_factory=Prior)  # what is in doubt where nobody measured
    uncertain: Uncertain | None = None  # and where someone did
    profile: Profile | None = None
    warnings: tuple[str, ...] = ()
    made_up: bool = False  # whether it is the library's, or a copy of it
    stated: frozenset[str] = frozenset()  # dotted keys of unit and soil that its user gave, not the library
    replaced: tuple[Change, ...] = field(default=(), compare=False)  # what stands in place of the file's values

    def __post_init__(self) -> None:
        """Finds which of the limits hold on this ground, whatever was said of it before."""
        single = is_feature(self.ground, self.stones, self.profile)
        if self.limits.on_feature != single:
            object.__setattr__(self, "limits", replace(self.limits, on_feature=single))

    source: Source | None = field(default=None, compare=False)  # the texts that it was made from
    files: tuple[Path, ...] = field(default=(), compare=False)  # all files that it was read from, its own first

    def __repr__(self) -> str:
        s = self.settings
        return (
            f"{type(self).__name__} {self.name}: {self.title}\n  {self.length:.6g} m, {s.oil_pressure / 1e5:.6g} bar, "
            f"{s.speed * 3.6:.6g} km/h, set depth {s.set_depth * 1e3:.6g} mm, seed {self.seed}"
        )

    @property
    def seed(self) -> int:
        """Seed of the ground."""
        return self.ground.seed

    @property
    def length(self) -> float:
        """Measured length [m]."""
        return self.x_to - self.x_from

    @property
    def search_seeds(self) -> tuple[int, ...]:
        """Seeds that a window tries."""
        return tuple(self.seed + i for i in range(self.search.seeds))

    @property
    def roughness_label(self) -> str:
        """How the ground's roughness is named: "class D", "Gd(0.1) = … m³", "measured", or "" where there is none."""
        rough = self.ground.roughness
        named = [] if self.profile is None else [self.profile.label]
        if rough is not None:
            named.append(roughness_name(rough))
        return " + ".join(named)

    def layout(self, length: float | None = None) -> Layout:
        """The grid of this scenario's track; `length` [m] to measure less (or, on made-up ground, more)."""
        end = self.x_to if length is None else self.x_from + length
        if not self.x_from < end <= (self.x_to if self.profile is not None else end):
            raise ScenarioError(
                [
                    f"{self.path.name}: length: given {length:g} m; allowed: above 0"
                    + (f" up to {self.length:g} m of the profile" if self.profile is not None else "")
                    + "; try: a length within that"
                ]
            )
        return layout(self.unit, self.x_from, end, spacing(self.ground.roughness))

    def track(self, seed: int | None = None, length: float | None = None) -> Track:
        """The row's track: the same seed and length [m] give the same track, bit for bit.

        Another length draws other random roughness and strength; gilgai and stones go on as they were.

        Raises ScenarioError for a length that is not above zero or longer than a measured profile.
        """
        return lay_track(
            self.layout(length),
            self.ground,
            self.stones,
            self.soil.strength,
            self.variation,
            self.profile,
            self.seed if seed is None else seed,
        )

    def stones_on_track(self, seed: int | None = None, length: float | None = None) -> list[Stone]:
        """The stones of that track, in the order that `Track.stone_id` counts them."""
        return stones_on(self.layout(length), self.ground, self.stones, self.seed if seed is None else seed)

    def with_settings(self, **changes: Any) -> Scenario:
        """This scenario with other settings, named as in sim.unit.Settings and in SI units.

        Raises ScenarioError if a value is out of the range of its key, TypeError for a name that is no setting.
        """
        changed = replace(self.settings, **changes)
        keys = {key.field: key for key in SETTINGS_KEYS.values()}
        faults = []
        for name, value in changes.items():
            key = keys[name]
            edge = value if key.kind in ("choice", "whole") else to_edge(value, key.edge)
            if not key.accepts(edge):
                faults.append(value_fault(f"settings.{key.name}", key, edge))
        if faults:
            raise ScenarioError(faults)
        return replace(self, settings=changed)

    def with_soil(self, **changes: float) -> Scenario:
        """This scenario with other soil values, named as in sim.unit.Soil and in SI units; ranges not checked.

        A changed `strength` scales the strength all along the track, made-up or measured.
        """
        return replace(self, soil=replace(self.soil, **changes))

    def with_roughness_scaled(self, factor: float) -> Scenario:
        """This scenario with the density Gd of its roughness times `factor` (4: one class of ISO 8608 rougher).

        On measured ground waves up to some 10 m grow by √factor. Single features stay. A scenario without roughness
        comes back as it is (`roughness_label` is then "").
        """
        rough = self.ground.roughness
        ground = self.ground if rough is None else replace(self.ground, roughness=rough.scaled(factor))
        profile = None if self.profile is None else self.profile.scaled(factor**0.5)
        return replace(self, ground=ground, profile=profile)
