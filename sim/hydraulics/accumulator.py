"""The accumulator: how it is filled, and what gas and oil give behind the cylinder when moved slowly or fast.

Slow: the gas keeps its temperature (isothermal). Fast: no heat passes (isentropic, dT/dρ = T p_T/(ρ² c_v)). A unit at
work lies between the two; `sim.hydraulics.oil` follows it in time with the accumulator's own time constant. Seal
friction and the throttling of moving oil are left out here. Pressures are absolute unless they are called gauge.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from sim.errors import LawError
from sim.hydraulics.cylinder import lever, piston_area, swept
from sim.laws.gas import HIGHEST_PRESSURE, SMALLEST_SHARE, GasLaw, density, gas_law, state_at, warmed_fast
from sim.unit import ATMOSPHERE, Accumulator, Settings, Unit

_STEPS = 64  # of the fast change: its error is below 1e-9


def column_stiffness(accumulator: Accumulator) -> float:
    """Fall of the oil's pressure per volume once the gas fills its space, B/V_col [Pa/m³]."""
    return accumulator.bulk_modulus / accumulator.column_volume


@dataclass(frozen=True)
class Fill:
    """How the accumulator stands at the nominal arm angle, gas at its working temperature."""

    mass: float  # gas [kg]
    volume: float  # gas volume V_g0; above V_acc the gas has reached its end and the oil column is relaxed [m³]
    full_pressure: float  # pressure of the gas when it fills the accumulator, absolute [Pa]
    cushion: bool  # True: the gas carries the pressure; False: the set pressure is below `full_pressure`


def fill(
    unit: Unit,
    oil_pressure: float,
    precharge: float,
    precharge_temperature: float,
    gas_temperature: float,
    law: GasLaw,
) -> Fill:
    """State of the accumulator at gauge pressures [Pa] and temperatures [K]."""
    acc = unit.accumulator
    p_set = oil_pressure + ATMOSPHERE
    mass = density(precharge + ATMOSPHERE, precharge_temperature, law) * acc.volume
    full = float(state_at(mass / acc.volume, gas_temperature, law)[0])
    if p_set >= full:
        return Fill(mass, mass / density(p_set, gas_temperature, law), full, True)
    relaxed = acc.volume + (full - p_set) * acc.column_volume / acc.bulk_modulus
    return Fill(mass, relaxed, full, False)


@dataclass(frozen=True)
class Filling:
    """The gas and the oil let in at one oil pressure and temperature, with the arm at its nominal angle."""

    law: GasLaw
    mass: float  # of the gas [kg]
    nominal: float  # volume V_g0 asked of the gas at the nominal arm angle; above `space`: out of oil [m³]
    space: float  # volume of the accumulator V_acc [m³]
    column: float  # fall of the oil's pressure per volume once the gas fills its space [Pa/m³]
    temperature: float  # [K]
    full_pressure: float  # of the gas when it fills its space [Pa]

    def slow(self, volume: float) -> float:
        """Oil pressure [Pa] at a volume [m³] with the gas at its temperature."""
        return self._pressure(volume, self.temperature)

    def fast(self, volume: float) -> float:
        """Oil pressure [Pa] at a volume [m³] after a change from the nominal one without heat."""
        return self._pressure(volume, self.fast_temperature(volume))

    def fast_temperature(self, volume: float) -> float:
        """Gas temperature [K] after that change, RK4 of dT/dρ = T p_T/(ρ² c_v)."""
        first, last = (self.mass / min(v, self.space) for v in (self.nominal, volume))
        return float(warmed_fast(first, last, self.temperature, self.law, _STEPS))

    def warmed(self, temperature: float) -> float:
        """Oil pressure [Pa] at the nominal arm angle at another temperature [K], no oil in or out."""
        return self._pressure(self.nominal, temperature)

    def fall(self, fast: bool) -> float:
        """−dp/dV of a small change about the nominal volume [Pa/m³]: slow ρ(∂p/∂ρ)_T/V, fast ρ(∂p/∂ρ)_s/V."""
        if self.nominal > self.space:
            return self.column
        rho, t = self.mass / self.nominal, self.temperature
        step = 1e-4 * rho
        slope = (state_at(rho + step, t, self.law)[0] - state_at(rho - step, t, self.law)[0]) / (2.0 * step)
        if fast:
            _, p_t, c_v = state_at(rho, t, self.law)
            slope += t * p_t * p_t / (rho * rho * c_v)
        return float(rho * slope / self.nominal)

    def _pressure(self, volume: float, temperature: float) -> float:
        if volume < SMALLEST_SHARE * self.space:
            raise LawError(
                f"the gas would be pressed to {volume / self.space * 100:.0f} % of the accumulator, beyond its law; "
                f"allowed: {SMALLEST_SHARE * 100:.0f} % or more; try: more settings.precharge_bar or "
                "unit.accumulator.volume_l"
            )
        gas = float(state_at(self.mass / min(volume, self.space), temperature, self.law)[0])
        if gas > HIGHEST_PRESSURE:
            raise LawError(
                f"the gas would reach {gas / 1e5:.0f} bar, beyond its law; allowed: up to 1000 bar; try: less "
                "settings.precharge_bar, or more unit.accumulator.volume_l"
            )
        return max(gas - self.column * max(volume - self.space, 0.0), 0.0)


def filling(unit: Unit, settings: Settings, oil_pressure: float, temperature: float) -> Filling:
    """Gas and oil with the oil pressure (gauge, [Pa]) set at a temperature [K]; precharge and gas law of the settings.

    Raises LawError where the gas law does not hold.
    """
    acc, law = unit.accumulator, gas_law(settings)
    filled = fill(unit, oil_pressure, settings.precharge, settings.precharge_temperature, temperature, law)
    return Filling(
        law, filled.mass, filled.volume, acc.volume, column_stiffness(acc), temperature, filled.full_pressure
    )


@dataclass(frozen=True)
class Pushing:
    """A filling behind the cylinder of a unit: what it gives at an arm angle."""

    unit: Unit
    gas: Filling

    @property
    def area(self) -> float:
        """Of the piston [m²]."""
        return piston_area(self.unit)

    def volume(self, angle: float) -> float:
        """Volume V = V_g0 + A(L − L_nom) asked of the gas at an arm angle [m³]."""
        return self.gas.nominal + swept(self.unit, angle)

    def pressure(self, angle: float, fast: bool) -> float:
        """Oil pressure at an arm angle, gauge [Pa]."""
        volume = self.volume(angle)
        return (self.gas.fast(volume) if fast else self.gas.slow(volume)) - ATMOSPHERE

    def downforce(self, angle: float, fast: bool) -> float:
        """Vertical force at the disc from the cylinder at an arm angle [N]."""
        return self.pressure(angle, fast) * self.area * lever(self.unit, angle).ratio

    def spring_rate(self, fast: bool) -> float:
        """Rise of the downforce per height of the disc at the nominal arm angle [N/m].

        MR²·dF/dL + F·dMR/dz with F = (p − p_atm)A, dF/dL = A²(−dp/dV): the gas, and the lever that moves under it.
        """
        nominal = self.unit.main_links.angle_nominal
        at = lever(self.unit, nominal)
        force = self.pressure(nominal, False) * self.area
        return at.ratio**2 * self.area**2 * self.gas.fall(fast) + force * at.ratio_rate


def pushing(unit: Unit, settings: Settings, oil_pressure: float, temperature: float) -> Pushing:
    """`filling` behind the cylinder of a unit; arguments and errors the same."""
    return Pushing(unit, filling(unit, settings, oil_pressure, temperature))


def with_accumulator(unit: Unit, volume: float) -> Unit:
    """The unit with an accumulator of another volume [m³]."""
    return replace(unit, accumulator=replace(unit.accumulator, volume=volume))
