"""Figures of one crossing that stand alone: titles from numbers, spectrum and drift against known answers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import synthetic_ground
from drawn import amiss
from every import every
from iso_classes import CLASSES

from analysis.crossing.loads import pin_loads
from analysis.explain.explain import explain
from analysis.explain.figure_causes import apart
from analysis.explain.figure_drift import drift_figure
from analysis.explain.figure_gas import gas_figure
from analysis.explain.figure_histograms import depth_figure, gauge_load_figure
from analysis.explain.figure_pins import pins_figure
from analysis.explain.figure_spectrum import spectrum_figure
from analysis.explain.figures import all_figures
from analysis.explain.gas_loop import gas_loop, isotherm
from analysis.explain.spectrum import class_of, fitted, has_class, spectrum
from analysis.explain.swing import swing
from scenarios.load import load
from sim.mechanism.linkage import drift
from sim.run import prepare
from sim.track import flat_track
from sim.unit import ATMOSPHERE


@pytest.fixture(scope="module")
def rough():
    return explain(load("rough"), workers=1)


def words(figure):
    """All text outside the axes: title, settings, note."""
    return " ".join(" ".join(text.get_text().split()) for text in figure.texts)


FIGURES = ("gauge_load", "depth", "pins", "gas", "drift", "spectrum")


def drawn(told, name):
    """A figure as the command makes it."""
    found = {"gas": gas_loop, "drift": swing, "spectrum": lambda run: spectrum(run.track)}
    make = {"gauge_load": gauge_load_figure, "depth": depth_figure, "pins": pins_figure, "gas": gas_figure,
            "drift": drift_figure, "spectrum": spectrum_figure}[name]  # fmt: skip
    return make(told, found[name](told.run)) if name in found else make(told)


@pytest.mark.parametrize("name", FIGURES)
def test_a_figure_stands_alone(rough, name):
    figure = drawn(rough, name)
    text = words(figure)
    assert "40 bar = 139 kgf a row, 8 km/h, set depth 40 mm, 300 m, ground 1" in text
    assert "Rough field" in text
    for axes in figure.axes:
        assert axes.get_xlabel()
    assert amiss(figure) == []
    figure.draw_without_rendering()
    edges = figure.get_tightbbox(figure.canvas.get_renderer())
    width, height = figure.get_size_inches()
    assert edges.x0 >= -0.01 and edges.y0 >= -0.01 and edges.x1 <= width + 0.01 and edges.y1 <= height + 0.01  # noqa: PT018


def test_flat_ground_has_no_spectrum_and_says_so(rough):
    flat = flat_track(20.0, 1.2e6)
    figure = spectrum_figure(rough, spectrum(flat))
    figure.draw_without_rendering()
    assert "The ground is flat" in words(figure)


def test_titles_tell_the_measured_finding(rough):
    load_n = rough.run.series["gauge_load"]
    assert f"{load_n.mean():.0f} N on average" in words(gauge_load_figure(rough))
    within = np.mean(np.abs(rough.run.series["depth"] - 0.040) <= 0.010)
    assert f"{within * 100:.1f} % of the way within ±10 mm" in words(depth_figure(rough))
    loads = pin_loads(rough.run)
    worst = max(loads, key=lambda name: loads[name].peak)
    assert f"{worst.replace('_', ' ')}, up to {loads[worst].peak / 1e3:.1f} kN" in words(pins_figure(rough))


def test_a_spectrum_finds_the_density_that_the_ground_was_made_with(rough):
    n, density = spectrum(rough.run.track)
    assert fitted(n, density) == pytest.approx(1024e-6, rel=0.10)  # class D, ISO 8608: geometric mean 1024e-6 m³
    assert "class D" in words(drawn(rough, "spectrum"))


@every("name", ["hump", "hollow", "bank", "gully", "gilgai", "ridges"])
def test_ground_that_is_no_random_roughness_has_no_class(rough, name):
    bands = spectrum(load(name).track(1))
    assert not has_class(*bands)
    figure = spectrum_figure(rough, bands)
    assert "No roughness class" in words(figure)
    assert "As rough as" not in words(figure)
    assert [text.get_text() for text in figure.legends[0].get_texts()] == ["this ground"]  # no density either


@every(("letter", "length"), [("A", 40), ("D", 20), ("H", 300)])
def test_random_ground_has_its_class(letter, length):
    scenario = load("rough", changes={"ground.roughness.class": letter, "ground.length_m": length})
    for seed in (1, 2, 3):
        n, density = spectrum(scenario.track(seed))
        assert has_class(n, density)
        assert class_of(fitted(n, density)) == letter or length < 100


@every(("high", "dx"), [(10.0, 0.005), (40.0, 0.00125)])
def test_a_spectrum_reaches_to_ten_samples_a_wave(high, dx):
    """Density where the ground has waves, next to nothing beyond them, up to 20 c/m on 5 mm and 80 c/m on 1.25 mm."""
    n, density = spectrum(synthetic_ground.short_relief("D", high, dx))
    assert 0.85 * 0.1 / dx < n[-1] <= 0.1 / dx
    held = (n > 3.0) & (n < 0.9 * high)  # bands with enough waves on 30 m
    assert held.sum() >= 5
    assert density[held] == pytest.approx(1024e-8 / n[held] ** 2, rel=0.3)
    beyond = n > 1.1 * high
    assert density[beyond].max() < 1e-2 * 1024e-8 / high**2


def test_a_class_reaches_from_half_to_twice_its_mean():
    for letter, (low, mean, high) in CLASSES.items():
        assert [class_of(1e-6 * g) for g in (1.01 * low, mean, 0.99 * high)] == [letter] * 3
    assert [class_of(g) for g in (1e-9, 10.0)] == ["A", "H"]  # beyond them all


def test_the_slow_curve_passes_through_the_setting(rough):
    run = rough.run
    volume = prepare(run.unit, run.soil, run.track.rock, run.settings).gas.volume
    assert isotherm(run, np.array([volume]))[0] == pytest.approx(40.0, abs=1e-6)
    assert run.series["oil_pressure"].max() > ATMOSPHERE


def test_the_drawn_drift_is_that_of_the_linkage(rough):
    run, links = rough.run, rough.run.unit.main_links
    figure = drawn(rough, "drift")
    lines = {line.get_label(): line.get_ydata() for line in figure.axes[0].lines}
    angles = np.linspace(links.stop_down, links.stop_up, lines["as built"].size)
    linkage = run.unit.depth_linkage
    for label, up in (("as built", 0.0), ("crank pivot 1 mm high", 0.001), ("crank pivot 1 mm low", -0.001)):
        pivot = (linkage.crank_pivot[0], linkage.crank_pivot[1] + up)
        unit = replace(run.unit, depth_linkage=replace(linkage, crank_pivot=pivot))
        np.testing.assert_array_equal(lines[label], drift(unit, run.setting.crank_angle, angles) * 1e3)
    assert "holds the depth" in words(figure)


def test_every_figure_is_written(rough, tmp_path):
    made = all_figures(rough)
    assert [name for name, _ in made] == ["crossing", "causes", "gauge_load", "depth", "pins", "gas", "drift",
                                          "spectrum"]  # fmt: skip
    for name, write in made[1:3]:
        write(tmp_path / f"{name}.png")
        assert (tmp_path / f"{name}.png").read_bytes().startswith(b"\x89PNG")


def test_numbers_of_places_near_each_other_stand_apart():
    x = np.linspace(0.0, 20.0, 5)
    places = [13.9, 2.0, 14.0, 9.0]
    found = apart(places, x)
    assert found[1] == 2.0
    assert found[3] == 9.0
    assert found[2] - found[0] == pytest.approx(0.8)
    assert found[2] + found[0] == pytest.approx(13.9 + 14.0)
    assert apart([], x) == []
