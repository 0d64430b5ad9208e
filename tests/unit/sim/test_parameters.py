"""The parameters' own metadata, and the flat track."""

from __future__ import annotations

from dataclasses import fields, is_dataclass

import numpy as np
import pytest
from every import every

from sim.march import loop as march
from sim.march.march_rows import ROW_CHANNELS
from sim.mechanism.pins import Pins
from sim.record import CHANNEL, CHANNELS, GAINS, LOSSES, PINS, SUM, Channels, Sums
from sim.track import NO_STONE, flat_track
from sim.unit import Rock, Settings, Soil, Unit, parts

PIN_GROUPS = [group for f in fields(Unit().pins) if is_dataclass(group := getattr(Unit().pins, f.name))]
GROUPS = [*(getattr(Unit(), f.name) for f in fields(Unit)), *PIN_GROUPS, Soil(), Rock(), Settings()]
CHOICES = {"setting", "toolbar", "gas", "oil", "press_notch"}


@every("group", GROUPS, ids=lambda g: type(g).__name__)
def test_every_parameter_says_unit_range_meaning_and_source(group):
    assert is_dataclass(group)
    for name, f in parts(group):
        if name in CHOICES and isinstance(group, Settings):
            continue
        meta = f.metadata
        if is_dataclass(getattr(group, name)) or "kinds" in meta:
            continue  # tables of their own
        if "choices" in meta:
            assert getattr(group, name) in meta["choices"], name
            assert meta["doc"], name
            assert meta["source"], name
            continue
        assert {"unit", "low", "high", "doc", "edge", "source"} <= set(meta), name
        assert meta["doc"], name
        values = getattr(group, name)
        for value in values if isinstance(values, tuple) else (values,):
            assert meta["low"] <= value <= meta["high"], name


def test_flat_track_has_room_for_the_lead_in():
    track = flat_track(10.0, 2e6)
    assert (track.x_from, track.x_to) == (0.0, 10.0)
    assert track.x[0] == -30.0
    assert track.x[-1] == pytest.approx(16.0)
    assert np.array_equal(track.surface, np.zeros(track.ground.size))
    assert (track.strength == 2e6).all()
    assert (track.stone_top == NO_STONE).all()
    assert (track.stone_id == -1).all()


def test_records_fit_the_kernel():
    assert Channels._fields == tuple(c.name for c in CHANNELS)
    assert all(c.unit and c.doc for c in CHANNELS)
    assert [getattr(CHANNEL, c.name) for c in CHANNELS] == list(range(march.N_CHANNELS))
    assert [getattr(SUM, name) for name in Sums._fields] == list(range(march.N_SUMS))
    assert len(PINS) * 2 == march.N_PINS == 28
    assert Pins._fields[march.N_PINS :] == ("actuator", "left_upper", "left_press", "left_power")
    assert Sums._fields == ("work", "traffic", *LOSSES)
    assert set(GAINS) < set(LOSSES)
    assert set(ROW_CHANNELS) < set(Channels._fields)


def test_default_speed_term_is_the_coulter_ratio():
    """Draught of one smooth coulter at 50 mm: 383 N at 8 km/h, 275 N without speed (worked from ASABE D497's table,
    whose values are from memory); the factor is known to half a newton."""
    assert 275.0 * (1.0 + 8.0 * Soil().speed_factor) == pytest.approx(383.0, abs=0.5)
