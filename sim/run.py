"""simulate(unit, soil, track, settings) → Run: one crossing."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.errors import RunError
from sim.ground_tables import GroundTables, ground_tables
from sim.heeds import OPEN_SHARE, Met, heeds
from sim.hydraulics.accumulator import Fill, fill
from sim.hydraulics.cylinder import downforce
from sim.laws.gas import GasLaw, gas_law
from sim.march import loop as kernel
from sim.mechanism.kinematics import State
from sim.mechanism.linkage import check_travel
from sim.model import Model, pack
from sim.record import CHANNELS, PINS, Channels, DepthSetting, Energy, Run, energy_of
from sim.setting import (
    TRAVEL_MARGIN,
    find_setting,
    nominal_height,
    rest_at,
    spare_weight,
    with_crank,
)
from sim.step import Step, choose_step
from sim.toolbar.path import path
from sim.track import Track
from sim.unit import ATMOSPHERE, Rock, Settings, Soil, Unit
from sim.worn import Knocks, Worn, as_set, is_worn, knocks_of, resting, worn

MOST_STEPS = 600_000  # that a run keeps: some 5 km
STEP_BYTES = 1_100  # that one of them takes at the most, while it is put together (measured)
LEAD_IN = 26.0  # travel before the measures: 14 m flat, 8 m blend, 4 m settling [m]


@dataclass(frozen=True)
class Prepared:
    """Everything that stands before the first step."""

    model: Model
    law: GasLaw
    gas: Fill
    setting: DepthSetting
    reference: DepthSetting
    redone: bool  # the setting was made at the run's own pressure and speed
    unit: Unit
    settings: Settings
    worn: Worn | None = None  # play in the pins as it lies at the setting; None: there is none
    resting: tuple[float, float] | None = None  # arm and press arm angle at rest [rad], where known already


def prepare(unit: Unit, soil: Soil, rock: Rock, settings: Settings, crank: float | None = None) -> Prepared:
    """Fill the accumulator, find the depth setting and pack the model.

    crank: angle [rad] at which the crank of the depth linkage is held, whatever depth that gives (`held_at`); the
    settings' set depth is then what errors count from, and says how high the toolbar is carried. Raises LinkageError
    (linkage cannot be closed or set), LawError (gas beyond its law) and EquilibriumError.
    """
    if crank is not None:
        return held_at(unit, soil, rock, settings, crank)
    law = gas_law(settings)
    # the reference: same unit and soil at the pressure and speed at which the depth was set
    at_reference = replace(settings, oil_pressure=settings.reference_pressure, speed=settings.reference_speed)
    reference, play = _setting_at(unit, soil, rock, at_reference)
    redone = settings.setting == "redone"
    setting = reference
    if redone and settings != at_reference:
        setting, play = _setting_at(unit, soil, rock, settings)
    gas = _fill(unit, settings, law)
    m = pack(unit, soil, rock, settings, gas, setting.crank_angle)
    weight_m = m if redone else pack(unit, soil, rock, at_reference, _fill(unit, at_reference, law), 0.0)
    lift = None if play is None else play.lift
    spare = spare_weight(unit, with_crank(weight_m, unit, setting.crank_angle), law, setting, soil.strength, lift)
    m = m._replace(squash_set=setting.squash, over_set=settings.set_depth - setting.squash, spare_weight=spare)
    return Prepared(m, law, gas, setting, reference, redone, unit, settings, play)


def held_at(unit: Unit, soil: Soil, rock: Rock, settings: Settings, crank: float) -> Prepared:
    """As `prepare` with the crank held at an angle [rad]: squash, load and spare weight are those of the unit at rest
    there at the settings' pressure and speed. Raises LinkageError, LawError and EquilibriumError.
    """
    check_travel(unit, crank)
    law = gas_law(settings)
    gas = _fill(unit, settings, law)
    m = pack(unit, soil, rock, settings, gas, crank)
    z_bar = nominal_height(unit, settings.set_depth)
    th, ps, play = resting(unit, m, law, z_bar, soil.strength, worn(unit, crank) if is_worn(unit) else None)
    rest = rest_at(m, law, z_bar, th, ps, soil.strength, None if play is None else play.lift)
    made = DepthSetting(crank, z_bar, rest.squash, rest.over, rest.gauge_load, ps, reached=True)
    weight = rest.gauge_load + rest.press_load + rest.disc + rest.boot
    spare = weight - settings.oil_pressure * m.area * rest.ratio
    m = m._replace(squash_set=rest.squash, over_set=settings.set_depth - rest.squash, spare_weight=spare)
    return Prepared(m, law, gas, made, made, False, unit, settings, play, (th, ps))


def _fill(unit: Unit, s: Settings, law: GasLaw) -> Fill:
    return fill(unit, s.oil_pressure, s.precharge, s.precharge_temperature, s.gas_temperature, law)


@lru_cache(maxsize=512)
def _setting_at(unit: Unit, soil: Soil, rock: Rock, settings: Settings) -> tuple[DepthSetting, Worn | None]:
    """The depth setting made at these settings' pressure and speed, and the play as it lies then (remembered: many
    runs share one).
    """
    law = gas_law(settings)
    m = pack(unit, soil, rock, settings, _fill(unit, settings, law), math.radians(95.0))
    tight = find_setting(unit, m, law, settings, soil.strength)
    if not is_worn(unit):
        return tight, None
    held = with_crank(m, unit, tight.crank_angle)
    play = as_set(held, law, tight, unit.main_links.angle_nominal, soil.strength, worn(unit, tight.crank_angle))
    return find_setting(unit, m, law, settings, soil.strength, play.lift), play


def start_state(unit: Unit, soil: Soil, ready: Prepared) -> State:
    """Equilibrium on flat ground at the run's own pressure and speed, gas at its working temperature."""
    return start(unit, soil, ready)[0]


def start(unit: Unit, soil: Soil, ready: Prepared) -> tuple[State, NDArray[np.float64] | None]:
    """`start_state`, and the play as it lies then (`sim.worn.Worn.numbers`); None without wear."""
    m, law, play = ready.model, ready.law, ready.worn
    z_bar = ready.setting.toolbar_height
    if ready.resting is not None:
        th, ps = ready.resting
    elif ready.setting.reached and ready.redone:
        th, ps = unit.main_links.angle_nominal, ready.setting.press_angle
    else:
        th, ps, play = resting(unit, m, law, z_bar, soil.strength, play)
    rest = rest_at(m, law, z_bar, th, ps, soil.strength, None if play is None else play.lift)
    state = State(th, 0.0, ps, 0.0, rest.dg, rest.dp, m.wall, 0.0)
    return state, None if play is None else play.numbers()


def disc_behind(unit: Unit) -> float:
    """Distance of the disc's hub behind O at the nominal arm angle [m]."""
    front = unit.toolbar.upper_pin[0] - unit.main_links.length * math.cos(unit.main_links.angle_nominal)
    return -(front + unit.disc.hub[0])


def start_position(unit: Unit, x_from: float) -> float:
    """Position of O [m] at which a run starts: the disc at the head of the lead-in to x_from [m]."""
    return x_from - LEAD_IN + disc_behind(unit)


def measured_steps(track: Track, speed: float, step: float) -> tuple[int, int]:
    """First step that is measured and the first that no longer is, by the travel of the toolbar."""
    per_step = speed * step
    first = math.ceil(LEAD_IN / per_step - 1e-9)
    return first, first + max(1, math.floor((track.x_to - track.x_from) / per_step + 1e-9))


def march_steps(track: Track, speed: float, step: float) -> int:
    """Steps that a run takes, lead-in and all."""
    return measured_steps(track, speed, step)[1] + 1


def simulate(
    unit: Unit,
    soil: Soil,
    track: Track,
    settings: Settings,
    *,
    step: float | None = None,
    tables: GroundTables | None = None,
    crank: float | None = None,
    bar: NDArray[np.float64] | None = None,
) -> Run:
    """March one unit along a track at constant speed and keep every step of the measured stretch.

    step [s], by default `sim.step.choose_step`; `tables` may be given where several runs share a track and set depth;
    crank as `prepare`; bar: motion of the toolbar from `start_position` on, (2 · steps + 1 or more, 6) as
    `sim.toolbar.path.path` gives it at half steps, in place of its own ride over this track (`march_steps`).
    Raises SimulationError: as `prepare`, StepError, and RunError when the unit leaves what the model can describe.
    """
    begin = time.perf_counter()
    chosen = choose_step(unit, soil, track.rock, settings) if step is None else Step(step)
    steps = march_steps(track, settings.speed, chosen.seconds)
    if step is None:  # whoever names a step knows how many there will be
        _check_size(steps, settings.speed * chosen.seconds)
    step = chosen.seconds
    ready = prepare(unit, soil, track.rock, settings, crank)
    y, loose = start(unit, soil, ready)
    if tables is None:
        tables = ground_tables(unit, track, settings.set_depth)
    m = ready.model
    x_start = start_position(unit, track.x_from)
    if bar is None:
        bar = path(
            unit, track.surface, track.x0, track.dx, x_start, settings.speed, 0.5 * step, 2 * steps + 1,
            settings.toolbar == "carried",
        )  # fmt: skip
    out = np.empty((len(CHANNELS), steps))
    pins = np.empty((steps, kernel.N_PINS))
    checks = np.empty((steps, kernel.N_CHECKS))
    sums = np.zeros(kernel.N_SUMS)
    info = np.zeros(kernel.N_INFO)
    status = kernel.march(
        m, ready.law, tables.table, tables.stone, tables.x0, 1.0 / tables.dx, bar, ready.setting.toolbar_height,
        x_start, step, *arm_limits(unit), y, out.reshape(-1), pins.reshape(-1), checks.reshape(-1), sums, info,
        *(() if loose is None else (loose,)),
    )  # fmt: skip
    if status != kernel.OK:
        raise RunError(_reason(status, out, int(info[0]), unit, step))
    residuals = np.abs(checks[:, 1:]).max(axis=0).tolist()
    names = ("upper_link_moment_N_m", "press_arm_moment_N_m", "toolbar_power_W")
    marched = Marched(
        out,
        pins,
        checks[:, 0],
        sums,
        info[3] - info[2],
        dict(zip(names, residuals, strict=True)),
        int(info[1]),
        abs(info[4] - (info[7] - info[6])) / max(info[5], 1e-9),
        () if loose is None else knocks_of(loose, steps, settings.speed * step),
    )
    told = (chosen.note,) if chosen.note else ()
    return run_of(unit, soil, track, settings, ready, marched, step, begin, told=told)


def _check_size(steps: int, travel: float) -> None:
    """Raises RunError where a run would keep more steps than fit a usual computer; travel: in one of them [m]."""
    if steps > MOST_STEPS:
        raise RunError(
            f"a run keeps every step, and {steps * travel / 1e3:.3g} km in steps of {travel * 1e3:.2g} mm would "
            f"take some {steps * STEP_BYTES / 1e9:.2g} GB; allowed: {MOST_STEPS * travel / 1e3:.2g} km; try: a "
            "smaller ground.length_m (or a shorter profile)"
        )


class Marched(NamedTuple):
    """What an engine's march leaves, step by step from the start of the lead-in on."""

    out: NDArray[np.float64]  # (channels, steps)
    pins: NDArray[np.float64]  # (steps, 28) forces in the order of sim.record.PINS, x and z [N]
    actuator: NDArray[np.float64]  # (steps,) [N]
    sums: NDArray[np.float64]  # in the order of sim.record.Sums [J]
    stored: float  # energy stored at the end less that at the start [J]
    residuals: dict[str, float]  # `Run.pin_residuals`
    cut_steps: int = 0
    sampled_share: float = 0.0  # `Energy.sampled_share`
    knocks: tuple[Knocks, ...] = ()  # of worn pins


def run_of(
    unit: Unit,
    soil: Soil,
    track: Track,
    settings: Settings,
    ready: Prepared,
    marched: Marched,
    step: float,
    begin: float,
    engine: str = "compiled",
    told: Sequence[str] = (),
) -> Run:
    """The frozen result over the measured stretch; begin: clock at the start [s], told: further warnings."""
    inside = slice(*measured_steps(track, settings.speed, step))
    series = dict(zip((c.name for c in CHANNELS), marched.out[:, inside], strict=True))
    energy = energy_of(marched.sums, marched.stored, marched.sampled_share)
    met = met_by(series, ready.setting, energy, track.x_from, settings.speed, step)._replace(knocks=marched.knocks)
    return Run(
        unit=unit,
        soil=soil,
        settings=settings,
        track=track,
        setting=ready.setting,
        reference=ready.reference,
        step=step,
        steps=marched.out.shape[1],
        cut_steps=marched.cut_steps,
        series=series,
        pins=np.ascontiguousarray(marched.pins[inside]).reshape(-1, len(PINS), 2),
        actuator=marched.actuator[inside].copy(),
        energy=energy,
        pin_residuals=marched.residuals,
        downforce=downforce(unit, settings.oil_pressure),
        wall=time.perf_counter() - begin,
        compile_wall=0.0,
        engine=engine,
        warnings=(*(heed.text for heed in heeds(unit, settings, ready, track.rock, met)), *told),
    )


def arm_limits(unit: Unit) -> tuple[float, float]:
    """Arm angles [rad] that a march allows: the travel and what the arm may be pressed into its stops."""
    links = unit.main_links
    return links.stop_down - TRAVEL_MARGIN, links.stop_up + TRAVEL_MARGIN


def place_text(at: float, row: Channels) -> str:
    """Time [s], place and arm angle of an instant, as an error names them."""
    return f"at {at:.3f} s, {row.distance:.2f} m along the track, arm angle {math.degrees(row.arm_angle):.1f}°"


def gas_text(where: str) -> str:
    """That the gas was pressed beyond its law (`sim.laws.gas.SMALLEST_SHARE` of the accumulator)."""
    return (
        f"the gas was pressed below a twentieth of the accumulator {where}; allowed: as much as its law describes; "
        "try: more settings.precharge_bar or unit.accumulator.volume_l"
    )


def _reason(status: int, out: NDArray[np.float64], done: int, unit: Unit, step: float) -> str:
    """Why a march stopped, with time and state."""
    where = place_text(done * step, Channels(*out[:, done - 1])) if done > 0 else "at the start of the lead-in"
    if status == kernel.OPEN_CLOSURE:
        low, high = math.degrees(unit.main_links.stop_down), math.degrees(unit.main_links.stop_up)
        return (
            f"the arm was pressed more than {math.degrees(TRAVEL_MARGIN):.0f}° into a travel stop "
            f"{where}: the ground is too rough for this unit and speed, or the stops are too soft; allowed: its travel "
            f"of {low:.0f}° to {high:.0f}° and that much more; try: less settings.speed_kmh, smoother ground, or more "
            "unit.main_links.stop_stiffness_kNm_per_rad"
        )
    if status == kernel.GAS_RANGE:
        return gas_text(where)
    return (
        f"the motion did not stay finite {where}; allowed: finite numbers; try: the masses, stiffnesses and "
        "dampings under [unit] nearer to the defaults"
    )


def met_by(
    series: dict[str, NDArray[np.float64]], made: DepthSetting, energy: Energy, x_from: float, speed: float, step: float
) -> Met:
    """What a crossing came to, from its measured series, which begin at x_from [m]; speed [m/s], step [s]."""
    gas, gauge, press = series["gas_temperature"], series["tyre_and_sinkage"], series["press_squash"]
    return Met(
        pressure=float(series["oil_pressure"].max()) - ATMOSPHERE,
        coldest=float(gas.min()),
        hottest=float(gas.max()),
        gauge_squash=float(gauge.max()) + made.squash,
        gauge_at=x_from + int(gauge.argmax()) * speed * step,
        press_squash=float(press.max()),
        press_at=x_from + int(press.argmax()) * speed * step,
        knock=float(series["rock_force"].max()),
        step=step,
        # the part of the balance that rows keep too, in the same number; else the whole of it
        energy_share=energy.sampled_share if energy.sampled_share > OPEN_SHARE else energy.residual_share,
    )
