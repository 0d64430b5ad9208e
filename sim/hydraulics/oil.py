"""What oil and gas do while the piston moves: force of the cylinder, loss in the line, seals, gas and oil column."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from sim.arithmetic.compiled import part
from sim.arithmetic.elementary import hyperbolic_tangent
from sim.arithmetic.simd import largest, magnitude, select
from sim.laws.gas import state as gas_state
from sim.rates import Rates, of_spring
from sim.unit import ATMOSPHERE

FULL_PRESSURE = 32e5  # of the gas when it fills the accumulator, in `valve_rates` [Pa]


class Oil(NamedTuple):
    """Cylinder, line and accumulator at one instant; pressures absolute."""

    force: float  # that pushes the cylinder's pins apart [N]
    p_oil: float  # at the accumulator [Pa]
    p_cyl: float  # in the cylinder [Pa]
    volume: float  # asked of the gas by the piston; above that of the accumulator: out of oil [m³]
    tg_rate: float  # rate of the gas temperature [K/s]
    vo_rate: float  # rate of the oil let in by a holding valve [m³/s]
    # powers [W]
    w_friction: float  # lost in the seals
    w_orifice: float  # lost in orifice and line
    w_atmosphere: float  # done on the displaced atmosphere
    w_heat: float  # heat into the gas
    w_valve: float  # brought by the valve
    w_column: float  # brought by the oil column


@part
def hydraulics(m, law, length, rate, tg, vo):
    """Cylinder and accumulator at a length [m], its rate [m/s], gas temperature [K] and let-in oil [m³] → Oil.

    T′ = (T_w − T)/τ − T(∂p/∂T)_ρ V̇/(m c_v) (Otis & Pourmovahed 1985, from memory).
    """
    flow = m.area * rate
    volume = m.v_nominal + m.area * (length - m.cyl_nominal) - vo
    out = volume > m.v_acc
    gas_volume = select(out, m.v_acc, volume)
    p_gas, p_t, c_v = gas_state(m.gas_mass / gas_volume, tg, law)
    p_oil = largest(p_gas - m.column * largest(volume - m.v_acc, 0.0), 0.0)
    vo_rate = p_oil * 0.0
    if m.hold > 0.0:  # a holding valve: V_o′ = (p_set − p_oil)·V_g/(1.4 p_g τ_v)
        vo_rate = (m.p_set - p_oil) * gas_volume / (1.4 * p_gas) * m.hold
    heat = (m.wall - tg) * m.cooling
    squeeze = select(out, 0.0, tg * p_t * (flow - vo_rate) / (m.gas_mass * c_v))
    p_cyl = largest(p_oil - m.orifice * flow * magnitude(flow) - m.line * flow, 0.0)
    push = (p_cyl - ATMOSPHERE) * m.area
    friction = (m.seal_0 + m.seal_mu * magnitude(push)) * hyperbolic_tangent(rate * m.seal_slope)
    supply = p_oil * flow
    return Oil(
        force=push - friction,
        p_oil=p_oil,
        p_cyl=p_cyl,
        volume=volume,
        tg_rate=heat - squeeze,
        vo_rate=vo_rate,
        w_friction=friction * rate,
        w_orifice=(p_oil - p_cyl) * flow,
        w_atmosphere=ATMOSPHERE * flow,
        w_heat=m.gas_mass * c_v * heat,
        w_valve=select(out, 0.0, p_oil * vo_rate),
        w_column=select(out, supply, 0.0),
    )


def cylinder_rates(
    area: float, line: float, orifice: float, seal_0: float, seal_mu: float, seal_speed: float, column: float,
    pressure: float, blow: float, mass: float,
) -> Rates:  # fmt: skip
    """Rates of a mass [kg] on the piston: line, fitting and seals damp it, the oil column (out of oil) is its spring.

    Arguments as in the model. Seals at rest under a pressure, the fitting about the flow that loses `blow` in it
    [Pa].
    """
    flow_loss = line + 2.0 * np.sqrt(orifice * blow)
    damping = area * area * flow_loss + (seal_0 + seal_mu * pressure * area) / seal_speed
    return Rates(np.append(of_spring(area * area * column, 0.0, mass), -damping / mass))


def valve_rates(column: float, volume: float, hold_time: float, time_constant: float) -> Rates:
    """Rates of gas and oil alone: the gas's warmth, and a holding valve when the accumulator is out of oil.

    There V_o′ = (p_set − p_oil) V_acc/(1.4 p_g τ_v) while p_oil rises by `column` per volume; p_g at FULL_PRESSURE, a
    precharge of 24 bar in the heat.
    """
    valve = column * volume / (1.4 * FULL_PRESSURE * hold_time)
    return Rates(np.array([-1.0 / time_constant, -valve], dtype=np.complex128))
