"""Both parallelograms in closed form: positions and their derivatives to the arm angle θ.

Circle intersections, no angles (model: the crank is locked by its actuator). J turns by +90°: J(x, z) = (−z, x).
All vectors in toolbar axes. `closures` is the compiled core; the rest of the file answers what a setter asks:
depth per millimetre of actuator and of turnbuckle, drift over the arm's travel, and whether a unit can be built.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import part
from sim.arithmetic.elementary import sincos
from sim.arithmetic.simd import largest, root
from sim.errors import LinkageError
from sim.unit import Unit

CHANGE_POINT_SINE = 0.2  # a closure whose triangle has sin γ below this is too near a change point
# keys of the scenario file that a loop hangs on, as an error names them
ROD = "unit.depth_linkage.crank_m, bell_first_m or rod_m"
BUCKLE = "unit.depth_linkage.bell_second_m or turnbuckle_m, or unit.gauge_wheel.lug_m,"
STOPS = "unit.main_links.stop_down_deg and stop_up_deg"


class Links(NamedTuple):
    """Closed linkage at one arm angle. Suffix _t: ∂/∂θ, _tt: ∂²/∂θ²."""

    sin: float
    cos: float
    u1x: float  # rear upper pin U1 from O
    u1z: float
    u1x_t: float
    u1z_t: float
    bx: float  # bell crank, pivot → rod
    bz: float
    ex: float  # bell crank, pivot → turnbuckle
    ez: float
    gx: float  # gauge arm, pivot → lug
    gz: float
    rodx: float  # crank → bell crank
    rodz: float
    tx: float  # bell crank → gauge arm
    tz: float
    phi_t: float  # bell crank angle
    phi_tt: float
    beta_t: float  # gauge arm angle
    beta_tt: float
    eta_t: float  # rod angle
    eta_tt: float
    tau_t: float  # turnbuckle angle
    tau_tt: float
    per_rod: float  # 1/(rod·Jb) [1/m²]
    per_buckle: float  # 1/(turnbuckle·Jg) [1/m²]


@part
def _meets(first, second, square, inv):
    """Where circles of the squared radii `first` and `second` [m²] meet → shares (along, across).

    Of D, from the first centre to the second, square = |D|² and inv = 1/|D|², and of JD: b = along·D + across·JD with
    |b|² = first, |b − D|² = second. along = b·D/|D|², b·D = (|D|² + first − second)/2; across² = first/|D|² − along²,
    0 where they do not meet. One product at a time, so that it is rounded alike for one row and for eight.
    """
    toward = 0.5 * (square + (first - second))
    along = toward * inv
    return along, root(largest((first - toward * along) * inv, 0.0))


@part
def closures(m, th):
    """Main parallelogram and depth linkage at arm angle th [rad] → Links. An open closure gives across = 0."""
    s, c = sincos(th)
    u1x = m.u0x - m.l * c
    u1z = m.u0z + m.l * s
    u1x_t = m.l * s
    u1z_t = m.l * c
    # first closure: |R + b − C| = rod, D = C − R
    dx = m.crank_x - u1x - m.bell_x
    dz = m.crank_z - u1z - m.bell_z
    d2 = dx * dx + dz * dz
    inv = 1.0 / d2
    along, across = _meets(m.bell_1 * m.bell_1, m.rod_l * m.rod_l, d2, inv)
    bx = along * dx - across * dz
    bz = along * dz + across * dx
    rodx = bx - dx
    rodz = bz - dz
    # 1/(rod·Jb), where rod·Jb = across·D², and the first derivatives
    rjb = inv / across
    phi_t = -(rodx * u1x_t + rodz * u1z_t) * rjb
    b_tx = u1x_t - phi_t * bz
    b_tz = u1z_t + phi_t * bx
    # U1_θθ = l (cos θ, −sin θ)
    px = u1z_t - phi_t * phi_t * bx
    pz = -u1x_t - phi_t * phi_t * bz
    phi_tt = -(b_tx * b_tx + b_tz * b_tz + rodx * px + rodz * pz) * rjb
    inv_r2 = 1.0 / (m.rod_l * m.rod_l)
    eta_t = (rodx * b_tz - rodz * b_tx) * inv_r2
    b_ttx = px - phi_tt * bz
    b_ttz = pz + phi_tt * bx
    eta_tt = (rodx * b_ttz - rodz * b_ttx) * inv_r2
    # second arm of the bell crank
    ex = m.bell_ratio * (m.bell_cos * bx - m.bell_sin * bz)
    ez = m.bell_ratio * (m.bell_sin * bx + m.bell_cos * bz)
    # second closure on the carrier: |A + g − E| = turnbuckle, D = E − A
    qx = m.bell_x + ex - m.arm_x
    qz = m.bell_z + ez - m.arm_z
    q2 = qx * qx + qz * qz
    inv2 = 1.0 / q2
    along2, across2 = _meets(m.lug * m.lug, m.buckle_l * m.buckle_l, q2, inv2)
    gx = along2 * qx - across2 * qz
    gz = along2 * qz + across2 * qx
    tx = gx - qx
    tz = gz - qz
    tjg = inv2 / across2
    tje = tz * ex - tx * ez
    beta_t = phi_t * tje * tjg
    e_tx = -phi_t * ez
    e_tz = phi_t * ex
    e_ttx = -phi_tt * ez - phi_t * phi_t * ex
    e_ttz = phi_tt * ex - phi_t * phi_t * ez
    rx = -beta_t * gz - e_tx
    rz = beta_t * gx - e_tz
    wx = -beta_t * beta_t * gx - e_ttx
    wz = -beta_t * beta_t * gz - e_ttz
    beta_tt = -(rx * rx + rz * rz + tx * wx + tz * wz) * tjg
    inv_t2 = 1.0 / (m.buckle_l * m.buckle_l)
    tau_t = (tx * rz - tz * rx) * inv_t2
    tau_tt = (tx * (wz + beta_tt * gx) - tz * (wx - beta_tt * gz)) * inv_t2
    return Links(
        s, c, u1x, u1z, u1x_t, u1z_t, bx, bz, ex, ez, gx, gz, rodx, rodz, tx, tz,
        phi_t, phi_tt, beta_t, beta_tt, eta_t, eta_tt, tau_t, tau_tt, rjb, tjg,
    )  # fmt: skip


def _closure(first: complex, second: complex, r1: float, r2: float, what: str, where: str, keys: str) -> complex:
    """Point at distance r1 from `first` and r2 from `second`, left of the line between them; complex = x + iz.

    keys: of the scenario file, which the part's length hangs on.
    """
    line = second - first
    distance = abs(line)
    cosine = (r1**2 + distance**2 - r2**2) / (2.0 * r1 * distance)
    if abs(cosine) >= 1.0:
        reach = "too far apart" if distance > max(r1, r2) else "too near each other"
        raise LinkageError(
            f"{what} cannot be closed at {where}: its ends are {reach} ({distance * 1e3:.1f} mm between the pivots, "
            f"arms {r1 * 1e3:.1f} and {r2 * 1e3:.1f} mm); allowed: {abs(r1 - r2) * 1e3:.1f} to "
            f"{(r1 + r2) * 1e3:.1f} mm between the pivots; try: {keys} nearer to the defaults, or {STOPS} nearer "
            f"together"
        )
    sine = math.sqrt(1.0 - cosine**2)
    if sine <= CHANGE_POINT_SINE:
        raise LinkageError(
            f"{what} comes near a change point at {where} (sin γ = {sine:.2f}); allowed: above {CHANGE_POINT_SINE}; "
            f"try: {keys} nearer to the defaults, another settings.set_depth_mm, or {STOPS} nearer together"
        )
    return first + r1 * (cosine + 1j * sine) * line / distance


def wheel_over_disc(unit: Unit, crank_angle: float, arm_angle: float) -> float:
    """Height of the gauge wheel's lowest point over the disc's, toolbar level, o(θ) [m].

    Raises LinkageError where the linkage cannot be closed or is within CHANGE_POINT_SINE of a change point.
    """
    arm, link, disc = unit.gauge_wheel, unit.depth_linkage, unit.disc
    where = f"arm angle {math.degrees(arm_angle):.1f}°, crank angle {math.degrees(crank_angle):.1f}°"
    u1 = unit.main_links.length * complex(-math.cos(arm_angle), math.sin(arm_angle))  # from U0
    pivot = u1 + complex(*link.bell_pivot)
    crank = complex(*link.crank_pivot) + link.crank * complex(math.cos(crank_angle), math.sin(crank_angle))
    first = _closure(pivot, crank, link.bell_first, link.rod, "rod between crank and bell crank", where, ROD) - pivot
    turn = complex(math.cos(link.bell_angle), math.sin(link.bell_angle))
    second = complex(*link.bell_pivot) + link.bell_second / link.bell_first * first * turn
    start = complex(*arm.arm_pivot)
    lug = (
        _closure(start, second, arm.lug, link.turnbuckle, "turnbuckle between bell crank and gauge arm", where, BUCKLE)
        - start
    )
    wheel = start + arm.arm_length / arm.lug * lug
    return (wheel.imag - arm.radius) - (disc.hub[1] - disc.radius)


def travel(unit: Unit, margin: float = math.radians(6), n: int = 41) -> NDArray[np.float64]:
    """Arm angles over the whole travel with a margin pressed into the stops [rad], shape (n,)."""
    links = unit.main_links
    return np.linspace(links.stop_down - margin, links.stop_up + margin, n)


def check_travel(unit: Unit, crank_angle: float) -> None:
    """Raise LinkageError unless both closures stay clear of change points over the whole travel."""
    for angle in travel(unit):
        wheel_over_disc(unit, crank_angle, float(angle))


def drift(unit: Unit, crank_angle: float, arm_angles: NDArray[np.float64]) -> NDArray[np.float64]:
    """Change of depth with arm angle, wheel held: o(θ) − o(θ_nom) [m], deeper positive; shape of `arm_angles`."""
    nominal = wheel_over_disc(unit, crank_angle, unit.main_links.angle_nominal)
    return np.array([wheel_over_disc(unit, crank_angle, float(a)) - nominal for a in np.atleast_1d(arm_angles)])


@dataclass(frozen=True)
class SettingRatios:
    """How depth answers the two adjustments, deeper positive [m per m of added length]."""

    actuator: float
    turnbuckle: float
    actuator_length: float  # at this setting [m]


def actuator_length(unit: Unit, crank_angle: float) -> float:
    """Length of the depth actuator between its pins [m] at a crank angle [rad]."""
    link = unit.depth_linkage
    pin = complex(*link.crank_pivot) + link.actuator_arm * complex(math.cos(crank_angle), math.sin(crank_angle))
    return abs(pin - complex(*link.actuator_base))


def setting_ratios(unit: Unit, crank_angle: float, step: float = 1e-5) -> SettingRatios:
    """Depth per actuator and turnbuckle length at the nominal arm angle, by central differences of the closures."""
    nominal = unit.main_links.angle_nominal

    def over(angle: float, longer: float = 0.0) -> float:
        link = replace(unit.depth_linkage, turnbuckle=unit.depth_linkage.turnbuckle + longer)
        return wheel_over_disc(replace(unit, depth_linkage=link), angle, nominal)

    by_angle = (over(crank_angle + step) - over(crank_angle - step)) / (2 * step)
    stroke = (actuator_length(unit, crank_angle + step) - actuator_length(unit, crank_angle - step)) / (2 * step)
    by_turnbuckle = (over(crank_angle, step) - over(crank_angle, -step)) / (2 * step)
    return SettingRatios(by_angle / stroke, by_turnbuckle, actuator_length(unit, crank_angle))
