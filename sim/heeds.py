"""What the reader of a crossing has to heed: decided here alone, for a crossing kept as a run and for a row reduced.

A kind that is barred means that the crossing's numbers are not to be trusted: nothing is picked on them. All others are
told and left to the reader.
"""

from __future__ import annotations

import math
from typing import NamedTuple, Protocol

from sim.hydraulics.accumulator import Fill
from sim.hydraulics.gas_rule import GasRule
from sim.hydraulics.working import rule_ratios, suiting_precharges
from sim.record import DepthSetting
from sim.step import choose_step
from sim.stone_blow import step_warning
from sim.unit import ATMOSPHERE, KELVIN, Rock, Settings, Soil, Unit
from sim.worn import Knocks

LEAST_GAS = 0.25  # share of the accumulator that the gas should fill at the setting
SURE_PRESSURE = 200e5  # the gas law is known to 1 % up to here, gauge [Pa] …
SURE_TEMPERATURE = (233.0, 420.0)  # … and between these [K]
# A tyre's side and the ground that a wheel rolls over are each some tenths of its radius; half of it takes both.
# Pressed by more than the radius the axle would be in the ground: no law of a rolling wheel reaches there.
DEEP_SHARE, WHOLE_SHARE = 0.5, 1.0  # of the radius: to be heeded · not to be trusted
OPEN_SHARE = 1e-3  # of the toolbar's work: an energy balance open by more is not to be trusted


class Heed(NamedTuple):
    """One thing to heed: a sentence without a full stop."""

    kind: str  # key of KINDS
    text: str
    size: float = 0.0  # of crossings that warn of one kind the worst is the one with the largest
    barred: bool = False  # the numbers are not to be trusted: nothing is picked on them


KINDS = {
    "not_reached": "depth cannot be set",
    "no_cushion": "gas gives no cushion",
    "little_gas": "gas below a quarter of the accumulator",
    "precharge": "precharge does not suit the oil pressure",
    "gas_range": "gas beyond its equation's range",
    "shared": "accumulator shared",
    "gauge_deep": "gauge wheel pressed over half its radius",
    "gauge_lost": "gauge wheel pressed over its radius",
    "press_deep": "press wheel pressed over half its radius",
    "press_lost": "press wheel pressed over its radius",
    "energy": "energy balance open",
    "blow": "blow on a stone too short for the steps",
    "short_step": "steps shorter than usual",
    "play": "worn pins knock",
    "pressure": "oil pressure above limits.gas_pressure_warning_bar",
}
"""Every kind in a few words, in the order in which they are told."""


class Met(NamedTuple):
    """What a crossing came to over its measured stretch; the last is of all of it."""

    pressure: float  # highest oil pressure at the accumulator, gauge [Pa]
    coldest: float  # gas [K]
    hottest: float
    gauge_squash: float  # largest tyre deflection and sinkage together [m]
    gauge_at: float  # place where that was, along the ground [m]
    press_squash: float
    press_at: float
    knock: float  # largest force of a stone on the disc [N]
    step: float  # of time [s]
    energy_share: float = 0.0  # |residual| of the energy balance as a share of the work done
    knocks: tuple[Knocks, ...] = ()  # of worn pins


class Made(Protocol):
    """What is known before the first step: `sim.run.Prepared`."""

    @property
    def setting(self) -> DepthSetting: ...
    @property
    def gas(self) -> Fill: ...


def step_heeds(unit: Unit, soil: Soil, rock: Rock, s: Settings) -> tuple[Heed, ...]:
    """That the crossing takes longer than usual, where its step is chosen by itself."""
    note = choose_step(unit, soil, rock, s).note
    return (Heed("short_step", note),) if note else ()


def heeds(unit: Unit, s: Settings, made: Made, rock: Rock, met: Met) -> tuple[Heed, ...]:
    """What to heed of a crossing, each kind at most once."""
    found = (
        _depth(s, made.setting),
        _gas_at_the_setting(unit, s, made.gas),
        _gas_range(s, met),
        _shared(unit),
        _wheel("gauge", unit.gauge_wheel.radius, met.gauge_squash, met.gauge_at),
        _wheel("press", unit.press_wheel.radius, met.press_squash, met.press_at),
        _energy(met),
        _blow(unit, s, rock, met),
        _play(met),
    )
    return tuple(heed for heed in found if heed is not None)


def _depth(s: Settings, setting: DepthSetting) -> Heed | None:
    if setting.reached:
        return None
    return Heed(
        "not_reached",
        f"{s.oil_pressure / 1e5:.0f} bar does not hold the disc at {s.set_depth * 1e3:.0f} mm even with no load on "
        "the gauge wheel: the depth cannot be set at this pressure and speed",
    )


def _gas_at_the_setting(unit: Unit, s: Settings, gas: Fill) -> Heed | None:
    share = gas.volume / unit.accumulator.volume
    if not gas.cushion:
        return Heed(
            "no_cushion",
            f"oil pressure {s.oil_pressure / 1e5:.0f} bar is below the full-gas pressure "
            f"{(gas.full_pressure - ATMOSPHERE) / 1e5:.0f} bar: the gas gives no cushion",
        )
    if share < LEAST_GAS:
        return Heed(
            "little_gas",
            f"gas fills only {math.floor(share * 100)} % of the accumulator at the setting (below a quarter): raise "
            "the precharge",
            -share,
        )
    return None


def _gas_range(s: Settings, met: Met) -> Heed | None:
    low, high = SURE_TEMPERATURE
    if s.gas != "real":
        return None
    left = []
    if met.pressure > SURE_PRESSURE:
        left.append(f"{_above(met.pressure, SURE_PRESSURE)} bar, above {SURE_PRESSURE / 1e5:.0f}")
    if met.coldest < low:
        left.append(f"{met.coldest - KELVIN:.1f} °C, below {low - KELVIN:.1f}".replace("-", "−"))
    if met.hottest > high:
        left.append(f"{met.hottest - KELVIN:.1f} °C, above {high - KELVIN:.1f}")
    if not left:
        return None
    return Heed(
        "gas_range",
        f"the gas left the range in which its equation is known to 1 % ({'; '.join(left)}): pressures may be 2 % off",
        met.pressure,
    )


def _shared(unit: Unit) -> Heed | None:
    if unit.accumulator.shared_by <= 1:
        return None
    return Heed(
        "shared",
        f"the accumulator is shared by {unit.accumulator.shared_by} units: this run moves one of them and holds the "
        "others still, an approximation",
    )


def _wheel(name: str, radius: float, squash: float, at: float) -> Heed | None:
    """A wheel pressed so far that its law (tyre on soil, `sim.laws.wheel_soil`) says little or nothing."""
    pressed, all_of = f"the {name} wheel was pressed {squash * 1e3:.0f} mm at {at:.1f} m", f"({radius * 1e3:.0f} mm)"
    if squash > WHOLE_SHARE * radius:
        text = (
            f"{pressed}, more than its radius {all_of}, as by a wall: the wheel law says nothing there, trust no "
            "number of this crossing"
        )
        return Heed(f"{name}_lost", text, squash, barred=True)
    if squash > DEEP_SHARE * radius:
        text = f"{pressed}, over half its radius {all_of}: the wheel law, and every load there, is only rough"
        return Heed(f"{name}_deep", text, squash)
    return None


def _energy(met: Met) -> Heed | None:
    if met.energy_share <= OPEN_SHARE:  # a share that is no number is open too
        return None
    return Heed(
        "energy",
        f"the energy balance is open by {met.energy_share:.1e} of the toolbar's work: the time steps are too long for "
        "something in this crossing (a wall, a part far stiffer than usual), trust no number of it",
        met.energy_share,
        barred=True,
    )


def _blow(unit: Unit, s: Settings, rock: Rock, met: Met) -> Heed | None:
    """Where a stone was struck and the steps do not hold the peak of the blow."""
    text = step_warning(unit, rock, s.speed, met.step) if met.knock > 0.0 else ""
    return Heed("blow", text, met.step) if text else None


_LINE = {
    "depth_linkage": "the depth linkage",
    "upper_link": "the upper main link",
    "lower_link": "the lower main link",
}


def _play(met: Met) -> Heed | None:
    """Play that is crossed: the knocks are in no number, and a wheel that hangs loose on the ground carries nothing."""
    moved = [k for k in met.knocks if k.per_km > 0.0]
    if not moved:
        return None
    most = max(moved, key=lambda k: k.way * k.per_km)
    text = (
        f"worn pins: the play of {_LINE[most.line]} was crossed {most.per_km:.0f} times a km, the gauge wheel going "
        f"{most.way * 1e3:.0f} mm against the disc at up to {most.fastest:.1g} m/s; the knocks are not in the pin loads"
    )
    loose = next((k.loose for k in moved if k.line == "depth_linkage"), 0.0)
    if loose > 0.0:
        text += f". On {loose:.1%} of the way the wheel hung loose or was off the ground".replace("%", " %")
    return Heed("play", text, most.per_km)


def _above(pressure: float, bound: float) -> str:
    """A pressure [Pa] in bar, with so many decimals that it reads higher than the bound that it is above.

    >>> _above(252.4e5, 200e5), _above(200.3e5, 200e5)
    ('252', '200.3')
    """
    return _over(pressure / 1e5, bound / 1e5)


def _over(value: float, bound: float, least: int = 0) -> str:
    """A number with so many decimals, `least` or more, that it reads higher than the bound that it is above.

    >>> _over(0.9004, 0.9, 2), _over(1.43, 0.9, 2)
    ('0.9004', '1.43')
    """
    for decimals in range(least, least + 4):
        text = f"{value:.{decimals}f}"
        if float(text) > bound:
            break
    return text


def precharge_heeds(unit: Unit, s: Settings, rule: GasRule) -> tuple[Heed, ...]:
    """That the precharge does not suit the oil pressure by the file's rule, and which would."""
    found = rule_ratios(rule, unit, s)
    given = f"a precharge of {s.precharge / 1e5:g} bar is too {{}} for {s.oil_pressure / 1e5:g} bar of oil"
    if found.share > rule.share:
        text = (
            f"{given.format('high')}: {_over(found.share, rule.share, 2)} of the lowest working pressure (hot), above "
            f"{rule.share:g} (limits.precharge_share_max): the gas comes to its end in a hollow"
        )
    elif found.squeeze > rule.squeeze:
        text = (
            f"{given.format('low')}: a hump presses the gas to {_over(found.squeeze, rule.squeeze, 1)} times it "
            f"(cold), above {rule.squeeze:g} (limits.gas_squeeze_max)"
        )
    else:
        return ()
    span = suiting_precharges(rule, unit, s)
    help_ = "no precharge suits, only a larger accumulator would" if span.empty else f"{span.bars} bar suits"
    return (Heed("precharge", f"{text}; {help_}", max(found.share / rule.share, found.squeeze / rule.squeeze)),)


def pressure_heeds(pressure: float, warns_above: float) -> tuple[Heed, ...]:
    """That the oil pressure [Pa] passed what a file warns above, both gauge; a plate of the parts may allow less."""
    if pressure <= warns_above:
        return ()
    text = (
        f"oil pressure reached {_above(pressure, warns_above)} bar, above {warns_above / 1e5:g} bar "
        "(limits.gas_pressure_warning_bar)"
    )
    return (Heed("pressure", text, pressure),)
