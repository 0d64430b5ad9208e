"""One run in an HDF5 file: what went in comes back, and other files are refused."""

import json
from dataclasses import replace

import h5py
import numpy as np
import pytest
import xarray

from analysis.crossing.summary import run_summary
from analysis.storage.run_file import save_run
from analysis.storage.run_table import load_run_table
from analysis.storage.sealed import seal
from scenarios.format.errors import ScenarioError
from scenarios.load import load
from sim.record import CHANNELS, PINS
from sim.run import simulate


@pytest.fixture(scope="module")
def stored(tmp_path_factory):
    """A scenario, its run, the summary and the file."""
    changes = {"settings.oil_pressure_bar": 45.0}
    scenario = load("hump", changes=changes)
    run = simulate(scenario.unit, scenario.soil, scenario.track(length=10.0), scenario.settings)
    summary = run_summary(run, scenario)
    path = tmp_path_factory.mktemp("store") / "hump.h5"
    save_run(path, run, scenario, summary, changes)
    return scenario, run, summary, path


def test_every_series_comes_back_bit_for_bit_with_unit_and_meaning(stored):
    _, run, _, path = stored
    table = load_run_table(path)
    assert set(table.series) == {channel.name for channel in CHANNELS}
    for channel in CHANNELS:
        np.testing.assert_array_equal(table.series[channel.name], run.series[channel.name])
        assert (table.units[channel.name], table.meanings[channel.name]) == (channel.unit, channel.doc)
    np.testing.assert_array_equal(table.pins, run.pins)
    np.testing.assert_array_equal(table.actuator, run.actuator)
    np.testing.assert_array_equal(table.track["ground"], run.track.ground)
    assert table.pin_names == PINS


def test_inputs_come_back_and_make_the_same_run_again(stored, tmp_path):
    scenario, run, summary, path = stored
    table = load_run_table(path)
    told = json.loads(json.dumps(summary))
    for name in ("wall_s", "compile_s"):  # how long it took is no part of a result
        del told["run"][name]
    assert table.summary == told
    assert table.versions.keys() == {"rowbench", "python", "numpy", "scipy", "numba", "h5py"}
    assert table.settings.oil_pressure == 45e5
    copy = tmp_path / "hump.toml"
    copy.write_text(table.source.text, encoding="utf-8")
    again = load(copy, changes={**table.changes, "ground.seed": table.seed})
    assert replace(again, path=scenario.path) == scenario
    redone = simulate(again.unit, again.soil, again.track(length=10.0), again.settings, step=table.step)
    np.testing.assert_array_equal(redone.series["depth"], run.series["depth"])


def test_dimensions_are_scales_that_any_reader_finds(stored):
    with h5py.File(stored[3], "r") as file:
        assert file["pins"].dims[0].keys() == ["distance"]
        assert file["pins"].dims[1].keys() == ["pin"]
        assert file["depth"].dims[0][0].attrs["units"] == "m"
        for name in ("pins", "actuator", "gauge_load", "strength"):
            assert file[name].attrs["units"]
            assert file[name].attrs["long_name"]
        assert file["strength"].dims[0].keys() == ["x"]


def test_xarray_opens_it_as_it_is(stored):
    """As the file of a paddock: from the root, no group to be named."""
    _, run, _, path = stored
    with xarray.open_dataset(path, engine="h5netcdf") as found:
        assert {channel.name for channel in CHANNELS} <= set(found.variables)
        assert dict(found.sizes) == {
            "distance": run.series["depth"].size,
            "pin": len(PINS),
            "component": 2,
            "x": run.track.x.size,
        }
        np.testing.assert_array_equal(found["distance"], run.series["distance"])
        for channel in CHANNELS:
            assert found[channel.name].dims == ("distance",)
            assert found[channel.name].attrs == {"units": channel.unit, "long_name": channel.doc}
            np.testing.assert_array_equal(found[channel.name], run.series[channel.name])
        assert found["pins"].dims == ("distance", "pin", "component")
        assert found["pins"].sel(pin="bell_crank", component="z up").attrs["units"] == "N"
        assert found["ground"].dims == found["strength"].dims == ("x",)
        near = found["depth"].sel(distance=found["distance"][0] + 5.0, method="nearest")  # an index by place
        assert 0.02 < float(near) < 0.06


def test_xarray_reads_its_inputs_too(stored):
    with xarray.open_dataset(stored[3], engine="h5netcdf", group="inputs") as found:
        assert json.loads(found["summary"].item())["scenario"] == "hump"


def refusal(path):
    with pytest.raises(ScenarioError) as caught:
        load_run_table(path)
    text = str(caught.value)
    assert str(path) in text
    assert "allowed:" in text
    assert "try:" in text
    return text


def test_a_missing_file_is_told(tmp_path):
    assert "no such file" in refusal(tmp_path / "none.h5")


def test_a_file_that_is_no_hdf5_is_refused(tmp_path):
    path = tmp_path / "text.h5"
    path.write_text("distance_m,height_m\n")
    assert "damaged or no HDF5 file" in refusal(path)


def test_hdf5_of_another_kind_and_a_later_version_are_refused(stored, tmp_path):
    other = tmp_path / "other.h5"
    with h5py.File(other, "w") as file:
        file["x"] = [1.0]
    seal(other)
    assert "another kind" in refusal(other)
    later = tmp_path / "later.h5"
    later.write_bytes(stored[3].read_bytes())
    with h5py.File(later, "a") as file:
        file.attrs["format_version"] = 99
    seal(later)
    assert "format version 99" in refusal(later)


def test_a_cut_file_and_a_flipped_byte_are_noticed(stored, tmp_path):
    whole = stored[3].read_bytes()
    cut = tmp_path / "cut.h5"
    cut.write_bytes(whole[: len(whole) // 2])
    assert "damaged" in refusal(cut)
    with h5py.File(stored[3], "r") as file:
        chunk = file["pins"].id.get_chunk_info(0)
    flipped = tmp_path / "flipped.h5"
    middle = chunk.byte_offset + chunk.size // 2
    flipped.write_bytes(whole[:middle] + bytes([whole[middle] ^ 0xFF]) + whole[middle + 1 :])
    assert "damaged" in refusal(flipped)


def test_a_missing_series_is_damage(stored, tmp_path):
    path = tmp_path / "short.h5"
    path.write_bytes(stored[3].read_bytes())
    with h5py.File(path, "a") as file:
        del file["actuator"]
        file.create_dataset("actuator", data=np.zeros(3))
    seal(path)
    assert "actuator: 3 along distance" in refusal(path)
