"""What is told of oil pressures that do not suit the precharge: `Limits.gas_rule`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from sim.hydraulics.gas_rule import GasRule
from sim.hydraulics.working import keeps, suiting_oils
from sim.unit import Settings, Unit


def gas_notes(unit: Unit, settings: Settings, rule: GasRule, oil_pressures: Sequence[float]) -> tuple[str, ...]:
    """A word where some of the oil pressures tried [Pa] do not suit the precharge of the settings."""
    count = len(oil_pressures)
    broken = sum(not keeps(rule, unit, replace(settings, oil_pressure=p)) for p in oil_pressures)
    if not broken:
        return ()
    many = f"{broken} of the {count} pressures tried" if broken < count else f"all {count} pressures tried"
    outside = "lies outside and is" if broken == 1 else "lie outside and are"
    return (
        f"a precharge of {settings.precharge / 1e5:g} bar suits {suiting_oils(rule, unit, settings).bars} bar of oil "
        f"(limits.precharge_share_max, gas_squeeze_max): {many if count > 1 else 'the one tried'} {outside} not picked",
    )
