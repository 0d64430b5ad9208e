"""Units whose parameters bring the full model down to a textbook case, and a march from any start.

Nothing here re-implements the model: the same kernels run, with masses, forces or wheels taken away by parameters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sim.hydraulics.accumulator import Fill, fill
from sim.laws.gas import IDEAL, GasLaw
from sim.march import loop as kernel
from sim.mechanism.kinematics import State
from sim.model import Model
from sim.record import CHANNELS, Sums
from sim.unit import (
    Accumulator,
    Carrier,
    Cylinder,
    DepthLinkage,
    Disc,
    GaugeWheel,
    MainLinks,
    PressWheel,
    Settings,
    Soil,
    Unit,
)

FAR = 2000.0  # distance of the cylinder's toolbar pin: its direction and leverage are then those of a vertical force
TINY = 1e-9  # mass of a part that is taken away [kg]


def carrier_only(mass: float = 100.0, links: float = 0.0) -> Unit:
    """A carrier of `mass` on the main parallelogram with link masses `links`; all other bodies weigh nothing.

    The disc and the boot find no force in the soil, the press wheel is held in the air, the cylinder is
    frictionless, its oil without resistance.
    """
    return Unit(
        main_links=MainLinks(mass=links),
        carrier=Carrier(mass=mass),
        disc=Disc(edge_width=0.0, face_factor=0.0, boot_vertical=0.0, boot_draught=0.0, drag_torque=0.0),
        gauge_wheel=GaugeWheel(arm_mass=TINY, arm_inertia=0.0),
        depth_linkage=DepthLinkage(rod_mass=0.0, turnbuckle_mass=0.0, bell_mass=0.0, bell_inertia=0.0, crank_mass=0.0),
        press_wheel=PressWheel(
            arm_mass=TINY, arm_inertia=0.25, pivot=(-0.35, 1.0), preload=0.0, notch=0.0, spring=1e4,
            spring_angle=0.1, damping=0.0,
        ),
        cylinder=Cylinder(orifice=1.0, line=0.0, seal_force=0.0, seal_factor=0.0),
    )  # fmt: skip


def steady_push(unit: Unit, down: bool = True) -> Unit:
    """The cylinder far above (or below) and its gas endless: a vertical force p·A·s/l at the carrier."""
    cylinder = replace(unit.cylinder, frame=(-unit.cylinder.arm, FAR if down else -FAR))
    return replace(unit, cylinder=cylinder, accumulator=replace(unit.accumulator, volume=1e3))


def pushing(unit: Unit, force: float, **others) -> Settings:
    """Settings at which the cylinder pushes the carrier with `force` [N]; level toolbar, ideal gas."""
    area = math.pi / 4.0 * unit.cylinder.bore**2
    pressure = force * unit.main_links.length / (unit.cylinder.arm * area)
    return Settings(
        oil_pressure=pressure,
        reference_pressure=pressure,
        precharge=0.5 * pressure,
        toolbar="level",
        gas="ideal",
        **others,
    )


def filled(unit: Unit, settings: Settings) -> Fill:
    """The accumulator at these settings, ideal gas."""
    return fill(
        unit, settings.oil_pressure, settings.precharge, settings.precharge_temperature, settings.gas_temperature, IDEAL
    )


def insulated(accumulator: Accumulator) -> Accumulator:
    """The same accumulator without heat flow to its wall."""
    return replace(accumulator, time_constant=1e15)


def point_wheel(unit: Unit, stiffness: float) -> Unit:
    """A gauge wheel so small that it follows every sample, on a tyre of `stiffness` [N/m]; the disc as much higher."""
    radius = 1e-4
    wheel = replace(unit.gauge_wheel, radius=radius, tyre_stiffness=stiffness, tyre_damping=stiffness / 500.0)
    hub = (unit.disc.hub[0], unit.disc.hub[1] + unit.gauge_wheel.radius - radius)
    return replace(unit, gauge_wheel=wheel, disc=replace(unit.disc, hub=hub))


def linear_soil(unit: Unit, stiffness: float) -> Soil:
    """Soil in which the gauge wheel sinks in proportion to its load: n = ½ makes N = K s."""
    wheel = unit.gauge_wheel
    modulus = stiffness / ((3.0 - 0.5) / 3.0 * wheel.width * math.sqrt(2.0 * wheel.radius))
    return Soil(
        strength=1e20, reference_strength=1e20, sinkage_exponent=0.5, cohesive_modulus=0.0, frictional_modulus=modulus,
    )  # fmt: skip


def level_table(surface: float, hard: float = -1e3, n: int = 64) -> NDArray[np.float64]:
    """Ground table of a level surface [m], hard profile at `hard`, reference strength; n samples."""
    row = np.array([surface, surface, hard, surface, surface, 1.2e6, 1.2e6])
    return np.tile(row[:, None], (1, n))


@dataclass(frozen=True)
class March:
    """What a march from a chosen start gives."""

    series: dict[str, NDArray[np.float64]]
    pins: NDArray[np.float64]
    sums: dict[str, float]
    stored: tuple[float, float]
    status: int


def march_from(
    m: Model,
    law: GasLaw,
    y: State,
    *,
    step: float,
    steps: int,
    z_bar: float,
    table: NDArray[np.float64],
    path: NDArray[np.float64] | None = None,
    inv: float = 1e-6,
) -> March:
    """March `steps` samples from state y over a level table (toolbar level unless `path` says otherwise)."""
    if path is None:
        path = np.zeros((2 * steps + 1, 6))
    out = np.empty((len(CHANNELS), steps))
    pins = np.empty((steps, kernel.N_PINS))
    checks = np.empty((steps, kernel.N_CHECKS))
    sums = np.zeros(kernel.N_SUMS)
    info = np.zeros(kernel.N_INFO)
    stone = np.zeros(table.shape[1], dtype=np.int32)
    status = kernel.march(
        Model(*map(float, m)), law, table, stone, -32.0 / inv, inv, path, float(z_bar), 0.0, step, -1.5, 1.5,
        State(*map(float, y)), out.reshape(-1), pins.reshape(-1), checks.reshape(-1), sums, info,
    )  # fmt: skip
    series = dict(zip((c.name for c in CHANNELS), out, strict=True))
    return March(
        series, np.hstack([pins, checks]), dict(zip(Sums._fields, sums, strict=True)), (info[2], info[3]), status
    )
