"""All that `rowbench pins` tells, gathered from what was crossed and what stands beside it."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.pins.duty.duty import Duty
from analysis.pins.duty.gathered import Gathered
from analysis.pins.duty.strikes import MOST
from analysis.pins.wear.at_settings import Cost, costs
from analysis.pins.wear.life import PRACTICE, Needed, PinLife, Pins, needed, pin_lives
from analysis.pins.wear.stretch import Stretch, stretch_of
from analysis.pins.wear.work import Work, work_of
from scenarios.scenario import Scenario
from sim.record import Run

TEN = 10.0  # years that are asked for
SEASONS = (1.0, 3.0, 5.0, 10.0)


@dataclass(frozen=True)
class Told:
    """Pins of what was crossed, the one that is told in full, and what it would need."""

    work: Work
    pins: Pins
    stretch: Stretch
    duties: tuple[Duty, ...]
    of: PinLife
    asked_for: bool  # the user named that pin
    needed: Needed | None
    practice: tuple[Needed, ...]  # what common practice would take, of the main pin that wears out first
    costs: tuple[Cost, ...]

    @property
    def over(self) -> Gathered:
        """Loads, cycles and directions."""
        return self.stretch.over

    @property
    def struck(self) -> str:
        """The pin whose strikes are told: the one asked for, else whichever bears most (`strikes.MOST`)."""
        return self.of.name if self.asked_for else MOST

    @property
    def stones(self) -> bool:
        """Whether there are some on this ground."""
        return self.stretch.strikes.stones > 0


def told_pins(
    scenario: Scenario, run: Run, hectares: float | None = None, pin: str | None = None, width: float | None = None
) -> Told:
    """Wear and life of a crossing's pins: `tell` of one run of a scenario."""
    return tell(work_of(scenario), stretch_of(run), run, hectares, pin, width)


def tell(
    work: Work,
    stretch: Stretch,
    run: Run,
    hectares: float | None = None,
    pin: str | None = None,
    width: float | None = None,
) -> Told:
    """Wear and life of the pins of a stretch, `pin` (a name of PINS; by default the one that wears out first) in full.

    run: one of the stretch, by which spans and costs are found; width: the machine's [m], in place of the file's
    rows × row spacing.
    """
    duties = stretch.duties()
    found = pin_lives(stretch, work.width if width is None else width, hectares, duties)
    of = found.first if pin is None else found.named(pin)
    main = found.first_main
    practice = [needed(run, main, found.farm, years, spans=False) for years in PRACTICE]
    return Told(
        work, found, stretch, duties, of, pin is not None, needed(run, of, found.farm, TEN),
        tuple(need for need in practice if need is not None), costs(work, run, of),
    )  # fmt: skip
