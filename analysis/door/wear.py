"""What a crossing costs its pins and bushes over a year's work."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any

from analysis.door.ready import ready_pins
from analysis.pins.wear import told
from analysis.pins.wear.at_settings import life_grid, span_line
from analysis.pins.wear.document import pins_document
from analysis.pins.wear.words import from_to, pins_text
from analysis.present.scenario_words import scenario_title
from analysis.present.sentences import spoken
from scenarios.format.errors import ScenarioError, closest, fault
from scenarios.scenario import Scenario
from sim import record

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, repr=False)
class Wear(told.Told):
    """Pins and bushes of a crossing, SI units: `pins.lives` with loads, wear and years, `of` the pin told in full."""

    scenario: Scenario
    run: record.Run
    hectares_a_year: float | None

    def __repr__(self) -> str:
        first = self.pins.first
        years = "no pin turns" if first.years is None else f"{spoken(first.name)} first, {from_to(first.years)} years"
        return f"Wear {self.scenario.name}: {years}, {self.pins.farm.hectares:.3g} ha a year"

    def summary(self) -> dict[str, Any]:
        """The document that `rowbench pins --json` prints."""
        return pins_document(self)

    def text(self) -> str:
        """The screen of `rowbench pins`."""
        return pins_text(self, scenario_title(self.scenario))

    def figure(self) -> Figure:
        """Bush pressure against pin span, and life against pressures and speeds, which are crossed for it."""
        from analysis.pins.wear.figure_life import life_figure  # noqa: PLC0415

        name = self.of.name
        grid = life_grid(self.scenario, name, self.pins.farm.width, self.hectares_a_year)
        return life_figure(self, span_line(self.run, name), grid, scenario_title(self.scenario))


def wear_of(
    run: record.Run, scenario: Scenario, hectares_a_year: float | None, width_m: float | None, pin: str | None
) -> Wear:
    """`Run.wear`."""
    faults = [
        fault(name, f"given {value!r}", "a number above 0", example)
        for name, value, example in (
            ("hectares_a_year", hectares_a_year, "hectares_a_year=3000"), ("width_m", width_m, "width_m=12"),
        )
        if value is not None and not value > 0.0
    ]  # fmt: skip
    if pin is not None and pin not in record.PINS:
        near = closest(pin, record.PINS) or record.PINS[2]
        faults.append(fault("pin", f"given {pin!r}", ", ".join(record.PINS), f'pin="{near}"'))
    if faults:
        raise ScenarioError(faults)
    ready_pins()
    made = told.told_pins(scenario, run, hectares_a_year, pin, width_m)
    values = {item.name: getattr(made, item.name) for item in fields(told.Told)}
    return Wear(**values, scenario=scenario, run=run, hectares_a_year=hectares_a_year)
