"""A page from a stored run: the scenario is made again from the file alone."""

import h5py
import numpy as np
import pytest

from analysis.cli.main import main
from analysis.storage.sealed import seal
from analysis.storage.stored_scenario import stored_scenario
from scenarios.load import load

TEXT = 'title = "Small"\n[unit.carrier]\nmass_kg = 90\n[ground]\nlength_m = 30\nseed = 5\nroughness = { class = "D" }\n'
GRID = ["--pressures", "55:65:2", "--speeds", "7:8:2", "--seeds", "1"]


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "small.toml").write_text(TEXT)
    return tmp_path


def test_a_stored_run_gives_its_scenario_back(place):
    assert main(["run", "small.toml", "--pressure", "70", "--save", "small.h5"]) == 0
    (place / "small.toml").unlink()
    again = stored_scenario(place / "small.h5", {})
    (place / "small.toml").write_text(TEXT)
    first = load("small.toml", changes={"settings.oil_pressure_bar": 70})
    assert (again.unit, again.soil, again.settings) == (first.unit, first.soil, first.settings)
    assert np.array_equal(again.track().ground, first.track().ground)


def test_measured_ground_is_in_the_result(place):
    x = np.arange(0.0, 60.0, 0.1)
    rows = "".join(f"{a:.2f},{0.02 * np.sin(a):.5f}\n" for a in x)
    (place / "line.csv").write_text("distance_m,height_m\n" + rows)
    assert main(["run", "small.toml", "--profile", "line.csv", "--save", "line.h5"]) == 0
    first = load("small.toml", profile="line.csv")
    (place / "line.csv").unlink()
    again = stored_scenario(place / "line.h5", {})
    assert again.x_from == pytest.approx(first.x_from, abs=1e-9)
    a, b = first.track(), again.track()
    assert (b.x_from, b.x_to) == (a.x_from, a.x_to)
    np.testing.assert_allclose(b.ground, a.ground, atol=1e-8)
    np.testing.assert_allclose(b.strength, a.strength, rtol=1e-8)
    np.testing.assert_array_equal(b.stone_id, a.stone_id)


def test_a_result_whose_names_are_of_another_system(place):
    """Names that this desk could not keep, a path that is not of its kind."""
    rows = "".join(f"{0.1 * k:.2f},{0.01 * (k % 7):.5f}\n" for k in range(600))
    (place / "line.csv").write_text("distance_m,height_m\n" + rows, encoding="utf-8")
    assert main(["run", "small.toml", "--profile", "line.csv", "--save", "line.h5"]) == 0
    with h5py.File(place / "line.h5", "a") as file:
        file["inputs"].attrs["scenario"] = "wet/dry: aux?"
        file["inputs"].attrs["profile"] = "D:\\Läufe\\line: 2.csv"
    seal(place / "line.h5")
    again = stored_scenario(place / "line.h5", {})
    assert again.name == "wet/dry: aux?"
    assert again.profile is not None
    assert again.profile.path.name == "line: 2.csv"


def test_the_page_of_a_result(place, capsys):
    assert main(["run", "small.toml", "--save", "small.h5"]) == 0
    assert main(["report", "small.h5", *GRID, "--out", "page.html"]) == 0
    page = (place / "page.html").read_text(encoding="utf-8")
    assert "rowbench report small.h5 --pressures 55:65:2" in page
    assert "Small" in page
    capsys.readouterr()
    (place / "cut.h5").write_bytes((place / "small.h5").read_bytes()[:5000])
    assert main(["report", "cut.h5", *GRID, "--out", "none.html"]) == 2
    assert "damaged" in capsys.readouterr().err
    assert not (place / "none.html").exists()
    assert main(["report", "small.h5", "--profile", "a.csv", "--out", "none.html"]) == 2


def test_what_is_in_doubt_is_in_the_result(place):
    told = (
        '[uncertain]\nkeys = ["soil.strength_MPa"]\ncentre = [1.4]\nspread = [1.2]\ncorrelation = [[1]]\nreadings = 9\n'
    )
    (place / "soil.toml").write_text(f"[soil]\nstrength_MPa = 1.4\n[prior]\nsinkage_moduli_times = 1.9\n{told}")
    (place / "doubt.toml").write_text(f'{TEXT}[soil]\nbase = "soil.toml"\n[prior]\nboot_force_times = 4\n')
    first = load("doubt.toml")
    assert main(["run", "doubt.toml", "--save", "doubt.h5"]) == 0
    for name in ("doubt.toml", "soil.toml"):
        (place / name).unlink()
    again = stored_scenario(place / "doubt.h5", {})
    assert (again.prior, again.uncertain) == (first.prior, first.uncertain)
    assert first.uncertain.readings == 9
    assert (first.prior.sinkage_moduli_times, first.prior.boot_force_times) == (1.9, 4.0)
