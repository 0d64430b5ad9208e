"""The moving picture: geometry in ground axes, forces to scale, one frame for every step asked for."""

from __future__ import annotations

import math

import numpy as np
import pytest
from every import every
from PIL import Image

from analysis.explain.explain import explain
from analysis.movie.movie import FRAMES_PER_METRE, movie_stretch, nice, save_movie
from analysis.movie.scene import PIN_POINTS, largest_forces, scene, stone_slopes
from scenarios.load import load
from sim.record import PINS


@pytest.fixture(scope="module")
def stony():
    return explain(load("stony"), 73.0, 74.5, workers=1)


def test_the_unit_stands_where_the_run_says(stony):
    run = stony.run
    for step in np.linspace(0, run.series["depth"].size - 1, 40).astype(int):
        p = scene(run, int(step)).points
        bottom = p["disc_hub"][1] - run.unit.disc.radius
        surface = np.interp(run.series["distance"][step], run.track.x, run.track.surface)
        assert p["disc_hub"][0] == pytest.approx(run.series["distance"][step], abs=1e-12)
        assert surface - bottom == pytest.approx(run.series["depth"][step], abs=2e-4)  # cubic against linear in x
        for first, second, length in (("U0", "U1", 0.55), ("L0", "L1", 0.55), ("U0", "L0", 0.25),
                                      ("crank_pin", "rod_rear", 0.55), ("bell_end", "lug", 0.525)):  # fmt: skip
            assert math.dist(p[first], p[second]) == pytest.approx(length, abs=1e-9)


def test_arrows_are_the_forces_of_the_run(stony):
    run = stony.run
    step = int(run.series["rock_force"].argmax())
    shown = scene(run, step, stone_slopes(run, [step]))
    by_name = {force.name: force for force in shown.forces}
    assert math.hypot(*by_name["rock"].force) == pytest.approx(run.series["rock_force"][step])
    assert by_name["disc"].force == (run.series["disc_draught"][step], run.series["disc_vertical"][step])
    for name, place in PIN_POINTS.items():
        assert math.hypot(*by_name[name].force) == pytest.approx(math.hypot(*run.pins[step, PINS.index(name)]))
        assert by_name[name].at == shown.points[place]
    assert largest_forces(run, step, step + 1) == pytest.approx(
        max(math.hypot(*force.force) for force in shown.forces)
    )  # fmt: skip


def test_a_movie_has_a_frame_for_every_step_of_the_way(stony, tmp_path):
    path = tmp_path / "m.gif"
    count = save_movie(stony, path, asked=True)
    assert count == round(1.5 * FRAMES_PER_METRE)
    with Image.open(path) as picture:
        assert picture.n_frames == count
        assert picture.size[0] <= 500
        first = np.asarray(picture.convert("L"), dtype=float)
        picture.seek(count // 2)
        middle = np.asarray(picture.convert("L"), dtype=float)
    assert np.abs(first - middle).mean() > 0.5  # it moves
    assert path.stat().st_size < 1_500_000


def test_the_movie_shows_the_worst_place_or_what_was_asked(stony):
    at = stony.places[0].what.at
    first, last = movie_stretch(stony, asked=False)
    assert first <= at <= last
    assert movie_stretch(stony, asked=True) == (73.0, 74.5)


@every(("value", "expected"), [(7300.0, 5000.0), (1000.0, 1000.0), (0.3, 0.2)])
def test_the_scale_bar_is_a_round_figure(value, expected):
    assert nice(value) == pytest.approx(expected)
