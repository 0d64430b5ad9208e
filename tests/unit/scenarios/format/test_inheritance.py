"""Units and soils that take over values from the library or from another file."""

from __future__ import annotations

from dataclasses import replace

import pytest
from every import every

from scenarios.format.errors import ScenarioError
from scenarios.format.library import library
from scenarios.load import load
from scenarios.spec import Search
from sim.unit import Settings, Soil, Unit

GROUND = 'title = "t"\n[ground]\nlength_m = 50\n'


def write(folder, name, text):
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def test_without_a_word_the_unit_is_the_demonstration_unit_on_firm_soil(tmp_path):
    found = load(write(tmp_path, "a.toml", GROUND))
    assert found.unit == Unit()
    assert found.soil == Soil()


def test_ten_lines_make_a_scenario(tmp_path):
    text = GROUND + '[unit]\nbase = "heavy"\n[unit.disc]\nsweep_deg = 7\n[soil]\nbase = "hard"\nvariation_cv = 0.1\n'
    assert len(text.splitlines()) == 10
    found = load(write(tmp_path, "ten.toml", text))
    assert found.unit.carrier.mass == 130.0
    assert found.unit.disc.edge_width == 0.010
    assert found.unit.disc.sweep == pytest.approx(7 * 3.141592653589793 / 180)
    assert found.soil.strength == 2.0e6
    assert found.variation.variation_cv == 0.1
    assert found.variation.correlation_length == 1.0


@every(("name", "strength"), [("soft", 0.6e6), ("firm", 1.2e6), ("hard", 2.0e6)])
def test_named_soil_strengths(name, strength, tmp_path):
    assert name in [entry.name for entry in library("soil")]
    found = load(write(tmp_path, "s.toml", f'{GROUND}[soil]\nbase = "{name}"\n'))
    assert found.soil.strength == strength


def test_a_chain_of_files_in_other_folders(tmp_path):
    """Paths count from the file that names them; a nearer file wins over one farther down."""
    write(tmp_path, "units/low.toml", '[unit]\nbase = "heavy"\n[unit.carrier]\nmass_kg = 111\ninertia_kg_m2 = 3\n')
    write(tmp_path, "units/mid.toml", '[unit]\nbase = "low.toml"\n[unit.carrier]\nmass_kg = 122\n')
    found = load(write(tmp_path, "jobs/a.toml", f'{GROUND}[unit]\nbase = "../units/mid.toml"\n'))
    assert (found.unit.carrier.mass, found.unit.carrier.inertia) == (122.0, 3.0)
    assert found.unit.disc.edge_width == 0.010  # from "heavy", at the end of the chain
    assert found.unit.carrier.centre == Unit().carrier.centre


def test_a_scenario_can_lend_its_unit(tmp_path):
    write(tmp_path, "first.toml", GROUND + "[unit.main_links]\nlength_m = 0.6\n[unit.depth_linkage]\nrod_m = 0.6\n")
    found = load(write(tmp_path, "second.toml", f'{GROUND}[unit]\nbase = "first.toml"\n'))
    expected = replace(Unit().main_links, length=0.6)
    assert found.unit.main_links == expected


def test_faults_of_a_base_file_name_that_file(tmp_path):
    write(tmp_path, "base.toml", "[unit.carrier]\nmass_kg = -3\n[unit.disk]\nradius_m = 0.3\n")
    path = write(tmp_path, "a.toml", f'{GROUND}[unit]\nbase = "base.toml"\n[unit.cylinder]\nbore_mm = 500\n')
    with pytest.raises(ScenarioError) as caught:
        load(path)
    assert len(caught.value.faults) == 3
    text = str(caught.value)
    assert "base.toml: unit.carrier.mass_kg: given -3" in text
    assert "base.toml: unit.disk: unknown key" in text
    assert '"disc"' in text
    assert "a.toml: unit.cylinder.bore_mm: given 500" in text


@every(
    ("base", "part"),
    [("haevy", '"heavy"'), ("no/such.toml", "there is no such file"), ("", "demo, double_disc, heavy")],
)
def test_a_base_that_is_not_there(base, part, tmp_path):
    path = write(tmp_path, "a.toml", f'{GROUND}[unit]\nbase = "{base}"\n')
    with pytest.raises(ScenarioError) as caught:
        load(path)
    assert len(caught.value.faults) == 1
    assert "unit.base" in str(caught.value)
    assert part in str(caught.value)


def test_a_circle_of_bases(tmp_path):
    write(tmp_path, "b.toml", '[soil]\nbase = "c.toml"\n')
    write(tmp_path, "c.toml", '[soil]\nbase = "b.toml"\n')
    path = write(tmp_path, "a.toml", f'{GROUND}[soil]\nbase = "b.toml"\n')
    with pytest.raises(ScenarioError, match="a circle"):
        load(path)


def test_a_file_that_is_its_own_base(tmp_path):
    with pytest.raises(ScenarioError, match="a circle"):
        load(write(tmp_path, "a.toml", f'{GROUND}[unit]\nbase = "a.toml"\n'))


def test_a_unit_alone_brings_the_settings_that_go_with_it(tmp_path):
    """The nearest file wins; what the scenario itself sets wins over all of them."""
    own = "[settings]\noil_pressure_bar = 70\nreference_pressure_bar = 65\nprecharge_bar = 30\n"
    write(tmp_path, "low.toml", own + "[unit.carrier]\nmass_kg = 111\n")
    write(tmp_path, "mid.toml", '[settings]\nprecharge_bar = 28\n[unit]\nbase = "low.toml"\n')
    found = load(write(tmp_path, "a.toml", f'{GROUND}[settings]\noil_pressure_bar = 80\n[unit]\nbase = "mid.toml"\n'))
    s = found.settings
    assert (s.oil_pressure, s.reference_pressure, s.precharge) == (80e5, 65e5, 28e5)
    assert found.unit.carrier.mass == 111.0


def test_a_unit_alone_brings_the_pressures_worth_trying(tmp_path):
    write(tmp_path, "base.toml", '[search]\npressures_bar = "60:80:3"\nspeeds_kmh = [5, 6]\n')
    found = load(write(tmp_path, "a.toml", f'{GROUND}[search]\nspeeds_kmh = [7]\n[unit]\nbase = "base.toml"\n'))
    assert [p / 1e5 for p in found.search.pressures] == [60.0, 70.0, 80.0]
    assert [3.6 * v for v in found.search.speeds] == pytest.approx([7.0])
    write(tmp_path, "field.toml", f'{GROUND}[search]\npressures_bar = "60:80:3"\n')
    lent = load(write(tmp_path, "b.toml", f'{GROUND}[unit]\nbase = "field.toml"\n'))
    assert lent.search.pressures == Search().pressures


def test_a_soil_and_a_scenario_bring_no_settings(tmp_path):
    write(tmp_path, "soil.toml", "[settings]\noil_pressure_bar = 70\n[soil]\nstrength_MPa = 1.0\n")
    write(tmp_path, "field.toml", f"{GROUND}[settings]\noil_pressure_bar = 70\n")
    text = f'{GROUND}[unit]\nbase = "field.toml"\n[soil]\nbase = "soil.toml"\n'
    found = load(write(tmp_path, "a.toml", text))
    assert found.settings == Settings()
    assert found.soil.strength == 1.0e6


def test_faults_in_the_settings_of_a_base_name_that_file(tmp_path):
    write(tmp_path, "base.toml", "[settings]\noil_pressure_bar = -3\nspeed = 9\n")
    with pytest.raises(ScenarioError) as caught:
        load(write(tmp_path, "a.toml", f'{GROUND}[unit]\nbase = "base.toml"\n'))
    assert len(caught.value.faults) == 2
    assert "base.toml: settings.oil_pressure_bar: given -3" in str(caught.value)


def test_settings_that_are_no_table_are_a_fault_beside_those_of_a_base(tmp_path):
    path = write(tmp_path, "a.toml", f'settings = 3\n{GROUND}[unit]\nbase = "double_disc"\n')
    with pytest.raises(ScenarioError, match="settings"):
        load(path)
