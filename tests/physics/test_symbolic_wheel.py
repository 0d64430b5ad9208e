"""A wheel on tyre and soil derived by symbols, against the functions of both engines.

Tyre: c δ′ = N − k δ. Soil: N = N₀ + B ṡ/v held in 0…2N₀, ṡ = q̇ − δ′, with N₀ = K r s^m and B = R κ r sⁿ; r is the
soil's strength over the reference strength and changes along x, κ = k_c + b k_φ. All of it from the words of the law;
nothing of either engine enters the derivation. Bounds are of rounding, unless a test says what else.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any, NamedTuple

import numpy as np
import pytest
import sympy as sp
from every import every
from numba import njit
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from sim.laws.wheel_soil import SoilConstants, soil_constants, static_load, wheel_on_soil
from sim.rigid.laws import Wheel, laws
from sim.rigid.rolling import deflection_after, held_by, sunk_by, wheel_load
from sim.run import prepare
from sim.unit import Rock, Settings, Soil, Unit

TEN = Settings(speed=10 / 3.6)
CASES = 2000  # random states

T, K, R, KAPPA, V, STIFF, DAMP, N = sp.symbols("t K R kappa v k c n", positive=True)
M = N + sp.Rational(1, 2)
LOAD, SINK, SINKING, BENT, SQUASHING, SHARE = sp.symbols("N s sdot delta qdot r", real=True)


def still(sink: Any, share: Any) -> Any:
    """N₀."""
    return K * share * sink**M


def arc(sink: Any, share: Any) -> Any:
    """B."""
    return R * KAPPA * share * sink**N


@cache
def solved() -> Any:
    """N of the two equations, inside the bounds."""
    bending = (LOAD - STIFF * BENT) / DAMP
    (found,) = sp.solve(LOAD - still(SINK, SHARE) - arc(SINK, SHARE) * (SQUASHING - bending) / V, LOAD)
    return found


class State(NamedTuple):
    """One instant of a wheel."""

    sink: float  # s [m]
    rate: float  # q̇ [m/s]
    bent: float  # δ [m]
    share: float  # q̄/q_ref
    changing: float  # its rate [1/s]


def default() -> tuple[Wheel, SoilConstants, Soil, float]:
    """The default gauge wheel at 10 km/h as either engine has it, its soil and what a rad of arc adds: R κ."""
    unit, soil = Unit(), Soil()
    own = laws(unit, soil, Rock(), TEN, prepare(unit, soil, Rock(), TEN)).gauge
    wheel = unit.gauge_wheel
    kappa = soil.cohesive_modulus + wheel.width * soil.frictional_modulus
    return own, soil_constants(soil, wheel.width, wheel.radius), soil, wheel.radius * kappa


@njit
def compiled(state, soil, wheel, speed):
    """What the compiled engine says of a state."""
    return wheel_on_soil(
        state.sink, state.rate, state.bent, state.share, state.changing, soil, wheel.stiffness, wheel.damping,
        1.0 / wheel.damping, speed,
    )  # fmt: skip


def states() -> list[State]:
    """Random states: sinking and rising past both bounds, and in the air."""
    rng = np.random.default_rng(3)
    sink, rate = rng.uniform(-0.003, 0.015, CASES), rng.normal(0.0, 2.5, CASES)
    bent, share, changing = (
        rng.uniform(-0.002, 0.015, CASES),
        rng.uniform(0.2, 2.5, CASES),
        rng.normal(0.0, 10.0, CASES),
    )
    return [State(*map(float, row)) for row in zip(sink, rate, bent, share, changing, strict=True)]


def test_the_constants_come_from_the_plate_under_a_rolling_circle():
    """K: Bekker's pressure κ zⁿ over the loaded chord, (z₀ − x²/D)ⁿ to the first order in x².

    B: what an arc of R dψ behind the lowest point adds to the load, as ψ → 0.
    """
    x, psi, depth, plate = sp.symbols("x psi z D", positive=True)
    pressure = KAPPA * (depth**N - N * depth ** (N - 1) * x**2 / plate)
    chord = sp.integrate(sp.expand(pressure), (x, 0, sp.sqrt(plate * depth)))
    assert sp.simplify(chord - (3 - N) / 3 * KAPPA * sp.sqrt(plate) * depth**M) == 0
    behind = KAPPA * (depth - R * (1 - sp.cos(psi))) ** N * R * sp.cos(psi)  # per angle, its upright part
    assert sp.simplify(behind.subs(psi, 0) - arc(depth, 1)) == 0
    own, theirs, soil, per_arc = default()
    bekker = {N: soil.sinkage_exponent, KAPPA: per_arc / own.radius, plate: 2 * own.radius, depth: 1.0}
    for constant, exponent in (
        (theirs.load, theirs.exponent + 0.5),
        (own.soil * soil.reference_strength, own.exponent),
    ):
        assert constant == pytest.approx(float(chord.subs(bekker)), rel=1e-12)
        assert exponent == float(M.subs(N, soil.sinkage_exponent))
    for constant in (theirs.rate, own.arc * soil.reference_strength):
        assert constant == pytest.approx(per_arc, rel=1e-14)


def test_the_solved_load_is_the_one_written_down():
    """N = (v N₀ + B(q̇ + kδ/c))/(v + B/c), and N − N₀ has the sign of ṡ."""
    n0, b = still(SINK, SHARE), arc(SINK, SHARE)
    assert sp.simplify(solved() - (V * n0 + b * (SQUASHING + STIFF * BENT / DAMP)) / (V + b / DAMP)) == 0
    sinking = SQUASHING - (solved() - STIFF * BENT) / DAMP
    assert sp.simplify((solved() - n0) - b * sinking / V) == 0


def test_energy_closes_identically_for_any_load():
    """Power in at the hub = change of what is stored + losses, with ground, soil and motion any functions of time.

    N stays a symbol here, so this holds at the bounds and in between.
    """
    x, z, bent, load = (sp.Function(name)(T) for name in ("x", "z", "delta", "N"))
    place = sp.Symbol("x_place")
    height, share = sp.Function("h")(place), sp.Function("r")(place)
    slope, firming = (f.diff(place).subs(place, x) for f in (height, share))
    height, share = height.subs(place, x), share.subs(place, x)
    rho = sp.Symbol("rho")
    sink = height - z + R - bent
    stored = STIFF * bent**2 / 2 + still(sink, share) * sink / (M + 1)
    # forces on the hub, and what the hub puts in
    along, up = -load * (slope + rho), load * (1 - rho * slope)
    power = -(along * x.diff(T) + up * z.diff(T))
    bending = (load - STIFF * bent) / DAMP
    sinking = sink.diff(T).subs(bent.diff(T), bending)
    tyre = DAMP * bending**2
    soil = (load - still(sink, share)) * sinking - K * firming * x.diff(T) * sink ** (M + 1) / (M + 1)
    rolling = rho * load * (x.diff(T) + slope * z.diff(T))
    left = power - stored.diff(T).subs(bent.diff(T), bending) - tyre - soil - rolling
    assert sp.simplify(sp.expand(left.doit())) == 0
    # without the term of soil that changes along the way it does not close
    assert sp.simplify(sp.expand((left - K * firming * x.diff(T) * sink ** (M + 1) / (M + 1)).doit())) != 0


def root_of(state: State, soil: SoilConstants, wheel: Wheel, speed: float) -> float:
    """N of the pair with its bounds, by a bracketed search."""
    if state.sink <= 0.0:
        return 0.0
    n0 = soil.load * state.share * state.sink ** (soil.exponent + 0.5)
    b = soil.rate * state.share * state.sink**soil.exponent

    def over(load: float) -> float:
        sinking = state.rate - (load - wheel.stiffness * state.bent) / wheel.damping
        return load - min(max(n0 + b * sinking / speed, 0.0), 2.0 * n0)

    return float(brentq(over, -1.0, 2.0 * n0 + 1.0, xtol=1e-13, rtol=1e-14))


def test_both_engines_solve_the_pair():
    """At random states: load, rate of δ, energy held and lost, against a bracketed root and the symbols."""
    wheel, soil, at, _ = default()
    names = (SINK, SQUASHING, BENT, SHARE, K, R, KAPPA, V, STIFF, DAMP, N)
    inside = sp.lambdify(names, solved(), modules="math")
    met = np.zeros(4)
    for state in states():
        true = root_of(state, soil, wheel, TEN.speed)
        theirs = compiled(state, soil, wheel, TEN.speed)
        firm = state.share * at.reference_strength
        ours = wheel_load(state.sink, state.rate, state.bent, firm, wheel)
        size = 1e-9 * max(true, 100.0)
        assert theirs.load == pytest.approx(true, abs=size)
        assert ours == pytest.approx(true, abs=size)
        assert theirs.tyre_rate == pytest.approx((true - wheel.stiffness * state.bent) / wheel.damping, abs=1e-9)
        n0 = static_load(state.sink, soil.load * state.share, soil.exponent)
        low, high = true <= size, true >= 2.0 * n0 - size
        if not (low or high):
            numbers = (state.sink, state.rate, state.bent, state.share, soil.load, wheel.radius,
                       soil.rate / wheel.radius, TEN.speed, wheel.stiffness, wheel.damping, soil.exponent)  # fmt: skip
            assert inside(*numbers) == pytest.approx(true, abs=size)
        assert theirs.held == pytest.approx(held_by(state.sink, firm, wheel), rel=1e-12)
        sinking = state.rate - theirs.tyre_rate
        lost = sunk_by(ours, state.sink, sinking, firm, state.changing * at.reference_strength, wheel)
        assert theirs.kept == pytest.approx(lost, abs=1e-8 * max(abs(lost), 10.0))
        assert (theirs.load - n0) * sinking >= -1e-9  # the soil gives nothing back
        assert theirs.tyre_lost == pytest.approx(wheel.damping * theirs.tyre_rate**2, rel=1e-12)
        touching = state.sink > 0.0
        met += [not touching, touching and low, not (low or high), touching and high]
    assert (met > 0.1 * CASES).all(), met


@every("speed", [0.5 / 3.6, 2.0 / 3.6, 30.0 / 3.6])
def test_slow_travel_needs_no_division(speed):
    """As v → 0 the rate law is all bound or all tyre; both engines stay finite and agree."""
    wheel, soil, at, _ = default()
    wheel = wheel._replace(speed=speed)
    for state in states()[:500]:
        true = root_of(state, soil, wheel, speed)
        firm = state.share * at.reference_strength
        assert compiled(state, soil, wheel, speed).load == pytest.approx(true, abs=1e-8 * max(true, 100.0))
        own = wheel_load(state.sink, state.rate, state.bent, firm, wheel)
        assert own == pytest.approx(true, abs=1e-8 * max(true, 100.0))


@cache
def small_motion() -> Any:
    """N̂/q̂ of the pair about rest, by its own linear equations; b = B/v and K′ = dN₀/ds stay symbols."""
    w, steep, b, load, bent, sink = sp.symbols("omega K_s b Nhat deltahat shat")
    equations = [
        load - (steep + sp.I * w * b) * sink,  # N₀ + B ṡ/v; B's own change multiplies ṡ = 0
        load - (STIFF + sp.I * w * DAMP) * bent,
        sink + bent - 1,
    ]
    found = sp.solve(equations, [load, bent, sink], dict=True)[0][load]
    return found, (w, steep, b)


@every("hertz", [(5.0, 98.61e3, 15.5), (20.0, 141.87e3, 47.4)])
def test_small_motion_at_one_kilonewton(hertz):
    """Z = (K′ + iωb)(k + iωc)/(K′ + k + iω(b + c)) by symbols, in numbers, and from both engines driven at 1 µm.

    Numbers: the model's text, 1 kN and 10 km/h, to what is printed there. Motion of 1 µm instead of none: 1e-3.
    """
    frequency, size, phase = hertz
    wheel, soil, at, _ = default()
    found, (w, steep, b) = small_motion()
    closed = (steep + sp.I * w * b) * (STIFF + sp.I * w * DAMP) / (steep + STIFF + sp.I * w * (b + DAMP))
    assert sp.simplify(found - closed) == 0
    # K′ and b from N₀ and B themselves
    rest = (1000.0 / soil.load) ** (1.0 / (soil.exponent + 0.5))
    values = {K: soil.load, SHARE: 1.0, N: soil.exponent, R: wheel.radius, KAPPA: soil.rate / wheel.radius}
    slope, damping = (
        float(e.subs(values).subs(SINK, rest)) for e in (still(SINK, SHARE).diff(SINK), arc(SINK, SHARE) / TEN.speed)
    )
    assert damping == pytest.approx(1823.0, abs=0.5)
    omega = 2 * math.pi * frequency
    numbers = {steep: slope, b: damping, w: omega, STIFF: wheel.stiffness, DAMP: wheel.damping}
    z = complex(found.subs(numbers))
    assert abs(z) == pytest.approx(size, abs=5.0)
    assert math.degrees(math.atan2(z.imag, z.real)) == pytest.approx(phase, abs=0.05)
    for driven in (_compiled_impedance, _rigid_impedance):
        assert driven(omega, rest, wheel, soil, at) == pytest.approx(z, rel=1e-3)


def _answer(times: np.ndarray, loads: np.ndarray, omega: float, swing: float) -> complex:
    """N̂/q̂ for q = q₀ + swing·sin ωt over whole periods."""
    wave = np.exp(-1j * omega * times)
    return complex(2.0 * np.mean((loads - loads.mean()) * wave) / (-1j * swing))


SWING = 1e-6  # [m]
PERIODS = 20


def _compiled_impedance(omega: float, rest: float, wheel: Wheel, soil: SoilConstants, at: Soil) -> complex:
    """δ integrated by scipy under the compiled engine's law; the last five of twenty periods."""
    bent = 1000.0 / wheel.stiffness

    def at_time(t: float, d: float):
        q, rate = rest + bent + SWING * math.sin(omega * t), SWING * omega * math.cos(omega * t)
        return compiled(State(q - d, rate, float(d), 1.0, 0.0), soil, wheel, TEN.speed)

    period = 2 * math.pi / omega
    times = period * (PERIODS - 5 + np.arange(5 * 200) / 200)
    found = solve_ivp(
        lambda t, y: [at_time(t, y[0]).tyre_rate], (0.0, times[-1]), [bent], t_eval=times, rtol=1e-10, atol=1e-14,
        max_step=period / 50,
    )  # fmt: skip
    loads = np.array([at_time(t, d).load for t, d in zip(times, found.y[0], strict=True)])
    return _answer(times, loads, omega, SWING)


def _rigid_impedance(omega: float, rest: float, wheel: Wheel, soil: SoilConstants, at: Soil) -> complex:
    """δ carried on from instant to instant by the second engine's own steps of 1/400 of a period."""
    step = 2 * math.pi / omega / 400
    bent, firm = 1000.0 / wheel.stiffness, at.reference_strength
    mean = rest + bent
    times, loads = step * np.arange(400 * PERIODS), []
    for t in times:
        q, before = mean + SWING * math.sin(omega * t), mean + SWING * math.sin(omega * (t - step))
        bent = deflection_after(bent, before, q, firm, firm, step, wheel)
        loads.append(wheel_load(q - bent, SWING * omega * math.cos(omega * t), bent, firm, wheel))
    return _answer(times[-2000:], np.array(loads[-2000:]), omega, SWING)


def test_the_second_engines_steps_are_of_second_order():
    """A wheel thrown off waves and landing: δ after half the step is four times nearer."""
    wheel, _, at, _ = default()

    def squash(t: float) -> float:
        return 0.006 + 0.012 * math.sin(40.0 * t) * math.sin(3.0 * t)

    def firm(t: float) -> float:
        return at.reference_strength * (1.0 + 0.5 * math.sin(11.0 * t))

    def after(step: float) -> np.ndarray:
        bent, kept = 0.004, []
        for i in range(round(1.0 / step)):
            a, b = i * step, (i + 1) * step
            bent = deflection_after(bent, squash(a), squash(b), firm(a), firm(b), step, wheel)
            kept.append(bent)
        return np.array(kept)[round(0.01 / step) - 1 :: round(0.01 / step)]

    fine = after(0.1e-3)
    errors = [np.sqrt(np.mean((after(step) - fine) ** 2)) for step in (2e-3, 1e-3)]
    assert errors[1] < 5e-6
    assert 3.2 < errors[0] / errors[1] < 5.0
