"""[prior] and [uncertain] in files: what is read, what files lend each other, what is refused."""

from __future__ import annotations

import numpy as np
import pytest

from scenarios.doubt.belief import belief
from scenarios.doubt.prior import Prior
from scenarios.format.errors import ScenarioError
from scenarios.format.starters import starter_text
from scenarios.load import load, load_again, load_unit
from scenarios.paddock.load import load_paddock
from scenarios.paddock.row_file import row_files
from scenarios.paddock.starter import paddock_starter
from scenarios.paddock.varied import believed

GROUND = 'title = "t"\n[ground]\nlength_m = 50\nroughness = { class = "D" }\n'
KEYS = '["soil.strength_MPa", "unit.disc.edge_width_mm", "soil.variation_cv"]'
TOLD = {
    "keys": KEYS, "centre": "[1.4, 5, 0.25]", "spread": "[1.2, 1.1, 1.3]",
    "correlation": "[[1, -0.6, 0.1], [-0.6, 1, 0], [0.1, 0, 1]]", "readings": "34", "version": '"0.1.0"',
}  # fmt: skip
SOIL = "[soil]\nstrength_MPa = 1.4\n"


def table(**other):
    return "[uncertain]\n" + "".join(f"{k} = {v}\n" for k, v in {**TOLD, **other}.items() if v)


def write(folder, name, text):
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def faults(path, read=load, **how):
    with pytest.raises(ScenarioError) as told:
        read(path, **how)
    return told.value.faults


def test_a_file_without_a_word_has_the_usual_prior(tmp_path):
    found = load(write(tmp_path, "a.toml", GROUND))
    assert found.prior == Prior()
    assert found.uncertain is None


def test_keys_of_the_prior_are_read_in_the_files_units(tmp_path):
    text = f"{GROUND}[prior]\nsoil_strength_times = 1.2\nwheel_place_plus_mm = 4\ngas_temperature_plus_degrees = 10\n"
    found = load(write(tmp_path, "a.toml", text)).prior
    assert (found.soil_strength_times, found.wheel_place_plus, found.gas_temperature_plus) == (1.2, 0.004, 10.0)
    assert found.edge_width_times == Prior().edge_width_times


def test_the_starter_holds_every_key_and_leaves_uncertain_off(tmp_path):
    for text, read in ((starter_text("t"), load), (paddock_starter("t"), load_paddock)):
        assert "\nsoil_strength_times = 1.5  # soil strength, times and divided by; 1: known" in text
        assert "\n#[uncertain]\n#keys = [" in text
        found = read(write(tmp_path, "s.toml", text))
        assert found.prior == Prior()
        assert found.uncertain is None


def test_a_prior_that_leaves_less_than_nothing_in_doubt_is_refused(tmp_path):
    text = f"{GROUND}[prior]\nsoil_strength_times = 0.8\nspeed_term_plus_per_kmh = -0.1\nedge_with_times = 2\n"
    said = faults(write(tmp_path, "a.toml", text))
    assert len(said) == 3
    assert "prior.soil_strength_times: given 0.8; allowed: 1 to 20" in said[0]
    assert "try: 1.5 (the default)" in said[0]
    assert "prior.speed_term_plus_per_kmh" in said[1]
    assert '"edge_width_times"' in said[2]


def test_what_readings_left_in_doubt_is_read(tmp_path):
    found = load(write(tmp_path, "a.toml", GROUND + SOIL + table())).uncertain
    assert found.keys == ("soil.strength_MPa", "unit.disc.edge_width_mm", "soil.variation_cv")
    assert found.centre == (1.4, 5.0, 0.25)
    assert found.matrix[0].tolist() == [1.0, -0.6, 0.1]
    assert (found.readings, found.version) == (34, "0.1.0")


WRONG = [
    ({"keys": '["soil.strenght_MPa", "unit.disc.edge_width_mm", "soil.variation_cv"]'},
     "keys: given \"soil.strenght_MPa\"", '"soil.strength_MPa"'),
    ({"keys": '["settings.speed_kmh", "unit.disc.edge_width_mm", "soil.variation_cv"]'}, "the key of a value in doubt",
     ""),
    ({"keys": '["soil.variation_cv", "unit.disc.edge_width_mm", "soil.variation_cv"]', "centre": "[0.25, 5, 0.25]"},
     "given \"soil.variation_cv\" twice", ""),
    ({"centre": "[1.4, 5]"}, "centre: 2 given; allowed: one for each of 3 keys", ""),
    ({"spread": "[1.2, 0.9, 1.3]"}, "given 0.9 for unit.disc.edge_width_mm; allowed: 1 (known) or more", ""),
    ({"spread": "[1.2, 1.1, 1.3, 1]"}, "spread: 4 given", ""),
    ({"correlation": "[[1, -0.6], [-0.6, 1], [0, 0]]"}, "rows of other lengths", ""),
    ({"correlation": "[[1, -0.6, 0], [0.6, 1, 0], [0, 0, 1]]"}, "one number above the diagonal", ""),
    ({"correlation": "[[1, 0, 0], [0, 2, 0], [0, 0, 1]]"}, "another number than 1", ""),
    ({"correlation": "[[1, 0.9, 0.9], [0.9, 1, -0.9], [0.9, -0.9, 1]]"}, "cannot go together", ""),
    ({"correlation": "[[1, 2, 0], [2, 1, 0], [0, 0, 1]]"}, "cannot go together", ""),
    ({"centre": None}, "uncertain.centre: missing; allowed: a list of numbers", ""),
    ({"keys": "3"}, "uncertain.keys: given 3; allowed: a list of texts", ""),
    ({"spread": '["a", 1, 1]'}, "uncertain.spread", ""),
    ({"spread": "[inf, 1.1, 1.1]"}, "uncertain.spread", ""),
    ({"colour": '"red"'}, "uncertain.colour: unknown key", ""),
]  # fmt: skip


@pytest.mark.parametrize(("other", "says", "hint"), WRONG, ids=[says[:30] for _, says, _ in WRONG])
def test_what_no_fit_writes_is_refused(tmp_path, other, says, hint):
    said = faults(write(tmp_path, "a.toml", GROUND + SOIL + table(**other)))
    assert any(says in one for one in said), said
    assert all(hint in one for one in said if says in one)


def test_a_centre_that_is_no_longer_the_files_own_is_refused(tmp_path):
    path = write(tmp_path, "a.toml", f"{GROUND}[soil]\nstrength_MPa = 1.5\n{table()}")
    (said,) = faults(path)
    assert said == (
        f"{path}: soil.strength_MPa: 1.5 MPa here, while [uncertain] is about 1.4 MPa; allowed: the value that was "
        "fitted; try: 1.4 MPa, or rowbench fit again, or [uncertain] left out"
    )


def test_a_value_put_in_from_outside_does_not_blame_the_file(tmp_path):
    path = write(tmp_path, "a.toml", GROUND + SOIL + table())
    (said,) = faults(path, changes={"soil.strength_MPa": 1.5})
    assert said.startswith("soil.strength_MPa (in place of the file's): 1.5 MPa here")


def test_roughness_by_its_class_or_its_density_is_one_value(tmp_path):
    told = {"keys": '["ground.roughness.gd_n0_m3"]', "spread": "[2]", "correlation": "[[1]]"}
    density = load(write(tmp_path, "a.toml", GROUND)).ground.roughness.density
    path = write(tmp_path, "a.toml", GROUND + table(**told, centre=f"[{density!r}]"))
    assert belief(load(path)).names == ("roughness",)
    flat = GROUND.replace('roughness = { class = "D" }\n', "")
    (said,) = faults(write(tmp_path, "b.toml", flat + table(**told, centre=f"[{density!r}]")))
    assert "ground.roughness.gd_n0_m3: not given here" in said


def test_measured_ground_in_its_place_takes_nothing_but_the_roughness(tmp_path):
    rows = "".join(f"{x / 10},{0.01 * np.sin(x)},{1.0 + 0.1 * np.sin(x)}\n" for x in range(300))
    profile = write(tmp_path, "p.csv", f"distance_m,height_m,strength_MPa\n{rows}")
    found = load(write(tmp_path, "a.toml", GROUND + SOIL + table()), profile=profile)
    held = belief(found)
    assert held.names == ("soil_strength", "edge_width")
    assert held.centre[0] == found.soil.strength != 1.4e6


# --- what files lend each other -------------------------------------------------------------------------------------


def test_a_soil_lends_what_it_says_about_soil(tmp_path):
    write(tmp_path, "fitted.toml", f"{GROUND}{SOIL}[prior]\nedge_width_times = 3\nroughness_times = 9\n"
          f"boot_force_times = 4\nsinkage_moduli_times = 1.9\n{table()}")  # fmt: skip
    found = load(write(tmp_path, "b.toml", f'{GROUND}[soil]\nbase = "fitted.toml"\n'))
    assert found.uncertain.keys == ("soil.strength_MPa", "soil.variation_cv")
    assert found.uncertain.matrix.tolist() == [[1.0, 0.1], [0.1, 1.0]]
    assert found.uncertain.readings == 34
    assert found.prior == Prior(sinkage_moduli_times=1.9)
    held = belief(found)
    # of the soil what was fitted and no more; of the rest what is assumed
    assert {"soil_strength", "strength_scatter", "edge_width", "roughness"} <= set(held.names)
    assert "sinkage_moduli" not in held.names
    assert [name for name, told in zip(held.names, held.measured, strict=True) if told] == [
        "soil_strength", "strength_scatter"
    ]  # fmt: skip


def test_a_unit_lends_what_it_says_about_the_unit(tmp_path):
    write(tmp_path, "fitted.toml", GROUND + SOIL + "[prior]\nedge_width_times = 3\n" + table())
    found = load(write(tmp_path, "b.toml", f'{GROUND}[unit]\nbase = "fitted.toml"\n'))
    assert found.uncertain.keys == ("unit.disc.edge_width_mm",)
    assert found.prior.edge_width_times == 3.0
    assert found.soil.strength == 1.2e6
    assert "soil_strength" in belief(found).names
    assert "boot_force" not in belief(found).names  # of the fitted unit it was not left in doubt


def test_unit_and_soil_of_one_file_keep_what_goes_together(tmp_path):
    write(tmp_path, "fitted.toml", GROUND + SOIL + table())
    both = '[unit]\nbase = "fitted.toml"\n[soil]\nbase = "fitted.toml"\n'
    found = load(write(tmp_path, "b.toml", GROUND + both)).uncertain
    assert found.keys == ("soil.strength_MPa", "unit.disc.edge_width_mm", "soil.variation_cv")
    assert found.matrix[0, 1] == -0.6
    assert found.readings == 34


def test_unit_and_soil_of_two_files_know_nothing_of_each_other(tmp_path):
    write(tmp_path, "a.toml", GROUND + SOIL + table())
    write(tmp_path, "b.toml", GROUND + SOIL + table(readings="6"))
    both = '[unit]\nbase = "b.toml"\n[soil]\nbase = "a.toml"\n'
    found = load(write(tmp_path, "c.toml", GROUND + both)).uncertain
    assert set(found.keys) == {"soil.strength_MPa", "unit.disc.edge_width_mm", "soil.variation_cv"}
    at = [found.keys.index(key) for key in ("soil.strength_MPa", "unit.disc.edge_width_mm", "soil.variation_cv")]
    assert found.matrix[np.ix_(at, at)].tolist() == [[1, 0, 0.1], [0, 1, 0], [0.1, 0, 1]]
    assert found.readings == 40


def test_a_value_of_its_own_in_place_of_a_fitted_one_is_in_doubt_as_assumed(tmp_path):
    write(tmp_path, "fitted.toml", GROUND + SOIL + table())
    found = load(write(tmp_path, "b.toml", f'{GROUND}[soil]\nbase = "fitted.toml"\nstrength_MPa = 2\n'))
    assert found.uncertain.keys == ("soil.variation_cv",)
    note = (
        "soil.strength_MPa is 2 MPa here and 1.4 MPa where it was fitted: how far it is in doubt is assumed ([prior])"
    )
    assert note in found.warnings
    held = belief(found)
    assert held.sd[0] == np.log(1.5) / 1.96
    assert not held.measured[0]


def test_an_own_table_stands_in_place_of_a_lent_one(tmp_path):
    write(tmp_path, "fitted.toml", GROUND + SOIL + table())
    own = table(keys='["soil.strength_MPa"]', centre="[1.4]", spread="[1.05]", correlation="[[1]]")
    found = load(write(tmp_path, "b.toml", f'{GROUND}[soil]\nbase = "fitted.toml"\n{own}'))
    assert belief(found).names == ("soil_strength",)


def test_faults_of_a_lenders_table_name_the_lender(tmp_path):
    write(tmp_path, "fitted.toml", GROUND + SOIL + table(centre="[1.4, 5]"))
    said = faults(write(tmp_path, "b.toml", f'{GROUND}[soil]\nbase = "fitted.toml"\n'))
    assert any("fitted.toml: uncertain.centre: 2 given" in one for one in said)


def test_a_paddock_takes_both_over_from_its_unit_and_hands_them_to_a_row_of_it(tmp_path):
    write(tmp_path, "fitted.toml", GROUND + SOIL + "[prior]\nboot_force_times = 4\n" + table())
    text = 'title = "p"\n[passes]\ncount = 1\nlength_m = 20\n[machine]\nrows = 2\n[unit]\nbase = "fitted.toml"\n'
    rough = '[ground]\nroughness = { class = "C" }\n'
    found = load_paddock(write(tmp_path, "p.toml", text + rough))
    assert set(found.uncertain.keys) == {"soil.strength_MPa", "unit.disc.edge_width_mm", "soil.variation_cv"}
    assert found.prior.boot_force_times == 4.0
    assert {"soil_strength", "edge_width"} <= set(believed(found).names)
    row = row_files(found, 0, 0, found.settings, "row.csv")
    write(tmp_path, "row.csv", row.profile)
    alone = load(write(tmp_path, "row.toml", row.scenario))
    assert alone.prior == found.prior
    assert alone.uncertain.keys == found.uncertain.keys
    assert np.array_equal(alone.uncertain.matrix, found.uncertain.matrix)


def test_texts_that_were_kept_lead_to_the_same_doubt(tmp_path):
    write(tmp_path, "fitted.toml", GROUND + SOIL + "[prior]\nsinkage_moduli_times = 1.9\n" + table())
    path = write(tmp_path, "b.toml", f'{GROUND}[soil]\nbase = "fitted.toml"\n')
    found = load(path)
    (tmp_path / "fitted.toml").unlink()
    again = load_again(path, found.source)
    assert (again.prior, again.uncertain) == (found.prior, found.uncertain)


def test_a_unit_loaded_alone_brings_its_doubt(tmp_path):
    write(tmp_path, "fitted.toml", GROUND + SOIL + table())
    assert load_unit(tmp_path / "fitted.toml").uncertain is not None
