"""The compiled sums of eight rows on chunks made by hand: what counts as on depth, and the ends that warnings go by."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from analysis.crossing.places import at_one_place
from analysis.rows import sums
from analysis.rows.reduced import Reduced, values_of
from analysis.rows.sums import RECORD, STRIDE, add_depth, add_loads, add_places, open_record
from sim.arithmetic.compiled import kernel
from sim.arithmetic.simd import WIDTH
from sim.unit import ATMOSPHERE

SET = 0.040


@kernel
def _depth(record, flat, n, set_depth, tolerance):
    open_record(record, flat, 0, set_depth)
    add_depth(record, flat, 0, n, set_depth, tolerance)


@kernel
def _loads(record, flat, first, n, set_depth):
    open_record(record, flat, 0, set_depth)
    add_loads(record, flat, 0, n, 1.0, first)


@kernel
def _places(record, flat, first, last, opens, set_depth, tolerance, apart):
    if opens:
        open_record(record, flat, first, set_depth)
    add_places(record, flat, first, last - first, set_depth, tolerance, apart)


def chunk(steps, **channels):
    """Flat channels of `steps` steps, the same in all rows but for those given, (steps,) or (steps, 8)."""
    made = np.zeros((steps, STRIDE // WIDTH, WIDTH))
    for name, values in channels.items():
        made[:, getattr(sums, name) // WIDTH] = np.asarray(values, dtype=float).reshape(steps, -1)
    return made.reshape(-1)


def test_a_depth_exactly_at_the_tolerance_is_on_depth():
    """On both sides, in every row; the next number beyond it is not."""
    deep, shallow = SET + 0.0078125, SET - 0.0078125
    tolerance = max(deep - SET, SET - shallow)
    on = [d for d in (deep, shallow, SET) if abs(d - SET) == tolerance]
    assert on
    beyond = np.nextafter(max(deep, shallow + 2 * tolerance), 1.0) + tolerance * 1e-12
    depths = np.array([*on, beyond])
    record = np.zeros(len(RECORD) * WIDTH)
    _depth(record, chunk(depths.size, DEPTH=depths), depths.size, np.full(WIDTH, SET), tolerance)
    assert record.reshape(len(RECORD), WIDTH)[RECORD.index("on_depth")].tolist() == [len(on)] * WIDTH


def test_ends_and_their_steps_are_those_of_the_rows():
    rng = np.random.default_rng(1)
    n, first = 50, 300
    given = {name: rng.normal(5.0, 1.0, (n, WIDTH)) for name in ("GAS", "SQUASH", "PRESS_SQUASH", "PRESSURE")}
    record = np.zeros(len(RECORD) * WIDTH)
    _loads(record, chunk(n, **given), first, n, np.full(WIDTH, SET))
    found = {name: record.reshape(len(RECORD), WIDTH)[RECORD.index(name)] for name in RECORD}
    expected = {
        "gas_coldest": given["GAS"].min(axis=0), "gas_hottest": given["GAS"].max(axis=0),
        "squash_change_max": given["SQUASH"].max(axis=0), "press_squash_max": given["PRESS_SQUASH"].max(axis=0),
        "squash_change_step": first + given["SQUASH"].argmax(axis=0),
        "press_squash_step": first + given["PRESS_SQUASH"].argmax(axis=0),
        "pressure_max": given["PRESSURE"].max(axis=0),
    }  # fmt: skip
    for name, values in expected.items():
        np.testing.assert_array_equal(found[name], values, err_msg=name)


def test_worst_and_places_are_those_of_the_rows_in_parts_and_in_sections():
    """Eight rows of random stretches; 5 m are 1000 steps of 5 mm. A place goes on from section to section."""
    rng = np.random.default_rng(5)
    n, travel, tolerance = 12_000, 0.005, 0.010
    stretches = [np.repeat(rng.random(240) < 0.05, 50) for _ in range(2 * WIDTH)]
    error = np.stack(stretches[:WIDTH], axis=1) * rng.uniform(-0.06, 0.06, (n, WIDTH))
    gauge = np.where(np.stack(stretches[WIDTH:], axis=1), 0.0, rng.uniform(1.0, 4000.0, (n, WIDTH)))
    flat, set_depth = chunk(n, DEPTH=SET + error, GAUGE=gauge), np.full(WIDTH, SET)
    error = (SET + error) - SET
    sections = []
    record = np.zeros(len(RECORD) * WIDTH)
    for section, cuts in ((0, (0, 7, 4000)), (1, (4000, 4001, 9000)), (2, (9000, 12_000))):
        for first, last in pairwise(cuts):
            _places(record, flat, first, last, first in (0, 4000, 9000), set_depth, tolerance, 1000.0)
        sections.append({name: record.reshape(len(RECORD), WIDTH)[RECORD.index(name)].copy() for name in RECORD})
        part = slice(cuts[0], cuts[-1])
        np.testing.assert_array_equal(sections[section]["error_max"], error[part].max(axis=0))
        np.testing.assert_array_equal(sections[section]["error_min"], error[part].min(axis=0))
        np.testing.assert_array_equal(sections[section]["gauge_load_max"], gauge[part].max(axis=0))
    off, free = np.abs(error) > tolerance, gauge <= 0.0
    for j in range(WIDTH):
        for name, steps in (("off_depth_most", off[:, j]), ("wheel_off_most", free[:, j])):
            expected = at_one_place(steps, travel)
            assert 0.0 < expected < 0.99 * steps.sum() * travel  # more places than one
            assert max(s[name][j] for s in sections) * travel == pytest.approx(expected, rel=1e-12)


def test_the_place_of_the_worst_section_goes_with_its_squash():
    """Two sections, the second of which presses row 0 hardest and the first row 1."""
    steps = np.array([0, 40, 100])
    records = np.zeros((2, len(RECORD), WIDTH))
    for name, values in {
        "squash_change_max": ([0.05, 0.09], [0.08, 0.02]), "squash_change_step": ([11.0, 12.0], [61.0, 62.0]),
        "press_squash_max": ([0.01, 0.02], [0.03, 0.01]), "press_squash_step": ([21.0, 22.0], [71.0, 72.0]),
        "pressure_max": ([70e5, 80e5], [60e5, 90e5]), "gas_coldest": ([290.0, 280.0], [285.0, 284.0]),
        "gas_hottest": ([300.0, 310.0], [305.0, 306.0]), "rock_peak": ([5e3, 0.0], [4e3, 0.0]),
    }.items():  # fmt: skip
        records[:, RECORD.index(name), :2] = values
    values = values_of(records, np.diff(steps), 2)
    reduced = Reduced(steps, 0.005, np.full(2, SET), values, ((), ()), ((), ()), np.array([2e-3, 1e-6]))

    class Setting:
        squash = 0.010

    met = [reduced.met(j, Setting, 12.0, 2.5) for j in (0, 1)]
    assert [m.gauge_squash for m in met] == pytest.approx([0.09, 0.10])
    assert [m.gauge_at for m in met] == pytest.approx([12.0 + 61 * 0.005, 12.0 + 12 * 0.005])
    assert [m.press_at for m in met] == pytest.approx([12.0 + 71 * 0.005, 12.0 + 22 * 0.005])
    assert [m.pressure for m in met] == [70e5 - ATMOSPHERE, 90e5 - ATMOSPHERE]
    assert [m.energy_share for m in met] == [2e-3, 1e-6]
    assert [(m.knock, m.step) for m in met] == [(5e3, 0.002), (0.0, 0.002)]
    assert [(m.coldest, m.hottest) for m in met] == [(285.0, 305.0), (280.0, 310.0)]
