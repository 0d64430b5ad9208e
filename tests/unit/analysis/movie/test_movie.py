"""The moving picture: geometry in ground axes, forces to scale, one frame for every step asked for."""

from __future__ import annotations

import math

import numpy as np
import pytest
from drawn import amiss, texts
from every import every
from matplotlib.patches import FancyArrowPatch
from PIL import Image

from analysis.explain.explain import explain
from analysis.movie.figure_gif import FRAMES_PER_METRE, LAST, pace_words, slowed
from analysis.movie.figure_stage import nice
from analysis.movie.movie import film_of, movie_stretch, save_movie, told_at
from analysis.movie.scene import PIN_POINTS, largest_forces, scene, stone_slopes, toolbar_axles
from scenarios.load import load
from sim.record import PINS
from sim.unit import Settings


@pytest.fixture(scope="module")
def stony():
    return explain(load("stony"), 73.0, 74.5, workers=1)


@pytest.fixture(scope="module")
def film(stony):
    """Every frame is drawn once: limits of all axes, places of all axes, and lengths of arrows for a newton."""
    made = film_of(stony, asked=True)
    limits, places, arrows = [], [], []
    for n in range(made.count):
        made.draw(n)
        limits.append([(*axes.get_xlim(), *axes.get_ylim()) for axes in made.figure.axes])
        places.append([axes.get_position().bounds for axes in made.figure.axes])
        drawn = [p for p in made.stage.axes.patches if isinstance(p, FancyArrowPatch)]
        ends = [np.subtract(p._posA_posB[1], p._posA_posB[0]) for p in drawn]
        arrows.append(sorted(np.hypot(*end) for end in ends))
    return made, np.array(limits), np.array(places), arrows


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


@pytest.fixture(scope="module")
def gif(stony, tmp_path_factory):
    """The film on disk, and its number of frames."""
    path = tmp_path_factory.mktemp("film") / "m.gif"
    return path, save_movie(stony, path, asked=True)


def test_a_movie_has_a_frame_for_every_step_of_the_way(gif):
    path, count = gif
    assert count == round(1.5 * FRAMES_PER_METRE)
    with Image.open(path) as picture:
        assert picture.n_frames == count
        assert picture.size[0] <= 500
        first = np.asarray(picture.convert("L"), dtype=float)
        picture.seek(count // 2)
        middle = np.asarray(picture.convert("L"), dtype=float)
    assert np.abs(first - middle).mean() > 0.5  # it moves
    assert path.stat().st_size < 1_500_000


def test_nothing_of_the_axes_moves_in_a_film_but_the_metres_under_the_unit(film):
    made, limits, places, _ = film
    assert len(made.figure.axes) == 4
    assert np.ptp(places, axis=0).max() == 0.0
    assert np.ptp(limits[:, 1:], axis=0).max() == 0.0  # machine, depth, pressure
    assert np.ptp(limits[:, 0, 2:], axis=0).max() == 0.0  # heights beside the unit
    at = made.run.series["distance"][[shown.step for shown in made.scenes]]
    assert np.ptp(limits[:, 0, 0] - at) < 1e-9
    assert np.ptp(limits[:, 0, 1] - at) < 1e-9


def test_a_metre_is_as_long_up_as_along(film):
    made, limits, places, _ = film
    wide, tall = made.figure.get_size_inches()
    for axes in (0, 1):
        (low, high, foot, top), (_, _, width, height) = limits[0, axes], places[0, axes]
        assert (high - low) / (width * wide) == pytest.approx((top - foot) / (height * tall))


def test_unit_arrows_and_ground_stay_in_view(film):
    made, limits, _, _ = film
    track = made.run.track
    for shown, (low, high, foot, top) in zip(made.scenes, limits[:, 0], strict=True):
        tips = [np.add(f.at, np.multiply(f.force, made.stage.scale)) for f in shown.forces]
        for x, z in (*shown.points.values(), *tips):
            assert low < x < high
            assert foot < z < top
        ground = track.ground[(track.x >= low) & (track.x <= high)]
        assert ground.min() - foot > 0.1
        assert ground.max() < top
        assert made.overview.ends[0] < shown.points["O"][0] - 2.7  # rear wheel, 0.5 m in radius 2.2 m behind


def test_a_newton_is_as_long_in_every_frame(film):
    made, _, _, arrows = film
    for shown, drawn in zip(made.scenes, arrows, strict=True):
        wanted = sorted(math.hypot(*force.force) * made.stage.scale for force in shown.forces)
        assert drawn == pytest.approx([length for length in wanted if length >= 0.01])
    assert max(max(drawn) for drawn in arrows) <= 0.62 + 1e-9


def test_no_words_of_a_film_are_cut_or_lie_on_others(film):
    made = film[0]
    off = next(n for n, shown in enumerate(made.scenes) if shown.wheel_off)
    for n in (0, off, made.count - 1):
        made.draw(n)
        assert amiss(made.figure) == []
    assert "In this film 1 s of driving takes 2.1 s." in " ".join(texts(made.figure))


def test_a_film_plays_as_slow_as_it_says(stony, gif):
    with Image.open(gif[0]) as picture:
        lasts = 0.0
        for n in range(picture.n_frames - 1):
            picture.seek(n)
            lasts += picture.info["duration"] / 1e3
        picture.seek(picture.n_frames - 1)
        assert picture.info["duration"] == 1e3 * LAST
        way = 1.5 * (picture.n_frames - 1) / picture.n_frames
    assert lasts / (way / stony.run.settings.speed) == pytest.approx(slowed(stony.run.settings.speed), rel=1e-6)
    assert slowed(8.0 / 3.6) == pytest.approx(2.13, abs=0.01)
    assert pace_words(0.5 / 0.96) == "1 s of driving takes 0.5 s"


def test_the_toolbar_rides_on_its_wheels(cross):
    """Known answer: on flat ground both rims touch it, 2.2 m ahead and behind of O; held level there are none."""
    run = cross("flat")
    shown = scene(run, 500)
    (rear, up), (front, also) = toolbar_axles(run, shown)
    assert (rear, front) == pytest.approx((shown.points["O"][0] - 2.2, shown.points["O"][0] + 2.2))
    assert (up, also) == pytest.approx((0.5, 0.5), abs=1e-6)
    held = cross("flat", Settings(toolbar="level"))
    assert toolbar_axles(held, scene(held, 500)) == ()


def test_a_disc_that_left_the_ground_is_not_told_as_a_depth(stony):
    step = int(stony.run.series["depth"].argmin())
    assert stony.run.series["depth"][step] < 0.0
    assert "mm over the ground" in told_at(stony.run, step)[1]


def test_the_movie_shows_the_worst_place_or_what_was_asked(stony):
    at = stony.places[0].what.at
    first, last = movie_stretch(stony, asked=False)
    assert first <= at <= last
    assert movie_stretch(stony, asked=True) == (73.0, 74.5)


@every(("value", "expected"), [(7300.0, 5000.0), (1000.0, 1000.0), (0.3, 0.2)])
def test_the_scale_bar_is_a_round_figure(value, expected):
    assert nice(value) == pytest.approx(expected)
