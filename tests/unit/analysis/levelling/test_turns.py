"""Turns of the turnbuckle: the linkage's ratio, its sign, and the share that soil lets arrive."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.levelling.turns import Turnbuckle, outward, quarters, turnbuckle
from analysis.levelling.words import turns_text
from scenarios.load import load, load_unit
from sim.mechanism.linkage import wheel_over_disc
from sim.run import prepare
from sim.unit import Rock


@pytest.fixture(scope="module")
def demo():
    return load_unit("demo")


def test_ratio_and_thread_of_the_demonstration_unit(demo):
    """Model: turnbuckle 1 mm longer, 2.0 mm shallower; 3 mm a turn make 6 mm."""
    found = turnbuckle(demo)
    assert found.depth_per_length == pytest.approx(-2.0, abs=0.01)
    assert found.depth_per_turn == pytest.approx(-6.0e-3, abs=0.03e-3)
    assert not found.longer_is_deeper
    assert found.turns(6e-3) == pytest.approx(-1.0, abs=0.01)  # deeper: shorter


def test_turns_move_wheel_against_disc_by_the_offset(demo):
    """Closing the linkage anew with the turned turnbuckle: 3 mm of depth within 2 %."""
    found = turnbuckle(demo)
    crank = prepare(demo.unit, demo.soil, Rock(), demo.settings).setting.crank_angle
    for deeper in (0.003, -0.003):
        longer = found.turns(deeper) * found.pitch
        link = replace(demo.unit.depth_linkage, turnbuckle=demo.unit.depth_linkage.turnbuckle + longer)
        turned = replace(demo.unit, depth_linkage=link)
        moved = wheel_over_disc(turned, crank, 0.0) - wheel_over_disc(demo.unit, crank, 0.0)
        assert moved == pytest.approx(deeper, rel=0.02)


def test_another_thread_and_lug_change_the_turns(demo):
    """Half the pitch: twice the turns. A lug farther out: less depth for each mm."""
    link = replace(demo.unit.depth_linkage, thread_pitch=0.0015)
    fine = turnbuckle(replace(demo, unit=replace(demo.unit, depth_linkage=link)))
    assert fine.turns(0.006) == pytest.approx(2.0 * turnbuckle(demo).turns(0.006))
    wheel = replace(demo.unit.gauge_wheel, lug=0.17)
    out = turnbuckle(replace(demo, unit=replace(demo.unit, gauge_wheel=wheel)))
    assert abs(out.depth_per_length) < abs(turnbuckle(demo).depth_per_length) - 0.1


def test_a_turnbuckle_below_the_gauge_arm_works_the_other_way():
    """Only the sign of the ratio tells which way; nothing is taken for granted."""
    other = Turnbuckle(0.003, 2.0, 0.8, 0.04)
    assert other.longer_is_deeper
    assert other.turns(0.006) == pytest.approx(1.0)


def test_share_that_arrives(demo):
    """On soil and tyre that hardly give nearly all of it, on the default soil less, with no load on the wheel none."""
    soil = replace(demo.soil, frictional_modulus=1e8)
    wheel = replace(demo.unit.gauge_wheel, tyre_stiffness=5e6)
    hard = turnbuckle(replace(demo, soil=soil, unit=replace(demo.unit, gauge_wheel=wheel)))
    usual = turnbuckle(demo)
    soft = turnbuckle(replace(demo, soil=replace(demo.soil, frictional_modulus=2e6)))
    assert 0.95 < hard.arrives <= 1.001
    assert soft.arrives < usual.arrives < hard.arrives
    assert 0.6 < usual.arrives < 0.9
    assert turnbuckle(load("hard_ground")).arrives == pytest.approx(0.0, abs=1e-6)


def test_share_that_arrives_against_the_depth_setting(demo):
    """Set for 42 and for 38 mm: what wheel against disc has to move for 4 mm of depth, by find_setting alone.

    That search lets the toolbar sink with the row; here it stays, so the cylinder's give adds a little.
    """
    over = [
        prepare(demo.unit, demo.soil, Rock(), replace(demo.settings, set_depth=depth)).setting.wheel_over_disc
        for depth in (0.038, 0.042)
    ]
    assert turnbuckle(demo).arrives == pytest.approx(0.004 / (over[1] - over[0]), rel=0.08)


def test_quarters():
    assert [quarters(t) for t in (0.0, 0.12, 0.13, -0.9, 2.4)] == [0.0, 0.0, 0.25, -1.0, 2.5]
    assert outward(-1.2, -0.3) == (-1.25, -0.25)
    assert [turns_text(t) for t in (0.25, 1.75, 2.0, -0.5)] == ["¼", "1¾", "2", "½"]


def test_a_unit_by_name_by_path_and_in_a_scenario(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text("[unit.depth_linkage]\nthread_pitch_mm = 2\n", encoding="utf-8")
    assert turnbuckle(load_unit(path)).pitch == pytest.approx(0.002)
    assert load_unit("heavy").unit.carrier.mass == 130.0
    assert load_unit("rough").path == load("rough").path
    whole = tmp_path / "whole.toml"
    whole.write_text('title = "t"\n[ground]\nlength_m = 30\n[unit]\nbase = "own.toml"\n', encoding="utf-8")
    assert turnbuckle(load_unit(whole)).pitch == pytest.approx(0.002)
