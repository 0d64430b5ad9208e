"""A receiver's lost fixes along a pass are faults with their lines; a pass as a machine drives it has none."""

from __future__ import annotations

import numpy as np
import pytest
from every import every

from scenarios.format.errors import ScenarioError
from scenarios.ground.measured.fixes import apart
from scenarios.paddock.plan_input_csv import read_line

STEP = 2.0 / 111_195.0  # 2 m north [degrees]


def pass_file(folder, changes=()):
    """Forty fixes 2 m apart, 10 cm of scatter; changes: (index from 0, latitude, longitude, elevation)."""
    rng = np.random.default_rng(3)
    rows = [[-33.0 + i * STEP, 148.0 + rng.normal(0.0, 1e-6), 300.0 + 0.1 * i] for i in range(40)]
    for i, *place in changes:
        rows[i] = place
    path = folder / "pass.csv"
    lines = "".join(f"{a:.8f},{b:.8f},{h:.3f}\n" for a, b, h in rows)
    path.write_text(f"latitude_deg,longitude_deg,elevation_m\n{lines}", encoding="utf-8")
    return path


def faults_of(path):
    with pytest.raises(ScenarioError) as caught:
        read_line(path)
    return caught.value.faults


def test_a_pass_as_driven(tmp_path):
    line = read_line(pass_file(tmp_path))
    assert line.profile.distance[-1] == pytest.approx(78.0, abs=0.3)


@every(
    ("change", "line", "words"),
    [
        ((10, 0.0, 0.0, 301.0), 12, "latitude 0, longitude 0"),
        ((0, 0.0, 0.0, 301.0), 2, "latitude 0, longitude 0"),
        ((39, 0.0, 0.0, 301.0), 41, "latitude 0, longitude 0"),
        ((10, -34.0 + 10 * STEP, 148.0, 301.0), 12, "111 km from the place before"),
        ((10, -33.0 + 10 * STEP, 149.0, 301.0), 12, "93.3 km from the place before"),
        ((10, -33.0 + 10 * STEP, 148.0004, 301.0), 12, "37 m from the place before"),
        ((20, -33.0 + 20 * STEP, 148.0, 0.0), 22, "elevation_m 0 after 301.9"),
    ],
)
def test_one_lost_fix(tmp_path, change, line, words):
    found = faults_of(pass_file(tmp_path, [change]))
    assert f"line {line}: " in found[0]
    assert words in found[0]
    assert "allowed: " in found[0]
    assert "try: " in found[0] or "drop the line" in found[0]
    assert len(found) == (2 if "elevation" in words else 1)  # down to 0 and up again


def test_a_gap_in_the_pass(tmp_path):
    rows = [(i, -33.0 + i * STEP + 0.002, 148.0, 300.0 + 0.1 * i) for i in range(20, 40)]
    (found,) = faults_of(pass_file(tmp_path, rows))
    assert "line 22: 224 m from the place before" in found
    assert "begin a new pass behind a gap" in found


def test_many_lost_fixes_are_counted(tmp_path):
    found = faults_of(pass_file(tmp_path, [(i, 0.0, 0.0, 0.0) for i in range(3, 20)]))
    assert len(found) == 6
    assert "12 more lines with the same fault as line 5" in found[-1]


def test_distance_over_the_sphere():
    """A degree of latitude is 111.195 km on a sphere of 6371.009 km; half around is π times that radius."""
    at = np.array([0.0])
    assert apart(at, at, at + 1.0, at)[0] == pytest.approx(111_195.1, rel=1e-6)
    assert apart(at, at, at, at + 180.0)[0] == pytest.approx(np.pi * 6_371_009.0)


def test_a_pass_longer_than_any(tmp_path):
    import paddocks  # noqa: PLC0415

    (tmp_path / "a.csv").write_text("distance_m,height_m\n0,0\n1,0\n2,0\n30000,0\n", encoding="utf-8")
    with pytest.raises(ScenarioError, match=r"30000 m of ground; allowed: 5 to 20000 m in one pass"):
        paddocks.small(tmp_path, {"passes": ""}, '[[measured.lines]]\nfile = "a.csv"\n')
