"""Disc against scraper and bearing: closed forms of torque, lever and stall, a run's own slip, sentences."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from drawn import amiss
from every import every

from analysis.present.figure_style import save
from analysis.setting_up.disc_drive import (
    Along,
    along,
    depths_around,
    diameters_around,
    disc_drive,
    drive,
    stall_depth,
    strengths_around,
    with_radius,
)
from analysis.setting_up.disc_words import disc_text
from analysis.setting_up.figure_disc_drive import disc_figure
from scenarios.load import load
from sim.errors import LawError
from sim.run import simulate

SPEED = 8.0 / 3.6
DEPTH = 0.04


@pytest.fixture(scope="module")
def scenario():
    return load("rough")


def with_disc(scenario, **changes):
    unit = scenario.unit
    return replace(scenario, unit=replace(unit, disc=replace(unit.disc, **changes)))


def text_of(scenario, run=None, **options):
    return " ".join(disc_text(disc_drive(scenario, run, **options), scenario.title).split())


def test_the_torque_by_its_closed_form(scenario):
    """T = μ(q w c + k_f q ⅔ c h) f_v R with c = √(2Rh − h²), f_v = 1 + a·8."""
    disc, soil = scenario.unit.disc, scenario.soil
    found = drive(scenario.unit, soil, SPEED, DEPTH)
    c = math.sqrt(2 * 0.28 * DEPTH - DEPTH**2)
    f_v = 1.0 + soil.speed_factor * 8.0
    edge, face = (k * f_v * c for k in (1.2e6 * 0.005, 0.04 * 1.2e6 * (2 / 3) * DEPTH))
    assert found.torque == pytest.approx(0.3 * (edge + face) * 0.28, rel=1e-12)
    assert found.drag == disc.drag_torque == 8.0
    assert found.margin == pytest.approx(found.torque / 8.0)
    assert found.chord == pytest.approx(c)
    assert found.arc == pytest.approx(0.28 * math.asin(c / 0.28))
    assert found.vertical == pytest.approx(edge + face * math.sin(disc.tilt) * math.cos(disc.sweep), rel=1e-12)


@every("larger", [1.1, 1.3])
def test_the_margin_at_two_radii_against_the_lever(scenario, larger):
    """Per newton on the arc the margin grows as the lever; at one depth besides as the chord √(2Rh − h²)."""
    own = drive(scenario.unit, scenario.soil, SPEED, DEPTH)
    other = drive(with_radius(scenario.unit, larger * 0.28), scenario.soil, SPEED, DEPTH)
    per_load = [one.margin / (one.torque / (0.3 * one.radius)) for one in (own, other)]
    assert per_load[1] / per_load[0] == pytest.approx(larger, rel=1e-12)
    chords = math.sqrt((2 * larger * 0.28 - DEPTH) / (2 * 0.28 - DEPTH))
    assert other.margin / own.margin == pytest.approx(larger * chords, rel=1e-12)
    table = disc_drive(scenario, None, diameters=[larger * 0.56]).by_diameter[0][0]
    assert (table.lever, table.gain) == (pytest.approx(larger), pytest.approx(larger * chords))
    assert table.rim_margin / own.margin == pytest.approx(chords, rel=1e-12)  # drag at the rim: the lever is eaten up
    assert table.force == pytest.approx(own.vertical * (chords - 1.0), rel=1e-12)


def test_where_it_stalls(scenario):
    heavy = with_disc(scenario, drag_torque=70.0)
    found = disc_drive(heavy, None, stickiness=(1.0, 3.0, 50.0))
    shallow, deeper, never = found.stall_depths
    assert 0.0 < shallow < DEPTH < deeper
    assert never is None
    for factor, depth in ((1.0, shallow), (3.0, deeper)):
        assert drive(heavy.unit, heavy.soil, SPEED, depth, factor).margin == pytest.approx(1.0, rel=1e-6)
    soft = replace(heavy.soil, strength=found.stall_strength)
    assert drive(heavy.unit, soft, SPEED, DEPTH).margin == pytest.approx(1.0, rel=1e-12)
    free = with_disc(scenario, drag_torque=0.0)
    assert stall_depth(free.unit, free.soil, SPEED) == 0.0
    assert drive(free.unit, free.soil, SPEED, DEPTH).margin == math.inf


def test_margin_falls_with_stickiness_and_rises_with_depth_and_strength(scenario):
    found = disc_drive(scenario, None, stickiness=(2.0, 1.0))
    assert found.stickiness == (1.0, 2.0)
    for rows in (found.by_depth, found.by_strength):
        margins = np.array([[one.margin for one in row] for row in rows])
        assert (np.diff(margins, axis=0) > 0.0).all()
        assert margins[:, 1] == pytest.approx(margins[:, 0] / 2.0)


def test_along_the_ground_as_the_run_has_it(scenario):
    """The share that does not turn is the run's own; margins are those of the torque at every step."""
    heavy = with_disc(scenario, drag_torque=120.0)
    run = simulate(heavy.unit, heavy.soil, heavy.track(length=60.0), heavy.settings)
    found = along(run)
    slip, out = run.series["disc_slip"] > 0.0, run.series["depth"] <= 0.0
    assert found.stalled == np.mean(slip | out) > 0.01
    assert found.clear == np.mean(out)
    light = along(simulate(scenario.unit, scenario.soil, run.track, scenario.settings))
    assert light.margin_low == pytest.approx(found.margin_low * 120.0 / 8.0, rel=1e-3)
    assert light.stalled <= found.stalled
    assert f"margin under {found.margin_low:.3g} on a twentieth of the way" in text_of(heavy, run)


def test_next_to_no_drag_is_no_drag(scenario):
    """5e-324 N m, the smallest number there is: its margin is endless, as without any; nothing overflows."""
    run = simulate(scenario.unit, scenario.soil, scenario.track(length=10.0), scenario.settings)
    for drag in (5e-324, 0.0):
        assert along(replace(run, unit=with_disc(scenario, drag_torque=drag).unit)).margin_low == math.inf


def test_a_level_run_has_the_margin_of_the_closed_form():
    flat = load("smooth", changes={"soil.variation_cv": 0.0})
    flat = replace(flat, ground=replace(flat.ground, roughness=None, features=()))
    flat = replace(flat, settings=replace(flat.settings, toolbar="level"))
    run = simulate(flat.unit, flat.soil, flat.track(length=10.0), flat.settings)
    found = along(run)
    assert found.margin_low == pytest.approx(drive(flat.unit, flat.soil, flat.settings.speed, DEPTH).margin, rel=1e-3)
    assert found.stalled == 0.0


def test_what_is_tried_lies_around_the_files_own(scenario):
    assert depths_around(scenario) == pytest.approx((0.02, 0.04, 0.06))
    deep = replace(scenario, settings=replace(scenario.settings, set_depth=0.15),
                   unit=with_radius(scenario.unit, 0.2))  # fmt: skip
    assert max(depths_around(deep)) == pytest.approx(0.16)
    assert min(diameters_around(deep)) == pytest.approx(0.4)  # a smaller disc cannot go in so deep
    disc_figure(disc_drive(deep, None, diameters=[0.4]), deep.title)
    assert scenario.soil.strength in strengths_around(scenario)
    assert 0.56 in diameters_around(scenario)
    with pytest.raises(LawError, match=r"up to 0\.8 of the radius"):
        disc_drive(scenario, None, depths=[0.3])


def test_sentences_follow_the_numbers(scenario):
    base = text_of(scenario)
    own = drive(scenario.unit, scenario.soil, SPEED, DEPTH)
    assert f"turns the disc with {own.torque:.0f} N m against 8 N m of drag, {own.margin:.3g} times as much" in base
    assert "616 mm in place of 560 mm: turning torque +15.8 % (lever +10.0 %, load on the arc +5.2 %)" in base
    assert "6.7 kgf more to go in" in base
    assert "Along this ground" not in base
    heavy = text_of(with_disc(scenario, drag_torque=250.0))
    assert "times as much: it stands still" in heavy
    assert "stalls (0.49)" in heavy
    free = text_of(with_disc(scenario, drag_torque=0.0))
    assert "there is no drag" in free
    other = text_of(scenario, diameters=[0.50], stickiness=(4.0,))
    assert "500 mm in place of 560 mm: turning torque −16.0 % (lever −10.7 %" in other
    assert "margin ×4" in other
    assert "kgf less to go in" in other
    told = disc_drive(scenario, None, reason="the arm hit its stop")
    assert "not crossed, the arm hit its stop" in disc_text(told, "x")


@every(
    ("shares", "words"),
    [
        (Along(3.21, 0.0, 0.0), "margin under 3.21 on a twentieth of the way; the disc turns all the way"),
        (Along(0.9, 0.12, 0.0), "margin under 0.9 on a twentieth of the way; it does not turn on 12.0 % of the way."),
        (Along(0.9, 0.12, 0.05), "it does not turn on 12.0 % of the way (out of the soil on 5.0 %)"),
        (Along(math.inf, 0.0, 0.0), "Along this ground (one crossing): the disc turns all the way."),
    ],
)
def test_the_sentence_on_the_ground_follows_its_shares(scenario, shares, words):
    found = replace(disc_drive(scenario, None), along=shares)
    assert words in " ".join(disc_text(found, "x").split())


def test_json_and_figure(scenario, tmp_path):
    for one in (scenario, with_disc(scenario, drag_torque=0.0)):
        found = disc_drive(one, None)
        json.dumps(found.to_dict(), allow_nan=False)
        save(disc_figure(found, one.title), tmp_path / "a.png")
    d = disc_drive(scenario, None).to_dict()
    assert d["by_diameter"][3][0]["torque_ratio"] == pytest.approx(1.158, abs=0.001)
    figure = disc_figure(disc_drive(scenario, None), scenario.title)
    told = " ".join(text.get_text().replace("\n", " ") for text in figure.texts)
    assert "616 mm in place of 560: +16 % turning torque for +7 kgf to go in" in told
    assert amiss(figure) == []
    assert all(axes.get_legend() is None for axes in figure.axes)
    assert [text.get_text() for text in figure.axes[0].texts] == ["stickiness 1", "3", "10"]
    gain = next(line for line in figure.axes[1].lines if "turning torque" in str(line.get_label()))
    assert np.interp(616.0, gain.get_xdata(), gain.get_ydata()) == pytest.approx(15.8, abs=0.1)


def test_two_blades_turn_each_as_one_and_bear_twice(scenario):
    double = with_disc(scenario, blades=2)
    one, each = (drive(s.unit, s.soil, SPEED, DEPTH, 3.0) for s in (scenario, double))
    assert (each.torque, each.drag, each.margin) == (one.torque, one.drag, one.margin)
    assert (each.vertical, each.draught) == (2.0 * one.vertical, 2.0 * one.draught)
    own, other = (disc_drive(s, None).by_diameter[-1][0] for s in (scenario, double))
    assert (other.gain, other.force) == (own.gain, pytest.approx(2.0 * own.force, rel=1e-12))
    assert disc_drive(double, None).to_dict()["blades"] == 2


def test_along_the_ground_a_blade_of_two_has_the_margin_of_one_as_wide(scenario):
    """A blade of two with half the edge, face and drag of the one disc: the same forces, the same margin."""
    disc = scenario.unit.disc
    half = with_disc(
        scenario, blades=2, edge_width=0.5 * disc.edge_width, face_factor=0.5 * disc.face_factor,
        drag_torque=0.5 * disc.drag_torque,
    )  # fmt: skip
    track = scenario.track(length=60.0)
    runs = [simulate(s.unit, s.soil, track, scenario.settings) for s in (scenario, half)]
    assert not runs[1].series["side_load"].any()
    one, two = map(along, runs)
    assert (two.stalled, two.clear) == (one.stalled, one.clear)
    assert two.margin_low == pytest.approx(one.margin_low, rel=1e-12)


def test_the_margin_along_the_ground_is_that_of_the_side_load(scenario):
    """One blade's side load N_f cos τ cos ε tells the face's force as well: the same margin."""
    run = simulate(scenario.unit, scenario.soil, scenario.track(length=60.0), scenario.settings)
    disc, s = scenario.unit.disc, run.series
    face = s["side_load"] / (math.cos(disc.tilt) * math.cos(disc.sweep))
    edge = s["disc_vertical"] - face * math.sin(disc.tilt) * math.cos(disc.sweep)
    torque = disc.face_friction * (edge + face) * disc.radius
    low = np.quantile(torque[s["depth"] > 0.0], 0.05, method="lower") / disc.drag_torque
    assert along(run).margin_low == pytest.approx(low, rel=1e-4)


def test_sentences_of_two_blades(scenario):
    double = with_disc(scenario, blades=2)
    told, own = text_of(double), drive(scenario.unit, scenario.soil, SPEED, DEPTH)
    assert f"Two blades of 560 mm, edge {1e3 * scenario.unit.disc.edge_width:g} mm each, drag 8 N m each" in told
    assert f"the soil turns each blade with {own.torque:.0f} N m against 8 N m of drag" in told
    assert "Torques and drag are those of one blade, forces those of both." in told
    assert "one blade" not in text_of(scenario)
    figure = disc_figure(disc_drive(double, None), "x")
    assert "edge of each blade" in " ".join(text.get_text().replace("\n", " ") for text in figure.texts)
