"""Measured ground under a machine: CSV lines by distance or position, GeoTIFF, OpenCRG, strength points.

Every check builds its input from a known formula and asks the lanes for it.
"""

from __future__ import annotations

import math

import numpy as np
import paddocks
import pyopencrg
import pytest
import rasterio
from affine import Affine
from every import every

from analysis.paddock.positions import positions
from scenarios.format.errors import ScenarioError
from scenarios.ground.measured.local_plane import LocalPlane
from scenarios.paddock.load import load_paddock
from scenarios.paddock.plan_place import turned, unturned
from scenarios.paddock.rows import Lanes

BARE = {"ground": "seed = 5", "soil": "variation_cv = 0"}
LATITUDE, LONGITUDE = -33.1, 148.2


def hills(x, y):
    """Smooth heights [m] over a plane."""
    return 0.6 * np.sin(2 * np.pi * x / 23.0) + 0.3 * np.cos(2 * np.pi * (x + 2.0 * y) / 31.0)


def write_line(folder, name: str, distance, heights, more: str = "", values=None) -> None:
    head = f"distance_m,height_m{more}"
    rows = zip(distance, heights, *([values] if values is not None else []), strict=True)
    (folder / name).write_text(head + "\n" + "\n".join(",".join(f"{v:.6f}" for v in row) for row in rows) + "\n")


def lines_of(folder, tables=None, more='[[measured.lines]]\nfile = "a.csv"\n[[measured.lines]]\nfile = "b.csv"'):
    return paddocks.small(folder, {**BARE, "passes": "section_m = 5", **(tables or {})}, more)


# --- measured lines -----------------------------------------------------------------------------------------------


def test_each_line_is_a_pass_under_all_rows(tmp_path):
    d = np.arange(0.0, 80.0, 0.2)
    write_line(tmp_path, "a.csv", 100.0 + d, 50.0 + hills(d, 0.0))
    write_line(tmp_path, "b.csv", d[:300], hills(d[:300], 9.0))
    paddock = lines_of(tmp_path)
    assert paddock.count == 2
    assert paddock.length(0) == pytest.approx(79.8, abs=0.03)
    assert paddock.length(1) == pytest.approx(59.8, abs=0.03)
    assert not paddock.backwards(1)
    found = Lanes(paddock, 0).row_ground(0, 4000).ground
    u = 0.005 * np.arange(4000)
    assert found - found[:, :1] == pytest.approx(np.tile(hills(u, 0.0) - hills(0.0, 0.0), (5, 1)), abs=3e-4)


def test_roughness_goes_only_under_the_sampling_of_a_line(tmp_path):
    """Points 1 m apart hold waves down to 2 m: what is added has none longer, along the rows, and is class D below."""
    d = np.arange(0.0, 420.0, 1.0)
    write_line(tmp_path, "a.csv", d, np.zeros(d.size))
    paddock = lines_of(
        tmp_path, {"ground": 'seed = 5\nroughness = { class = "D" }'}, '[[measured.lines]]\nfile = "a.csv"'
    )
    assert any("no wave shorter than 2 m" in note for note in paddock.warnings)
    ground = Lanes(paddock, 0).row_ground(0, 80000).ground
    n = np.fft.rfftfreq(80000, 0.005)
    density = (
        np.mean(np.abs(np.fft.rfft(ground * np.hanning(80000))) ** 2, axis=0)
        * 2
        * 0.005
        / np.sum(np.hanning(80000) ** 2)
    )
    assert density[(n > 0.05) & (n < 0.45)].max() < 1e-3 * 1024e-6
    band = (n > 0.6) & (n < 6.0)
    assert np.mean(density[band] * (n[band] / 0.1) ** 2) == pytest.approx(1024e-6, rel=0.1)


def test_a_fine_line_gets_no_roughness(tmp_path):
    """It has its own, a random walk; without any it would be called smooth and get some."""
    d = np.arange(0.0, 60.0, 0.02)
    heights = hills(d, 0.0) + 0.002 * np.cumsum(np.random.default_rng(1).normal(0.0, 1.0, d.size))
    write_line(tmp_path, "a.csv", d, heights)
    paddock = lines_of(tmp_path, {"ground": 'roughness = { class = "D" }'}, '[[measured.lines]]\nfile = "a.csv"')
    found = Lanes(paddock, 0).row_ground(0, 2000).ground[0]
    assert (found - found[0])[::4] == pytest.approx(heights[:500] - heights[0], abs=1e-5)
    assert not any("smooth" in note for note in paddock.warnings)
    write_line(tmp_path, "a.csv", d, hills(d, 0.0))
    paddock = lines_of(tmp_path, {"ground": 'roughness = { class = "D" }'}, '[[measured.lines]]\nfile = "a.csv"')
    assert any("the record is smooth below waves of" in note for note in paddock.warnings)


def test_strength_along_a_line(tmp_path):
    d = np.arange(0.0, 60.0, 0.5)
    write_line(tmp_path, "a.csv", d, np.zeros(d.size), ",strength_MPa", 1.0 + d / 100.0)
    paddock = lines_of(tmp_path, more='[[measured.lines]]\nfile = "a.csv"')
    found = Lanes(paddock, 0).row_ground(0, 1000).strength
    assert found[:, 0] == pytest.approx(np.full(5, 1.0e6), rel=1e-4)
    assert found[:, -1] == pytest.approx(np.full(5, 1.0e6 + 4.995e4), rel=1e-4)


def test_lines_by_latitude_and_longitude(tmp_path):
    """A straight line to the north-east: distances are those on the ground, rows lie square to it."""
    plane = LocalPlane(LATITUDE, LONGITUDE)
    d = np.arange(0.0, 90.0, 0.5)
    east, north = d * math.sin(0.7), d * math.cos(0.7)
    latitude, longitude = plane.to_degrees(east, north)
    rows = "\n".join(f"{a:.9f},{o:.9f},{h:.5f}" for a, o, h in zip(latitude, longitude, hills(d, 0.0), strict=True))
    (tmp_path / "a.csv").write_text(f"latitude_deg,longitude_deg,elevation_m\n{rows}\n")
    paddock = lines_of(tmp_path, more='[[measured.lines]]\nfile = "a.csv"')
    assert paddock.length(0) == pytest.approx(89.5, abs=0.03)
    found = Lanes(paddock, 0).row_ground(0, 2100).ground[2]
    assert found - found[0] == pytest.approx(hills(0.005 * np.arange(2100), 0.0) - hills(0.0, 0.0), abs=1e-3)
    placed = positions(paddock, 0)
    assert placed is not None
    e, n = plane.to_plane(*placed)
    middle = 2.5
    assert (e[2, 0], n[2, 0]) == pytest.approx((middle * math.sin(0.7), middle * math.cos(0.7)), abs=2e-3)
    left = 0.5  # the first row, to the left of the direction of travel
    wanted = middle * math.sin(0.7) - left * math.cos(0.7), middle * math.cos(0.7) + left * math.sin(0.7)
    assert (e[0, 0], n[0, 0]) == pytest.approx(wanted, abs=2e-3)


@every(
    ("text", "words"),
    [
        ("", "an empty file"),
        ("a,b\n1,2\n", "a header with distance_m,height_m or latitude_deg"),
        ("distance_m,height_m\n0,0\n1,x\n2,0\n3,0\n", 'line 3: height_m "x"'),
        ("distance_m,height_m\n0,0\n1,0\n", "points: 2"),
        ("distance_m,height_m\n0,0\n1,0\n1,0\n3,0\n", "the first is point 3"),
        ("latitude_deg,longitude_deg,elevation_m\n95,0,0\n", "latitude_deg"),
        ("distance_m,height_m\n0,0\n\n1,x\n2,0\n3,0\n", 'line 4: height_m "x"'),
        ('distance_m,height_m\n"0,0\n' + "1,0\n" * 40_000, "not CSV"),
        ("distance_m;height_m\n0;0\n", "another mark than a comma"),
        ("distance_m,height_m\n" + "".join(f"{i},0\n" for i in range(5)), "m of ground"),
    ],
)
def test_lines_at_fault(tmp_path, text, words):
    (tmp_path / "a.csv").write_text(text)
    with pytest.raises(ScenarioError) as caught:
        lines_of(tmp_path, more='[[measured.lines]]\nfile = "a.csv"\n[[measured.lines]]\nfile = "gone.csv"')
    assert words in str(caught.value)
    assert "gone.csv: cannot be read" in str(caught.value)


# --- grids --------------------------------------------------------------------------------------------------------

HEADING = 0.4


def write_grid(path, cell: float = 0.5, size: int = 200, nodata: bool = False, noise: float = 0.0) -> None:
    """A GeoTIFF in UTM zone 55 south whose heights are `hills` of the plan around the origin."""
    import pyproj  # noqa: PLC0415

    to_grid = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:32755", always_xy=True)
    e0, n0 = to_grid.transform(LONGITUDE, LATITUDE)
    west, top = e0 - 0.35 * size * cell, n0 + 0.7 * size * cell
    e, n = np.meshgrid(west + cell * (np.arange(size) + 0.5), top - cell * (np.arange(size) + 0.5))
    back = pyproj.Transformer.from_crs("EPSG:32755", "EPSG:4326", always_xy=True)
    longitude, latitude = back.transform(e, n)
    x, y = unturned(*LocalPlane(LATITUDE, LONGITUDE).to_plane(latitude, longitude), HEADING)
    z = 300.0 + hills(x, y) + noise * np.random.default_rng(3).normal(size=x.shape)
    if nodata:
        z[size // 2, size // 2] = -9999.0
    with rasterio.open(path, "w", driver="GTiff", width=size, height=size, count=1, dtype="float64", crs="EPSG:32755",
                       transform=Affine(cell, 0.0, west, 0.0, -cell, top), nodata=-9999.0) as file:  # fmt: skip
        file.write(z, 1)


GRID = {
    **BARE,
    "passes": f"count = 2\nlength_m = 30\nsection_m = 5\nlatitude = {LATITUDE}\nlongitude = {LONGITUDE}\n"
    f"heading_deg = {math.degrees(HEADING)}",
}
WITH_GRID = '[measured.grid]\nfile = "g.tif"'


def test_every_row_reads_its_own_place_in_a_grid(tmp_path):
    write_grid(tmp_path / "g.tif")
    paddock = paddocks.small(tmp_path, GRID, WITH_GRID)
    assert any("cells of 0.5 m hold no wave shorter than 1 m" in note for note in paddock.warnings)
    for number in (0, 1):
        lanes = Lanes(paddock, number)
        found = lanes.row_ground(0, 6000).ground
        u = 0.005 * np.arange(6000)
        for j, offset in enumerate(lanes.rows):
            x, y = lanes.places(u, np.full(u.size, offset))
            wanted = hills(x, y)
            assert found[j] - found[2, 0] == pytest.approx(
                wanted - hills(*(v[0] for v in lanes.places(u, 0 * u))), abs=2e-3
            )
        assert np.ptp(found[:, 3000]) > 0.01  # the rows differ
        wheels = lanes.wheel_heights(0, 10)
        assert wheels[0] == pytest.approx(found[4, :10], abs=1e-6)


def test_a_grid_gets_roughness_below_its_cells(tmp_path):
    write_grid(tmp_path / "g.tif")
    rough = paddocks.small(tmp_path, {**GRID, "ground": 'roughness = { class = "D" }'}, WITH_GRID)
    plain = paddocks.small(tmp_path, GRID, WITH_GRID)
    added = Lanes(rough, 0).row_ground(0, 6000).ground - Lanes(plain, 0).row_ground(0, 6000).ground
    below = 1024e-6 * 0.01 / 1.0  # all above 1 c/m
    assert added.std() == pytest.approx(math.sqrt(below * (1.0 + 0.571 - 0.1)), rel=0.25)


@every(
    ("passes", "make", "words"),
    [
        (GRID["passes"].replace("length_m = 30", "length_m = 300"), {}, "passes of 300"),
        (GRID["passes"], {"nodata": True}, "cells without data"),
        ("count = 2\nlength_m = 30", {}, "passes.latitude and longitude: missing"),
        ("count = 2", {}, "passes.length_m: missing"),
    ],
)
def test_grids_at_fault(tmp_path, passes, make, words):
    write_grid(tmp_path / "g.tif", size=100, **make)
    if make:
        passes = passes.replace("length_m = 30", "length_m = 20")
    with pytest.raises(ScenarioError, match=words):
        paddocks.small(tmp_path, {**BARE, "passes": passes}, WITH_GRID)


def test_a_grid_that_is_none(tmp_path):
    (tmp_path / "g.tif").write_text("no grid")
    with pytest.raises(ScenarioError, match="cannot be read"):
        paddocks.small(tmp_path, GRID, WITH_GRID)


# --- surfaces along a line ----------------------------------------------------------------------------------------


def write_surface(path, width: float = 4.0, noise: float = 0.0) -> None:
    u, v = np.arange(0.0, 60.01, 0.1), np.arange(-0.5 * width, 0.5 * width + 0.01, 0.1)
    z = hills(u[:, None], v[None, :])
    z = z + noise * np.random.default_rng(4).normal(size=z.shape)
    pyopencrg.CrgRoad(z, u_inc=0.1, v=v).save(str(path))


def test_every_row_reads_its_own_place_in_a_surface(tmp_path):
    write_surface(tmp_path / "s.crg")
    paddock = paddocks.small(tmp_path, {**BARE, "passes": "section_m = 5"}, '[measured.surface]\nfile = "s.crg"')
    assert paddock.count == 1
    assert paddock.length(0) == pytest.approx(60.0, abs=0.03)
    lanes = Lanes(paddock, 0)
    found = lanes.row_ground(0, 4000).ground
    u = 0.005 * np.arange(4000)
    for j, offset in enumerate(lanes.rows):
        assert found[j] - found[2, 0] == pytest.approx(hills(u, offset) - hills(0.0, 0.0), abs=2e-3)


def test_surfaces_at_fault(tmp_path):
    tables = {**BARE, "passes": "section_m = 5"}
    write_surface(tmp_path / "s.crg", width=0.8)
    with pytest.raises(ScenarioError, match="m across"):
        paddocks.small(tmp_path, tables, '[measured.surface]\nfile = "s.crg"')
    (tmp_path / "t.crg").write_text("no surface")
    with pytest.raises(ScenarioError, match="cannot be read"):
        paddocks.small(tmp_path, tables, '[measured.surface]\nfile = "t.crg"')
    with pytest.raises(ScenarioError, match="one of lines, grid and surface"):
        paddocks.small(tmp_path, tables, '[measured]\ngrid = { file = "g.tif" }\nsurface = { file = "s.crg" }')


# --- strength points ----------------------------------------------------------------------------------------------


def test_strength_between_points(tmp_path):
    points = [(x, y, 1.0 + 0.01 * x + 0.05 * y) for x in (-40, 0, 25, 60) for y in (-9, 3, 12)]
    rows = "\n".join(f"{x},{y},{s}" for x, y, s in points)
    (tmp_path / "p.csv").write_text(f"x_m,y_m,strength_MPa\n{rows}\n")
    paddock = paddocks.small(tmp_path, BARE, '[measured]\nstrength_file = "p.csv"')
    for number in (0, 1):
        lanes = Lanes(paddock, number)
        found = lanes.row_ground(0, 4000).strength
        x, y = lanes.places(0.005 * np.arange(4000), np.zeros(1))[0], lanes.places(np.zeros(5), lanes.rows)[1]
        assert found == pytest.approx(1e6 * (1.0 + 0.01 * x[None, :] + 0.05 * y[:, None]), rel=1e-6)


def test_strength_by_position_on_straight_passes(tmp_path):
    plane = LocalPlane(LATITUDE, LONGITUDE)
    x, y = (v.ravel() for v in np.meshgrid([-40.0, 20.0, 60.0], [-10.0, 10.0]))
    latitude, longitude = plane.to_degrees(*turned(x, y, HEADING))
    strength = 1.0 + 0.01 * x
    rows = "\n".join(f"{a:.10f},{o:.10f},{s:.6f}" for a, o, s in zip(latitude, longitude, strength, strict=True))
    (tmp_path / "p.csv").write_text(f"latitude_deg,longitude_deg,strength_MPa\n{rows}\n")
    paddock = paddocks.small(tmp_path, GRID, '[measured]\nstrength_file = "p.csv"')
    found = Lanes(paddock, 0).row_ground(0, 4000).strength
    assert found[2] == pytest.approx(1e6 * (1.0 + 0.01 * 0.005 * np.arange(4000)), rel=1e-5)
    with pytest.raises(ScenarioError, match="latitude and longitude in"):
        paddocks.small(tmp_path, BARE, '[measured]\nstrength_file = "p.csv"')


def test_strength_by_position_beside_measured_lines(tmp_path):
    plane = LocalPlane(LATITUDE, LONGITUDE)
    d = np.arange(0.0, 60.0, 0.5)
    latitude, longitude = plane.to_degrees(0.0 * d, d)  # straight to the north
    rows = "\n".join(f"{a:.9f},{o:.9f},0" for a, o in zip(latitude, longitude, strict=True))
    (tmp_path / "a.csv").write_text(f"latitude_deg,longitude_deg,elevation_m\n{rows}\n")
    e, n = (v.ravel() for v in np.meshgrid([-5.0, 5.0], [-10.0, 80.0]))
    latitude, longitude = plane.to_degrees(e, n)
    rows = "\n".join(f"{a:.9f},{o:.9f},{1.2 + 0.1 * x:.5f}" for a, o, x in zip(latitude, longitude, e, strict=True))
    (tmp_path / "p.csv").write_text(f"latitude_deg,longitude_deg,strength_MPa\n{rows}\n")
    more = '[measured]\nstrength_file = "p.csv"\n[[measured.lines]]\nfile = "a.csv"'
    found = Lanes(lines_of(tmp_path, more=more), 0).row_ground(0, 2000).strength
    # rows from the left: 0.5 m to the west … 0.5 m to the east
    assert found[:, 1000] == pytest.approx(1e6 * (1.2 - 0.1 * np.array([0.5, 0.25, 0.0, -0.25, -0.5])), rel=1e-3)


def test_inputs_are_named_by_their_digest(tmp_path):
    d = np.arange(0.0, 60.0, 0.5)
    write_line(tmp_path, "a.csv", d, hills(d, 0.0))
    one = dict(lines_of(tmp_path, more='[[measured.lines]]\nfile = "a.csv"').files)
    write_line(tmp_path, "a.csv", d, hills(d, 1.0))
    two = dict(load_paddock(tmp_path / "small.toml").files)
    assert set(one) == {"a.csv"}
    assert one != two


# --- noise of the survey ------------------------------------------------------------------------------------------

BUMPY = np.random.default_rng(9)


@every(("name", "more"), [("a.csv", '[[measured.lines]]\nfile = "a.csv"'), ("g.tif", WITH_GRID),
                          ("s.crg", '[measured.surface]\nfile = "s.crg"')])  # fmt: skip
def test_noise_in_measured_ground_is_told_and_taken_out_where_asked(tmp_path, name, more):
    """20 mm of it on smooth hills: found, and with the filter what is left is a small share of it."""
    d = np.arange(0.0, 80.0, 0.1)
    write_line(tmp_path, "a.csv", d, hills(d, 0.0) + BUMPY.normal(0.0, 0.02, d.size))
    write_grid(tmp_path / "g.tif", noise=0.02)
    write_surface(tmp_path / "s.crg", noise=0.02)
    tables = GRID if name == "g.tif" else {**BARE, "passes": "section_m = 5"}
    plain = paddocks.small(tmp_path, tables, more)
    (told,) = [note for note in plain.warnings if "look like noise" in note]
    sd = float(told.split("heights ")[1].split(" mm")[0])
    assert told.startswith(name)
    assert sd == pytest.approx(20.0, rel=0.15)
    assert "in [measured]" in told
    quiet = paddocks.small(tmp_path, tables, f'[measured]\nnoise_filter = "as_noise_says"\n{more}')
    assert any("taken out of its heights" in note for note in quiet.warnings)
    assert plain.measured is not None
    assert quiet.measured is not None
    assert quiet.measured.shortest_wave(0) > 2.0 * plain.measured.shortest_wave(0)
    left = []
    for paddock in (plain, quiet):
        lanes = Lanes(paddock, 0)
        ground = lanes.row_ground(0, 5000).ground
        x, y = lanes.places(np.tile(0.005 * np.arange(5000), (5, 1)), np.tile(lanes.rows[:, None], (1, 5000)))
        wanted = hills(x, y if name == "g.tif" else (y - y[2] if name == "s.crg" else 0.0 * y))
        left.append(np.std(ground - wanted))
    assert left[0] > 0.01
    assert left[1] < 0.45 * left[0]
