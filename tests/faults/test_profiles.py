"""Bad profiles: one message with all faults, each naming file and line."""

from __future__ import annotations

import math

import numpy as np
import pytest
from any_table import read_or_told
from every import every
from hypothesis import given, settings
from hypothesis import strategies as st

from scenarios.format.errors import ScenarioError
from scenarios.ground.profile_read import read_profile
from scenarios.load import load

HEAD = "distance_m,height_m\n"


def rows(n=120, step=0.25, first=0.0):
    return "".join(f"{first + step * i:.3f},{0.01 * math.sin(i):.4f}\n" for i in range(n))


@pytest.fixture
def faults(tmp_path):
    """faults(text) → the faults of a profile with that text, put under a scenario of the library."""

    def of(text):
        path = tmp_path / "p.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        with pytest.raises(ScenarioError) as caught:
            load("rough", profile=path)
        assert all(str(path) in line for line in caught.value.faults)
        return caught.value.faults

    return of


SINGLE = [
    ("", ["an empty file", "a header and at least 4 lines"]),
    ("\n\n  \n,\n", ["an empty file"]),
    (HEAD, ["points: 0", "at least 4 points"]),
    (HEAD + "0,0\n1,0\n2,0\n", ["points: 3", "at least 4 points"]),
    (rows(), ["line 1", "numbers, no header", "distance_m"]),
    ("distance_m;height_m\n0;0\n1;0\n", ["line 1", "another mark than a comma"]),
    ("distance_m\theight_m\n0\t0\n", ["line 1", "another mark than a comma"]),
    ("distance,height_m\n" + rows(), ["no column distance_m", 'rename "distance" to distance_m']),
    ("distance_m,elevation_m\n" + rows(), ["no column height_m", "distance_m, elevation_m"]),
    ("distance_m,height_m,height_m\n0,0,0\n", ["column height_m 2 times"]),
    (HEAD + rows(60) + "15.1,abc\n" + rows(60, first=20.0), ["line 62", 'height_m "abc"', "a finite number"]),
    (HEAD + rows(60) + "15.1,\n" + rows(60, first=20.0), ["line 62", "height_m is empty"]),
    (HEAD + rows(60) + "15.1,nan\n" + rows(60, first=20.0), ["line 62", 'height_m "nan"']),
    (HEAD + rows(60) + "inf,0\n" + rows(60, first=20.0), ["line 62", 'distance_m "inf"']),
    (HEAD + rows(60) + "15.1,1_0\n" + rows(60, first=20.0), ["line 62", 'height_m "1_0"']),
    (HEAD + rows(60) + "15.1,0,5\n" + rows(60, first=20.0), ["line 62", "3 cells", "2 cells, as in the header"]),
    (HEAD + rows(60) + "15,1\n15.1,2000000\n" + rows(60, first=20.0), ["line 63", "-1e6 to 1e6 m"]),
    (HEAD + rows(60) + "14.0,0\n" + rows(60, first=20.0), ["line 62", "distance_m 14 after 14.75", "sort by distance"]),
    (HEAD + rows(60) + "14.75,0\n" + rows(60, first=20.0), ["line 62", "distance_m 14.75 after 14.75"]),
    (HEAD + rows(20), ["4.75 m of ground", "5 to 20000 m from the first point to the last", "a longer profile"]),
    (HEAD + rows(4), ["0.75 m of ground"]),
    (HEAD + rows(300, step=100.0), ["29900 m of ground", "20000 m", "a part of it"]),
    (b"distance_m,height_m\n0,\xff\n", ["not UTF-8"]),
    (HEAD + '"0,0\n' + "1,0\n" * 40_000, ["not CSV"]),
]


@every(("text", "parts"), SINGLE, ids=[str(i) for i in range(len(SINGLE))])
def test_one_fault(text, parts, faults):
    found = faults(text)
    assert len(found) == 1, found
    for part in parts:
        assert part in found[0]
    assert "allowed: " in found[0]
    assert "try: " in found[0]


def test_all_faults_at_once(faults):
    text = HEAD + rows(50) + "x,0\n12.5,nan\n3,0\n" + rows(50, first=20.0) + "40,0,0\n"
    found = faults(text)
    assert len(found) == 4
    assert [text.split(": ")[1] for text in sorted(found, key=_line)] == ["line 52", "line 53", "line 54", "line 105"]


def _line(text):
    return int(text.split(": line ")[1].split(":")[0])


def test_many_faults_of_one_kind_are_counted(faults):
    found = faults(HEAD + "".join(f"{i},oops\n" for i in range(1000)))
    assert len(found) == 6
    assert found[-1].endswith("995 more lines with the same fault as line 2")


def test_strength_out_of_range(faults):
    """Strengths in kPa are told apart from MPa by their size."""
    body = "".join(f"{0.25 * i},0,{1500 if i == 7 else 1.5}\n" for i in range(120))
    found = faults("distance_m,height_m,strength_MPa\n" + body)
    assert len(found) == 1
    assert "line 9: strength_MPa 1500" in found[0]
    assert "0.05 to 10 MPa" in found[0]
    assert "1 MPa = 1000 kPa" in found[0]


def test_a_profile_that_is_not_there(tmp_path):
    with pytest.raises(ScenarioError, match="there is no such file"):
        load("rough", profile=tmp_path / "none.csv")


def test_faults_of_scenario_and_profile_come_together(tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text('title = "t"\n[ground]\n[settings]\nspeed_kmh = 99\n', encoding="utf-8")
    csv = tmp_path / "p.csv"
    csv.write_text(HEAD + "0,0\n", encoding="utf-8")
    with pytest.raises(ScenarioError) as caught:
        load(path, profile=csv)
    assert len(caught.value.faults) == 2
    assert "speed_kmh" in caught.value.faults[0]
    assert "points: 1" in caught.value.faults[1]


CELL = st.one_of(st.floats().map(str), st.text(max_size=4), st.sampled_from(["", "nan", "1", "2.5", '"', ","]))
LINE = st.lists(CELL, max_size=4).map(",".join)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.lists(LINE, max_size=12), st.booleans())
def test_any_table_is_read_or_told(tmp_path_factory, lines, headed):
    """Whatever a file holds, the answer is a profile with rising, finite points or a ScenarioError."""
    path = tmp_path_factory.getbasetemp() / "any.csv"
    found = read_or_told(path, read_profile, HEAD.strip() if headed else "", lines)
    if found is not None:
        assert np.all(np.diff(found.distance) > 0.0)
        assert np.all(np.isfinite(found.height))
