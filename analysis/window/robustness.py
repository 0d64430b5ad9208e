"""How sure a pick is: its spread over the seeds, and the pick again with soil and ground changed.

A change is tried on the window's own pressures, speeds and seeds. To stay cheap the speeds are searched outward from
the pick's: up as long as some pressure meets every limit, else down until one does; a pressure that fails in one seed
is not tried in the next, but for the first pick itself, whose worst seed is told. The pick among the cells that are
left follows the same rule (`analysis.window.pick`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from analysis.parallel import Progress
from analysis.rows.cells import Crossing, Laid, lay
from analysis.rows.crossings import Cell, cross_all
from analysis.window.cross_grid import assemble
from analysis.window.grid import Window
from analysis.window.limits import meets, stops, without_counts
from analysis.window.pick import Nearest, Pick, choose
from scenarios.scenario import Scenario
from sim.unit import Soil

STRENGTH_CHANGE = 0.30  # share by which the strength is changed
ONE_CLASS = 4.0  # factor on the density Gd from one class of ISO 8608 to the next
AT_PICK = ("on_depth_share", "wheel_off_share", "gauge_load_mean", "error_sd")  # measures whose spread is told


@dataclass(frozen=True)
class Variant:
    """The pick again with one thing changed."""

    name: str
    words: str  # what was changed
    applies: bool  # False: cannot be tried on this scenario; `note` says why
    pick: Pick | None = None  # None: no setting meets every limit, or it was not tried
    still_meets: bool | None = None  # whether the first pick still meets every limit; None: not tried
    fails: str = ""  # the limit that the first pick then fails worst, in words
    note: str = ""  # why it does not apply, or that it is the file's own case


@dataclass(frozen=True)
class Spread:
    """The pick of every seed alone (None: no setting), and the spread of measures at the pick."""

    seeds: tuple[int, ...]
    picks: tuple[Pick | None, ...]
    at_pick: dict[str, tuple[float, float]]  # lowest and highest over the seeds, SI


@dataclass(frozen=True)
class Robustness:
    """Spread over the seeds and all variants."""

    spread: Spread
    variants: tuple[Variant, ...]


def spread(window: Window, pick: Pick) -> Spread:
    """The pick again in every seed alone, and the spread of measures at the pick over the seeds.

    A limit on a count is left out here: one seed alone is less ground than all of them together.
    """
    limits = without_counts(window.limits)
    alone = [choose(window.only_seed(k), limits) for k in range(len(window.seeds))]
    cells = {name: window.grids[name][pick.i, pick.j] for name in AT_PICK}
    return Spread(
        window.seeds,
        tuple(found if isinstance(found, Pick) else None for found in alone),
        {name: (float(values.min()), float(values.max())) for name, values in cells.items()},
    )


def robustness(
    scenario: Scenario, window: Window, pick: Pick, workers: int | None = None, progress: Progress | None = None
) -> Robustness:
    """Spread over the seeds, and the pick again without and with the default speed term in the disc force, with the
    strength 30 % lower and higher, and with the ground one roughness class up; progress(changes done, all of them).
    """
    changes = _changes(scenario)
    found = []
    for done, (name, words, change, note) in enumerate(changes, 1):
        found.append(_variant(scenario, window, pick, workers, (name, words, change, note)))
        if progress is not None:
            progress(done, len(changes))
    return Robustness(spread(window, pick), tuple(found))


Change = Callable[[Scenario], Scenario]


def _changes(scenario: Scenario) -> list[tuple[str, str, Change | None, str]]:
    """Name, words, the change (None: it cannot be made, or nothing changes), and why not."""
    factor, default, share = scenario.soil.speed_factor, Soil().speed_factor, STRENGTH_CHANGE

    def speed_term(value: float) -> tuple[Change | None, str]:
        same = factor == value
        return (None if same else lambda s: s.with_soil(speed_factor=value)), ("as in the file" if same else "")

    def strength(by: float) -> Change:
        return lambda s: s.with_soil(strength=s.soil.strength * by)

    rougher: Change | None = lambda s: s.with_roughness_scaled(ONE_CLASS)  # noqa: E731
    words = "ground one roughness class up (Gd × 4)"
    if scenario.profile is not None:
        words = "ground one roughness class up (measured waves up to 20 m twice as high)"
    note = "" if scenario.roughness_label else "not applicable, this ground has no random roughness"
    return [
        ("no_speed_term", "no speed term in the disc force", *speed_term(0.0)),
        ("default_speed_term", f"speed term of {default:.3g} per km/h in the disc force", *speed_term(default)),
        ("strength_lower", f"soil strength −{share * 100:.0f} %", strength(1.0 - share), ""),
        ("strength_higher", f"soil strength +{share * 100:.0f} %", strength(1.0 + share), ""),
        ("one_class_rougher", words, rougher if scenario.roughness_label else None, note),
    ]


def _variant(
    scenario: Scenario,
    window: Window,
    pick: Pick,
    workers: int | None,
    change: tuple[str, str, Change | None, str],
) -> Variant:
    name, words, make, note = change
    if make is None:
        same = name.endswith("speed_term")
        return Variant(name, words, same, pick if same else None, True if same else None, note=note)
    changed = make(scenario)
    laid = lay(changed, window.seeds)
    outcome, fails = _outward(changed, window, pick, laid, workers)
    return Variant(name, words, True, outcome, not fails, fails, note)


def _outward(
    scenario: Scenario, window: Window, pick: Pick, laid: tuple[Laid, ...], workers: int | None
) -> tuple[Pick | None, str]:
    """The pick with speeds searched outward from the first pick's, and what the first pick then fails ("": nothing)."""
    at_start = _column(scenario, window, laid, pick.j, workers, whole=pick.i)
    found = choose(at_start)
    met = meets(at_start, at_start.limits)[pick.i, 0]
    fails = "" if met else stops(at_start, at_start.limits, pick.i, 0)
    step = 1 if isinstance(found, Pick) else -1
    best = found if isinstance(found, Pick) else None
    j = pick.j + step
    while 0 <= j < window.speeds.size:
        found = choose(_column(scenario, window, laid, j, workers))
        if isinstance(found, Nearest) and step > 0:
            break
        if isinstance(found, Pick):
            best = replace(found, j=j)
            if step < 0:
                break
        j += step
    return best, fails


def _column(
    scenario: Scenario, window: Window, laid: tuple[Laid, ...], j: int, workers: int | None, whole: int | None = None
) -> Window:
    """The window of one speed.

    All pressures are tried in the first seed, in the next ones only those that still meet every limit, and the one
    numbered `whole`.
    """
    p, v = window.pressures, window.speeds[j : j + 1]
    no_counts = without_counts(scenario.limits)
    results: dict[tuple[int, int, int], Crossing] = {}
    rows = list(range(p.size))
    for k, ground in enumerate(laid):
        cells = [Cell(replace(scenario.settings, oil_pressure=float(p[i]), speed=float(v[0])), 0) for i in rows]
        crossings = dict(zip(rows, cross_all(scenario, (ground,), cells, False, workers), strict=True))
        results |= {(i, 0, k): crossing for i, crossing in crossings.items()}
        alone = assemble(scenario, p, v, (ground,), {(i, 0, 0): crossing for i, crossing in crossings.items()})
        met = meets(alone, no_counts)[:, 0]
        rows = [i for i in rows if met[i] or i == whole]
    return assemble(scenario, p, v, laid, results)
