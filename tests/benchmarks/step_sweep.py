"""The chosen time step over the whole allowed range of every stiffness, damping, resistance and modulus, by hand:

    python -m tests.benchmarks.step_sweep [pairs] [GROUND …]

Each key of KEYS at either end of its range, alone or two at a time (the speeds taking turns), on short grounds of the
library at several pressures: what a window tells of the cells at the chosen step against an eighth of it. A line for
every crossing that is off by more than a point of a share or 2 % of a load or pin, with what is told of it; then the
numbers of all.
"""

from __future__ import annotations

import itertools
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from analysis.rows.reducer import reduce_group, stack_stones, whole_run
from scenarios.load import load
from scenarios.scenario import Scenario
from sim.errors import SimulationError, StepError
from sim.ground_tables import ground_tables
from sim.march.rows import Case, Grounds, prepare_group, stack_tables, toolbar_paths
from sim.run import start_position
from sim.step import choose_step
from sim.stiff_laws import Case as Parts
from sim.stiff_laws import place_of, with_value

KEYS = (
    "unit.gauge_wheel.tyre_stiffness_kN_per_m", "unit.gauge_wheel.tyre_damping_Ns_per_m",
    "unit.press_wheel.stiffness_kN_per_m", "unit.press_wheel.tyre_damping_Ns_per_m",
    "unit.press_wheel.spring_Nm_per_rad", "unit.press_wheel.damping_Nms_per_rad",
    "unit.press_wheel.stop_stiffness_kNm_per_rad", "unit.press_wheel.stop_damping_s_per_rad",
    "unit.main_links.stop_stiffness_kNm_per_rad", "unit.main_links.stop_damping_s_per_rad",
    "unit.cylinder.line_Pa_s_per_m3", "unit.cylinder.orifice_mm", "unit.accumulator.bulk_modulus_GPa",
    "unit.toolbar.stiffness_kN_per_m", "unit.toolbar.damping_kNs_per_m",
    "soil.cohesive_modulus_kN_per_m_n1", "soil.frictional_modulus_kN_per_m_n2", "soil.sinkage_exponent",
    "stones.contact.stiffness_MN_per_m", "stones.contact.damping_s_per_m",
)  # fmt: skip
GROUNDS = ("stony", "gully", "rough")
PRESSURES = (30.0, 40.0, 60.0, 90.0)  # [bar]
SPEEDS = (5.0, 10.0)  # [km/h]
LENGTH = 30.0  # [m]
SHARES = ("on_depth", "wheel_off", "disc_slip", "out_of_oil")
LOADS = ("gauge_load_mean", "press_load_mean")
OPEN = 1e-3  # of the toolbar's work: told of a cell


class Seen(NamedTuple):
    """One crossing at the chosen step against an eighth of it."""

    points: float  # largest difference of a share [%]
    load: float  # of a load [%]
    pins: float  # of a pin's RMS load [%]
    peak: float  # of the peak of all pins [%]
    open: float  # energy left over at the chosen step


def changed(scenario: Scenario, keys: dict[str, float]) -> Parts:
    """Unit, soil and stones of a scenario with keys at values [SI]."""
    parts = Parts(scenario.unit, scenario.soil, scenario.stones.contact, scenario.settings)
    for key, value in keys.items():
        parts = with_value(parts, key, value)
    return parts


def ends(scenario: Scenario, key: str) -> tuple[float, float]:
    """The range of a key [SI]."""
    group, name = place_of(changed(scenario, {}), key)
    meta: Any = type(group).__dataclass_fields__[name].metadata
    return float(meta["low"]), float(meta["high"])


def crossed(parts: Parts, scenario: Scenario, kmh: float, shorter: float) -> tuple[Any, float]:
    """The rows at all pressures reduced, by a share of the chosen step; and the step [s]."""
    settings = replace(scenario.settings, speed=kmh / 3.6)
    step = choose_step(parts.unit, parts.soil, parts.rock, settings).seconds / shorter
    track = replace(scenario.track(), rock=parts.rock)
    tables = ground_tables(parts.unit, track, settings.set_depth)
    cases = [Case(0, replace(settings, oil_pressure=p * 1e5, setting="redone")) for p in PRESSURES]
    bounds = whole_run(track, settings.speed, step)
    paths = toolbar_paths(parts.unit, [track], settings.speed, step, int(bounds[-1]), settings.toolbar == "carried")
    grounds = Grounds(*stack_tables([tables]), tables.x0, tables.dx, paths)
    group = prepare_group(parts.unit, parts.soil, parts.rock, cases)
    x_start = start_position(parts.unit, track.x_from)
    stones = stack_stones([track])
    return reduce_group(group, grounds, stones, x_start, step, bounds, 0.01), step


def seen(parts: Parts, scenario: Scenario, kmh: float) -> list[Seen]:
    """All pressures of one unit, ground and speed."""
    (a, _), (b, _) = (crossed(parts, scenario, kmh, shorter) for shorter in (1.0, 8.0))
    found = []
    for j in range(len(PRESSURES)):

        def value(r: Any, name: str, j: int = j) -> Any:
            return r.values[name][0, ..., j]

        points = max(100.0 * abs(a.share(n)[0, j] - b.share(n)[0, j]) for n in SHARES)
        load = max(100.0 * abs(value(a, n) - value(b, n)) / max(value(b, n), 50.0) for n in LOADS)
        pins = np.sqrt([value(r, "pin_square_mean") for r in (a, b)])
        peaks = np.array([value(r, "pin_peak") for r in (a, b)])
        found.append(Seen(
            float(points), float(load), float(100.0 * np.max(np.abs(pins[0] - pins[1]) / np.maximum(pins[1], 50.0))),
            float(100.0 * abs(peaks[0].max() / peaks[1].max() - 1.0)), float(a.energy_share[j]),
        ))  # fmt: skip
    return found


def variants(scenario: Scenario, pairs: bool) -> Iterator[dict[str, float]]:
    """Keys at the ends of their ranges."""
    for chosen in itertools.combinations(KEYS, 2 if pairs else 1):
        for values in itertools.product(*(ends(scenario, key) for key in chosen)):
            yield dict(zip(chosen, values, strict=True))


def main(pairs: bool, names: list[str]) -> None:
    """The whole sweep."""
    count: Counter[str] = Counter()
    worst = Seen(0.0, 0.0, 0.0, 0.0, 0.0)
    for name in names or GROUNDS:
        loaded = load(name)
        scenario = replace(loaded, x_to=loaded.x_from + LENGTH)
        tried = list(variants(scenario, pairs))
        speeds = itertools.cycle((*SPEEDS, *SPEEDS[::-1]))
        for keys, kmh in zip(tried, speeds, strict=False) if pairs else itertools.product(tried, SPEEDS):
            parts = changed(scenario, keys)
            label = f"{name} {kmh:g} km/h " + ", ".join(f"{key.split('.', 1)[1]} {v:g}" for key, v in keys.items())
            try:
                results = seen(parts, scenario, kmh)
                shorter = choose_step(parts.unit, parts.soil, parts.rock, replace(scenario.settings, speed=kmh / 3.6))
            except StepError as error:
                count["too stiff, refused by key"] += len(PRESSURES)
                print(f"refused  {label}: {error}")
                continue
            except SimulationError as error:
                count["not made, with its reason"] += len(PRESSURES)
                print(f"not made {label}: {str(error)[:90]}")
                continue
            for p, r in zip(PRESSURES, results, strict=True):
                off, told = r.points > 1.0 or r.load > 2.0, not r.open <= OPEN
                count["off and told" if off and told else "OFF IN SILENCE" if off else "told, yet near"
                      if told else "near"] += 1  # fmt: skip
                count["of these with a shorter step"] += shorter.shorter > 1.0
                count["of these in silence with a pin's RMS or the peak of all pins off by more than 2 %"] += (
                    max(r.pins, r.peak) > 2.0 and not told
                )
                if not told:
                    worst = Seen(*map(max, worst, r))
                if off or told or max(r.pins, r.peak) > 2.0:
                    print(
                        f"{'told' if told else 'SILENT':8s} {label}, {p:g} bar ({shorter.shorter:.2g} x): shares "
                        f"{r.points:.2f} points, loads {r.load:.2f} %, pins {r.pins:.2f} %, peaks {r.peak:.1f} %, "
                        f"open {r.open:.1e}", flush=True
                    )  # fmt: skip
    print(dict(count))
    print(f"worst of those that are not told: {worst}")


if __name__ == "__main__":
    main("pairs" in sys.argv[1:], [a for a in sys.argv[1:] if a != "pairs"])
