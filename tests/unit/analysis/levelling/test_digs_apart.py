"""Digs made at several speeds, pressures or depth settings are never pooled, and one file serves `level` and `fit`."""

from __future__ import annotations

import numpy as np
import pytest
from every import every

from analysis.fit.reading.read_measured import read_measured
from analysis.levelling.digs import Condition, read_digs
from scenarios.format.errors import ScenarioError


def readings(folder, speeds=(8, 12), rows=6, digs=4, more=""):
    """Depths of every row at some speeds, 5 mm shallower at each further one, and a weighing."""
    lines = ["what,value,row,oil_pressure_bar,speed_kmh,setting", "scale_kg,70,,40,,"]
    for k, speed in enumerate(speeds):
        for row in range(1, rows + 1):
            lines += [f"depth_mm,{40 - 5 * k + row + dig % 3},{row},40,{speed},A" for dig in range(digs)]
    path = folder / "measured.csv"
    path.write_text("\n".join(lines) + f"\n{more}", encoding="utf-8")
    return path


def faults(*given):
    with pytest.raises(ScenarioError) as caught:
        read_digs(*given)
    return caught.value.faults


def test_two_speeds_are_refused_and_either_is_read(tmp_path):
    path = readings(tmp_path)
    (said,) = faults(path)
    assert "digs at 40 bar at 8 km/h, setting A (24); 40 bar at 12 km/h, setting A (24)" in said
    assert "try: --speed 8" in said
    slow, fast = (read_digs(path, Condition(speed=v)) for v in (8.0, 12.0))
    np.testing.assert_allclose(slow.means - fast.means, 0.005, atol=1e-12)
    assert (slow.left_out, slow.at) == (24, Condition(40.0, 8.0, "A"))


def test_one_file_feeds_both(tmp_path):
    path = readings(tmp_path, speeds=(8,))
    digs = read_digs(path)
    assert digs.rows == (1, 2, 3, 4, 5, 6)
    dug = [reading.value for reading in read_measured(path).readings if reading.what == "depth_mm"]
    np.testing.assert_allclose(np.sort(np.concatenate(digs.depths)), np.sort(dug))


def test_plain_digs_may_say_where_they_were_made(tmp_path):
    path = tmp_path / "digs.csv"
    body = "".join(f"{row},{40 + row + dig},{8 + 2 * dig}\n" for row in range(1, 5) for dig in range(2))
    path.write_text(f"row,depth_mm,speed_kmh\n{body}", encoding="utf-8")
    assert "digs at 8 km/h (4); 10 km/h (4)" in faults(path)[0]
    path.write_text(f"row,depth_mm,speed_kmh\n{body}1,40,\n2,41,\n".replace(",10\n", ",8\n"), encoding="utf-8")
    assert "nothing said (2)" in faults(path)[0]


def test_none_where_asked(tmp_path):
    (said,) = faults(readings(tmp_path), Condition(pressure=60.0))
    assert "no dig at 60 bar" in said
    assert "40 bar at 8 km/h, setting A (24)" in said


@every(
    ("line", "words"),
    [
        ("depth_mm,40,,40,8,A\n", "a depth without its row"),
        ("depth_mm,400,1,40,8,A\n", "0 to 150 mm for depth_mm"),
    ],
)
def test_readings_that_do_not_serve(tmp_path, line, words):
    assert any(words in said for said in faults(readings(tmp_path, speeds=(8,), more=line)))


def test_a_mean_of_digs_is_none(tmp_path):
    path = tmp_path / "measured.csv"
    head = "what,value,n,sd,row,oil_pressure_bar,speed_kmh,setting\n"
    path.write_text(head + "".join(f"depth_mm,40,6,3,{row},40,8,A\n" for row in (1, 2)), encoding="utf-8")
    assert "the mean of 6 digs" in faults(path)[0]
