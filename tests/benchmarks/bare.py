"""A bare parallelogram unit: the mechanism on which general engines are compared, and its compiled form.

Two links of 9 kg and 0.55 m, a carrier of 75 kg that only shifts, a cylinder on the lower link with polytropic gas,
and a wheel on 120 kN/m and 0.9 kN s/m that follows waves and three bumps of 60 mm at 3 m/s over 20 m. Seen from the
toolbar, which is level: U0 = (0, 0), x forward, z up; U1 = l(−cos θ, sin θ), as in `sim`. All values are made up.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel, part
from sim.arithmetic.elementary import power, sincos
from sim.hydraulics.cylinder import cylinder_geometry
from sim.unit import ATMOSPHERE, GRAVITY

LENGTH, SPEED = 20.0, 3.0  # [m], [m/s]
BUMPS = (6.0, 11.0, 15.3)  # middles of the bumps [m]
PINS = ("upper_front", "upper_rear", "lower_front", "lower_rear")


class Bare(NamedTuple):
    """Everything constant, SI units; points on the carrier from U1, of the cylinder from L0 = U0 − (0, d)."""

    l: float = 0.55
    d: float = 0.25
    link_mass: float = 9.0
    carrier_mass: float = 75.0
    carrier_x: float = -0.12
    carrier_z: float = -0.35
    wheel_x: float = -0.20  # lowest point of the wheel
    wheel_z: float = -0.80
    cyl_arm: float = 0.26
    cyl_x: float = -0.05
    cyl_z: float = 0.43
    area: float = math.pi / 4.0 * 0.032**2
    pressure: float = 60e5 + ATMOSPHERE  # of the gas with the links level
    volume: float = 0.28e-3  # the same
    polytropic: float = 1.3
    length: float = math.hypot(0.21, 0.43)  # of the cylinder with the links level
    k: float = 120e3
    c: float = 900.0
    speed: float = SPEED
    start: float = 0.0  # ground position of the toolbar at t = 0
    height: float = 0.80  # of U0 over the ground's zero
    waves: float = 0.05  # from trough to crest
    wavelength: float = 2.2
    first_wave: float = 1.0
    bump: float = 0.06
    bump_length: float = 0.6
    bump_1: float = BUMPS[0]
    bump_2: float = BUMPS[1]
    bump_3: float = BUMPS[2]


class Links(NamedTuple):
    """Sine and cosine of the arm angle, as `sim.hydraulics.cylinder.cylinder_geometry` reads them."""

    sin: float
    cos: float


@part
def _bump(m, x, middle):
    """Height and slope of a cos² bump."""
    u = x - middle
    if abs(u) >= 0.5 * m.bump_length:
        return 0.0, 0.0
    turn = 2.0 * math.pi / m.bump_length
    return 0.5 * m.bump * (1.0 + math.cos(turn * u)), -0.5 * m.bump * turn * math.sin(turn * u)


@part
def ground(m, x):
    """Height and slope of the ground at x [m]."""
    h, s = 0.0, 0.0
    if x > m.first_wave:
        turn = 2.0 * math.pi / m.wavelength
        u = turn * (x - m.first_wave)
        h = 0.5 * m.waves * (1.0 - math.cos(u))
        s = 0.5 * m.waves * turn * math.sin(u)
    for middle in (m.bump_1, m.bump_2, m.bump_3):
        a, b = _bump(m, x, middle)
        h += a
        s += b
    return h, s


@part
def wheel_force(m, t, x, z, vx, vz):
    """Force on the wheel at its lowest point (x, z) over the toolbar with velocity (vx, vz): F_x, F_z, penetration."""
    h, s = ground(m, m.start + m.speed * t + x)
    pen = h - (m.height + z)
    load = max(m.k * pen + m.c * (s * (m.speed + vx) - vz), 0.0) if pen > 0.0 else 0.0
    return -load * s, load, pen


@part
def gas_force(m, length):
    """Force that pushes the cylinder's pins apart [N]."""
    volume = m.volume + m.area * (length - m.length)
    return (m.pressure * power(m.volume / volume, m.polytropic) - ATMOSPHERE) * m.area


@part
def _acceleration(m, t, th, om):
    """θ″, forces on wheel and cylinder, penetration."""
    s, c = sincos(th)
    x, z = -m.l * c, m.l * s  # U1
    fx, fz, pen = wheel_force(m, t, x + m.wheel_x, z + m.wheel_z, z * om, -x * om)
    cx, cz, ux, uz, length, length_t = cylinder_geometry(m, Links(s, c))
    push = gas_force(m, length)
    inertia = (2.0 / 3.0 * m.link_mass + m.carrier_mass) * m.l * m.l
    load = fx * z - fz * x + push * length_t + (m.link_mass + m.carrier_mass) * GRAVITY * x
    return load / inertia, fx, fz, push * ux, push * uz, cx, cz, pen, s, c


@part
def _pins(m, th, om, found, out, at):
    """Sizes of the four main pins' forces, body by body."""
    acc, fx, fz, px, pz, cx, cz, _, s, c = found
    x, z = -m.l * c, m.l * s
    ax, az = z * acc - x * om * om, -x * acc - z * om * om  # of U1: ρ_θ θ″ + ρ_θθ θ′²
    sum_x = m.carrier_mass * ax - fx  # both links on the carrier
    sum_z = m.carrier_mass * (az + GRAVITY) - fz
    wx, wz = m.wheel_x - m.carrier_x, m.wheel_z - m.carrier_z
    moment = wx * fz - wz * fx
    lx, lz = -m.carrier_x, -m.d - m.carrier_z
    ur_x = (moment + lx * sum_z - lz * sum_x) / m.d
    # upper link about U0: its rear pin's force across the link
    inertia = m.link_mass * m.l * m.l / 3.0
    turn = inertia * acc - 0.5 * x * m.link_mass * GRAVITY  # r × F of the rear pin
    ur_z = (turn + z * ur_x) / x
    lr_x, lr_z = sum_x - ur_x, sum_z - ur_z
    half = 0.5 * m.link_mass
    uf_x, uf_z = half * ax + ur_x, half * (az + 2.0 * GRAVITY) + ur_z
    lf_x, lf_z = half * ax + lr_x - px, half * (az + 2.0 * GRAVITY) + lr_z - pz
    out[at] = math.sqrt(uf_x * uf_x + uf_z * uf_z)
    out[at + 1] = math.sqrt(ur_x * ur_x + ur_z * ur_z)
    out[at + 2] = math.sqrt(lf_x * lf_x + lf_z * lf_z)
    out[at + 3] = math.sqrt(lr_x * lr_x + lr_z * lr_z)
    # the lower link about L0 is left over: the built-in check
    lower = inertia * acc - 0.5 * x * half * 2.0 * GRAVITY + (cx * pz - cz * px)
    return x * lr_z - z * lr_x - lower


@part
def _rk4(m, t, h, th, om, first):
    """One step of the classic rule; `first` is the acceleration at its start → θ, θ′, whether contact switched."""
    touching = first[7] > 0.0
    k1 = first[0]
    b = _acceleration(m, t + 0.5 * h, th + 0.5 * h * om, om + 0.5 * h * k1)
    v2 = om + 0.5 * h * k1
    c = _acceleration(m, t + 0.5 * h, th + 0.5 * h * v2, om + 0.5 * h * b[0])
    v3 = om + 0.5 * h * b[0]
    d = _acceleration(m, t + h, th + h * v3, om + h * c[0])
    v4 = om + h * c[0]
    switched = (b[7] > 0.0) != touching or (c[7] > 0.0) != touching or (d[7] > 0.0) != touching
    return (
        th + h / 6.0 * (om + 2.0 * (v2 + v3) + v4),
        om + h / 6.0 * (k1 + 2.0 * (b[0] + c[0]) + d[0]),
        switched,
    )


@kernel
def march(m, th, om, step, cuts, angles, pins):
    """March from rest: θ and pins (n, 4) at the start of every step; steps in which contact switches are cut.

    Returns the largest residual of the equation that is left over [N m].
    """
    worst = 0.0
    flat = pins.reshape(-1)
    for i in range(angles.size):
        t = i * step
        found = _acceleration(m, t, th, om)
        angles[i] = th
        worst = max(worst, abs(_pins(m, th, om, found, flat, 4 * i)))
        new_th, new_om, switched = _rk4(m, t, step, th, om, found)
        if switched and cuts > 1:
            new_th, new_om = th, om
            h = step / cuts
            for cut in range(cuts):
                now = t + cut * h
                new_th, new_om, _ = _rk4(m, now, h, new_th, new_om, _acceleration(m, now, new_th, new_om))
        th, om = new_th, new_om
    return worst


class Crossing(NamedTuple):
    """Arm angle [rad] and sizes of the four pin forces [N] at the start of every step."""

    angles: NDArray[np.float64]  # (n,)
    pins: NDArray[np.float64]  # (n, 4), in the order of PINS


def steps_of(step: float) -> int:
    """Number of steps over the whole ground."""
    return round(LENGTH / SPEED / step)


@kernel
def rest(m):
    """Arm angle at rest on the flat start (bisection)."""
    low, high = -0.3, 0.3
    for _ in range(100):
        middle = 0.5 * (low + high)
        if _acceleration(m, 0.0, middle, 0.0)[0] > 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def compiled(step: float, cuts: int = 8) -> Crossing:
    """The crossing in rowbench's way: RK4, only the steps in which contact switches cut."""
    m, n = Bare(), steps_of(step)
    angles, pins = np.empty(n), np.empty((n, 4))
    march(m, rest(m), 0.0, step, cuts, angles, pins)
    return Crossing(angles, pins)


REFERENCE_STEP = 1e-5  # [s]


def reference(step: float, finest: float = REFERENCE_STEP) -> Crossing:
    """The crossing with steps of `finest`, at the starts of steps of `step` (a multiple of it)."""
    every = round(step / finest)
    assert abs(every * finest - step) < 1e-12, "the step is no multiple of the reference's"
    fine = compiled(finest)
    n = steps_of(step)
    return Crossing(fine.angles[: n * every : every], fine.pins[: n * every : every])


class Errors(NamedTuple):
    """Of a crossing against the reference."""

    angle: float  # largest error of θ [rad]
    peak: float  # of the highest peak of any pin, share
    series: float  # RMS error of the pin loads / RMS load, worst pin


def errors(found: Crossing, true: Crossing) -> Errors:
    """Errors of a crossing at the reference's instants."""
    apart = found.pins - true.pins
    series = np.sqrt((apart**2).mean(axis=0) / (true.pins**2).mean(axis=0)).max()
    peak = np.abs(found.pins.max(axis=0) / true.pins.max(axis=0) - 1.0).max()
    return Errors(float(np.abs(found.angles - true.angles).max()), float(peak), float(series))
