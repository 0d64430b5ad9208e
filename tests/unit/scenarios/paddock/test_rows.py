"""The ground under a pass: places, both directions, stretches, features in plan, ruts, zones, stones, lead-in."""

from __future__ import annotations

import numpy as np
import paddocks
import pytest

from scenarios.ground.stone_field import strikes_per_metre
from scenarios.paddock.plan_shapes import bank_heights, hump_heights, rut_share
from scenarios.paddock.plan_stones import StoneField, cell_stones, row_stones
from scenarios.paddock.rows import Lanes
from scenarios.paddock.spec import PlanBank, PlanHump, PlanStones, Ruts, StonePatch
from scenarios.spec import StoneField as RowField

EVEN = {"soil": "variation_cv = 0"}
FLAT = {**EVEN, "ground": "seed = 5"}


def metres(n: float) -> int:
    return round(n / 0.005)


def test_rows_count_from_the_left_whatever_the_direction(tmp_path):
    paddock = paddocks.small(tmp_path)
    there, back = Lanes(paddock, 0), Lanes(paddock, 1)
    assert there.rows == pytest.approx([0.5, 0.25, 0.0, -0.25, -0.5])
    assert there.places(np.array([3.0]), there.rows[:1]) == (pytest.approx([3.0]), pytest.approx([0.625 + 0.5]))
    assert back.places(np.array([3.0]), back.rows[:1]) == (pytest.approx([17.0]), pytest.approx([1.875 - 0.5]))


def test_a_pass_the_other_way_meets_the_same_ground(tmp_path):
    """Pass 1 backwards against pass 1 all one way: the same lines, mirrored, rows in the other order."""
    back = Lanes(paddocks.small(tmp_path), 1)
    one = Lanes(paddocks.small(tmp_path, {"passes": 'count = 3\nlength_m = 20\ndirection = "one_way"'}), 1)
    mine, other = back.row_ground(0, metres(20) + 1), one.row_ground(0, metres(20) + 1)
    assert mine.ground == pytest.approx(other.ground[::-1, ::-1], abs=1e-12)
    assert mine.strength == pytest.approx(other.strength[::-1, ::-1], rel=1e-9)


def test_stretches_join(tmp_path):
    more = "[stones]\nstones_per_ha = 20000"
    lanes = Lanes(paddocks.small(tmp_path, more=more), 0)
    whole = lanes.row_ground(-5000, 8000)
    parts = [lanes.row_ground(-5000, 5300), lanes.row_ground(300, 2700)]
    for name in ("ground", "strength", "stone_id"):
        joined = np.concatenate([getattr(part, name) for part in parts], axis=1)
        assert getattr(whole, name) == pytest.approx(joined, rel=1e-12, abs=1e-12)
    assert (whole.stone_id >= 0).any()


def test_waves_up_to_40_cycles_a_metre_lie_on_a_finer_grid(tmp_path):
    """The ground up to 10 c/m stays; what comes on top has the closed SD √(Gd·n0²·(1/10 − 1/40)) (ISO 8608 form)."""
    short = {**EVEN, "ground": 'seed = 5\nroughness = { class = "D", band_c_per_m = [0.05, 40] }'}
    plain = Lanes(paddocks.small(tmp_path, EVEN), 1)
    there, back = (
        Lanes(paddocks.small(tmp_path, {**short, "passes": f'count = 3\nlength_m = 20\ndirection = "{direction}"'}), 1)
        for direction in ("one_way", "back_and_forth")
    )
    assert (plain.dx, back.dx) == (0.005, 0.00125)
    fine = back.row_ground(0, 16_001).ground
    assert fine == pytest.approx(there.row_ground(0, 16_001).ground[::-1, ::-1], abs=1e-12)
    added = fine[:, ::4] - plain.row_ground(0, 4001).ground
    assert added.std() == pytest.approx(np.sqrt(1024e-8 * (1 / 10 - 1 / 40)), rel=0.03)
    spectrum = np.abs(np.fft.rfft(added * np.hanning(4001), axis=1)) ** 2
    assert np.sum(spectrum[:, np.fft.rfftfreq(4001, 0.005) < 9.5]) < 1e-3 * np.sum(spectrum)
    joined = np.concatenate([back.row_ground(0, 7001).ground, back.row_ground(7001, 9000).ground], axis=1)
    assert fine == pytest.approx(joined, abs=1e-12)
    assert back.wheel_heights(40, 500)[1] == pytest.approx(fine[0, 40:540], abs=1e-12)


def test_the_lead_in_is_flat_even_and_without_stones(tmp_path):
    lanes = Lanes(paddocks.small(tmp_path, more="[stones]\nstones_per_ha = 50000"), 0)
    ahead = lanes.row_ground(metres(-26), metres(14))
    assert np.abs(ahead.ground).max() == 0.0
    assert (ahead.strength == 1.2e6).all()
    assert (lanes.row_ground(metres(-26), metres(26) - 60).stone_id == -1).all()
    full = lanes.row_ground(metres(-4), metres(4))
    assert full.ground.std() > 2e-3


def test_wheels_ride_on_the_ground_of_the_nearest_line(tmp_path):
    lanes = Lanes(paddocks.small(tmp_path, EVEN), 0)
    wheels, rows = lanes.wheel_heights(0, 500), lanes.row_ground(0, 500).ground
    assert wheels.shape == (4, 500)
    assert (wheels[0] == rows[4]).all()  # front wheels rise from right to left
    assert (wheels[1] == rows[0]).all()


def test_rows_of_the_next_pass_go_on(tmp_path):
    """Waves over 2 m of the last row of a pass and the first of the next have nearly all in common."""
    one_way = {"passes": 'count = 2\nlength_m = 400\ndirection = "one_way"', "soil": "variation_cv = 0"}
    paddock = paddocks.small(tmp_path, one_way)
    last, first = (Lanes(paddock, i).row_ground(0, metres(400)).ground for i in (0, 1))
    a, b = np.fft.rfft(last[0])[24:160], np.fft.rfft(first[4])[24:160]  # 0.06 to 0.4 c/m
    shared = np.sum(a.conj() * b).real / np.sqrt(np.sum(abs(a) ** 2) * np.sum(abs(b) ** 2))
    assert shared > 0.85


def test_hump_and_bank_in_plan():
    x, y = np.linspace(0.0, 40.0, 401), np.array([1.0, 4.0, 7.0])
    hump = hump_heights(PlanHump(at=(20.0, 4.0), height=0.2, length=4.0, width=6.0), x, y)
    assert hump[1].max() == pytest.approx(0.2)
    assert x[hump[1].argmax()] == pytest.approx(20.0)
    assert hump[0].max() == pytest.approx(0.0, abs=1e-12)
    assert hump[1][x <= 18.0].max() == pytest.approx(0.0, abs=1e-12)
    bank = bank_heights(PlanBank(start=(10.0, -20.0), end=(30.0, 20.0), height=0.3, base=4.0), x, y)
    crest = 20.0 + 0.5 * y
    for row, at in zip(bank, crest, strict=True):
        assert row.max() == pytest.approx(0.3, rel=1e-6)
        assert x[row.argmax()] == pytest.approx(at, abs=0.06)
        # square to the bank it is 4 m wide; the row crosses it at atan(2)
        wide = np.ptp(x[row > 1e-9])
        assert wide == pytest.approx(4.0 / np.sin(np.arctan(2.0)), abs=0.2)
    beyond = bank_heights(PlanBank(start=(10.0, 10.0), end=(30.0, 10.0), height=0.3, base=4.0), x, np.array([10.0]))[0]
    assert beyond[x < 8.9].max() == 0.0
    assert beyond[(x > 11.1) & (x < 28.9)] == pytest.approx(0.3)


def test_features_lie_in_the_ground_of_their_rows(tmp_path):
    more = '[[ground.features]]\nkind = "hump"\nat_m = [8, 1.875]\nheight_mm = 120\nlength_m = 3\nwidth_m = 1.6'
    paddock = paddocks.small(tmp_path, FLAT, more)
    first, second = (Lanes(paddock, i).row_ground(0, metres(20)).ground for i in (0, 1))
    assert np.abs(first[4]).max() == pytest.approx(0.0, abs=1e-9)
    assert second[2].max() == pytest.approx(0.12, rel=1e-6)
    assert second[2].argmax() == pytest.approx(metres(12), abs=1)  # pass 1 runs from x = 20 to 0
    assert second[1].max() == pytest.approx(second[3].max())


def test_ruts_run_along_with_every_pass(tmp_path):
    more = '[[ground.features]]\nkind = "ruts"\ntracks_m = [0.5]\ndepth_mm = 30\nwidth_m = 0.4\nstrength_share = 1.5'
    paddock = paddocks.small(tmp_path, FLAT, more)
    for number in (0, 1):
        found = Lanes(paddock, number).row_ground(0, 100)
        assert found.ground[:, 50] == pytest.approx([-0.03, 0.0, 0.0, 0.0, 0.0])
        assert found.strength[:, 50] == pytest.approx([1.8e6, 1.2e6, 1.2e6, 1.2e6, 1.2e6])


def test_a_rut_is_flat_over_its_middle_half():
    share = rut_share(Ruts(tracks=(1.0,), depth=0.03, width=0.8), np.array([0.5, 0.6, 0.7, 0.8, 1.0, 1.2, 1.3, 1.41]))
    assert share == pytest.approx([0.0, 0.0, 0.5, 1.0, 1.0, 1.0, 0.5, 0.0])


def test_zones_have_their_strength(tmp_path):
    more = '[[zones]]\nname = "hard"\nstart_m = [10, 0]\nend_m = [20, 1.25]\nstrength_MPa = 2.0'
    paddock = paddocks.small(tmp_path, FLAT, more)
    first, third = (Lanes(paddock, i).row_ground(0, metres(20)) for i in (0, 2))
    assert first.strength[:, metres(5)] == pytest.approx(np.full(5, 1.2e6))
    assert first.strength[1:4, metres(15)] == pytest.approx(np.full(3, 2.0e6))
    assert third.strength.max() == pytest.approx(1.2e6)
    step = first.strength[2, metres(9.7) : metres(10.3)]
    assert (np.diff(step) >= -1e-6).all()
    assert step[metres(0.3)] == pytest.approx(1.6e6, rel=0.01)


FIELD = StoneField(PlanStones(stones_per_ha=8000.0), (), 3)


def test_stones_in_plan_are_as_many_as_the_hectare_says():
    cells = [cell_stones(FIELD, i, j) for i in range(40) for j in range(40)]
    count = sum(cell.x.size for cell in cells)
    expected = 8000.0 * (40 * 8.0) ** 2 / 1e4
    assert count == pytest.approx(expected, abs=4.0 * expected**0.5)
    assert len({int(n) for cell in cells for n in cell.number}) == count


def test_a_row_strikes_as_many_as_theory_says():
    """The rate of `scenarios.ground.stone_field` for one row."""
    struck = [s for k in range(40) for s, _ in row_stones(FIELD, 0.0, 500.0, 3.0 * k)]
    expected = strikes_per_metre(RowField(stones_per_ha=8000.0)) * 500.0 * 40
    assert len(struck) == pytest.approx(expected, abs=4.0 * expected**0.5)
    assert max(s.length for s in struck) <= 0.35
    assert max(s.top for s in struck) <= 0.030


def test_neighbouring_rows_meet_the_same_stone():
    a = {k: s for s, k in row_stones(FIELD, 0.0, 300.0, 10.0)}
    b = {k: s for s, k in row_stones(FIELD, 0.0, 300.0, 10.1)}
    both = a.keys() & b.keys()
    assert len(both) > 20
    assert all(a[k].at == b[k].at for k in both)


def test_a_patch_holds_its_own_stones():
    field = StoneField(PlanStones(), (StonePatch(at=(50.0, 50.0), length=60.0, width=40.0, stones_per_ha=5e4),), 1)
    found = [s.at for k in range(100) for s, _ in row_stones(field, 0.0, 100.0, float(k))]
    assert min(found) >= 20.0
    assert max(found) <= 80.0
    rows = [k for k in range(100) if row_stones(field, 0.0, 100.0, float(k))]
    assert min(rows) >= 29
    assert max(rows) <= 71
