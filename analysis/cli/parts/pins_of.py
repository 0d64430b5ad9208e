"""What `rowbench pins` crosses: a scenario's ground or grounds, other settings, or rows of a paddock."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from analysis.cli.parts.request import Request
from analysis.cli.parts.set_option import changed_document
from analysis.cli.parts.warmup import ready
from analysis.paddock.rows.pins import crossed
from analysis.parallel import Progress, run_all
from analysis.pins.duty.settings import Setting
from analysis.pins.wear.at_settings import AtSetting, LifeGrid, SpanLine, at_settings, life_grid, span_line
from analysis.pins.wear.stretch import joined, stretch_of
from analysis.pins.wear.told import Told, tell
from analysis.pins.wear.work import crossed as run_of
from analysis.pins.wear.work import work_of
from analysis.present.scenario_words import scenario_title
from scenarios.format.errors import ScenarioError, fault
from scenarios.ground.stone_field import HECTARE
from scenarios.paddock.paddock import Paddock
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.record import Run

if TYPE_CHECKING:
    from analysis.pins.duty.extremes import Passing


@dataclass(frozen=True)
class Wanted:
    """What is asked of it."""

    pin: str | None
    hectares: float | None  # a year
    width: float | None  # [m]
    limit: float | None  # of a pin's load on stones [N]
    workers: int | None
    tried: bool = False  # every pressure and speed of the search
    several: bool = False  # all grounds of the search
    grid: bool = False  # lives for the figure


@dataclass(frozen=True)
class Crossed:
    """What came of it."""

    title: str
    told: Told
    run: Run  # the first one
    passed: tuple[Passing, ...] | None = None  # how often stones bring more than the limit, where that was asked
    tried: tuple[tuple[Setting, AtSetting | str], ...] = ()
    grid: LifeGrid | None = None
    changed: Mapping[str, Any] = field(default_factory=dict)  # what stands in place of the file's values

    def spans(self) -> SpanLine:
        """Pressures of the told pin's bushes over spans."""
        return span_line(self.run, self.told.of.name)


def of_scenario(request: Request, scenario: Scenario, wanted: Wanted) -> Crossed:
    """A scenario at its own settings on its own ground or on all its grounds. Raises SimulationError."""
    ready(request, scenario.unit, pins=True)
    seeds = scenario.search_seeds if wanted.several and scenario.profile is None else (scenario.seed,)
    run = run_of(scenario, seeds[0])
    others = run_all(
        lambda seed: stretch_of(run_of(scenario, seed)), seeds[1:], wanted.workers, _meter(request, "grounds", seeds)
    )
    told = tell(
        work_of(scenario, seeds), joined([stretch_of(run), *others]), run, wanted.hectares, wanted.pin, wanted.width
    )
    name, width = told.of.name, told.pins.farm.width
    grid = tried = None
    if wanted.grid:
        meter = request.meter("crossings")
        grid = life_grid(scenario, name, width, wanted.hectares, wanted.workers, meter)
    if wanted.tried:
        at = [Setting(p, v) for v in scenario.search.speeds for p in scenario.search.pressures]
        found = at_settings(
            scenario, seeds, at, name, width, wanted.hectares, wanted.workers, request.meter("settings")
        )  # fmt: skip
        tried = tuple(zip(at, found, strict=True))
    return Crossed(
        scenario_title(scenario),
        told,
        run,
        _passed(request, scenario, told, wanted),
        tried or (),
        grid,
        changed_document(scenario),
    )


def _passed(request: Request, scenario: Scenario, told: Told, wanted: Wanted) -> tuple[Passing, ...] | None:
    if wanted.limit is None or not told.stones:
        return None
    from analysis.pins.duty.often import how_often  # noqa: PLC0415 (scipy's distributions)

    meter = request.meter("crossings of stones")
    return how_often(scenario, told.stretch.strikes, told.struck, wanted.limit, wanted.workers, meter)


def of_paddock(request: Request, paddock: Paddock, wanted: Wanted) -> Crossed:
    """Rows that stand for a paddock at its settings. Raises ScenarioError where one cannot be crossed."""
    ready(request, paddock.unit, pins=True)
    try:
        made = crossed(paddock, paddock.settings, wanted.workers, request.meter("passes"))
    except SimulationError as error:
        raise ScenarioError(
            [fault(str(paddock.path), str(error), "rows that can be crossed at one setting", "another --pressure")]
        ) from None
    told = tell(made.work, made.stretch, made.run, wanted.hectares, wanted.pin, wanted.width)
    return Crossed(paddock.title, told, made.run, _passed_there(paddock, told, wanted))


def _passed_there(paddock: Paddock, told: Told, wanted: Wanted) -> tuple[Passing, ...] | None:
    """As the rows met them: how many stones lie under all rows of a hectare is taken from theirs."""
    if wanted.limit is None or not told.stones:
        return None
    from analysis.pins.duty.extremes import passing  # noqa: PLC0415 (scipy's distributions)

    found = told.stretch.strikes
    many = found.stones / found.distance * HECTARE / paddock.machine.row_spacing
    return (passing(found, told.struck, wanted.limit, many, told.work.stiffness),)


def _meter(request: Request, what: str, of: Sequence[int]) -> Progress | None:
    return request.meter(what) if len(of) > 2 else None
