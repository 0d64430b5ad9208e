"""Tables of several tracks as one array: where they lie together they are not copied, and they are always the same."""

from __future__ import annotations

import math
from dataclasses import replace

import invented
import numpy as np
import pytest
from every import every

from analysis.rows.cells import lay
from sim.errors import GridError
from sim.ground_tables import ground_tables
from sim.laws.contact import GroundColumns
from sim.laws.envelope import averaged, envelope
from sim.laws.hard_profile import hard_profile
from sim.laws.wheel_soil import CONTACT_LENGTH
from sim.march.rows import stack_tables

ROUGH = invented.short_scenario("rough", 20.0)


@pytest.fixture(scope="module")
def laid():
    return lay(ROUGH, (1, 2, 3))


def test_a_table_holds_its_columns_in_their_order(laid):
    """Each column is what its own law makes of the track."""
    unit, track = ROUGH.unit, laid[1].track
    disc, half, depth = unit.disc.radius, 0.5 * CONTACT_LENGTH, ROUGH.settings.set_depth
    chord = math.sqrt(depth * (2.0 * disc - depth))
    hard, stone = hard_profile(track.ground, track.stone_top, track.stone_id, track.dx, disc)

    def under_wheel(values):
        return averaged(values, track.dx, -half, half)

    columns = GroundColumns(
        surface=track.surface,
        ahead=averaged(track.surface, track.dx, 0.0, chord),
        hard=hard,
        gauge=under_wheel(envelope(track.surface, track.dx, unit.gauge_wheel.radius)),
        press=under_wheel(envelope(track.surface, track.dx, unit.press_wheel.radius)),
        strength=track.strength,
        wheel_strength=under_wheel(track.strength),
    )
    assert np.array_equal(laid[1].tables.table, np.stack(columns))
    assert np.array_equal(laid[1].tables.stone, stone)


@every(
    ("chosen", "copied"),
    [((0, 1, 2), False), ((0,), False), ((2,), False), ((1, 2), False), ((0, 2), True), ((1, 0), True)],
)
def test_neighbours_are_given_as_they_lie(laid, chosen, copied):
    parts = [laid[k].tables for k in chosen]
    tables, stones = stack_tables(parts)
    assert np.array_equal(tables, np.stack([part.table for part in parts]))
    assert np.array_equal(stones, np.stack([part.stone for part in parts]))
    assert tables.flags.c_contiguous
    assert np.shares_memory(tables, laid[chosen[0]].tables.table) is not copied


def test_what_lies_together_is_what_each_is_alone(laid):
    for one in laid:
        alone = ground_tables(ROUGH.unit, one.track, ROUGH.settings.set_depth)
        assert np.array_equal(one.tables.table, alone.table)
        assert np.array_equal(one.tables.stone, alone.stone)


def test_grounds_of_unlike_rooms_are_copied(laid):
    other = lay(ROUGH, (4,))[0]
    tables, _ = stack_tables([laid[0].tables, other.tables])
    assert np.array_equal(tables[1], other.tables.table)
    assert not np.shares_memory(tables, laid[0].tables.table)


def test_unlike_grids_are_refused(laid):
    moved = replace(laid[1].tables, x0=laid[1].tables.x0 + 1.0)
    with pytest.raises(GridError, match="different grids"):
        stack_tables([laid[0].tables, moved])
