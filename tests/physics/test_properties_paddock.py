"""A paddock seen in a mirror: rows counted from the other side meet what they met, and nothing else.

A long run: PROPERTY_EXAMPLES=100 python -m pytest tests/physics/test_properties_paddock.py
"""

from __future__ import annotations

import json

import numpy as np
import paddocks
import pytest
from any_scenario import few
from hypothesis import given
from hypothesis import strategies as st

from analysis.paddock.passes.crossing import run_pass

SPACING = 0.25  # [m]
# Rows and shapes lie on sixteenths of a metre, so that places across are mirrored to the last digit. What is left is
# the order in which the toolbar adds up what its wheels press: some 1e-16 of 24 kN, an acceleration of 1e-15 m/s².
# What is kept has 24 bits: 6e-8 of its size, and as much again where it is rounded the other way.
SAME = 2e-7  # of a measure's size


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("mirror")


def sixteenths(low: float, high: float) -> st.SearchStrategy[float]:
    return st.integers(round(16 * low), round(16 * high)).map(lambda n: n / 16)


@st.composite
def fields(draw):
    """Rows, passes, wheels, and what lies in plan, as a paddock's tables."""
    rows, count = draw(st.integers(2, 6)), draw(st.integers(1, 2))
    width = rows * count * SPACING
    across = sixteenths(-1.0, width + 1.0)
    wheels = st.tuples(sixteenths(-1.5, -0.5), sixteenths(0.5, 1.5)).map(list)
    return {
        "rows": rows, "count": count, "front": draw(wheels), "rear": draw(wheels),
        "humps": draw(st.lists(st.tuples(st.floats(1.0, 5.0), across, st.floats(-60.0, 60.0), st.floats(0.5, 3.0)),
                               min_size=1, max_size=2)),
        "bank": draw(st.tuples(st.floats(0.0, 6.0), across, st.floats(0.0, 6.0), across)),
        "zone": draw(st.tuples(sixteenths(-1.0, 0.5), sixteenths(0.75, width + 1.0))),
        "rut": draw(sixteenths(-1.0, 1.0)), "seed": draw(st.integers(0, 99)),
    }  # fmt: skip


def laid(folder, field, mirrored: bool):
    """The paddock of these tables, or its picture in a mirror along the passes."""
    width = field["rows"] * field["count"] * SPACING

    def y(value: float) -> float:
        return width - value if mirrored else value

    def off(value: float) -> float:
        return -value if mirrored else value

    def series(values):
        return json.dumps(sorted(off(value) for value in values))

    x0, y0, x1, y1 = field["bank"]
    shapes = "".join(
        f'[[ground.features]]\nkind = "hump"\nat_m = [{x}, {y(at)}]\nheight_mm = {high}\nlength_m = 2\n'
        f"width_m = {wide}\n"
        for x, at, high, wide in field["humps"]
    )
    shapes += f'[[ground.features]]\nkind = "bank"\nstart_m = [{x0}, {y(y0)}]\nend_m = [{x1}, {y(y1)}]\n'
    shapes += 'height_mm = 40\nbase_m = 1.5\n[[ground.features]]\nkind = "ruts"\ndepth_mm = 20\nwidth_m = 0.5\n'
    shapes += f"tracks_m = [{off(field['rut'])}]\nstrength_share = 1.5\n[soil]\nvariation_cv = 0\n"
    one, other = (value + 1 / 32 for value in field["zone"])  # no row lies on its border, which belongs to one side
    shapes += f'[[zones]]\nname = "z"\nstart_m = [1, {y(one)}]\nend_m = [4, {y(other)}]\nstrength_MPa = 2.0\n'
    tables = {
        "machine": f"rows = {field['rows']}\nrow_spacing_m = {SPACING}\nfront_wheels_m = {series(field['front'])}\n"
        f"rear_wheels_m = {series(field['rear'])}",
        "passes": f'count = {field["count"]}\nlength_m = 6\nsection_m = 3\ndirection = "one_way"',
        "ground": f"seed = {field['seed']}",
        "search": "pressures_bar = [45]\nspeeds_kmh = [8]",
    }
    return paddocks.small(folder, tables, shapes)


@few(6)
@given(field=fields())
def test_rows_in_mirrored_order_mirror_a_paddock(folder, field):
    ours, theirs = (laid(folder, field, mirrored) for mirrored in (False, True))
    for number in range(field["count"]):
        here, there = run_pass(ours, number), run_pass(theirs, field["count"] - 1 - number)
        assert here.problems == there.problems == {}
        assert np.isfinite(here.sections["gauge_load_mean"]).all()
        assert np.array_equal(here.zone, there.zone[::-1])
        for kept, other in ((here.sections, there.sections), (here.totals, there.totals)):
            for name, values in kept.items():
                off = np.abs(values.astype(float) - other[name][:, ::-1].astype(float))
                assert np.nanmax(off) <= SAME * max(np.nanmax(np.abs(values)), 1e-3), name
