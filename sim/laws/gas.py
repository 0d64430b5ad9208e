"""Nitrogen: equation of state, inner energy, density.

Real nitrogen follows the Benedict–Webb–Rubin equation with the constants of Cooper & Goldfrank (1967), values from
memory; against CoolProp (Span et al. 2000) they hold within 1 % for 20–200 bar and −20…60 °C
(tests/published/test_nitrogen.py). The ideal gas is the same equation with every correction zero.
Pressures are absolute here.
"""

from __future__ import annotations

from typing import NamedTuple

from sim.arithmetic.bracket import MOST_STEPS, middle_of, narrowed
from sim.arithmetic.compiled import kernel, part, routine
from sim.arithmetic.elementary import exponential
from sim.errors import LawError
from sim.unit import Settings

MOLAR_MASS = 28.01348  # nitrogen [kg/kmol]
GAS_CONSTANT = 8.314  # as used with the constants below [kJ/(kmol K)]
HIGHEST_PRESSURE = 1000e5  # beyond it the equation is not used at all [Pa]
SMALLEST_SHARE = 0.05  # share of the accumulator below which the gas is pressed beyond the equation [1]


class GasLaw(NamedTuple):
    """Constants of the Benedict–Webb–Rubin equation (kPa, m³/kmol, K)."""

    a: float
    A0: float
    b: float
    B0: float
    c: float
    C0: float
    alpha: float
    gamma: float


NITROGEN = GasLaw(2.54, 106.73, 0.002328, 0.04074, 7.379e4, 8.164e5, 1.272e-4, 0.0053)
IDEAL = GasLaw(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0053)


def law_named(name: str) -> GasLaw:
    """The gas law called "real" or "ideal"; ValueError for another name."""
    laws = {"real": NITROGEN, "ideal": IDEAL}
    if name not in laws:
        raise ValueError(f"gas law {name!r}: allowed are {', '.join(laws)}")
    return laws[name]


def gas_law(settings: Settings) -> GasLaw:
    """The gas law that the settings name."""
    return law_named(settings.gas)


@part
def state(density, temperature, law):
    """Pressure [Pa], (∂p/∂T)_ρ [Pa/K] and c_v [J/(kg K)] at density [kg/m³] and temperature [K]."""
    r = density * (1.0 / MOLAR_MASS)  # [kmol/m³]
    t = temperature
    r2 = r * r
    it = 1.0 / t
    it2 = it * it
    e = exponential(-law.gamma * r2)
    w = (1.0 + law.gamma * r2) * e
    r3 = r2 * r
    rt = GAS_CONSTANT * t
    p = (
        r * rt
        + (law.B0 * rt - law.A0 - law.C0 * it2) * r2
        + (law.b * rt - law.a) * r3
        + law.a * law.alpha * r3 * r3
        + law.c * r3 * it2 * w
    )
    p_t = (
        GAS_CONSTANT * r
        + (law.B0 * GAS_CONSTANT + 2.0 * law.C0 * it2 * it) * r2
        + law.b * GAS_CONSTANT * r3
        - 2.0 * law.c * r3 * it2 * it * w
    )
    c_v = (
        2.5 * GAS_CONSTANT
        + 6.0 * law.C0 * r * it2 * it
        - 6.0 * law.c / law.gamma * it2 * it * (1.0 - (1.0 + 0.5 * law.gamma * r2) * e)
    )
    return 1e3 * p, 1e3 * p_t, (1e3 / MOLAR_MASS) * c_v


@routine
def internal_energy(density, temperature, law):
    """Specific internal energy [J/kg]; its slopes are c_v and (p − T p_T)/ρ²."""
    r = density / MOLAR_MASS
    t = temperature
    r2 = r * r
    e = exponential(-law.gamma * r2)
    u = (
        2.5 * GAS_CONSTANT * t
        - (law.A0 + 3.0 * law.C0 / t**2) * r
        - 0.5 * law.a * r2
        + law.a * law.alpha * r2 * r2 * r / 5.0
        + 3.0 * law.c / (law.gamma * t**2) * (1.0 - (1.0 + 0.5 * law.gamma * r2) * e)
    )
    return 1e3 / MOLAR_MASS * u


@kernel
def state_at(density, temperature, law):
    """`state` for callers in Python: kept on disk, where a law by itself would be compiled anew by every process."""
    return state(density, temperature, law)


@kernel
def _density_at(pressure, temperature, law):
    """Density [kg/m³] at pressure [Pa] and temperature [K], to rounding."""
    ideal = pressure * MOLAR_MASS / (1e3 * GAS_CONSTANT * temperature)
    low, high = 0.2 * ideal, 2.0 * ideal
    f_low = state(low, temperature, law)[0] - pressure
    f_high = state(high, temperature, law)[0] - pressure
    while f_high < 0.0:
        high *= 1.3
        f_high = state(high, temperature, law)[0] - pressure
    side = 0
    for _ in range(MOST_STEPS):
        middle = middle_of(low, f_low, high, f_high)
        if middle in (low, high) or high - low < 1e-15 * middle:
            break
        f = state(middle, temperature, law)[0] - pressure
        if f == 0.0:
            return middle
        low, f_low, high, f_high, side = narrowed(middle, f, low, f_low, high, f_high, side)
    return 0.5 * (low + high)


@kernel
def warmed_fast(first, last, temperature, law, steps):
    """Gas temperature [K] after a change of density from `first` to `last` [kg/m³] without heat, from `temperature`.

    RK4 of dT/dρ = T p_T/(ρ² c_v) in so many steps.
    """
    h = (last - first) / steps
    t = temperature
    for i in range(steps):
        total = 0.0
        slope = 0.0
        for stage in range(4):
            share = 0.0 if stage == 0 else (1.0 if stage == 3 else 0.5)
            rho = first + (i + share) * h
            now = t + share * h * slope
            _, p_t, c_v = state(rho, now, law)
            slope = now * p_t / (rho * rho * c_v)
            total += (2.0 if 0 < stage < 3 else 1.0) * slope
        t += h / 6.0 * total
    return t


def density(pressure: float, temperature: float, law: GasLaw) -> float:
    """Density [kg/m³] at pressure [Pa, absolute] and temperature [K]; LawError beyond 1000 bar."""
    if not 0.0 < pressure <= HIGHEST_PRESSURE:
        raise LawError(
            f"gas pressure {pressure / 1e5:.0f} bar is beyond the gas law; allowed: 0 to 1000 bar; try: "
            "settings.precharge_bar and settings.oil_pressure_bar nearer to the defaults"
        )
    return float(_density_at(float(pressure), float(temperature), law))
