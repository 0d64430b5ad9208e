"""A stored paddock: opens in xarray as it is, units and dimensions, versions and inputs, events, positions."""

from __future__ import annotations

import json

import h5py
import numpy as np
import paddocks
import pytest
import xarray

from analysis.crossing.measures import by_row, by_section
from analysis.paddock.batch import run_batch
from analysis.paddock.fingerprint import fingerprint, versions
from analysis.paddock.passes.crossing import run_pass
from analysis.paddock.store_parts import from_bytes, to_bytes
from analysis.paddock.table import load_table
from analysis.storage.paddock_layout import BREAKOUT, EPISODE, FORMAT, FORMAT_VERSION
from scenarios.ground.measured.local_plane import LocalPlane
from scenarios.paddock.plan_place import unturned
from sim.record import PINS

MORE = '[stones]\nstones_per_ha = 30000\n[[zones]]\nname = "low"\nstart_m = [0, 0]\nend_m = [10, 1.25]'
PLACED = {
    "passes": "count = 3\nlength_m = 20\nsection_m = 5\nlatitude = -33\nlongitude = 148\nheading_deg = 30",
    "keep": "series_every_m = 1",
}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("store")
    paddock = paddocks.small(folder, PLACED, MORE)
    run_batch(paddock, folder / "r.h5", workers=1)
    return paddock, folder / "r.h5"


def test_xarray_opens_it_as_it_is(made):
    with xarray.open_dataset(made[1], engine="h5netcdf") as found:
        assert dict(found.sizes) | {"episode": 0, "breakout": 0} == {
            "setting": 2, "pass": 3, "row": 5, "section": 4, "pin": 14, "cause": 5, "error_bin": 502, "load_bin": 402,
            "sample": 20, "episode": 0, "breakout": 0,
        }  # fmt: skip
        assert found["on_depth_share"].dims == ("setting", "pass", "row", "section")
        assert found["row_pin_peak"].dims == ("setting", "pass", "row", "pin")
        assert list(found["pin"].values) == list(PINS)
        for name in found.variables:
            assert found[name].attrs["units"], name
            assert found[name].attrs["long_name"], name
        assert found["oil_pressure"].attrs["units"] == "Pa"
        assert found["oil_pressure"].values == pytest.approx([45e5, 60e5])
        mean = found["on_depth_share"].mean(("pass", "row", "section")).values
        assert mean == pytest.approx(found["row_on_depth_share"].mean(("pass", "row")).values, abs=1e-3)
        assert found["series_depth_error"].dims == ("setting", "pass", "row", "sample")
        assert found.attrs["format"] == FORMAT


def test_numbers_are_those_of_the_passes(made):
    paddock, out = made
    result = run_pass(paddock, 1)
    with h5py.File(out) as file:
        for name in by_section():
            assert (file[name][:, 1] == result.sections[name]).all(), name
        for name in by_row():
            assert np.array_equal(file[name][:, 1], result.totals[name], equal_nan=True), name
        mine = file["episode_pass"][...] == 1
        for k, (name, _, _) in enumerate(EPISODE):
            assert file[f"episode_{name}"][mine] == pytest.approx(result.episodes[:, k])
        mine = file["breakout_pass"][...] == 1
        for k, (name, _, _) in enumerate(BREAKOUT):
            assert file[f"breakout_{name}"][mine] == pytest.approx(result.breakouts[:, k], nan_ok=True)
        assert mine.sum() > 0
        assert (file["series_depth_error"][:, 1] == result.series[:, :, 0]).all()


def test_what_went_in_stands_in_it(made):
    paddock, out = made
    with h5py.File(out) as file:
        assert file.attrs["format_version"] == FORMAT_VERSION
        assert file.attrs["fingerprint"] == fingerprint(paddock)
        assert {name: file.attrs[f"version_{name}"] for name in versions()} == versions()
        group = file["inputs"]
        assert group["paddock_toml"][()].decode() == paddock.text
        assert group.attrs["seed"] == 5
        found = json.loads(group["inputs_si"][()])
        assert found["settings"]["set_depth"] == 0.04
        assert found["unit"]["carrier"]["mass"] == 95.0


def test_positions_are_where_the_sections_are(made):
    paddock, out = made
    with h5py.File(out) as file:
        latitude, longitude = file["latitude"][...], file["longitude"][...]
        assert file["latitude"].attrs["units"] == "degrees_north"
        x, y = file["section_x"][...], file["row_y"][...]
    px, py = unturned(*LocalPlane(-33.0, 148.0).to_plane(latitude, longitude), paddock.passes.heading)
    assert px == pytest.approx(np.broadcast_to(x[:, None, :], px.shape), abs=1e-4)
    assert py == pytest.approx(np.broadcast_to(y[:, :, None], py.shape), abs=1e-4)
    assert x[0] == pytest.approx([2.5, 7.5, 12.5, 17.5])
    assert x[1] == pytest.approx([17.5, 12.5, 7.5, 2.5])  # the other way


def test_zones_are_those_of_the_places(made):
    table = load_table(made[1])
    inside = (table.section_x[:, None, :] < 10.0) & (table.row_y[:, :, None] < 1.25)
    assert (table.zone == inside).all()
    assert table.zone_names == ("rest", "low")


def test_a_pass_comes_back_from_its_bytes(made):
    paddock, _ = made
    result = run_pass(paddock, 0)
    result.problems[(1, 2)] = "why"
    back = from_bytes(to_bytes(result, "f"), "f")
    assert back.problems == result.problems
    assert (back.number, back.length) == (0, 20.0)
    for name, values in result.sections.items():
        assert np.array_equal(back.sections[name], values, equal_nan=True)
        assert back.sections[name].dtype == values.dtype
    with pytest.raises(ValueError, match="of another run"):
        from_bytes(to_bytes(result, "f"), "g")


def test_no_events_at_all_still_opens(tmp_path):
    tables = {"ground": "seed = 1", "soil": "variation_cv = 0", "passes": "count = 1\nlength_m = 10"}
    run_batch(paddocks.small(tmp_path, tables), tmp_path / "r.h5", workers=1)
    with xarray.open_dataset(tmp_path / "r.h5", engine="h5netcdf") as found:
        assert found.sizes["episode"] == found.sizes["breakout"] == 0
        assert float(found["on_depth_share"].min()) == 1.0
    assert load_table(tmp_path / "r.h5").events_in("breakouts", 0) == 0


def test_passes_of_unlike_length(tmp_path):
    d = np.arange(0.0, 60.0, 0.5)
    for name, part in (("a.csv", d), ("b.csv", d[:80])):
        (tmp_path / name).write_text("distance_m,height_m\n" + "\n".join(f"{x},0" for x in part) + "\n")
    more = '[[measured.lines]]\nfile = "a.csv"\n[[measured.lines]]\nfile = "b.csv"'
    paddock = paddocks.small(tmp_path, {"passes": "section_m = 5", "ground": "seed = 1"}, more)
    run_batch(paddock, tmp_path / "r.h5", workers=1)
    table = load_table(tmp_path / "r.h5")
    count = [round(paddock.length(i) / 5.0) for i in (0, 1)]
    assert np.isfinite(table.section_length).sum(axis=1).tolist() == count
    assert table.row_metres == pytest.approx(paddock.length(0) + paddock.length(1))
    assert np.isnan(table.sections["on_depth_share"][0, 1, :, count[1] :]).all()
    assert table.mean_of("on_depth_share", 0) > 0.5
