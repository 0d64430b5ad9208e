"""Filling of the accumulator and the errors of the gas law (its numbers: tests/published/test_nitrogen.py)."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from sim.errors import LawError
from sim.hydraulics.accumulator import fill
from sim.laws.gas import IDEAL, NITROGEN, density, law_named, state
from sim.unit import ATMOSPHERE, Accumulator, Unit

COLD = WARM = 293.15

ROOT = Path(__file__).parents[4]


def test_gas_carries_a_pressure_above_the_precharge():
    found = fill(Unit(), 60e5, 24e5, COLD, WARM, IDEAL)
    assert found.cushion
    assert found.full_pressure == pytest.approx(24e5 + ATMOSPHERE)
    assert found.volume == pytest.approx(0.70e-3 * (24e5 + ATMOSPHERE) / (60e5 + ATMOSPHERE))


def test_real_gas_fills_to_the_set_pressure():
    found = fill(Unit(), 60e5, 24e5, COLD, WARM, NITROGEN)
    assert state(found.mass / found.volume, WARM, NITROGEN)[0] == pytest.approx(60e5 + ATMOSPHERE, rel=1e-12)
    assert state(found.mass / 0.70e-3, COLD, NITROGEN)[0] == pytest.approx(24e5 + ATMOSPHERE, rel=1e-12)


def test_below_the_precharge_the_oil_column_is_relaxed():
    found = fill(Unit(), 20e5, 24e5, COLD, WARM, IDEAL)
    acc = Accumulator()
    assert not found.cushion
    assert found.volume == pytest.approx(acc.volume + 4e5 * acc.column_volume / acc.bulk_modulus)


def test_cold_gas_stands_lower():
    cold = fill(Unit(), 60e5, 24e5, 293.15, 263.15, IDEAL)
    assert cold.full_pressure == pytest.approx((24e5 + ATMOSPHERE) * 263.15 / 293.15)


def test_density_inverts_the_equation_of_state():
    for law in (IDEAL, NITROGEN):
        for p, t in ((1e5, 293.15), (60e5, 253.15), (300e5, 333.15)):
            assert state(density(p, t, law), t, law)[0] == pytest.approx(p, rel=1e-12)


def test_pressure_beyond_the_law_is_refused():
    with pytest.raises(LawError, match=r"gas pressure 60000 bar is beyond the gas law"):
        density(6e9, 293.15, NITROGEN)
    with pytest.raises(LawError, match=r"gas pressure -1 bar"):
        density(-1e5, 293.15, NITROGEN)


def test_unknown_law_names_what_is_allowed():
    assert law_named("real") is NITROGEN
    assert law_named("ideal") is IDEAL
    with pytest.raises(ValueError, match=r"'air': allowed are real, ideal"):
        law_named("air")


def test_a_process_that_finds_the_law_on_disk_compiles_none_of_it():
    """A law called from Python by itself would be compiled anew by every command, half a second each."""
    program = (
        "import sys\nfrom sim.hydraulics.accumulator import fill\n"
        "from sim.laws import gas\nfrom sim.unit import Settings, Unit\n"
        "s = Settings()\nlaw = gas.gas_law(s)\n"
        "fill(Unit(), s.oil_pressure, s.precharge, s.precharge_temperature, s.gas_temperature, law)\n"
        "print(len(gas.state.signatures), sum(gas.state_at.stats.cache_hits.values()), "
        "*sorted({'scipy.optimize', 'numba.np.linalg'} & set(sys.modules)))"
    )
    said = [
        subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True).stdout
        for _ in range(2)
    ]
    assert said[1].split() == ["0", "1"]  # and neither root finders nor what only the compiler needs
