"""Keywords of the door: the keys of a scenario file, checked as the file is, all faults at once."""

import numpy as np
import pytest

import rowbench as rb
from analysis.door.asked import Changes, dotted
from scenarios.format.keys import SETTINGS_KEYS
from scenarios.format.tables import ROOT
from scenarios.load import load


def faults(*args, **changes):
    with pytest.raises(rb.ScenarioError) as caught:
        rb.load(*args, **changes)
    return caught.value.faults


def test_the_typed_keywords_are_the_keys_of_a_file():
    assert set(Changes.__annotations__) == {*SETTINGS_KEYS, "seed", *ROOT.names}


def test_keywords_are_read_as_the_same_keys_in_a_file(tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text(
        'title = "Mine"\nsettings = { oil_pressure_bar = 55, setting = "unchanged" }\n'
        'soil = { base = "hard", strength_MPa = 1.5 }\n'
        "limits = { pin_peak_max_N = 20000 }\nunit = { main_links = { mass_kg = 12 } }\n"
        '[ground]\nlength_m = 20\nseed = 4\nfeatures = [{ kind = "hump", at_m = 8, height_mm = 80, length_m = 4 }]\n'
    )
    bare = tmp_path / "bare" / "mine.toml"
    bare.parent.mkdir()
    bare.write_text('title = "Other"\n[ground]\nlength_m = 40\n')
    made = rb.load(
        bare,
        title="Mine",
        oil_pressure_bar=np.float64(55),
        setting="unchanged",
        seed=np.int64(4),
        soil={"base": "hard", "strength_MPa": 1.5},
        limits={"pin_peak_max_N": 20000},
        unit={"main_links": {"mass_kg": 12}},
        ground={"length_m": 20, "features": ({"kind": "hump", "at_m": 8, "height_mm": 80, "length_m": 4},)},
    )
    wanted = load(file)
    for name in ("title", "unit", "soil", "variation", "settings", "ground", "stones", "machine", "limits", "x_to"):
        assert getattr(made, name) == getattr(wanted, name), name
    assert made.unit != load("rough").unit


def test_every_fault_of_keywords_and_of_the_file_comes_at_once(tmp_path):
    file = tmp_path / "bad.toml"
    file.write_text('title = "Bad"\nsettings = { speed_kmh = 99 }\n[ground]\nlength_m = 20\n')
    found = faults(file, oil_pressure_bar=600, strength_MPa=1.0, spead_kmh=9, soil="firm", seed=2, ground={"seed": 3})
    assert len(found) == 6
    for part in (
        "strength_MPa: given 1.0, which is no keyword",
        'try: soil={"strength_MPa": …}',
        "try: speed_kmh",
        "soil: given 'firm'",
        "ground.seed: given twice",
        "settings.oil_pressure_bar (in place of the file's): given 600; allowed: 1 to 250 bar",
        "settings.speed_kmh: given 99",
    ):
        assert sum(part in text for text in found) == 1, part


def test_a_key_in_a_table_within_a_table_is_told_with_all_its_tables():
    (found,) = faults("rough", bore_mm=40)
    assert 'try: unit={"cylinder": {"bore_mm": …}}' in found


def test_unknown_keys_in_a_dict_are_told_as_in_a_file():
    (found,) = faults("rough", soil={"stregnth_MPa": 1.0})
    assert 'try: "strength_MPa"' in found


def test_dicts_do_not_change_what_was_given():
    given = {"soil": {"strength_MPa": 1.5}}
    dotted(given)
    assert given == {"soil": {"strength_MPa": 1.5}}


def test_a_measured_profile_takes_the_place_of_the_ground(tmp_path):
    x = np.arange(0.0, 42.0, 0.1)
    file = tmp_path / "ground.csv"
    file.write_text("distance_m,height_m\n" + "".join(f"{a:.2f},{0.01 * np.sin(a):.5f}\n" for a in x))
    made = rb.load("rough", profile=file, seed=3)
    wanted = load("rough", profile=file)
    assert np.array_equal(made.track().ground, wanted.track().ground)
    assert made.changed(speed_kmh=9).profile is not None


def test_a_changed_scenario_keeps_its_earlier_changes():
    first = rb.load("rough", soil={"strength_MPa": 1.5}, speed_kmh=9)
    second = first.changed(speed_kmh=7, seed=5)
    assert (second.soil, second.seed) == (first.soil, 5)
    assert (first.settings.speed, second.settings.speed) == (2.5, 7 / 3.6)
    assert rb.load("rough", soil={"strength_MPa": 1.5}, speed_kmh=7, seed=5) == second


def test_values_changed_in_si_units_are_not_lost_in_silence():
    changed = rb.load("rough").with_soil(strength=2e6)
    with pytest.raises(rb.ScenarioError, match="soil was changed in SI units"):
        changed.changed(speed_kmh=9)


def test_a_file_that_was_edited_meanwhile_is_not_mixed_with_what_was_loaded(tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text('title = "Mine"\n[ground]\nlength_m = 20\n')
    made = rb.load(file)
    file.write_text('title = "Mine"\n[ground]\nlength_m = 30\n')
    with pytest.raises(rb.ScenarioError, match="try: load it again"):
        made.run(speed_kmh=9)


def test_the_library_by_kind():
    for kind, name in (("scenario", "rough"), ("unit", "heavy"), ("soil", "soft"), ("paddock", "two_soils")):
        assert name in [entry.name for entry in rb.library(kind)]
    with pytest.raises(rb.ScenarioError, match="allowed: scenario, unit, soil, paddock"):
        rb.library("soils")
