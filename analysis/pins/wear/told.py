"""All that `rowbench pins` tells, gathered from one crossing and what stands beside it."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.pins.duty.duty import Duty
from analysis.pins.duty.duty import duties as duties_of
from analysis.pins.duty.gathered import Gathered, gathered
from analysis.pins.wear.at_settings import Cost, costs
from analysis.pins.wear.life import PRACTICE, Needed, PinLife, Pins, needed, pin_lives
from scenarios.scenario import Scenario
from sim.record import Run

TEN = 10.0  # years that are asked for
SEASONS = (1.0, 3.0, 5.0, 10.0)


@dataclass(frozen=True)
class Told:
    """Pins of a crossing, the one that is told in full, and what it would need."""

    scenario: Scenario
    pins: Pins
    over: Gathered  # loads, cycles and directions of the crossing
    duties: tuple[Duty, ...]
    of: PinLife
    asked_for: bool  # the user named that pin
    needed: Needed | None
    practice: tuple[Needed, ...]  # what common practice would take, of the main pin that wears out first
    costs: tuple[Cost, ...]
    stones: bool  # there are some on this ground


def told_pins(
    scenario: Scenario, run: Run, hectares: float | None = None, pin: str | None = None, width: float | None = None
) -> Told:
    """Wear and life of a crossing's pins, `pin` (a name of PINS; by default the one that wears out first) in full.

    width: the machine's [m], in place of the file's rows × row spacing.
    """
    over = gathered(run)
    duties = duties_of(over)
    found = pin_lives(run, scenario.machine.width if width is None else width, hectares, duties)
    of = found.first if pin is None else found.named(pin)
    main = found.first_main
    practice = [needed(run, main, found.farm, years, spans=False) for years in PRACTICE]
    return Told(
        scenario, found, over, duties, of, pin is not None, needed(run, of, found.farm, TEN),
        tuple(need for need in practice if need is not None), costs(scenario, of),
        bool((run.track.stone_id >= 0).any()),
    )  # fmt: skip
