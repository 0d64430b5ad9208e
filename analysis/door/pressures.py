"""What an oil pressure gives, cold and hot, and whether the nitrogen fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from functools import cached_property
from typing import TYPE_CHECKING, Any

from analysis.setting_up import pressure_chart as charted
from analysis.setting_up.precharge import Precharge, Size, precharge, sizes
from analysis.setting_up.pressure_words import pressures_text
from scenarios import scenario as plain
from scenarios.format.errors import ScenarioError, fault

if TYPE_CHECKING:
    from matplotlib.figure import Figure

EVENNESS = 0.5  # change of the downforce over the travel that an accumulator is sized for (assumed)


@dataclass(frozen=True, repr=False)
class Pressures(charted.Chart):
    """The pressure chart of a scenario's unit, SI units: `states` (cold, hot) with their lines, `own`, `warmed`."""

    scenario: plain.Scenario = field(kw_only=True)

    @cached_property
    def precharge(self) -> Precharge:
        """The nitrogen precharge that the file's oil pressure asks for."""
        return precharge(self)

    @cached_property
    def sizes(self) -> tuple[Size, ...]:
        """How large an accumulator keeps the downforce within half of itself over the travel."""
        return sizes(self, EVENNESS, None)

    def summary(self) -> dict[str, Any]:
        """The document that `rowbench pressures --json` prints."""
        return {
            "scenario": self.scenario.name,
            **self.to_dict(),
            "precharge_advice": self.precharge.to_dict(),
            "accumulator": [size.to_dict() for size in self.sizes],
            "warnings": list(self.scenario.warnings),
        }

    def text(self) -> str:
        """The screen of `rowbench pressures`."""
        title = f"{self.scenario.title} ({self.scenario.name})"
        return pressures_text(self, self.precharge, self.sizes, title)

    def figure(self) -> Figure:
        """Downforce over the travel, spring rate and use of the gas against oil pressure."""
        from analysis.setting_up.figure_pressures import pressures_figure  # noqa: PLC0415

        return pressures_figure(self, self.scenario.title)


def pressures(
    scenario: plain.Scenario,
    *,
    pressures_bar: Sequence[float] | None = None,
    cold_degC: float = charted.COLD,
    hot_degC: float = charted.HOT,
) -> Pressures:
    """Downforce over the travel, spring rate and cushion at oil pressures [bar] (None: those of the file's search).

    cold_degC, hot_degC: gas on a cold morning and on a hot afternoon [°C]. Nothing is simulated. Raises ScenarioError
    for values that are not allowed.
    """
    faults = []
    if not -40.0 <= cold_degC < hot_degC <= 60.0:
        given = f"given {cold_degC:g} and {hot_degC:g}"
        faults.append(fault("cold_degC, hot_degC", given, "-40 to 60 °C, the cold one below the hot one", "0 and 35"))
    asked = None if pressures_bar is None else [float(p) * 1e5 for p in pressures_bar]
    for value in asked or ():
        try:
            scenario.with_settings(oil_pressure=value)
        except ScenarioError as error:
            faults += error.faults
    if faults:
        raise ScenarioError(faults)
    made = charted.chart(scenario, asked, cold_degC, hot_degC)
    return Pressures(**{item.name: getattr(made, item.name) for item in fields(charted.Chart)}, scenario=scenario)
