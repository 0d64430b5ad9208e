"""One crossing: its series, what they sum up to, and its picture."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Any

from analysis.crossing.depth import on_depth_share
from analysis.crossing.loads import wheel_load
from analysis.crossing.summary import run_summary
from analysis.crossing.words import run_text
from analysis.door.arrays import run_dataset
from analysis.door.wear import Wear, wear_of
from analysis.present.edge import mm
from analysis.present.scenario_words import scenario_title
from analysis.present.texts import percent
from scenarios.scenario import Scenario
from sim import record

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from xarray import Dataset


@dataclass(frozen=True, repr=False)
class Run(record.Run):
    """One crossing in SI units: `series` by channel over the measured stretch, `pins`, `energy`, `warnings` …"""

    scenario: Scenario = field(kw_only=True)

    @classmethod
    def of(cls, made: record.Run, scenario: Scenario) -> Run:
        """A crossing together with the scenario that was crossed."""
        return cls(**{item.name: getattr(made, item.name) for item in fields(record.Run)}, scenario=scenario)

    def __repr__(self) -> str:
        tolerance = self.scenario.limits.depth_tolerance
        share, off = on_depth_share(self, tolerance), wheel_load(self, "gauge_load").off_share
        return (
            f"{super().__repr__()}\n  {self.scenario.name}: on depth (±{mm(tolerance):g} mm) {percent(share)}, "
            f"wheel off {percent(off)}"
        )

    def summary(self) -> dict[str, Any]:
        """The document that `rowbench run --json` prints: every measure, with its unit in its key."""
        return {**run_summary(self, self.scenario), "engine": self.engine}

    def text(self, *, pins: bool = False, details: bool = False) -> str:
        """The screen of `rowbench run`; pins: with the table of pin loads, details: with everything."""
        stones = bool((self.track.stone_id >= 0).any())
        tolerance = mm(self.scenario.limits.depth_tolerance)
        feature = self.scenario.limits.on_feature
        return run_text(
            self.summary(), scenario_title(self.scenario), tolerance, stones,
            feature=feature, pins=pins, details=details,
        )  # fmt: skip

    def figure(self) -> Figure:
        """Ground, depth error with its tolerance, gauge load, and the five causes around the worst place."""
        from analysis.crossing.figure_crossing import crossing_figure  # noqa: PLC0415

        tolerance = self.scenario.limits.depth_tolerance
        return crossing_figure(self, self.summary(), tolerance, scenario_title(self.scenario))

    def wear(
        self, *, hectares_a_year: float | None = None, width_m: float | None = None, pin: str | None = None
    ) -> Wear:
        """Pins and bushes over a year of so many hectares: pressure, wear, which wears out first and when.

        width_m: the machine's, in place of rows × row spacing; pin: told in full, a name of `summary()["pins"]`.
        Raises ScenarioError for values that are not allowed.
        """
        return wear_of(self, self.scenario, hectares_a_year, width_m, pin)

    def to_xarray(self) -> Dataset:
        """Every channel over (distance) [m] with `time` [s] beside it, and `pins` over (distance, pin, axis) [N].

        SI units, in the attributes `units` after the CF conventions, with `long_name`. Raises ImportError where
        xarray is not installed.
        """
        return run_dataset(self, self.scenario)
