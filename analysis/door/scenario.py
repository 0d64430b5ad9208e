"""A scenario to load, change and run."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, Unpack

from analysis.door.asked import Changes, dotted
from analysis.door.ready import ready
from analysis.door.run import Run
from scenarios import scenario as plain
from scenarios.format.errors import ScenarioError, fault
from scenarios.format.library import KINDS, Entry
from scenarios.format.library import library as named
from scenarios.load import load as load_file
from sim.run import simulate

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Engine = Literal["compiled", "rigid"]


@dataclass(frozen=True, repr=False)
class Scenario(plain.Scenario):
    """All that a scenario file says, checked, in SI units: `unit`, `soil`, `settings`, `ground`, `limits` and so on.

    `changes` holds what stands in place of the file's values, by dotted key in the file's units.
    """

    changes: dict[str, Any] = field(default_factory=dict, kw_only=True, compare=False)
    loaded: _Loaded = field(kw_only=True, compare=False)

    def changed(self, **changes: Unpack[Changes]) -> Scenario:
        """This scenario with other values: keywords and units as the file's keys, as in `load`.

        Raises ScenarioError with every fault, or where the file is no longer as it was loaded.
        """
        for item in fields(plain.Scenario):
            if getattr(self, item.name) is not getattr(self.loaded.scenario, item.name):
                given = f"{item.name} was changed in SI units (with_…) since the scenario was loaded"
                raise ScenarioError([fault("changed", given, "keys first, then with_…", "the two the other way round")])
        if _digest(self.path) != self.loaded.digest:
            given = "the file is another one since it was loaded"
            raise ScenarioError([fault(str(self.path), given, "the file as it was", "load it again")])
        found, faults = dotted(changes)
        return _load(self.path, self.loaded.profile, {**self.changes, **found}, faults)

    def run(self, *, engine: Engine = "compiled", **changes: Unpack[Changes]) -> Run:
        """One crossing, with other values if any are given: `scenario.run(oil_pressure_bar=60, speed_kmh=9)`.

        engine: "compiled", or "rigid" for the slow second one, made of loose bodies. Raises ScenarioError for values
        that are not allowed and SimulationError for a crossing that cannot be made.
        """
        asked = self.changed(**changes) if changes else self
        if engine == "rigid":
            from sim.rigid.simulate import simulate_rigid  # noqa: PLC0415

            return Run.of(simulate_rigid(asked.unit, asked.soil, asked.track(), asked.settings), asked)
        taken = ready()
        made = simulate(asked.unit, asked.soil, asked.track(), asked.settings)
        return Run.of(replace(made, compile_wall=taken), asked)

    def figure(self) -> Figure:
        """The unit to scale at its depth setting, with axes and signs."""
        from analysis.present.figure_unit import unit_figure  # noqa: PLC0415
        from sim.run import prepare  # noqa: PLC0415

        setting = prepare(self.unit, self.soil, self.stones.contact, self.settings).setting
        return unit_figure(self.unit, setting, self.settings, self.title)


@dataclass(frozen=True)
class _Loaded:
    """What a scenario was loaded from."""

    scenario: plain.Scenario
    profile: Path | None
    digest: str


def load(source: str | Path, profile: str | Path | None = None, **changes: Unpack[Changes]) -> Scenario:
    """A scenario by the path of its file or its name in the library, with other values where keywords give them.

    Keywords and units are those of the file: the keys of [settings] (`oil_pressure_bar=60, speed_kmh=9,
    set_depth_mm=35`) and `seed=2`; any other key in its table, as a dict: `soil={"strength_MPa": 1.5}`.
    profile: a CSV file of measured ground (distance_m, height_m) in place of the scenario's. Everything is checked as
    the file is; raises ScenarioError with all faults at once.

    >>> load("rough", speed_kmh=9, soil={"strength_MPa": 1.5}).settings.speed  # [m/s]
    2.5
    """
    found, faults = dotted(changes)
    return _load(source, None if profile is None else Path(profile), found, faults)


def _load(source: str | Path, profile: Path | None, changes: dict[str, Any], faults: list[str]) -> Scenario:
    try:
        made = load_file(source, profile=profile, changes=changes, told=False)
    except ScenarioError as error:
        raise ScenarioError([*faults, *error.faults]) from None
    if faults:
        raise ScenarioError(faults)
    values = {item.name: getattr(made, item.name) for item in fields(plain.Scenario)}
    return Scenario(**values, changes=changes, loaded=_Loaded(made, profile, _digest(made.path)))


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""


def library(kind: str = "scenario") -> list[Entry]:
    """What comes with the program: "scenario", "unit", "soil" or "paddock" → entries (name, path, title, shows).

    Raises ScenarioError for another kind.
    """
    if kind not in KINDS:
        raise ScenarioError([fault("kind", f"given {kind!r}", ", ".join(KINDS), '"scenario"')])
    return named(kind)
