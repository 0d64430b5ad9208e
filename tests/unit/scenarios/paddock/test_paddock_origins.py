"""Where the values of a paddock come from that its file does not give: a lent unit brings its file along."""

from __future__ import annotations

import paddocks
import pytest

from scenarios.load import load
from scenarios.paddock.origin import ORIGIN
from sim.unit import Settings

FIELD = """title = "My unit"
settings = { oil_pressure_bar = 55, set_depth_mm = 35, precharge_bar = 30, speed_kmh = 7 }
soil = { base = "hard", cohesive_modulus_kN_per_m_n1 = 50 }
limits = { on_depth_share_min = 0.85 }
machine = { rows = 12 }
search = { pressures_bar = [50, 70, 90], seeds = 5 }
[unit.carrier]
mass_kg = 111
"""
GROUND = "[ground]\nlength_m = 50\n"


def lent(folder, tables=None, more="", field=FIELD + GROUND):
    (folder / "mine.toml").write_text(field, encoding="utf-8")
    wanted = {"machine": "", "search": "", "unit": 'base = "mine.toml"', **(tables or {})}
    return paddocks.small(folder, wanted, more)


def origin(paddock):
    assert paddock.origin.startswith(ORIGIN)
    return paddock.origin.removeprefix(ORIGIN)


@pytest.mark.parametrize("field", [FIELD + GROUND, FIELD], ids=["scenario", "unit alone"])
def test_a_lent_unit_brings_settings_soil_limits_and_machine(tmp_path, field):
    paddock = lent(tmp_path, field=field.replace(", cohesive_modulus_kN_per_m_n1 = 50", ""))
    s = paddock.settings
    assert (s.oil_pressure, s.set_depth, s.precharge) == (55e5, 0.035, 30e5)
    assert paddock.soil.strength == 2.0e6
    assert (paddock.limits.on_depth_share_min, paddock.machine.rows) == (0.85, 12)
    assert paddock.unit.carrier.mass == 111.0


def test_only_a_unit_alone_brings_the_pressures_to_try(tmp_path):
    assert [s.oil_pressure for s in lent(tmp_path, field=FIELD).tried] == [50e5, 70e5, 90e5]
    assert [s.oil_pressure for s in lent(tmp_path).tried] == [35e5, 40e5, 45e5]


def test_what_the_paddock_says_itself_wins_key_by_key(tmp_path):
    paddock = lent(tmp_path, {"settings": "set_depth_mm = 50", "soil": "strength_MPa = 1.4"})
    assert (paddock.settings.set_depth, paddock.settings.precharge) == (0.05, 30e5)
    assert (paddock.soil.strength, paddock.soil.cohesive_modulus) == (1.4e6, 50e3)


def test_a_soil_that_the_paddock_names_takes_the_place_of_the_lent_one(tmp_path):
    assert lent(tmp_path, {"soil": 'base = "soft"'}).soil.cohesive_modulus != 50e3


def test_it_is_told_where_each_table_comes_from(tmp_path):
    assert origin(lent(tmp_path)) == (
        "unit, settings, limits and machine from mine.toml; soil from mine.toml over hard.toml; search by default"
    )
    own = {"settings": "set_depth_mm = 50", "limits": "on_depth_share_min = 0.8", "machine": "rows = 5"}
    plain = origin(paddocks.small(tmp_path, own))
    assert plain == "unit (the demonstration unit) and soil (firm) by default"
    said = origin(lent(tmp_path, own))
    assert said == (
        "unit, the rest of settings, the rest of limits and the rest of machine from mine.toml; "
        "soil from mine.toml over hard.toml; search by default"
    )


def test_a_scenario_that_lends_its_unit_to_a_scenario_lends_no_more(tmp_path):
    (tmp_path / "mine.toml").write_text(FIELD + GROUND, encoding="utf-8")
    path = tmp_path / "a.toml"
    path.write_text(f'title = "a"\n{GROUND}[unit]\nbase = "mine.toml"\n', encoding="utf-8")
    assert load(path).settings == Settings()
